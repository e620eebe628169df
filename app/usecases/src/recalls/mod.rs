//! What makers call back or ask to have put right: entered by the desk from a maker's notice, held against every unit in
//! service, settled unit by unit. Looked at before any money is agreed.
mod meant;

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::Tx;
pub use store::recalls::{Recall, RecallAnswer};
use store::units::Which;
use terms::unit::UnitCard;
use terms::{Fate, RecallId, Role, UnitId};

pub use self::meant::Meant;
use self::meant::{in_order, meant};
use crate::register::family_of;
use crate::{Error, FieldError, Seat, World};

/// Who enters and settles.
const DESK: [Role; 2] = [Role::Agent, Role::Supervisor];
/// Letters of a title, a family or a serial number at most.
const MOST_LETTERS: usize = 80;
/// Letters of what is to be done at most.
const MOST_WORDS: usize = 600;

/// A notice about to be entered.
#[derive(Clone, Debug, Default, Serialize)]
pub struct RecallForm {
    /// Code of the kind.
    pub kind: String,
    /// Of this family alone; empty: of any.
    pub family: String,
    /// First and last serial number; empty: no such end.
    pub serials: (String, String),
    /// First and last day of fitting.
    pub fitted: (Option<NaiveDate>, Option<NaiveDate>),
    /// What the notice calls itself.
    pub title: String,
    /// What is to be done.
    pub about: String,
    /// Not to be used until it is done.
    pub do_not_use: bool,
    /// The day of the notice.
    pub on: NaiveDate,
}

/// A unit a notice means, or may mean.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitMeant {
    /// The unit.
    pub unit: UnitCard,
    /// What would settle whether it is meant; empty: it is.
    pub unsure: Vec<&'static str>,
    /// What was done, or said.
    pub answer: Option<RecallAnswer>,
}

/// A notice with its units in the reader's buildings.
#[derive(Clone, Debug, PartialEq)]
pub struct RecallView {
    /// The notice.
    pub recall: Recall,
    /// Units in service it means or may mean, by building and flat.
    pub units: Vec<UnitMeant>,
}

/// Every notice that stands.
#[derive(Clone, Debug)]
pub struct Recalls {
    /// The latest first.
    pub all: Vec<RecallView>,
    /// Code and name of each kind, for the form.
    pub kinds: Vec<(String, String)>,
    /// Today.
    pub today: NaiveDate,
}

/// A notice that is open on one unit.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenRecall {
    /// The notice.
    pub recall: Recall,
    /// What would settle whether the unit is meant; empty: it is.
    pub unsure: Vec<&'static str>,
}

/// A notice that is not settled for every unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsettled {
    /// The notice.
    pub recall: Recall,
    /// Units in the reader's buildings it means, to be done.
    pub meant: usize,
    /// Units it may mean.
    pub unsure: usize,
}

/// Notices that are not settled for every unit in the reader's buildings, those first whose units are not to be used.
///
/// # Errors
/// Not the desk; the store's own.
pub fn unsettled(world: &World, seat: &Seat) -> Result<Vec<Unsettled>, Error> {
    seat.must_be(&DESK)?;
    world.acting(seat, |tx| {
        let mut open: Vec<Unsettled> = views(tx, seat)?
            .into_iter()
            .map(|view| {
                let open = view.units.iter().filter(|u| u.answer.is_none());
                let (meant, unsure): (Vec<_>, Vec<_>) = open.partition(|u| u.unsure.is_empty());
                Unsettled {
                    meant: meant.len(),
                    unsure: unsure.len(),
                    recall: view.recall,
                }
            })
            .filter(|open| open.meant + open.unsure > 0)
            .collect();
        open.sort_by_key(|open| !open.recall.do_not_use);
        Ok(open)
    })
}

/// Every notice, with the units it means in the reader's buildings.
///
/// # Errors
/// Not the desk; the store's own.
pub fn recalls(world: &World, seat: &Seat) -> Result<Recalls, Error> {
    seat.must_be(&DESK)?;
    world.acting(seat, |tx| {
        let all = views(tx, seat)?;
        let kinds = tx.kinds()?.into_iter().map(|k| (k.code, k.name));
        Ok(Recalls {
            all,
            kinds: kinds.collect(),
            today: tx.today(),
        })
    })
}

fn views(tx: &mut Tx<'_>, seat: &Seat) -> Result<Vec<RecallView>, Error> {
    let (all, at) = (tx.recalls()?, tx.at());
    if all.is_empty() {
        return Ok(Vec::new());
    }
    let likes = tx.likes(None, at)?;
    let answers = tx.recall_answers(None)?;
    let mut units = tx.units(Which::All)?;
    units.retain(|u| u.fate == Fate::InService && seat.grant().reaches(u.building));
    units.sort_by(|a, b| {
        let flats = in_order(&a.space_name, &b.space_name);
        a.building_name.cmp(&b.building_name).then(flats)
    });
    let view = |recall: Recall| {
        let means = |unit: &UnitCard| {
            let family = likes.get(&unit.id).map(|rows| family_of(rows));
            let unsure = unsure(&recall, unit, &family.unwrap_or_default())?;
            Some(UnitMeant {
                unit: unit.clone(),
                unsure,
                answer: answers.get(&(recall.id, unit.id)).copied(),
            })
        };
        let units = units.iter().filter_map(means).collect();
        RecallView { recall, units }
    };
    Ok(all.into_iter().map(view).collect())
}

/// What is open about a unit: empty where it is meant, `None` where it is not.
fn unsure(recall: &Recall, unit: &UnitCard, family: &str) -> Option<Vec<&'static str>> {
    match meant(recall, unit, family) {
        Meant::Yes => Some(Vec::new()),
        Meant::Unsure(open) => Some(open),
        Meant::No => None,
    }
}

/// Notices that mean a unit, or may mean it, and that nobody settled for it yet.
pub(crate) fn open_on(tx: &mut Tx<'_>, unit: &UnitCard) -> Result<Vec<OpenRecall>, Error> {
    let all = tx.recalls()?;
    if all.is_empty() || unit.fate != Fate::InService {
        return Ok(Vec::new());
    }
    let at = tx.at();
    let likes = tx.likes(Some(&[unit.id]), at)?;
    let family = likes.get(&unit.id).map(|rows| family_of(rows));
    let family = family.unwrap_or_default();
    let answers: BTreeMap<(RecallId, UnitId), RecallAnswer> = tx.recall_answers(Some(unit.id))?;
    let open = all
        .into_iter()
        .filter(|recall| !answers.contains_key(&(recall.id, unit.id)))
        .filter_map(|recall| {
            let unsure = unsure(&recall, unit, &family)?;
            Some(OpenRecall { recall, unsure })
        });
    Ok(open.collect())
}

/// Enters a notice.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; the store's own.
pub fn enter_recall(
    world: &World,
    seat: &Seat,
    form: RecallForm,
    once: &str,
) -> Result<RecallId, Error> {
    seat.must_be(&DESK)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let known = tx.kinds()?.iter().any(|k| k.code == form.kind);
            Error::unless_empty(wrongs(&form, known, tx.today()))?;
            let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
            let recall = Recall {
                id: RecallId(uuid::Uuid::nil()),
                kind: form.kind.clone(),
                family: plain(&form.family),
                serials: (plain(&form.serials.0), plain(&form.serials.1)),
                fitted: form.fitted,
                title: plain(&form.title),
                about: form.about.trim().to_owned(),
                do_not_use: form.do_not_use,
                on: form.on,
            };
            let id = tx.add_recall(&recall)?;
            let body = json!({ "kind": recall.kind, "title": recall.title, "on": recall.on });
            tx.note("maker's notice entered", &format!("notice {id}"), &body);
            Ok(id)
        })
    })
}

fn wrongs(form: &RecallForm, known: bool, today: NaiveDate) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    if !known {
        wrongs.push(FieldError::at("kind", "Say of which kind it speaks."));
    }
    if form.title.trim().is_empty() {
        wrongs.push(FieldError::at("title", "Say what the notice calls itself."));
    }
    for (field, text, most) in [
        ("title", &form.title, MOST_LETTERS),
        ("family", &form.family, MOST_LETTERS),
        ("serial_from", &form.serials.0, MOST_LETTERS),
        ("serial_until", &form.serials.1, MOST_LETTERS),
        ("about", &form.about, MOST_WORDS),
    ] {
        if text.chars().count() > most {
            let words = format!("{most} letters at most.");
            wrongs.push(FieldError::at(field, words));
        }
    }
    let (first, last) = (form.serials.0.trim(), form.serials.1.trim());
    if !first.is_empty() && !last.is_empty() && in_order(first, last).is_gt() {
        wrongs.push(FieldError::at("serial_until", "It comes before the first."));
    }
    if let (Some(from), Some(until)) = form.fitted
        && from > until
    {
        wrongs.push(FieldError::at(
            "fitted_until",
            "It comes before the first day.",
        ));
    }
    if form.on > today {
        wrongs.push(FieldError::at("on", "That day is to come."));
    }
    wrongs
}

/// Says of a unit that the work was done, or that its maker does not mean it; `None` opens it again.
///
/// # Errors
/// [`Error::NotFound`] for a unit out of reach, or one the notice does not mean; the store's own.
pub fn settle_recall(
    world: &World,
    seat: &Seat,
    (recall, unit, done): (RecallId, UnitId, Option<bool>),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&DESK)?;
    world.acting(seat, |tx| {
        tx.once(once, &("settle", recall, unit, done), |tx| {
            let card = tx.unit(unit)?;
            seat.must_reach(card.building)
                .or(Err(Error::NotFound("unit")))?;
            let all = tx.recalls()?;
            let found = all.iter().find(|r| r.id == recall);
            if found.is_none_or(|r| r.kind != card.kind) {
                return Err(Error::NotFound("notice"));
            }
            let on = tx.today();
            let answer = done.map(|done| RecallAnswer { done, on });
            tx.answer_recall((recall, unit), answer)?;
            let body = json!({ "notice": recall, "done": done });
            tx.note("maker's notice settled", &format!("unit {unit}"), &body);
            Ok(())
        })
    })
}

/// Takes a notice back: entered by mistake, or withdrawn by its maker. It stays readable.
///
/// # Errors
/// [`Error::NotFound`] for one that does not stand; the store's own.
pub fn take_back_recall(
    world: &World,
    seat: &Seat,
    recall: RecallId,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&DESK)?;
    world.acting(seat, |tx| {
        tx.once(once, &("back", recall), |tx| {
            tx.end_recall(recall)?;
            tx.note(
                "maker's notice taken back",
                &format!("notice {recall}"),
                &json!({}),
            );
            Ok(())
        })
    })
}
