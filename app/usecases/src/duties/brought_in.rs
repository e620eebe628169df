//! Dates of duties that came with a list: the last check, the day the next is due, or both. They become rows of the
//! duty's record like any other, marked with their list, so that one step takes them back.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use inspection::calendar::date_words;
use store::Tx;
use store::duties::{Completion, DutyCard};
use terms::place::SpaceCard;
use terms::trade::DutyRule;
use terms::{DutyId, ImportId, UnitId};
use uuid::Uuid;

use super::reckoned::reckoned;
use super::{blank, dates, duty_of, is_gas_check, open_duty, opened_by_hand, reckon};
use crate::Error;
use crate::founding::{applies, once_a_building};

/// The yearly work that is called "the service" of a kind, one for each kind that has one.
const SERVICES: [&str; 10] = ["G4", "G5", "Y1", "Y2", "Y3", "Y4", "Y5", "Y6", "U1", "N5"];

/// Units a statement.
const BATCH: usize = 1000;

/// What a list says of one duty of one unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Brought {
    /// The unit.
    pub unit: UnitId,
    /// The rule's code.
    pub rule: String,
    /// The day it was last done.
    pub done: Option<NaiveDate>,
    /// The day by which it is due next, where that does not follow from the day it was done.
    pub due: Option<NaiveDate>,
    /// The row it stands in.
    pub row: u32,
}

/// The gas safety check of a unit, where its kind has one.
pub(crate) fn gas_check<'a>(
    rules: &'a [DutyRule],
    kind: &str,
    space: &SpaceCard,
) -> Option<&'a DutyRule> {
    let mut of_kind = rules.iter().filter(|r| applies(r, kind, space.used_as));
    of_kind.find(|rule| is_gas_check(rule))
}

/// The duty that is called the service of a unit, where its kind has one.
pub(crate) fn service<'a>(
    rules: &'a [DutyRule],
    kind: &str,
    space: &SpaceCard,
) -> Option<&'a DutyRule> {
    let mut of_kind = rules.iter().filter(|r| applies(r, kind, space.used_as));
    of_kind.find(|rule| SERVICES.contains(&rule.code.as_str()))
}

/// Whether a list can state this duty of a unit: the ones of its kind, and those the desk opens by hand. What a building
/// has once is stated on that duty's own page, and the tests of a care valve by their own form.
pub(crate) fn can_be_stated(rule: &DutyRule, kind: &str, space: &SpaceCard) -> bool {
    let ours = applies(rule, kind, space.used_as) || opened_by_hand(rule);
    ours && !once_a_building(rule) && !dates::is_care_valve(rule)
}

/// The deadline that a check on `done` leaves, when `before` was the deadline it met.
pub(crate) fn next_after(
    rule: &DutyRule,
    before: Option<NaiveDate>,
    done: NaiveDate,
) -> Result<Option<NaiveDate>, Error> {
    let nobody = DutyId(Uuid::nil());
    let mut rows: Vec<Completion> = Vec::new();
    rows.extend(before.map(|deadline| start(rule, nobody, (deadline, done))));
    rows.push(check(nobody, done));
    Ok(dates::replay(rule, &rows)?
        .last()
        .and_then(|step| step.next_deadline))
}

/// The deadline a check must have met so that the next one is due by `due`.
pub(crate) fn one_before(rule: &DutyRule, due: NaiveDate) -> NaiveDate {
    dates::one_before(rule, due)
}

/// It stands where a check one interval before it would, at the latest on `latest`.
fn start(rule: &DutyRule, duty: DutyId, (deadline, latest): (NaiveDate, NaiveDate)) -> Completion {
    Completion {
        next_deadline: Some(deadline),
        reason: format!(
            "Brought in from a list: due by {}, as stated there.",
            date_words(deadline)
        ),
        ..blank(duty, dates::one_before(rule, deadline).min(latest))
    }
}

fn check(duty: DutyId, done: NaiveDate) -> Completion {
    Completion {
        done_on: Some(done),
        check_complete: true,
        result: "to_reckon".to_owned(),
        ..blank(duty, done)
    }
}

/// Writes what a list says into the records of the duties, each record reckoned as a whole.
pub(crate) fn bring_in(
    tx: &mut Tx<'_>,
    (import, name): (ImportId, &str),
    all: &[Brought],
) -> Result<(), Error> {
    let today = tx.today();
    let mut versions: BTreeMap<String, Vec<DutyRule>> = BTreeMap::new();
    for version in tx.duty_rule_versions(None)? {
        let code = version.rule.code.clone();
        versions.entry(code).or_default().push(version.rule);
    }
    let rules: BTreeMap<String, DutyRule> = tx
        .duty_rules()?
        .into_iter()
        .map(|rule| (rule.code.clone(), rule))
        .collect();
    let mut by: BTreeMap<(UnitId, &str), Vec<&Brought>> = BTreeMap::new();
    for one in all {
        by.entry((one.unit, one.rule.as_str()))
            .or_default()
            .push(one);
    }
    let groups: Vec<((UnitId, &str), Vec<&Brought>)> = by.into_iter().collect();
    for batch in groups.chunks(BATCH) {
        let known = duties_of(tx, batch, &rules)?;
        let ids: Vec<DutyId> = known.values().copied().collect();
        let mut rows: BTreeMap<DutyId, Vec<Completion>> = BTreeMap::new();
        for row in tx.completions_of(&ids, false)? {
            rows.entry(row.duty).or_default().push(row);
        }
        let (mut gone, mut fresh) = (Vec::new(), Vec::new());
        for ((unit, code), said) in batch {
            let (Some(duty), Some(rule)) = (known.get(&(*unit, *code)), rules.get(*code)) else {
                continue;
            };
            let mut record = rows.remove(duty).unwrap_or_default();
            let list = (import, name, today);
            gone.extend(add(&mut record, (rule, *duty), list, said));
            let versions = versions.get(*code).map_or(&[][..], Vec::as_slice);
            let (old, new) = reckoned((rule, versions), record)?;
            gone.extend(old);
            fresh.extend(new);
        }
        tx.supersede_completions(&gone)?;
        tx.add_completions(&fresh)?;
    }
    Ok(())
}

/// The duty of each group: the open one, else the last that ended, else one opened now.
fn duties_of<'a>(
    tx: &mut Tx<'_>,
    groups: &[((UnitId, &'a str), Vec<&'a Brought>)],
    rules: &BTreeMap<String, DutyRule>,
) -> Result<BTreeMap<(UnitId, &'a str), DutyId>, Error> {
    let units: BTreeSet<UnitId> = groups.iter().map(|(key, _)| key.0).collect();
    let units: Vec<UnitId> = units.into_iter().collect();
    let mut there: BTreeMap<(UnitId, String), DutyCard> = BTreeMap::new();
    for card in tx.duties_of_units(&units)? {
        let Some(unit) = card.unit else { continue };
        let known = there.entry((unit, card.rule.clone()));
        known
            .and_modify(|former| {
                if former.ended_on.is_some() {
                    *former = card.clone();
                }
            })
            .or_insert(card);
    }
    let mut found = BTreeMap::new();
    for ((unit, code), _) in groups {
        let Some(rule) = rules.get(*code) else {
            continue;
        };
        let known = there.get(&(*unit, (*code).to_owned()));
        let duty = match known {
            // One that is opened by hand and has ended is opened anew: the list says that it holds.
            Some(card) if card.ended_on.is_none() || !opened_by_hand(rule) => card.id,
            _ if opened_by_hand(rule) => {
                let card = tx.unit(*unit)?;
                open_duty(tx, &card, code, None)?
            }
            _ => duty_of(tx, *unit, code)?.0,
        };
        found.insert((*unit, *code), duty);
    }
    Ok(found)
}

/// Adds what a list says to a duty's rows; answers the rows that a stated deadline takes the place of.
fn add(
    record: &mut Vec<Completion>,
    (rule, duty): (&DutyRule, DutyId),
    (import, name, today): (ImportId, &str, NaiveDate),
    said: &[&Brought],
) -> Vec<Uuid> {
    let mut gone = Vec::new();
    for one in said {
        let marked = |row: Completion| Completion {
            import: Some(import),
            evidence: format!(
                "Brought in from the list “{name}”, row {}; the record itself is not here",
                one.row
            ),
            ..row
        };
        if let Some(due) = one.due {
            let former = record.iter().filter(|row| row.done_on.is_none());
            gone.extend(former.map(|row| row.id).filter(|id| !id.is_nil()));
            record.retain(|row| row.done_on.is_some());
            let deadline = match one.done {
                Some(_) => dates::one_before(rule, due),
                None => due,
            };
            record.push(marked(start(rule, duty, (deadline, today))));
        }
        if let Some(done) = one.done
            && !record.iter().any(|row| row.done_on == Some(done))
        {
            record.push(marked(check(duty, done)));
        }
    }
    gone
}

/// After a list's rows have left the records: what else stands there is reckoned anew, and a duty that only the list
/// had opened ends.
pub(crate) fn taken_back(
    tx: &mut Tx<'_>,
    (dated, opened): (&[DutyId], &[DutyId]),
) -> Result<(), Error> {
    let rules = tx.duty_rules()?;
    let today = tx.today();
    let mut with_more: BTreeSet<DutyId> = BTreeSet::new();
    for batch in dated.chunks(BATCH) {
        let rows = tx.completions_of(batch, false)?;
        with_more.extend(rows.into_iter().map(|row| row.duty));
    }
    for duty in &with_more {
        let card = tx.duty(*duty)?;
        if let Some(rule) = rules.iter().find(|rule| rule.code == card.rule) {
            reckon(tx, *duty, rule)?;
        }
    }
    for duty in opened.iter().filter(|duty| !with_more.contains(duty)) {
        tx.end_duty(*duty, today)?;
    }
    Ok(())
}
