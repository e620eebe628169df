//! What a unit is alike with others in: its family, by a word of the house's own, and how its heating circuit is kept full.
//! Stated from a day on; forecasts ask whether units so alike fail alike.
use chrono::{Datelike, NaiveDate};
use serde::Serialize;
use serde_json::json;
use store::unit_likes::LikeRow;
use terms::unit::UnitCard;
use terms::{HeatingSystem, LikeIn, UnitId};

use super::{WRITERS, may_read_unit};
use crate::forecast::{family_key, renew_unit, today};
use crate::{Error, FieldError, Seat, World};

/// Letters of a family's word at most.
pub const MOST_LETTERS: usize = 40;
/// Families offered on the form at most.
const MOST_OFFERED: usize = 60;

/// What is stated of a unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AlikeNow {
    /// The word of its family; empty: not known.
    pub family: String,
    /// How its heating circuit is kept full.
    pub system: Option<HeatingSystem>,
}

/// What is stated of a unit, and what may be.
#[derive(Clone, Debug)]
pub struct AlikeView {
    /// The unit.
    pub unit: UnitCard,
    /// What holds now.
    pub now: AlikeNow,
    /// Everything that stands, by the day it begins.
    pub stated: Vec<LikeRow>,
    /// Words for families in use, in order.
    pub families: Vec<String>,
    /// Today.
    pub today: NaiveDate,
}

/// What is stated anew.
#[derive(Clone, Debug, Serialize)]
pub struct AlikeForm {
    /// The word of its family; empty: not known.
    pub family: String,
    /// How its heating circuit is kept full; `None`: not known.
    pub system: Option<HeatingSystem>,
    /// From this day on.
    pub from_on: NaiveDate,
}

/// What of these statements holds last.
pub(super) fn holds(stated: &[LikeRow]) -> AlikeNow {
    let last = |what: LikeIn| {
        let of = stated.iter().rfind(|row| row.what == what);
        of.map_or("", |row| row.said.as_str())
    };
    AlikeNow {
        family: last(LikeIn::Family).to_owned(),
        system: last(LikeIn::System).parse().ok(),
    }
}

/// The word of the family these statements leave it in; empty: not known.
pub(crate) fn family_of(stated: &[LikeRow]) -> String {
    holds(stated).family
}

/// What is stated of a unit.
///
/// # Errors
/// [`Error::NotFound`] for a unit out of reach; the store's own.
pub fn alike_of(world: &World, seat: &Seat, unit: UnitId) -> Result<AlikeView, Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        let card = tx.unit(unit)?;
        may_read_unit(tx, seat, &card)?;
        let at = tx.at();
        let mut all = tx.likes(None, at)?;
        let mut families: Vec<String> = all
            .values()
            .map(|rows| holds(rows).family)
            .filter(|word| !word.is_empty())
            .collect();
        families.sort_by_key(|word| family_key(word));
        families.dedup_by_key(|word| family_key(word));
        families.truncate(MOST_OFFERED);
        let stated = all.remove(&unit).unwrap_or_default();
        Ok(AlikeView {
            now: holds(&stated),
            today: today(tx),
            unit: card,
            stated,
            families,
        })
    })
}

/// States what a unit is alike in, from a day on; what stood before that day still stands before it. Its forecast is told
/// anew at once, and the kinds are fitted anew in the background.
///
/// # Errors
/// [`Error::Invalid`] at `family` or `from_on`; [`Error::NotFound`] for a unit out of reach; the store's own.
pub fn state_alike(
    world: &World,
    seat: &Seat,
    (unit, form): (UnitId, AlikeForm),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &("alike", unit, &form), |tx| {
            let card = tx.unit(unit)?;
            seat.must_reach(card.building)?;
            Error::unless_empty(wrongs(&card, &form, today(tx)))?;
            let at = tx.at();
            let stated = tx
                .likes(Some(&[unit]), at)?
                .remove(&unit)
                .unwrap_or_default();
            let family = form.family.split_whitespace().collect::<Vec<_>>().join(" ");
            let system = form.system.map_or("", HeatingSystem::code);
            let mut changed = false;
            for (what, said) in [(LikeIn::Family, family.as_str()), (LikeIn::System, system)] {
                let stands = match stated.iter().rfind(|row| row.what == what) {
                    Some(row) => row.said == said && row.from_on <= form.from_on,
                    None => said.is_empty(),
                };
                if stands {
                    continue;
                }
                changed = true;
                tx.state_like(&LikeRow {
                    unit,
                    what,
                    said: said.to_owned(),
                    from_on: form.from_on,
                })?;
            }
            if !changed {
                return Ok(());
            }
            renew_unit(tx, unit)?;
            tx.queue("nightly_refit", json!({}), Some("refit"))?;
            tx.note(
                "likeness stated",
                &format!("unit {unit}"),
                &json!({ "family": family, "system": form.system, "from": form.from_on }),
            );
            Ok(())
        })
    })
}

fn wrongs(card: &UnitCard, form: &AlikeForm, today: NaiveDate) -> Vec<FieldError> {
    let mut found = Vec::new();
    if form.family.trim().chars().count() > MOST_LETTERS {
        found.push(FieldError::at(
            "family",
            format!("A word for a family has at most {MOST_LETTERS} letters."),
        ));
    }
    if form.family.chars().any(char::is_control) {
        found.push(FieldError::at(
            "family",
            "One line of plain letters, please.",
        ));
    }
    if form.from_on > today {
        found.push(FieldError::at(
            "from_on",
            "It cannot be so from a day to come.",
        ));
    }
    let fitted = card.installed.map(|(first, _)| first);
    if form.from_on.year() < 1900 || fitted.is_some_and(|day| form.from_on < day) {
        found.push(FieldError::at(
            "from_on",
            "The unit was not fitted yet on that day.",
        ));
    }
    found
}
