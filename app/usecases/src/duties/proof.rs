//! "Prove it": the record of a unit's duties, corrected rows too, with who wrote what and when.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use store::Tx;
use store::duties::{Completion, DutyCard};
use store::letters::{SentLetter, Tried};
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{AccountId, DutyId, Role, UnitId};

use super::due::{DutyLine, standing_of};
use crate::work::{Names, wall};
use crate::{Error, Seat, World};

/// One duty with its whole record.
#[derive(Clone, Debug)]
pub struct Proved {
    /// How it stands.
    pub line: DutyLine,
    /// The duty itself: when it ended, if it did.
    pub card: DutyCard,
    /// Its rows, corrected ones too, oldest first.
    pub rows: Vec<Completion>,
    /// Every try nobody opened to, with who stood at the door, oldest first.
    pub tries: Vec<(Tried, String)>,
    /// Every letter sent about it, oldest first.
    pub letters: Vec<SentLetter>,
}

/// Everything about a unit's duties.
#[derive(Clone, Debug)]
pub struct UnitDuties {
    /// The unit.
    pub unit: UnitCard,
    /// Its duties, those that hold first.
    pub duties: Vec<Proved>,
    /// Rules whose duty lies with somebody else here.
    pub not_ours: Vec<DutyRule>,
    /// Who wrote.
    pub names: BTreeMap<AccountId, String>,
}

/// The record of a unit's duties.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn proof(world: &World, seat: &Seat, unit: UnitId) -> Result<UnitDuties, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let today = wall::day(world.now());
    let names = crate::work::names_in(world, seat.estate())?;
    let mut found = world.acting(seat, |tx| {
        let card = tx.unit(unit)?;
        seat.must_reach(card.building)?;
        let units = BTreeMap::from([(unit, card.clone())]);
        let cards = tx.duties_of_units(&[unit])?;
        let duties = proved(tx, &names, (cards, &units), today)?;
        let space = tx.space(card.space)?;
        let ours = super::rules_for(tx, &card)?;
        let not_ours = tx
            .duty_rules()?
            .into_iter()
            .filter(|rule| crate::founding::applies(rule, &card.kind, space.used_as))
            .filter(|rule| !ours.iter().any(|r| r.code == rule.code))
            // What the building has once lies with another of its units, not with somebody else.
            .filter(|rule| !crate::founding::once_a_building(rule))
            .collect();
        Ok(UnitDuties {
            unit: card,
            duties,
            not_ours,
            names: BTreeMap::new(),
        })
    })?;
    found.names = writers(world, &found.duties)?;
    Ok(found)
}

/// These duties with their whole record, those that hold first.
pub(super) fn proved(
    tx: &mut Tx<'_>,
    names: &Names,
    (mut cards, units): (Vec<DutyCard>, &BTreeMap<UnitId, UnitCard>),
    today: NaiveDate,
) -> Result<Vec<Proved>, Error> {
    cards.sort_by_key(|d| (d.ended_on.is_some(), d.id));
    let ids: Vec<DutyId> = cards.iter().map(|d| d.id).collect();
    let mut rows: BTreeMap<DutyId, Vec<Completion>> = BTreeMap::new();
    for row in tx.completions_of(&ids, true)? {
        rows.entry(row.duty).or_default().push(row);
    }
    let mut tries = tx.tries_of_duties(&ids)?;
    let known = tx.at();
    let mut letters = tx.letters_of_duties(known)?;
    let lines = standing_of(tx, cards.clone(), units, today)?;
    Ok(lines
        .into_iter()
        .filter_map(|line| {
            let card = cards.iter().find(|c| c.id == line.duty)?.clone();
            let tried = tries.remove(&line.duty).unwrap_or_default();
            Some(Proved {
                rows: rows.remove(&line.duty).unwrap_or_default(),
                tries: tried.into_iter().map(|t| at_the_door(names, t)).collect(),
                letters: letters.remove(&line.duty).unwrap_or_default(),
                line,
                card,
            })
        })
        .collect())
}

/// The names of those who wrote these records.
pub(super) fn writers(
    world: &World,
    duties: &[Proved],
) -> Result<BTreeMap<AccountId, String>, Error> {
    let who: Vec<AccountId> = duties
        .iter()
        .flat_map(|d| {
            let rows = d.rows.iter().map(|row| row.recorded_by);
            let letters = d.letters.iter().map(|l| l.recorded_by);
            rows.chain(letters)
                .chain(d.tries.iter().map(|(t, _)| t.attempt.by))
        })
        .collect();
    Ok(crate::door::names(world, &who)?.into_iter().collect())
}

/// A try with the name of who stood at the door.
fn at_the_door(names: &Names, tried: Tried) -> (Tried, String) {
    let who = tried.attempt.engineer.map(|e| names.engineer(e).to_owned());
    (tried, who.unwrap_or_default())
}
