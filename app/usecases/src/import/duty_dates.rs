//! The dates of duties a row states: the day itself, the duty it is of, and what the register says of it. A deadline is
//! counted from such a day, so none is taken from a month or a year, and none moves what a later record has set.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use inspection::calendar::{date_words, days_between};
use store::imports::DutyDay;
use terms::UnitId;
use terms::place::SpaceCard;
use terms::trade::DutyRule;

use super::dates::{Doubt, Span};
use super::fields::{Field, normal};
use super::problem::{Change, Code};
use super::row::{Reading, RowReader};
use super::values::What;
use crate::duties;

/// Two checks of one duty so few days apart may be one that two people wrote down.
const NEAR_DAYS: i64 = 7;

/// A deadline further away than this is a slip of the pen: ten years, as on the page of a duty.
const MOST_DAYS: i64 = 3660;

/// What the register holds of one duty of a unit.
#[derive(Clone, Debug, Default)]
pub struct Held {
    /// The days of whole checks, oldest first.
    done: Vec<NaiveDate>,
    /// The day the latest row holds from.
    latest: Option<NaiveDate>,
    /// The deadline it leaves.
    deadline: Option<NaiveDate>,
}

/// What it holds of all, by unit and rule.
pub type AllHeld = BTreeMap<UnitId, BTreeMap<String, Held>>;

/// Gathers the rows of the register.
pub fn gather(rows: Vec<DutyDay>) -> AllHeld {
    let mut all = AllHeld::new();
    for row in rows {
        let held = all
            .entry(row.unit)
            .or_default()
            .entry(row.rule)
            .or_default();
        held.done.extend(row.done_on.filter(|_| row.check_complete));
        held.latest = held.latest.max(Some(row.happened_on));
        held.deadline = row.next_deadline;
    }
    all
}

/// A duty's dates as a row states them, with the columns they stand in.
#[derive(Clone, Debug)]
pub struct Stated {
    /// The rule's code.
    pub rule: String,
    /// Done on.
    pub done: Option<NaiveDate>,
    /// Due by.
    pub due: Option<NaiveDate>,
    fields: (Field, Field),
}

/// The pairs of columns: which duty, done, due.
const PAIRS: [(Field, Field); 3] = [
    (Field::GasCheckDone, Field::GasCheckDue),
    (Field::ServiceDone, Field::ServiceDue),
    (Field::DutyDone, Field::DutyDue),
];

/// Reads the dates of a row of units.
pub fn read(
    with: Reading<'_>,
    reader: &mut RowReader<'_>,
    (kind, space, fitted): (&str, &SpaceCard, Option<Span>),
) -> Vec<Stated> {
    let mut found: Vec<Stated> = Vec::new();
    for fields in PAIRS {
        let done = day(with, reader, fields.0, false);
        let due = day(with, reader, fields.1, true);
        if done.is_none() && due.is_none() {
            continue;
        }
        let at = if done.is_some() { fields.0 } else { fields.1 };
        let rule = match fields.0 {
            Field::GasCheckDone => duties::gas_check(&with.known.rules, kind, space),
            Field::ServiceDone => duties::service(&with.known.rules, kind, space),
            _ => match named(with, reader, kind, space) {
                Ok(rule) => rule,
                Err(()) => continue,
            },
        };
        let Some(rule) = rule else {
            let (field, value) = match fields.0 {
                Field::DutyDone => (Field::Duty, reader.text(Field::Duty)),
                _ => (at, reader.text(at)),
            };
            let sentence = format!("A unit of kind {kind} has no such duty.");
            reader.wrong(field, Code::ContradictsRecord, value, &sentence);
            continue;
        };
        if let (Some(done), Some(fitted)) = (done, fitted)
            && done < fitted.from
        {
            let value = reader.text(fields.0);
            let sentence = "The unit was not fitted yet on that day.";
            reader.wrong(fields.0, Code::DateOrder, value, sentence);
            continue;
        }
        if found.iter().any(|other| other.rule == rule.code) {
            let value = reader.text(at);
            let sentence = "The row states this duty twice.";
            reader.wrong(at, Code::ContradictsRecord, value, sentence);
            continue;
        }
        found.push(Stated {
            rule: rule.code.clone(),
            done,
            due,
            fields,
        });
    }
    found
}

/// A whole day; a month or a year is told as a problem, for the deadline is counted from the day.
fn day(
    with: Reading<'_>,
    reader: &mut RowReader<'_>,
    field: Field,
    ahead: bool,
) -> Option<NaiveDate> {
    let span = reader.date(field, ahead)?;
    let said = reader.text(field);
    if span.doubt != Doubt::Known {
        let sentence = "The day itself is needed: a deadline is counted from it.";
        reader.wrong(field, Code::DateUnreadable, said, sentence);
        return None;
    }
    if ahead && days_between(with.known.today, span.from).abs() > MOST_DAYS {
        let sentence = "That is more than ten years away; check the year.";
        reader.wrong(field, Code::DateImpossible, said, sentence);
        return None;
    }
    Some(span.from)
}

/// The duty a cell names by its code or name; `Err` when it names none, which is told. `Ok(None)`: one this unit has not.
fn named<'a>(
    with: Reading<'a>,
    reader: &mut RowReader<'_>,
    kind: &str,
    space: &SpaceCard,
) -> Result<Option<&'a DutyRule>, ()> {
    let said = reader.text(Field::Duty);
    if said.is_empty() {
        if !reader.is_spoiled(Field::Duty) {
            reader.wrong(Field::Duty, Code::RequiredMissing, "", "Which duty?");
        }
        return Err(());
    }
    let wanted = normal(said);
    let rules = &with.known.rules;
    let found = rules
        .iter()
        .find(|rule| normal(&rule.code) == wanted || normal(&rule.name) == wanted);
    let found = found.or_else(|| match super::values::what(said) {
        Some(What::Service) => duties::service(rules, kind, space),
        Some(What::Check) => duties::gas_check(rules, kind, space),
        _ => None,
    });
    let Some(rule) = found else {
        let sentence = "No duty goes by this code or name; the list of duties shows both.";
        reader.wrong(Field::Duty, Code::KindUnknown, said, sentence);
        return Err(());
    };
    Ok(Some(rule).filter(|rule| duties::can_be_stated(rule, kind, space)))
}

/// Holds a date against what the register says: what is new of it, or `None` when nothing is or it contradicts.
pub fn against(
    with: Reading<'_>,
    reader: &mut RowReader<'_>,
    unit: Option<UnitId>,
    mut stated: Stated,
) -> Option<Stated> {
    let nothing = Held::default();
    let held = unit
        .and_then(|unit| with.known.held.get(&unit)?.get(&stated.rule))
        .unwrap_or(&nothing);
    if let Some(done) = stated.done {
        if held.done.contains(&done) {
            stated.done = None;
        } else if let Some(sentence) = not_the_last(held, done) {
            against_record(reader, stated.fields.0, &sentence);
            return None;
        }
    }
    if let Some(due) = stated.due {
        let rule = with.known.rules.iter().find(|r| r.code == stated.rule)?;
        match follows(rule, held, (stated.done, due)) {
            Ok(kept) => stated.due = kept,
            Err((code, sentence)) => {
                let value = reader.text(stated.fields.1);
                reader.wrong(stated.fields.1, code, value, &sentence);
                stated.due = None;
            }
        }
    }
    (stated.done.is_some() || stated.due.is_some()).then_some(stated)
}

fn against_record(reader: &mut RowReader<'_>, field: Field, sentence: &str) {
    let value = reader.text(field);
    reader.wrong(field, Code::ContradictsRecord, value, sentence);
}

/// Why a day cannot be that of the last check.
fn not_the_last(held: &Held, done: NaiveDate) -> Option<String> {
    if let Some(near) = near(held, done) {
        return Some(format!(
            "The register has it done on {}: is it the same? So few days apart, only one day can be right.",
            date_words(near)
        ));
    }
    if let Some(later) = held.done.last().filter(|last| **last > done) {
        return Some(format!(
            "The register has it done on {}, which is later; this day moves nothing.",
            date_words(*later)
        ));
    }
    let stated = held.latest.filter(|latest| *latest > done);
    let deadline = stated.and(held.deadline)?;
    Some(format!(
        "The register has it due by {}, as was stated later; this day moves nothing.",
        date_words(deadline)
    ))
}

fn near(held: &Held, done: NaiveDate) -> Option<NaiveDate> {
    held.done
        .iter()
        .copied()
        .find(|day| days_between(*day, done).abs() <= NEAR_DAYS)
}

/// Whether a stated deadline has to be kept beside the day of the check (`Some`), follows from it or is known (`None`).
fn follows(
    rule: &DutyRule,
    held: &Held,
    (done, due): (Option<NaiveDate>, NaiveDate),
) -> Result<Option<NaiveDate>, (Code, String)> {
    let Some(done) = done else {
        return match held.deadline {
            None => Ok(Some(due)),
            Some(known) if known == due => Ok(None),
            Some(known) => Err((
                Code::ContradictsRecord,
                format!("The register has it due by {}.", date_words(known)),
            )),
        };
    };
    if due <= done {
        let sentence = "It is due before it was done.".to_owned();
        return Err((Code::DateOrder, sentence));
    }
    let next = |before| duties::next_after(rule, before, done).ok().flatten();
    let reckoned = next(held.deadline);
    if reckoned == Some(due) {
        return Ok(None);
    }
    // Done early in its window it keeps its day: then the deadline it met is one interval before the stated one.
    if held.deadline.is_none() && next(Some(duties::one_before(rule, due))) == Some(due) {
        return Ok(Some(due));
    }
    let sentence = match reckoned {
        Some(day) => format!(
            "Done on {}, it is due by {} by its rule.",
            date_words(done),
            date_words(day)
        ),
        None => "Once done it comes again only when its event does.".to_owned(),
    };
    Err((Code::ContradictsRecord, sentence))
}

/// What differs from the register, column by column.
pub fn changes(
    with: Reading<'_>,
    (unit, number): (UnitId, &str),
    row: u32,
    stated: &Stated,
) -> Vec<Change> {
    let held = with
        .known
        .held
        .get(&unit)
        .and_then(|rules| rules.get(&stated.rule));
    let was = |day: Option<NaiveDate>| day.map_or_else(String::new, |day| day.to_string());
    let change = |field, old: Option<NaiveDate>, new: Option<NaiveDate>| {
        new.map(|new| Change {
            row,
            unit: number.to_owned(),
            field,
            old: was(old),
            new: new.to_string(),
        })
    };
    let last = held.and_then(|held| held.done.last().copied());
    let deadline = held.and_then(|held| held.deadline);
    [
        change(stated.fields.0, last, stated.done),
        change(stated.fields.1, deadline, stated.due),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// What a check or service of a history does to its duty.
#[derive(Clone, Debug)]
pub enum Meeting {
    /// It meets this duty.
    Meets {
        /// The rule's code.
        rule: String,
        /// The day by which it is due next, where that does not follow.
        due: Option<NaiveDate>,
        /// A check of the register so near that it may be the same.
        near: Option<NaiveDate>,
    },
    /// Its day is not known.
    Undated,
    /// The register has a later record of the duty, which stands.
    Overtaken,
}

/// The duty a row of a history meets: the one it names, else by what happened. "Inspection" may be of anything.
pub fn met(
    with: Reading<'_>,
    reader: &mut RowReader<'_>,
    unit: &terms::unit::UnitCard,
    (what, when): (What, Span),
) -> Option<Meeting> {
    if !matches!(what, What::Check | What::Service) {
        return None;
    }
    let space = with.known.space_of(unit)?;
    let rules = &with.known.rules;
    let rule = if !reader.text(Field::Duty).is_empty() {
        let rule = named(with, reader, &unit.kind, space).ok()?;
        if rule.is_none() {
            let sentence = format!("A unit of kind {} has no such duty.", unit.kind);
            against_record(reader, Field::Duty, &sentence);
        }
        rule?
    } else if what == What::Service {
        duties::service(rules, &unit.kind, space)?
    } else if normal(reader.text(Field::What)) == "inspection" {
        return None;
    } else {
        // A home on a long lease has no landlord's check of ours.
        duties::gas_check(rules, &unit.kind, space).filter(|_| space.let_short != Some(false))?
    };
    if when.doubt != Doubt::Known {
        return Some(Meeting::Undated);
    }
    let nothing = Held::default();
    let of_unit = with.known.held.get(&unit.id);
    let held = of_unit
        .and_then(|rules| rules.get(&rule.code))
        .unwrap_or(&nothing);
    let done = when.from;
    if held.done.contains(&done) {
        return None;
    }
    let near = near(held, done);
    if near.is_none() && held.latest.is_some_and(|latest| latest > done) {
        return Some(Meeting::Overtaken);
    }
    let mut due = day(with, reader, Field::DutyDue, true);
    if let Some(said) = due {
        match follows(rule, held, (Some(done), said)) {
            Ok(kept) => due = kept,
            Err((code, sentence)) => {
                let value = reader.text(Field::DutyDue);
                reader.wrong(Field::DutyDue, code, value, &sentence);
                due = None;
            }
        }
    }
    Some(Meeting::Meets {
        rule: rule.code.clone(),
        due,
        near,
    })
}
