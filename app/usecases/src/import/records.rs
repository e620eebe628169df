//! Rows of a list of times in which failures were written down: of a building or of one unit, with or without how many
//! failures there were in that time.
//!
//! A list adds to what stands and takes nothing away. Where a unit had no time of its own, the time it was watched until now
//! goes on beside those of the list, unless the two cannot both be: then somebody has to say.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use store::record_windows::{RecordWindow, RecordsOf};
use terms::unit::{FailureRecord, UnitCard};
use terms::{FailureId, Fate, UnitId};
use uuid::Uuid;

use super::fields::Field;
use super::history::{counted_of, unit};
use super::on_record::{Event, OnRecord};
use super::problem::{Beside, Code, Counts, Doubts, MOST_CHANGES, Problem};
use super::row::{Reading, RowReader, Standing};
use super::values;
use crate::register::MOST_WINDOWS;

/// What a list of times would do.
#[derive(Debug, Default)]
pub struct RecordsPlan {
    /// Times that are new, each with what it is of.
    pub windows: Vec<(RecordsOf, RecordWindow)>,
    /// Failures counted in them, of no known day.
    pub failures: Vec<FailureRecord>,
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
struct Read<'a> {
    of: RecordsOf,
    unit: Option<&'a UnitCard>,
    from: NaiveDate,
    until: Option<NaiveDate>,
    words: String,
    /// Failures counted that the register does not hold yet.
    failures: Vec<FailureRecord>,
    /// The register states this very time.
    stands: bool,
}

impl Read<'_> {
    fn meets(&self, from: NaiveDate, until: Option<NaiveDate>) -> bool {
        let ends_before = |end: Option<NaiveDate>, begin| end.is_some_and(|end| end < begin);
        !ends_before(self.until, from) && !ends_before(until, self.from)
    }
}

struct Coming<'a> {
    reader: RowReader<'a>,
    read: Option<Read<'a>>,
}

/// Checks every row, then all of one thing together.
pub fn check(with: Reading<'_>) -> RecordsPlan {
    let mut plan = RecordsPlan::default();
    let mut seen: BTreeMap<[u8; 32], u32> = BTreeMap::new();
    let mut record = OnRecord::of(with.known);
    let mut coming: Vec<Coming<'_>> = Vec::with_capacity(with.sheet.rows.len());
    for row in &with.sheet.rows {
        let mut reader = RowReader::begin(with, row);
        let mut read = if reader.is_muddled() {
            None
        } else {
            one(with, &mut reader, &seen)
        };
        if reader.standing() != Standing::LeftOut {
            seen.entry(reader.content()).or_insert(row.number);
        }
        if let Some(read) = &mut read {
            read.failures
                .retain(|f| !record.holds(&Event::Failure(f.clone())));
        }
        coming.push(Coming { reader, read });
    }
    plan.see_what_is_there(&record, &mut coming);
    let mut together: BTreeMap<RecordsOf, Vec<usize>> = BTreeMap::new();
    for (place, one) in coming.iter().enumerate() {
        if let Some(read) = one.read.as_ref().filter(|_| one.stands_fine()) {
            together.entry(read.of).or_default().push(place);
        }
    }
    for (of, mut places) in together {
        places.sort_by_key(|place| coming[*place].read.as_ref().map(|r| r.from));
        apart(with, of, &places, &mut coming);
        plan.goes_on(with, of, &places, &mut coming);
    }
    for one in coming {
        plan.settle(one);
    }
    plan
}

impl Coming<'_> {
    fn stands_fine(&self) -> bool {
        self.reader.standing() == Standing::Fine
    }
}

fn one<'a>(
    with: Reading<'a>,
    reader: &mut RowReader<'a>,
    seen: &BTreeMap<[u8; 32], u32>,
) -> Option<Read<'a>> {
    if let Some(first) = seen.get(&reader.content()) {
        let value = reader.text(Field::RecordsFrom);
        let sentence = format!("The same stands in row {first}.");
        reader.wrong(Field::RecordsFrom, Code::RowDoubled, value, &sentence);
        return None;
    }
    let of_unit = [Field::Number, Field::Serial, Field::Space]
        .into_iter()
        .any(|field| !values::is_unknown(reader.text(field)) || reader.is_spoiled(field));
    let unit = if of_unit {
        Some(unit(with, reader)?)
    } else {
        None
    };
    let building = match unit {
        Some(unit) => Some(unit.building),
        None => reader.building(),
    };
    let (from, until) = days(with, reader)?;
    let count = counted(reader, unit, (from, until));
    let building = building?;
    if let Some(unit) = unit {
        of_its_life(reader, unit, (from, until));
    }
    let words = reader.words(Field::Words);
    let failures = match (unit, until, count) {
        (Some(unit), Some(until), Some(n)) => failures(unit, (from, until), n, &words),
        _ => Vec::new(),
    };
    let of = (building, unit.map(|u| u.id));
    let known = with.known.windows.get(&of);
    let same = |w: &RecordWindow| w.from_on == from && w.until_on == until;
    Some(Read {
        of,
        unit,
        from,
        until,
        words,
        failures,
        stands: known.is_some_and(|all| all.iter().any(same)),
    })
}

/// First and last day; none for records that are kept still, which a last day of today or later says too.
fn days(with: Reading<'_>, reader: &mut RowReader<'_>) -> Option<(NaiveDate, Option<NaiveDate>)> {
    let before = reader.problems.len();
    let from = reader.date(Field::RecordsFrom, false);
    if from.is_none() && reader.problems.len() == before && !reader.is_spoiled(Field::RecordsFrom) {
        let value = reader.text(Field::RecordsFrom);
        let sentence = "From which day on were failures written down?";
        reader.wrong(Field::RecordsFrom, Code::RequiredMissing, value, sentence);
    }
    let until = reader.date(Field::RecordsUntil, true);
    // A last day that cannot be read is not the same as none.
    if reader.problems.len() != before || reader.is_spoiled(Field::RecordsUntil) {
        return None;
    }
    let (from, until) = (
        from?.from,
        until.map(|s| s.until).filter(|d| *d < with.known.today),
    );
    if until.is_some_and(|until| until <= from) {
        let value = reader.text(Field::RecordsUntil);
        let sentence = "The last day comes after the first one.";
        reader.wrong(Field::RecordsUntil, Code::DateOrder, value, sentence);
        return None;
    }
    Some((from, until))
}

/// How many failures the row counts, where it says so and they can be told apart.
fn counted(
    reader: &mut RowReader<'_>,
    unit: Option<&UnitCard>,
    (from, until): (NaiveDate, Option<NaiveDate>),
) -> Option<u32> {
    let said = reader.text(Field::Count);
    if said.is_empty() {
        return None;
    }
    if unit.is_none() {
        let sentence = "Failures are counted of one unit: its number, its serial, or its flat and kind has to say of which.";
        reader.wrong(Field::Count, Code::RequiredMissing, said, sentence);
        return None;
    }
    let Some(until) = until else {
        let value = reader.text(Field::RecordsUntil);
        let sentence = "A number of failures needs the last day of its time.";
        reader.wrong(Field::RecordsUntil, Code::RequiredMissing, value, sentence);
        return None;
    };
    counted_of(reader, (from, until), 0)
}

/// A time that lies outside the unit's own is of another unit.
fn of_its_life(
    reader: &mut RowReader<'_>,
    unit: &UnitCard,
    (from, until): (NaiveDate, Option<NaiveDate>),
) {
    let number = &unit.number;
    if let (Some((first, _)), Some(until)) = (unit.installed, until)
        && until < first
    {
        let value = reader.text(Field::RecordsUntil);
        let sentence = format!("{number} was fitted on {first} or later.");
        reader.wrong(
            Field::RecordsUntil,
            Code::ContradictsRecord,
            value,
            &sentence,
        );
    }
    if let Some(ended) = unit.fate_on
        && from > ended
    {
        let value = reader.text(Field::RecordsFrom);
        let sentence = format!("{number} is {} since {ended}.", unit.fate);
        reader.wrong(
            Field::RecordsFrom,
            Code::ContradictsRecord,
            value,
            &sentence,
        );
    }
}

/// So many failures of no known day, between the days of the time in which the unit stood there.
fn failures(
    unit: &UnitCard,
    (from, until): (NaiveDate, NaiveDate),
    n: u32,
    words: &str,
) -> Vec<FailureRecord> {
    let fitted = unit.installed.map_or(from, |(first, _)| first);
    let (from, until) = (
        from.max(fitted),
        unit.fate_on.map_or(until, |ended| until.min(ended)),
    );
    let one = FailureRecord {
        id: FailureId(Uuid::nil()),
        unit: unit.id,
        part: None,
        function_lost: None,
        happened_on: from,
        happened_until: Some(until).filter(|day| *day != from),
        found_at_service: false,
        no_fault_found: false,
        cost: None,
        job: None,
        same_as: String::new(),
        words: words.to_owned(),
        recorded_at: chrono::DateTime::UNIX_EPOCH,
    };
    vec![one; n as usize]
}

/// Rows of one thing, by their first day, held against each other and against what stands.
fn apart(with: Reading<'_>, of: RecordsOf, places: &[usize], coming: &mut [Coming<'_>]) {
    let standing = with.known.windows.get(&of).map_or(&[][..], Vec::as_slice);
    for (nth, place) in places.iter().enumerate() {
        let Some(read) = &coming[*place].read else {
            continue;
        };
        let before = places[..nth].iter().find_map(|earlier| {
            let other = coming[*earlier].read.as_ref()?;
            let meet = read.meets(other.from, other.until);
            meet.then(|| coming[*earlier].reader.number())
        });
        let there = standing
            .iter()
            .find(|w| !read.stands && read.meets(w.from_on, w.until_on));
        let (code, sentence) = match (before, there) {
            (Some(row), _) => (
                Code::DateOrder,
                format!("Row {row} speaks of the same time: times of one thing lie apart."),
            ),
            (None, Some(w)) => {
                let until = w
                    .until_on
                    .map_or_else(|| "until now".to_owned(), |day| format!("to {day}"));
                let sentence = format!(
                    "The register has its records from {} {until}; correct that on its own page.",
                    w.from_on
                );
                (Code::ContradictsRecord, sentence)
            }
            (None, None) => continue,
        };
        let reader = &mut coming[*place].reader;
        let value = reader.text(Field::RecordsFrom);
        reader.wrong(Field::RecordsFrom, code, value, &sentence);
    }
}

impl RecordsPlan {
    /// Failures counted where the register holds some of that time: somebody has to say whether they are the same.
    fn see_what_is_there(&mut self, record: &OnRecord, coming: &mut [Coming<'_>]) {
        for one in coming {
            let Coming {
                reader,
                read: Some(read),
            } = one
            else {
                continue;
            };
            let (Some(unit), Some(first)) = (read.unit, read.failures.first()) else {
                continue;
            };
            let span = (
                first.happened_on,
                first.happened_until.unwrap_or(first.happened_on),
            );
            let there = record.failures_in(unit.id, span);
            let Some(near) = there.first() else {
                continue;
            };
            let value = reader.text(Field::Count).to_owned();
            let sentence = "The register holds failures of it of that time: are they among these, or did both happen?";
            reader.wrong(Field::Count, Code::ContradictsRecord, &value, sentence);
            if self.beside.len() < MOST_CHANGES {
                let more = match there.len() {
                    1 => String::new(),
                    n => format!(", and {} more", n - 1),
                };
                self.beside.push(Beside {
                    row: reader.number(),
                    unit: unit.number.clone(),
                    list: format!("{value} failures from {} to {}", span.0, span.1),
                    register: format!("{near}{more}"),
                });
            }
        }
    }

    /// Where nothing stood of a thing, what held of it until now goes on beside times that have ended.
    fn goes_on(
        &mut self,
        with: Reading<'_>,
        of: RecordsOf,
        places: &[usize],
        coming: &mut [Coming<'_>],
    ) {
        let stood = with.known.windows.get(&of).map_or(0, Vec::len);
        let fine: Vec<usize> = places
            .iter()
            .copied()
            .filter(|place| coming[*place].stands_fine())
            .collect();
        let Some(last) = fine.last().copied() else {
            return;
        };
        let rows: Vec<&Read<'_>> = fine
            .iter()
            .filter_map(|place| coming[*place].read.as_ref())
            .collect();
        let fresh = rows.iter().filter(|read| !read.stands).count();
        let mut before: Vec<RecordWindow> = Vec::new();
        let mut wrong = None;
        let lasts = rows.iter().any(|read| read.until.is_none());
        if stood == 0 && fresh > 0 && !lasts && goes_past(&rows) {
            before = until_now(with, of, &rows);
            let apart = |w: &RecordWindow| rows.iter().all(|r| !r.meets(w.from_on, w.until_on));
            if before.is_empty() || !before.iter().all(apart) {
                wrong = Some((
                    Field::RecordsUntil,
                    Code::RequiredMissing,
                    "As it stands no failure of it would count from then on: add a row without a last day, from the day since which they are written down.".to_owned(),
                ));
            }
        }
        if stood + fresh + before.len() > MOST_WINDOWS {
            wrong = Some((
                Field::RecordsFrom,
                Code::ContradictsRecord,
                format!(
                    "At most {MOST_WINDOWS} times are kept of one thing; join those that meet."
                ),
            ));
        }
        if let Some((field, code, sentence)) = wrong {
            let reader = &mut coming[last].reader;
            let value = reader.text(field);
            reader.wrong(field, code, value, &sentence);
            return;
        }
        self.doubts.goes_on += u32::from(!before.is_empty());
        self.windows.extend(before.into_iter().map(|w| (of, w)));
    }

    fn settle(&mut self, one: Coming<'_>) {
        match one.reader.standing() {
            Standing::LeftOut => self.counts.left_out += 1,
            Standing::Held => self.counts.held += 1,
            Standing::Fine => {
                self.doubts.emptied += one.reader.emptied.len() as u32;
                if let Some(read) = one.read {
                    self.take(read);
                }
            }
        }
        self.problems.extend(one.reader.problems);
    }

    fn take(&mut self, read: Read<'_>) {
        if read.stands && read.failures.is_empty() {
            self.counts.same += 1;
            return;
        }
        self.counts.new += 1;
        self.doubts.counted += read.failures.len() as u32;
        if !read.stands {
            let window = RecordWindow {
                from_on: read.from,
                until_on: read.until,
                words: read.words,
            };
            self.windows.push((read.of, window));
        }
        self.failures.extend(read.failures);
    }

    /// The units it speaks of one by one.
    pub fn units(&self) -> impl Iterator<Item = UnitId> + '_ {
        let of_windows = self.windows.iter().filter_map(|((_, unit), _)| *unit);
        of_windows.chain(self.failures.iter().map(|f| f.unit))
    }
}

/// Whether the thing still stands after the last of these times.
fn goes_past(rows: &[&Read<'_>]) -> bool {
    let last = rows.iter().filter_map(|read| read.until).max();
    let Some(unit) = rows.first().and_then(|read| read.unit) else {
        return true;
    };
    unit.fate == Fate::InService || unit.fate_on > last
}

/// What held of a unit until now: its building's times, else from the day on that it is watched from. Of a building nothing
/// can be said: each of its units has its own day.
fn until_now(with: Reading<'_>, of: RecordsOf, rows: &[&Read<'_>]) -> Vec<RecordWindow> {
    let Some(unit) = rows.first().and_then(|read| read.unit) else {
        return Vec::new();
    };
    match with.known.windows.get(&(of.0, None)) {
        Some(of_building) if !of_building.is_empty() => of_building.clone(),
        _ => vec![RecordWindow {
            from_on: unit.watched_from,
            until_on: None,
            words: "as it was watched before".to_owned(),
        }],
    }
}
