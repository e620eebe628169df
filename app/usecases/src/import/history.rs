//! Rows of a history: what is wrong, and what each would write.
mod events;

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use store::imports::Arrivals;
use terms::unit::UnitCard;
use terms::{Pence, UnitId};

use super::dates::Span;
use super::duty_dates::{self, Meeting};
use super::fields::Field;
use super::on_record::{Event, OnRecord};
use super::problem::{Beside, Code, Counts, Doubts, MOST_CHANGES, Problem};
use super::row::{Reading, RowReader, Standing};
use super::values::{self, What};
use crate::duties::Brought;
use events::events;

/// Failures a row may count: more is a slip of the pen.
const MOST_COUNTED: u32 = 200;

/// What a history would do.
#[derive(Debug, Default)]
pub struct HistoryPlan {
    /// What comes in.
    pub arrivals: Arrivals,
    /// Checks and services that meet a duty.
    pub dates: Vec<Brought>,
    /// Rows by what becomes of them.
    pub counts: Counts,
    /// What is wrong.
    pub problems: Vec<Problem>,
    /// Rows beside what the register holds.
    pub beside: Vec<Beside>,
    /// What one should know.
    pub doubts: Doubts,
}

/// A row that could be read.
struct Read {
    unit: UnitId,
    watched_from: NaiveDate,
    what: What,
    when: Span,
    said_when: String,
    part: Option<String>,
    said_part: String,
    function_lost: Option<String>,
    cost: Option<Pence>,
    found_at_service: bool,
    same_as: String,
    words: String,
    /// How many failures it stands for.
    count: u32,
    meeting: Option<Meeting>,
}

/// A row on its way: read in a first pass, held against what the register has left in a second.
struct Coming<'a> {
    reader: RowReader<'a>,
    /// The unit, where the row could be read.
    unit: Option<UnitId>,
    /// What it would write that the register does not hold as it is.
    events: Vec<Event>,
    /// What it does to a duty, and the day.
    meeting: Option<(Meeting, NaiveDate)>,
    /// It happened before the day since which the unit is watched.
    early: bool,
}

/// Checks every row. What the register holds word for word is put aside first; only what is then left there can be
/// the same event told otherwise.
pub fn check(with: Reading<'_>) -> HistoryPlan {
    let mut plan = HistoryPlan::default();
    let mut seen: BTreeMap<[u8; 32], u32> = BTreeMap::new();
    let mut record = OnRecord::of(with.known);
    let mut coming: Vec<Coming<'_>> = Vec::with_capacity(with.sheet.rows.len());
    for row in &with.sheet.rows {
        let mut reader = RowReader::begin(with, row);
        let read = if reader.is_muddled() {
            None
        } else {
            one(with, &mut reader, &seen)
        };
        if reader.standing() != Standing::LeftOut {
            seen.entry(reader.content()).or_insert(row.number);
        }
        let read = read.filter(|_| reader.standing() == Standing::Fine);
        let early = read
            .as_ref()
            .is_some_and(|r| matches!(r.what, What::Failure) && r.when.from < r.watched_from);
        let meeting = read
            .as_ref()
            .and_then(|r| Some((r.meeting.clone()?, r.when.from)));
        let unit = read.as_ref().map(|r| r.unit);
        let mut events = read.map_or_else(Vec::new, events);
        events.retain(|event| !record.holds(event));
        coming.push(Coming {
            reader,
            unit,
            events,
            meeting,
            early,
        });
    }
    for one in coming {
        plan.settle(with, &record, one);
    }
    plan.tell_planned_parts(with);
    plan
}

fn one<'a>(
    with: Reading<'a>,
    reader: &mut RowReader<'a>,
    seen: &BTreeMap<[u8; 32], u32>,
) -> Option<Read> {
    if let Some(first) = seen.get(&reader.content()) {
        let value = reader.text(Field::Date);
        let sentence =
            format!("The same stands in row {first}. If it happened twice, say so in the words.");
        reader.wrong(Field::Date, Code::RowDoubled, value, &sentence);
        return None;
    }
    let unit = unit(with, reader);
    let when = when(reader, unit);
    let said = reader.text(Field::What);
    // A list that names the duty of each row need not say that it was a check.
    let of_duty = said.is_empty() && !reader.text(Field::Duty).is_empty();
    let what = values::what(said).or(of_duty.then_some(What::Check));
    if what.is_none() && !reader.is_spoiled(Field::What) {
        if said.is_empty() {
            reader.wrong(Field::What, Code::RequiredMissing, "", "What happened?");
        } else {
            let sentence = "Failure, no fault found, service, check, repair or part is needed.";
            reader.wrong(Field::What, Code::KindUnknown, said, sentence);
        }
    }
    let part = part(with, reader, unit, what);
    let function_lost = match what {
        Some(What::Failure | What::NothingFound) => {
            let said = reader.text(Field::FunctionLost);
            values::function_lost(said).unwrap_or_else(|code| {
                let sentence = "No function of the list goes by this word: heating, hot water, both, leak, noise, other.";
                reader.wrong(Field::FunctionLost, code, said, sentence);
                None
            })
        }
        _ => None,
    };
    let cost = reader.money(Field::Cost);
    let found_at_service = reader.yes_no(Field::FoundAtService).unwrap_or(false);
    let (unit, what, when) = (unit?, what?, when?);
    let count = count(reader, what, when);
    let meeting = duty_dates::met(with, reader, unit, (what, when));
    Some(Read {
        unit: unit.id,
        watched_from: unit.watched_from,
        what,
        when,
        said_when: reader.text(Field::Date).to_owned(),
        part,
        said_part: reader.text(Field::Part).to_owned(),
        function_lost: function_lost.map(|f| f.code().to_owned()),
        cost,
        found_at_service,
        same_as: reader.text(Field::SameAs).to_owned(),
        words: reader.words(Field::Words),
        count,
        meeting,
    })
}

/// How many failures a row stands for: one where nothing is said.
fn count(reader: &mut RowReader<'_>, what: What, when: Span) -> u32 {
    let said = reader.text(Field::Count);
    if what != What::Failure {
        if !matches!(said, "" | "1") {
            let sentence = "Only failures are counted; other work has a row each.";
            reader.wrong(Field::Count, Code::NumberUnreadable, said, sentence);
        }
        return 1;
    }
    counted_of(reader, (when.from, when.until), 1).unwrap_or(1)
}

/// A number of failures between two days, at least `least`; `None` where nothing is said, or what cannot be, which is told.
pub(super) fn counted_of(
    reader: &mut RowReader<'_>,
    (from, until): (NaiveDate, NaiveDate),
    least: u32,
) -> Option<u32> {
    let said = reader.text(Field::Count);
    if values::is_unknown(said) {
        return None;
    }
    let found: Option<u32> = said.trim().parse().ok();
    let Some(n) = found.filter(|n| (least..=MOST_COUNTED).contains(n)) else {
        let sentence = format!("A whole number from {least} to {MOST_COUNTED} is needed.");
        reader.wrong(Field::Count, Code::NumberUnreadable, said, &sentence);
        return None;
    };
    if n > 1 && (until - from).num_days() <= dependability::REPEAT_DAYS {
        let sentence = format!(
            "Within {} days failures of one unit count as repeat visits of one: give each a row with its own day and what was lost.",
            dependability::REPEAT_DAYS
        );
        reader.wrong(Field::Count, Code::NumberUnreadable, said, &sentence);
        return None;
    }
    Some(n)
}

/// When it happened, held against the unit's life.
fn when(reader: &mut RowReader<'_>, unit: Option<&UnitCard>) -> Option<Span> {
    let before = reader.problems.len();
    let when = reader.date(Field::Date, false);
    let said = reader.text(Field::Date);
    let Some(when) = when else {
        if reader.problems.len() == before && !reader.is_spoiled(Field::Date) {
            let sentence = "When did it happen? A month, a year or a range will do.";
            reader.wrong(Field::Date, Code::RequiredMissing, said, sentence);
        }
        return None;
    };
    let Some(unit) = unit else {
        return Some(when);
    };
    if let Some((from, _)) = unit.installed
        && when.until < from
    {
        let sentence = format!("{} was fitted on {from} or later.", unit.number);
        reader.wrong(Field::Date, Code::ContradictsRecord, said, &sentence);
        return None;
    }
    if let Some(ended) = unit.fate_on
        && when.from > ended
    {
        let sentence = format!("{} is {} since {ended}.", unit.number, unit.fate);
        reader.wrong(Field::Date, Code::ContradictsRecord, said, &sentence);
        return None;
    }
    Some(when)
}

/// The part of a row that records a failure or a part fitted.
fn part(
    with: Reading<'_>,
    reader: &mut RowReader<'_>,
    unit: Option<&UnitCard>,
    what: Option<What>,
) -> Option<String> {
    let said = reader.text(Field::Part);
    let speaks = matches!(what, Some(What::Failure | What::Part));
    if values::is_unknown(said) {
        if what == Some(What::Part) && !reader.is_spoiled(Field::Part) {
            reader.wrong(
                Field::Part,
                Code::RequiredMissing,
                said,
                "Which part was fitted?",
            );
        }
        return None;
    }
    let unit = unit.filter(|_| speaks)?;
    let found = values::part(said, &unit.kind, &with.known.parts).map(|p| p.code.clone());
    if found.is_none() {
        let sentence = format!("A unit of kind {} has no one part of this name.", unit.kind);
        reader.wrong(Field::Part, Code::KindUnknown, said, &sentence);
    }
    found
}

/// The unit of a row: by number, by serial, or by place and kind.
pub(super) fn unit<'a>(with: Reading<'a>, reader: &mut RowReader<'a>) -> Option<&'a UnitCard> {
    let number = reader.text(Field::Number);
    if !number.is_empty() {
        let found = with.known.numbered(number);
        if found.is_none() {
            reader.wrong(
                Field::Number,
                Code::PlaceUnknown,
                number,
                "The register has no unit of this number.",
            );
        }
        return found.filter(|unit| agrees(with, reader, unit));
    }
    let serial = reader.text(Field::Serial);
    if !values::is_unknown(serial) {
        match with.known.with_serial(serial).as_slice() {
            [only] => return agrees(with, reader, only).then_some(*only),
            [] => reader.wrong(
                Field::Serial,
                Code::PlaceUnknown,
                serial,
                "The register has no unit of this serial.",
            ),
            _ => reader.wrong(
                Field::Serial,
                Code::ContradictsRecord,
                serial,
                "Several units of the register bear this serial.",
            ),
        }
        return None;
    }
    by_place(with, reader)
}

fn by_place<'a>(with: Reading<'a>, reader: &mut RowReader<'a>) -> Option<&'a UnitCard> {
    if reader.text(Field::Space).is_empty() && with.matching.place(Field::Space).is_none() {
        let field = if with.matching.place(Field::Number).is_some() {
            Field::Number
        } else {
            Field::Serial
        };
        if !reader.is_spoiled(field) {
            reader.wrong(field, Code::RequiredMissing, "", "Which unit?");
        }
        return None;
    }
    let building = reader.building()?;
    let space = reader.space(building)?;
    let said = reader.text(Field::Kind);
    let kind = if said.is_empty() {
        None
    } else {
        let found = values::kind(said, &with.known.kinds);
        if found.is_none() {
            reader.wrong(
                Field::Kind,
                Code::KindUnknown,
                said,
                "No kind of unit goes by this word.",
            );
            return None;
        }
        found.map(|k| k.code.as_str())
    };
    let (field, value) = if said.is_empty() {
        (Field::Space, reader.text(Field::Space))
    } else {
        (Field::Kind, said)
    };
    match with.known.standing(space.id, kind).as_slice() {
        [only] => Some(*only),
        [] => {
            let sentence = format!(
                "{}, {} has no such unit on the register.",
                space.name, space.building_name
            );
            reader.wrong(field, Code::ContradictsRecord, value, &sentence);
            None
        }
        several => {
            let sentence = format!(
                "{} units stand there: the kind, a number or a serial has to say which is meant.",
                several.len()
            );
            reader.wrong(field, Code::ContradictsRecord, value, &sentence);
            None
        }
    }
}

/// Whether what else the row says of the unit fits the register.
fn agrees(with: Reading<'_>, reader: &mut RowReader<'_>, unit: &UnitCard) -> bool {
    let said = reader.text(Field::Kind);
    if let Some(kind) = values::kind(said, &with.known.kinds)
        && kind.code != unit.kind
    {
        let sentence = format!("{} is of kind {} on the register.", unit.number, unit.kind);
        reader.wrong(Field::Kind, Code::ContradictsRecord, said, &sentence);
        return false;
    }
    let said = reader.text(Field::Space);
    let elsewhere = !said.is_empty()
        && with
            .known
            .spaces(unit.building, said)
            .iter()
            .all(|s| s.id != unit.space);
    if elsewhere {
        let sentence = format!(
            "{} stands in {}, {} on the register.",
            unit.number, unit.space_name, unit.building_name
        );
        reader.wrong(Field::Space, Code::ContradictsRecord, said, &sentence);
    }
    !elsewhere
}

impl HistoryPlan {
    /// Counts a row, finds what stands beside it in the register, and keeps what it would write.
    fn settle(&mut self, with: Reading<'_>, record: &OnRecord, coming: Coming<'_>) {
        let Coming {
            mut reader,
            unit,
            events,
            meeting,
            early,
        } = coming;
        let near_check = match &meeting {
            Some((
                Meeting::Meets {
                    near: Some(near), ..
                },
                _,
            )) => {
                let day = near.format("%-d %b %Y");
                Some(format!("done on {day}, by the record of its duty"))
            }
            _ => None,
        };
        if let Some(event) = events.first()
            && let Some(near) = record.near(event).or(near_check.as_deref())
        {
            let value = reader.text(Field::What).to_owned();
            let sentence = "The register holds something of this unit at about that time: is it the same, or did both happen?";
            reader.wrong(Field::What, Code::ContradictsRecord, &value, sentence);
            if self.beside.len() < MOST_CHANGES {
                self.beside.push(Beside {
                    row: reader.number(),
                    unit: with.known.number_of(event.unit()),
                    list: event.words(),
                    register: near.to_owned(),
                });
            }
        }
        match reader.standing() {
            Standing::LeftOut => self.counts.left_out += 1,
            Standing::Held => self.counts.held += 1,
            Standing::Fine => {
                self.doubts.emptied += reader.emptied.len() as u32;
                match unit {
                    Some(_) if events.is_empty() => self.counts.same += 1,
                    Some(unit) => {
                        self.meet(unit, reader.number(), meeting);
                        self.counts.new += 1;
                        self.doubts.before_watch += u32::from(early);
                        let counted = if events.len() > 1 { events.len() } else { 0 };
                        self.doubts.counted += counted as u32;
                        for event in events {
                            self.take(event);
                        }
                    }
                    None => {}
                }
            }
        }
        self.problems.extend(reader.problems);
    }

    /// Keeps which duty a row meets, or counts why it meets none.
    fn meet(&mut self, unit: UnitId, row: u32, meeting: Option<(Meeting, NaiveDate)>) {
        match meeting {
            Some((Meeting::Meets { rule, due, .. }, done)) => {
                self.doubts.dated += 1;
                self.dates.push(Brought {
                    unit,
                    rule,
                    done: Some(done),
                    due,
                    row,
                });
            }
            Some((Meeting::Undated, _)) => self.doubts.undated += 1,
            Some((Meeting::Overtaken, _)) => self.doubts.overtaken += 1,
            None => {}
        }
    }

    fn take(&mut self, event: Event) {
        match event {
            Event::Failure(r) => self.arrivals.failures.push(r),
            Event::Service(r) => self.arrivals.services.push(r),
            Event::Part(fitted, words, paid) => {
                self.arrivals.parts.push((fitted, words));
                self.arrivals.services.extend(paid);
            }
        }
    }

    /// A part fitted on a day without a failure of its unit was planned.
    fn tell_planned_parts(&mut self, with: Reading<'_>) {
        let on_record = with.known.histories.values().flat_map(|h| &h.failures);
        let all = self.arrivals.failures.iter().chain(on_record);
        let failed: BTreeSet<(UnitId, NaiveDate)> = all.map(|f| (f.unit, f.happened_on)).collect();
        for (fitted, _) in &mut self.arrivals.parts {
            fitted.planned = !failed.contains(&(fitted.unit, fitted.fitted_on));
        }
    }
}
