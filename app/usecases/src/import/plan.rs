//! The preview: columns matched, every row checked, and what would be written, computed anew each time.
use std::collections::BTreeMap;

use super::dates::{Evidence, Order, evidence};
use super::fields::{Field, How, ListKind, guess};
use super::history::{self, HistoryPlan};
use super::known::Known;
use super::problem::{Code, Column, Counts, DateColumn, Doubts, Matching, Preview, Problem};
use super::reading::Sheet;
use super::records::{self, RecordsPlan};
use super::row::Reading;
use super::units::{self, UnitsPlan};

/// What would be written.
#[derive(Debug)]
pub enum Writes {
    /// Units.
    Units(UnitsPlan),
    /// History.
    History(HistoryPlan),
    /// Times of records.
    Records(RecordsPlan),
}

/// A first matching: what was remembered for these headings, else a guess.
pub fn first_matching(sheet: &Sheet, kind: ListKind, remembered: Option<Matching>) -> Matching {
    let names = remembered
        .as_ref()
        .map(|remembered| remembered.names.clone())
        .unwrap_or_default();
    if let Some(remembered) = remembered
        && remembered.columns.len() == sheet.headings.len()
    {
        return Matching {
            how: remembered
                .columns
                .iter()
                .map(|f| f.map_or(How::LeftOut, |_| How::Remembered))
                .collect(),
            settled: Vec::new(),
            ..remembered
        };
    }
    let guessed = guess(kind, &sheet.headings, |place| samples(sheet, place, 40));
    let (columns, how) = guessed.into_iter().unzip();
    Matching {
        columns,
        how,
        names,
        ..Matching::default()
    }
}

/// The first different values of a column that are not empty.
fn samples(sheet: &Sheet, place: usize, most: usize) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for row in &sheet.rows {
        let cell = row.cell(place);
        if !cell.is_empty() && !found.iter().any(|f| f == cell) {
            found.push(cell.to_owned());
            if found.len() == most {
                break;
            }
        }
    }
    found
}

/// The dates of a column: which way round they are, and whether that has to be asked.
fn date_column(sheet: &Sheet, place: usize, said: Option<Order>) -> DateColumn {
    let (mut day_first, mut month_first, mut example) = (0, 0, String::new());
    for row in &sheet.rows {
        let cell = row.cell(place);
        match evidence(cell) {
            Evidence::Day => day_first += 1,
            Evidence::Month => month_first += 1,
            Evidence::Either if example.is_empty() => cell.clone_into(&mut example),
            Evidence::Either | Evidence::None => {}
        }
    }
    let seems = if month_first > 0 && day_first == 0 {
        Order::MonthFirst
    } else {
        Order::DayFirst
    };
    // A column in which some dates can only be read day first is read so; all else is asked.
    let plain = day_first > 0 || example.is_empty();
    DateColumn {
        order: said.unwrap_or(seems),
        asks: said.is_none() && !plain,
        example,
        day_first,
        month_first,
    }
}

/// The fields without which nothing of the list can be read.
fn missing(matching: &Matching, kind: ListKind, known: &Known) -> Vec<Field> {
    let has = |f: Field| matching.place(f).is_some();
    let mut missing = Vec::new();
    match kind {
        ListKind::Units => {
            if !has(Field::Building) && known.default.is_none() {
                missing.push(Field::Building);
            }
            missing.extend([Field::Space, Field::Kind].into_iter().filter(|f| !has(*f)));
        }
        ListKind::History => {
            if !has(Field::Number) && !has(Field::Serial) && !has(Field::Space) {
                missing.push(Field::Number);
            }
            if !has(Field::Date) {
                missing.push(Field::Date);
            }
            if !has(Field::What) && !has(Field::Duty) {
                missing.push(Field::What);
            }
        }
        ListKind::Records => {
            if !has(Field::Number)
                && !has(Field::Serial)
                && !has(Field::Space)
                && !has(Field::Building)
                && known.default.is_none()
            {
                missing.push(Field::Building);
            }
            if !has(Field::RecordsFrom) {
                missing.push(Field::RecordsFrom);
            }
        }
    }
    missing
}

/// Checks a list against the register.
pub fn check(
    (file, kind): (&str, ListKind),
    sheet: &Sheet,
    matching: &Matching,
    known: &Known,
) -> (Preview, Writes) {
    let dates: Vec<Option<DateColumn>> = (0..sheet.headings.len())
        .map(|place| {
            let field = matching.columns.get(place).copied().flatten()?;
            field
                .is_date()
                .then(|| date_column(sheet, place, matching.orders.get(&place).copied()))
        })
        .collect();
    let missing = missing(matching, kind, known);
    let with = Reading {
        sheet,
        kind,
        matching,
        dates: &dates,
        known,
    };
    let rows = sheet.rows.len() as u32;
    let writes = if missing.is_empty() {
        match kind {
            ListKind::Units => Writes::Units(units::check(with)),
            ListKind::History => Writes::History(history::check(with)),
            ListKind::Records => Writes::Records(records::check(with)),
        }
    } else {
        held_whole(kind, rows, sheet.heading_row, &missing)
    };
    let (counts, problems, changes, doubts) = match &writes {
        Writes::Units(plan) => (
            plan.counts,
            &plan.problems,
            plan.changes.clone(),
            plan.doubts,
        ),
        Writes::History(plan) => (plan.counts, &plan.problems, Vec::new(), plan.doubts),
        Writes::Records(plan) => (plan.counts, &plan.problems, Vec::new(), plan.doubts),
    };
    let beside = match &writes {
        Writes::Units(_) => Vec::new(),
        Writes::History(plan) => plan.beside.clone(),
        Writes::Records(plan) => plan.beside.clone(),
    };
    let mut problems = problems.clone();
    let place = |p: &Problem| sheet.headings.iter().position(|h| *h == p.column);
    problems.sort_by_key(|p| (p.row, place(p).unwrap_or(usize::MAX)));
    let asks = dates.iter().flatten().any(|d| d.asks);
    let ready = missing.is_empty() && counts.held == 0 && !asks;
    let preview = Preview {
        file: file.to_owned(),
        sheet: sheet.title.clone(),
        kind,
        rows,
        heading_row: sheet.heading_row,
        delimiter: sheet.delimiter,
        columns: columns(sheet, matching, dates),
        missing,
        counts,
        problems,
        changes,
        beside,
        findings: Vec::new(),
        doubts,
        ready,
    };
    (preview, writes)
}

fn columns(sheet: &Sheet, matching: &Matching, dates: Vec<Option<DateColumn>>) -> Vec<Column> {
    dates
        .into_iter()
        .enumerate()
        .map(|(place, dates)| Column {
            heading: sheet.name(place),
            field: matching.columns.get(place).copied().flatten(),
            how: matching.how.get(place).copied().unwrap_or(How::LeftOut),
            samples: samples(sheet, place, 3),
            dates,
        })
        .collect()
}

/// A list that lacks a column it cannot do without: every row is held.
fn held_whole(kind: ListKind, rows: u32, heading_row: u32, missing: &[Field]) -> Writes {
    let problems: Vec<Problem> = missing
        .iter()
        .map(|field| Problem {
            sheet: String::new(),
            row: heading_row,
            column: field.label().to_owned(),
            code: Code::RequiredMissing,
            value: String::new(),
            sentence: "No column holds this. Choose one on the page of columns.".to_owned(),
        })
        .collect();
    let counts = Counts {
        held: rows,
        ..Counts::default()
    };
    match kind {
        ListKind::Units => Writes::Units(UnitsPlan {
            counts,
            problems,
            ..UnitsPlan::default()
        }),
        ListKind::History => Writes::History(HistoryPlan {
            counts,
            problems,
            doubts: Doubts::default(),
            ..HistoryPlan::default()
        }),
        ListKind::Records => Writes::Records(RecordsPlan {
            counts,
            problems,
            ..RecordsPlan::default()
        }),
    }
}

/// The rows that did not come in, as CSV in UTF-8 with a last column that says why.
pub fn rows_with_problems(sheet: &Sheet, preview: &Preview) -> Result<Vec<u8>, csv::Error> {
    let mut bad: BTreeMap<u32, Vec<&Problem>> = BTreeMap::new();
    for problem in &preview.problems {
        bad.entry(problem.row).or_default().push(problem);
    }
    // The mark tells spreadsheet programs that this is UTF-8.
    let mut writer = csv::WriterBuilder::new()
        .flexible(true)
        .from_writer(b"\xef\xbb\xbf".to_vec());
    let mut heading: Vec<&str> = sheet.headings.iter().map(String::as_str).collect();
    heading.extend(["Row in the list", "What is wrong"]);
    writer.write_record(&heading)?;
    for row in &sheet.rows {
        let Some(problems) = bad.get(&row.number) else {
            continue;
        };
        let why: Vec<String> = problems
            .iter()
            .map(|p| format!("{}: {} ({})", p.column, p.sentence, p.code.code()))
            .collect();
        let mut cells: Vec<String> = (0..sheet.headings.len().max(row.cells.len()))
            .map(|p| row.cell(p).to_owned())
            .collect();
        if let Some((_, stray)) = &row.stray {
            cells.push(stray.clone());
        }
        cells.extend([row.number.to_string(), why.join(" ")]);
        writer.write_record(&cells)?;
    }
    writer
        .into_inner()
        .map_err(|e| csv::Error::from(e.into_error()))
}
