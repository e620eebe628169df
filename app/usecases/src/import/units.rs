//! Rows of a list of units: what is wrong, and what each would write.
mod cards;

use std::collections::BTreeMap;

use terms::unit::UnitCard;
use terms::{Fate, LikeIn, SpaceId, Tenure, UnitId, UsedAs};

use super::dates::Span;
use super::duty_dates::{self, Stated};
use super::fields::Field;
use super::known::{number_key, serial_key};
use super::likes::{self, Likes};
use super::problem::{Change, Code, Counts, Doubts, MOST_CHANGES, Problem};
use super::row::{Reading, RowReader, Standing};
use super::{tenures, values};
use crate::duties::Brought;
use cards::{differences, new_card, restated};

/// A home has one of these; a second one is a replacement that nobody recorded.
const ONE_A_HOME: [&str; 5] = ["CB", "GB", "EB", "HIU", "TS"];

/// What a list of units would do.
#[derive(Debug, Default)]
pub struct UnitsPlan {
    /// Units new to the register; an empty number is given one when they come in.
    pub new: Vec<UnitCard>,
    /// Units to be stated anew.
    pub changed: Vec<UnitCard>,
    /// Dates of the duties of units on the register.
    pub dates: Vec<Brought>,
    /// The same of new units, each by its place among them.
    pub new_dates: Vec<(usize, Brought)>,
    /// Rows by what becomes of them.
    pub counts: Counts,
    /// What is wrong.
    pub problems: Vec<Problem>,
    /// Who holds homes of the list, where it says otherwise than the register.
    pub tenures: BTreeMap<SpaceId, Tenure>,
    /// How many people live in homes of the list, where it says otherwise.
    pub people: BTreeMap<SpaceId, u32>,
    /// What units of the register are alike in, where it says otherwise.
    pub likes: Vec<(UnitId, LikeIn, String)>,
    /// The same of new units, each by its place among them.
    pub new_likes: Vec<(usize, LikeIn, String)>,
    /// What differs.
    pub changes: Vec<Change>,
    /// What one should know.
    pub doubts: Doubts,
}

/// Rows seen so far, for telling doubled ones.
#[derive(Default)]
struct Seen {
    rows: BTreeMap<[u8; 32], u32>,
    numbers: BTreeMap<String, u32>,
    serials: BTreeMap<String, u32>,
    /// (space, kind) → row, and whether it bears a number or serial.
    places: BTreeMap<(SpaceId, String), Vec<(u32, bool)>>,
    units: BTreeMap<UnitId, u32>,
    tenures: BTreeMap<SpaceId, (u32, Tenure)>,
    people: BTreeMap<SpaceId, (u32, u32)>,
}

/// A row that could be read.
struct Read<'a> {
    space: &'a terms::place::SpaceCard,
    kind: String,
    number: String,
    serial: String,
    fitted: Option<Span>,
    kw: Option<f64>,
    litres: Option<f64>,
    filter: Option<bool>,
    reducer: Option<bool>,
    warranty: Option<Span>,
    watched: Option<Span>,
    dates: Vec<Stated>,
    tenure: Option<Tenure>,
    likes: Likes,
    note: String,
}

/// Checks every row.
pub fn check(with: Reading<'_>) -> UnitsPlan {
    let mut plan = UnitsPlan::default();
    let mut seen = Seen::default();
    for row in &with.sheet.rows {
        let mut reader = RowReader::begin(with, row);
        let mut read = if reader.is_muddled() {
            None
        } else {
            one(with, &mut reader, &mut seen)
        };
        let outcome = read
            .as_ref()
            .and_then(|read| against_register(with, &mut reader, &mut seen, read));
        if let (Some(read), Some(outcome)) = (&mut read, &outcome) {
            let unit = match outcome {
                Match::New => None,
                Match::Known(unit) => Some(unit.id),
            };
            let stated = std::mem::take(&mut read.dates);
            let news = stated
                .into_iter()
                .filter_map(|stated| duty_dates::against(with, &mut reader, unit, stated));
            read.dates = news.collect();
            // A date taken as empty because the register says otherwise goes into the words too.
            read.note = reader.words(Field::Note);
        }
        match reader.standing() {
            Standing::LeftOut => plan.counts.left_out += 1,
            Standing::Held => plan.counts.held += 1,
            Standing::Fine => {
                plan.doubts.emptied += reader.emptied.len() as u32;
                if let (Some(read), Some(outcome)) = (read, outcome) {
                    plan.take(with, reader.number(), read, outcome);
                }
            }
        }
        if reader.standing() != Standing::LeftOut {
            seen.rows.entry(reader.content()).or_insert(row.number);
        }
        plan.problems.extend(reader.problems);
    }
    plan
}

/// Reads the cells of a row; `None` when it cannot be held against the register.
fn one<'a>(with: Reading<'a>, reader: &mut RowReader<'a>, seen: &mut Seen) -> Option<Read<'a>> {
    if let Some(first) = seen.rows.get(&reader.content()) {
        let (field, value) = named(reader);
        let sentence = format!("The same stands in row {first}.");
        reader.wrong(field, Code::RowDoubled, &value, &sentence);
        return None;
    }
    let building = reader.building();
    let space = building.and_then(|b| reader.space(b));
    let said = reader.text(Field::Kind);
    let kind = values::kind(said, &with.known.kinds).map(|k| k.code.clone());
    if kind.is_none() && !reader.is_spoiled(Field::Kind) {
        if said.is_empty() {
            reader.wrong(Field::Kind, Code::RequiredMissing, "", "What sort of unit?");
        } else {
            let sentence =
                "No kind of unit goes by this word; a boiler or cylinder has to say of which sort.";
            reader.wrong(Field::Kind, Code::KindUnknown, said, sentence);
        }
    }
    let serial = serial(reader, seen);
    let fitted = reader.date(Field::Fitted, false);
    let kw = reader.measure(Field::RatedKw, &["kw"], 5000.0);
    let litres = reader.measure(Field::Litres, &["litres", "liters", "ltr", "l"], 100_000.0);
    let filter = reader.yes_no(Field::Filter);
    let reducer = reader.yes_no(Field::Reducer);
    let mut warranty = reader.date(Field::WarrantyUntil, true);
    if let (Some(until), Some(from)) = (warranty, fitted)
        && until.until < from.from
    {
        let value = reader.text(Field::WarrantyUntil);
        reader.wrong(
            Field::WarrantyUntil,
            Code::DateOrder,
            value,
            "The warranty ends before the unit was fitted.",
        );
        warranty = None;
    }
    let watched = reader.date(Field::WatchedFrom, false);
    let (space, kind) = (space?, kind?);
    let dates = duty_dates::read(with, reader, (&kind, space, fitted));
    let tenure = tenures::read(reader, space, &mut seen.tenures);
    let likes = likes::read(reader, space, &mut seen.people);
    Some(Read {
        space,
        kind,
        number: reader.text(Field::Number).to_owned(),
        serial,
        fitted,
        kw,
        litres,
        filter,
        reducer,
        warranty,
        watched,
        dates,
        tenure,
        likes,
        note: reader.words(Field::Note),
    })
}

/// The serial of a row, empty when another row above bears it.
fn serial(reader: &mut RowReader<'_>, seen: &mut Seen) -> String {
    let said = reader.text(Field::Serial);
    if values::is_unknown(said) {
        return String::new();
    }
    let key = serial_key(said);
    if let Some(first) = seen.serials.get(&key) {
        let sentence =
            format!("Row {first} bears this serial too. One of them was probably copied down.");
        reader.wrong(Field::Serial, Code::SerialDoubled, said, &sentence);
        return String::new();
    }
    if reader.standing() != Standing::LeftOut {
        seen.serials.insert(key, reader.number());
    }
    said.to_owned()
}

/// The field by which a row is named, and its value.
fn named(reader: &RowReader<'_>) -> (Field, String) {
    let number = reader.text(Field::Number);
    if number.is_empty() {
        (Field::Space, reader.text(Field::Space).to_owned())
    } else {
        (Field::Number, number.to_owned())
    }
}

/// What the register says of a row.
enum Match<'a> {
    /// A unit it does not know.
    New,
    /// A unit it knows.
    Known(&'a UnitCard),
}

/// The unit a row speaks of; `None` when that cannot be said, which is told as a problem.
fn against_register<'a>(
    with: Reading<'a>,
    reader: &mut RowReader<'a>,
    seen: &mut Seen,
    read: &Read<'a>,
) -> Option<Match<'a>> {
    if doubled(reader, seen, read) {
        return None;
    }
    let Match::Known(unit) = find(with, reader, read)? else {
        return Some(Match::New);
    };
    if let Some(first) = seen.units.get(&unit.id) {
        let (field, value) = named(reader);
        let sentence = format!("Row {first} speaks of the same unit, {}.", unit.number);
        reader.wrong(field, Code::RowDoubled, &value, &sentence);
        return None;
    }
    let problems = reader.problems.len();
    contradictions(reader, read, unit);
    if reader.standing() != Standing::LeftOut {
        seen.units.insert(unit.id, reader.number());
    }
    (reader.problems.len() == problems).then_some(Match::Known(unit))
}

/// Whether the row names a number or a place that a row above has taken.
fn doubled(reader: &mut RowReader<'_>, seen: &mut Seen, read: &Read<'_>) -> bool {
    let told_apart = !read.number.is_empty() || !read.serial.is_empty();
    let key = (read.space.id, read.kind.clone());
    let before = seen.places.get(&key).and_then(|all| {
        all.iter()
            .find(|(_, apart)| !apart || !told_apart)
            .map(|(row, _)| *row)
    });
    let number = number_key(&read.number);
    let same_number = seen.numbers.get(&number).copied();
    if let Some(first) = same_number.filter(|_| !number.is_empty()) {
        let sentence = format!("Row {first} bears this number too.");
        reader.wrong(Field::Number, Code::RowDoubled, &read.number, &sentence);
        return true;
    }
    if let Some(first) = before {
        let value = reader.text(Field::Space);
        let sentence = format!(
            "Row {first} speaks of the same kind of unit in the same place: a number or a serial has to tell them apart."
        );
        reader.wrong(Field::Space, Code::RowDoubled, value, &sentence);
        return true;
    }
    if reader.standing() != Standing::LeftOut {
        let row = reader.number();
        seen.places.entry(key).or_default().push((row, told_apart));
        if !number.is_empty() {
            seen.numbers.insert(number, row);
        }
    }
    false
}

/// By number, else by serial, else by place and kind.
fn find<'a>(with: Reading<'a>, reader: &mut RowReader<'a>, read: &Read<'a>) -> Option<Match<'a>> {
    if !read.number.is_empty()
        && let Some(unit) = with.known.numbered(&read.number)
    {
        return Some(Match::Known(unit));
    }
    if !read.serial.is_empty() {
        match with.known.with_serial(&read.serial).as_slice() {
            [] => {}
            [only] => return Some(Match::Known(only)),
            several => {
                let sentence = format!("{} units of the register bear this serial.", several.len());
                reader.wrong(
                    Field::Serial,
                    Code::ContradictsRecord,
                    &read.serial,
                    &sentence,
                );
                return None;
            }
        }
    }
    let standing = with.known.standing(read.space.id, Some(&read.kind));
    if !read.number.is_empty() {
        let other = standing.first().filter(|_| {
            read.space.used_as == UsedAs::Flat && ONE_A_HOME.contains(&read.kind.as_str())
        });
        let Some(unit) = other else {
            // A number the register does not know is a new unit.
            return Some(Match::New);
        };
        let sentence = format!(
            "{} is the unit of this kind there on the register. If it was replaced, record the replacement.",
            unit.number
        );
        reader.wrong(
            Field::Number,
            Code::ContradictsRecord,
            &read.number,
            &sentence,
        );
        return None;
    }
    match standing.as_slice() {
        [] => Some(Match::New),
        [only] => Some(Match::Known(only)),
        several => {
            let value = reader.text(Field::Space);
            let sentence = format!(
                "{} such units stand there: a number or a serial has to say which is meant.",
                several.len()
            );
            reader.wrong(Field::Space, Code::ContradictsRecord, value, &sentence);
            None
        }
    }
}

/// Where the row and the register cannot both be right.
fn contradictions(reader: &mut RowReader<'_>, read: &Read<'_>, unit: &UnitCard) {
    let mut against = |field: Field, sentence: String| {
        let value = reader.text(field).to_owned();
        reader.wrong(field, Code::ContradictsRecord, &value, &sentence);
    };
    let number = &unit.number;
    if unit.kind != read.kind {
        against(
            Field::Kind,
            format!("{number} is of kind {} on the register.", unit.kind),
        );
    }
    if unit.space != read.space.id {
        let place = format!("{}, {}", unit.space_name, unit.building_name);
        against(
            Field::Space,
            format!("{number} stands in {place} on the register."),
        );
    }
    let other = |a: &str, b: &str| !a.is_empty() && !b.is_empty() && a != b;
    if other(&serial_key(&unit.serial), &serial_key(&read.serial)) {
        let sentence = format!(
            "{number} bears {} on the register. If it was replaced, record the replacement.",
            unit.serial
        );
        against(Field::Serial, sentence);
    }
    if other(&number_key(&unit.number), &number_key(&read.number)) {
        against(
            Field::Number,
            format!("The unit of this serial is {number} on the register."),
        );
    }
    if let (Some((from, until)), Some(fitted)) = (unit.installed, read.fitted)
        && (fitted.until < from || fitted.from > until)
    {
        let sentence = format!(
            "{number} was fitted between {from} and {until} on the register. If it was replaced, record the replacement."
        );
        against(Field::Fitted, sentence);
    }
    if unit.fate != Fate::InService {
        against(
            Field::Space,
            format!("{number} is {} on the register.", unit.fate),
        );
    }
}

impl UnitsPlan {
    fn take(&mut self, with: Reading<'_>, row: u32, read: Read<'_>, found: Match<'_>) {
        let brought = |unit: UnitId, stated: &Stated| Brought {
            unit,
            rule: stated.rule.clone(),
            done: stated.done,
            due: stated.due,
            row,
        };
        self.doubts.dated += read.dates.len() as u32;
        let (space, tenure) = (read.space.id, read.tenure);
        if let Some(said) = tenure
            && with.known.tenures.get(&space) != Some(&said)
        {
            self.tenures.insert(space, said);
        }
        let home = read.space;
        let Match::Known(unit) = found else {
            self.counts.new += 1;
            let place = self.new.len();
            let said = likes::of_new(&read.likes).into_iter();
            self.new_likes
                .extend(said.map(|(what, said)| (place, what, said)));
            let people = likes::new_people(home, &read.likes);
            self.people.extend(people.map(|n| (space, n)));
            let dates = read.dates.iter();
            self.new_dates
                .extend(dates.map(|stated| (place, brought(UnitId(uuid::Uuid::nil()), stated))));
            let card = new_card(with, read);
            match card.installed {
                None => self.doubts.fitted_unknown += 1,
                Some((from, until)) if from != until => self.doubts.fitted_range += 1,
                Some(_) => {}
            }
            self.new.push(card);
            return;
        };
        let card = restated(unit, &read);
        let mut changes = differences(unit, &card, row);
        let stands = changes.is_empty();
        for stated in &read.dates {
            let of = (unit.id, unit.number.as_str());
            changes.extend(duty_dates::changes(with, of, row, stated));
            self.dates.push(brought(unit.id, stated));
        }
        changes.extend(tenures::change(with, unit, (row, space, tenure)));
        let (said, people, told) = likes::news(with, unit, (row, home, &read.likes));
        let of = unit.id;
        self.likes
            .extend(said.into_iter().map(|(what, said)| (of, what, said)));
        self.people.extend(people.map(|n| (space, n)));
        changes.extend(told);
        if changes.is_empty() {
            self.counts.same += 1;
            return;
        }
        self.counts.changed += 1;
        let room = MOST_CHANGES.saturating_sub(self.changes.len());
        self.changes.extend(changes.into_iter().take(room));
        if !stands {
            self.changed.push(card);
        }
    }
}
