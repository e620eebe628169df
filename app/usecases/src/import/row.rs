//! One row on its way through the checks.
use chrono::NaiveDate;
use sha2::{Digest, Sha256};
use terms::place::SpaceCard;
use terms::{BuildingId, Pence};

use super::cause::{can_be_empty, can_both_be};
use super::dates::{self, DateCell, Span};
use super::fields::{Field, ListKind};
use super::known::Known;
use super::problem::{Code, DateColumn, Matching, Problem, Remedy};
use super::reading::{Sheet, SheetRow, UNREAD};
use super::values;

/// What becomes of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It can come in.
    Fine,
    /// It cannot be read, and nobody said yet what to do.
    Held,
    /// Left out by choice.
    LeftOut,
}

/// What every row is read with.
#[derive(Clone, Copy, Debug)]
pub struct Reading<'a> {
    /// The list.
    pub sheet: &'a Sheet,
    /// Which kind.
    pub kind: ListKind,
    /// How it is to be read.
    pub matching: &'a Matching,
    /// The date columns, by place.
    pub dates: &'a [Option<DateColumn>],
    /// The register.
    pub known: &'a Known,
}

/// A row being read: its problems gather here.
#[derive(Debug)]
pub struct RowReader<'a> {
    with: Reading<'a>,
    row: &'a SheetRow,
    /// What was found wrong.
    pub problems: Vec<Problem>,
    /// What stood in cells that are taken as empty by choice.
    pub emptied: Vec<String>,
    standing: Standing,
}

impl<'a> RowReader<'a> {
    /// Begins a row: too many cells, or characters nobody can read, are found here.
    pub fn begin(with: Reading<'a>, row: &'a SheetRow) -> Self {
        let mut reader = Self {
            with,
            row,
            problems: Vec::new(),
            emptied: Vec::new(),
            standing: Standing::Fine,
        };
        let headings = with.sheet.headings.len();
        if let Some((place, extra)) = beyond(row, headings) {
            let width = row.stray.as_ref().map_or(row.cells.len(), |s| s.0 + 1);
            reader.note(
                format!("column {}", place + 1),
                Code::TooManyColumns,
                extra,
                format!(
                    "The row has {width} cells under {headings} headings. An amount such as 1,250.00 needs quotes round it."
                ),
            );
            return reader;
        }
        for place in 0..headings {
            let cell = row.cell(place);
            if cell.contains(UNREAD)
                && let Some(field) = with.matching.columns.get(place).copied().flatten()
            {
                let cell = cell.to_owned();
                reader.wrong(
                    field,
                    Code::TextUndecodable,
                    &cell,
                    "Characters that are neither UTF-8 nor Windows-1252. Save the list as CSV (UTF-8).",
                );
            }
        }
        reader
    }

    /// The row's number.
    pub fn number(&self) -> u32 {
        self.row.number
    }

    /// Nothing more can be read of it: which cell belongs under which heading is not known.
    pub fn is_muddled(&self) -> bool {
        self.problems.iter().any(|p| p.code == Code::TooManyColumns)
    }

    /// What becomes of it so far.
    pub fn standing(&self) -> Standing {
        self.standing
    }

    /// SHA-256 of every cell that is read, for telling doubled rows without keeping a list twice.
    pub fn content(&self) -> [u8; 32] {
        let mut hash = Sha256::new();
        for place in 0..self.with.sheet.headings.len() {
            let read = self.with.matching.columns.get(place).copied().flatten();
            if read.is_some() {
                hash.update(self.row.cell(place).to_lowercase());
                hash.update([0x1f_u8]);
            }
        }
        hash.finalize().into()
    }

    /// The cell under a field; empty without such a column, and where it holds unread characters.
    pub fn text(&self, field: Field) -> &'a str {
        let text = self
            .with
            .matching
            .place(field)
            .map_or("", |p| self.row.cell(p));
        if text.contains(UNREAD) {
            return "";
        }
        self.with.matching.meant(field, text)
    }

    /// Whether the cell holds characters nobody can read (which is told already).
    pub fn is_spoiled(&self, field: Field) -> bool {
        self.with
            .matching
            .place(field)
            .is_some_and(|p| self.row.cell(p).contains(UNREAD))
    }

    /// Finds something wrong with the cell of a field.
    pub fn wrong(&mut self, field: Field, code: Code, value: &str, sentence: &str) {
        let column = self
            .with
            .matching
            .place(field)
            .map_or_else(|| field.label().to_owned(), |p| self.with.sheet.name(p));
        let empty = can_be_empty(code, Some(field), self.with.kind);
        if empty && self.with.matching.remedy(code, &column) == Some(Remedy::TakeAsEmpty) {
            self.emptied.push(format!("{}: {value}", field.label()));
        }
        self.note(column, code, value.to_owned(), sentence.to_owned());
    }

    fn note(&mut self, column: String, code: Code, value: String, sentence: String) {
        let field = self
            .with
            .matching
            .columns
            .iter()
            .enumerate()
            .find(|(p, _)| self.with.sheet.name(*p) == column)
            .and_then(|(_, f)| *f);
        match self.with.matching.remedy(code, &column) {
            Some(Remedy::LeaveOut) => self.standing = Standing::LeftOut,
            Some(Remedy::TakeAsEmpty) if can_be_empty(code, field, self.with.kind) => {}
            Some(Remedy::KeepBoth) if can_both_be(code, field) => {}
            _ if self.standing == Standing::Fine => self.standing = Standing::Held,
            _ => {}
        }
        self.problems.push(Problem {
            sheet: self.with.sheet.title.clone(),
            row: self.row.number,
            column,
            code,
            value,
            sentence,
        });
    }

    /// The building of the row.
    pub fn building(&mut self) -> Option<BuildingId> {
        let said = self.text(Field::Building);
        if said.is_empty() {
            if self.with.known.default.is_none() && !self.is_spoiled(Field::Building) {
                self.wrong(
                    Field::Building,
                    Code::RequiredMissing,
                    "",
                    "Which building?",
                );
            }
            return self.with.known.default;
        }
        let found = self.with.known.building(said);
        if found.is_none() {
            self.wrong(
                Field::Building,
                Code::PlaceUnknown,
                said,
                "The register has no building of this name or code.",
            );
        }
        found
    }

    /// The space of the row in a building.
    pub fn space(&mut self, building: BuildingId) -> Option<&'a SpaceCard> {
        let said = self.text(Field::Space);
        if said.is_empty() {
            if !self.is_spoiled(Field::Space) {
                self.wrong(
                    Field::Space,
                    Code::RequiredMissing,
                    "",
                    "Which flat or space?",
                );
            }
            return None;
        }
        let known: &'a Known = self.with.known;
        match known.spaces(building, said).as_slice() {
            [only] => Some(*only),
            [] => {
                self.wrong(
                    Field::Space,
                    Code::PlaceUnknown,
                    said,
                    "The building has no flat or space of this name.",
                );
                None
            }
            _ => {
                self.wrong(
                    Field::Space,
                    Code::PlaceUnknown,
                    said,
                    "The building has several spaces of this name.",
                );
                None
            }
        }
    }

    /// A date with its doubt; `Ok(None)` when empty, unknown or wrong.
    pub fn date(&mut self, field: Field, may_lie_ahead: bool) -> Option<Span> {
        let said = self.text(field);
        let place = self.with.matching.place(field)?;
        let order = self
            .with
            .dates
            .get(place)
            .and_then(Option::as_ref)
            .map_or(dates::Order::DayFirst, |d| d.order);
        let today = self.with.known.today;
        match dates::read(said, order, today) {
            DateCell::Empty | DateCell::Unknown => None,
            DateCell::Wrong(code) => {
                self.wrong(field, code, said, date_sentence(code));
                None
            }
            DateCell::Read(span) if !may_lie_ahead && span.from > today => {
                self.wrong(
                    field,
                    Code::DateInFuture,
                    said,
                    date_sentence(Code::DateInFuture),
                );
                None
            }
            DateCell::Read(span) if may_lie_ahead => Some(span),
            DateCell::Read(span) => Some(Span {
                until: span.until.min(today),
                ..span
            }),
        }
    }

    /// An amount in pounds.
    pub fn money(&mut self, field: Field) -> Option<Pence> {
        let said = self.text(field);
        values::money(said).unwrap_or_else(|code| {
            let sentence = match code {
                Code::MoneyNegative => "A cost is not less than nothing; a credit is not a cost.",
                _ => "An amount in pounds is needed, such as 1,250.00.",
            };
            self.wrong(field, code, said, sentence);
            None
        })
    }

    /// A number with or without its unit of measure.
    pub fn measure(&mut self, field: Field, units: &[&str], most: f64) -> Option<f64> {
        let said = self.text(field);
        values::number(said, units, most).unwrap_or_else(|code| {
            let sentence = format!(
                "A number above 0 and at most {} is needed.",
                terms::money::thousands(most as u64)
            );
            self.wrong(field, code, said, &sentence);
            None
        })
    }

    /// Yes, no or unknown.
    pub fn yes_no(&mut self, field: Field) -> Option<bool> {
        let said = self.text(field);
        values::yes_no(said).unwrap_or_else(|code| {
            self.wrong(field, code, said, "Yes or no is needed, or nothing.");
            None
        })
    }

    /// The words of a field, and those of cells taken as empty.
    pub fn words(&self, field: Field) -> String {
        let said = self.text(field);
        let mut all: Vec<&str> = Vec::new();
        if !said.is_empty() {
            all.push(said);
        }
        all.extend(self.emptied.iter().map(String::as_str));
        all.join("; ")
    }
}

/// The cells of a row under no heading, with the place of the first.
fn beyond(row: &SheetRow, headings: usize) -> Option<(usize, String)> {
    let near = row.cells.iter().enumerate().skip(headings);
    let far = row.stray.iter().map(|(place, cell)| (*place, cell));
    let all: Vec<(usize, &String)> = near.chain(far).filter(|(_, c)| !c.is_empty()).collect();
    let (first, _) = all.first()?;
    let cells: Vec<&str> = all.iter().map(|(_, cell)| cell.as_str()).collect();
    Some((*first, cells.join(" | ")))
}

/// What was expected of a date.
fn date_sentence(code: Code) -> &'static str {
    match code {
        Code::DateImpossible => "No calendar has this day.",
        Code::DateInFuture => "This day is still to come.",
        Code::DateOrder => "The range ends before it begins.",
        _ => "A day, month, year or range is needed, or “unknown”.",
    }
}

/// The day in the middle of a span: for records that keep one day only.
pub fn middle(span: Span) -> NaiveDate {
    span.from + (span.until - span.from) / 2
}
