//! A history of 100,000 rows with 500 seeded faults, as a workbook.
use std::collections::BTreeMap;
use std::fmt::Write;

use chrono::{NaiveDate, TimeDelta};

use super::workbook::{book, cell};

pub const ROWS: u32 = 100_000;
/// Flats of each of two blocks.
pub const FLATS: u32 = 250;
const COLUMNS: [&str; 7] = ["A", "B", "C", "D", "E", "F", "G"];
const HEADINGS: [&str; 7] = [
    "Building",
    "Flat",
    "Date",
    "What",
    "Function lost",
    "Cost",
    "Words",
];

/// What is put wrong, by turns: the column, its code, what stands there; `=ABOVE` copies the row above.
const FAULTS: [(usize, &str, &str); 10] = [
    (2, "date_unreadable", "last spring"),
    (2, "date_impossible", "31/02/2019"),
    (2, "date_in_future", "2031-05-05"),
    (1, "place_unknown", "999"),
    (0, "place_unknown", "Elm House"),
    (5, "money_negative", "-50.00"),
    (5, "money_unreadable", "1.250,00"),
    (6, "text_undecodable", "caf\u{fffd}"),
    (2, "row_doubled", "=ABOVE"),
    (3, "kind_unknown", "painting"),
];

/// (row, column, code, value).
pub type Told = (u32, String, &'static str, String);

/// A clean row: every flat in turn, a little later each time round.
fn clean(row: u32) -> [String; 7] {
    let n = row - 2;
    let (flat, round) = (n % (2 * FLATS), n / (2 * FLATS));
    let day = NaiveDate::from_ymd_opt(2006, 1, 1).unwrap() + TimeDelta::days(i64::from(37 * round));
    let building = if flat < FLATS {
        "Alder House"
    } else {
        "Osier Tower"
    };
    let what = ["failure", "service", "repair", "check"][round as usize % 4];
    [
        building.to_owned(),
        (flat % FLATS + 1).to_string(),
        day.to_string(),
        what.to_owned(),
        if what == "failure" { "hot water" } else { "" }.to_owned(),
        format!("{}.50", 20 + n % 400),
        format!("row {row}, caf\u{e9} side"),
    ]
}

/// The workbook, and the faults as seeded.
pub fn seeded() -> (Vec<u8>, Vec<Told>) {
    let mut faults: BTreeMap<u32, (usize, &'static str, &'static str)> = BTreeMap::new();
    for n in 0..498_u32 {
        faults.insert(3 + n * 199, FAULTS[n as usize % FAULTS.len()]);
    }
    let mut xml = String::new();
    let mut expected = Vec::new();
    let mut line = |row: u32, cells: &[String], stray: bool| {
        let filled: String = COLUMNS
            .iter()
            .zip(cells)
            .filter(|(_, text)| !text.is_empty())
            .map(|(column, text)| cell(column, row, text))
            .collect();
        let stray = if stray {
            cell("XFD", row, "x")
        } else {
            String::new()
        };
        write!(xml, "<row r=\"{row}\">{filled}{stray}</row>").unwrap();
    };
    line(1, &HEADINGS.map(str::to_owned), false);
    for row in 2..=ROWS + 1 {
        let mut cells = clean(row);
        let stray = row == 150;
        if stray {
            expected.push((
                row,
                "column 16384".to_owned(),
                "too_many_columns",
                "x".to_owned(),
            ));
        }
        if let Some((place, code, value)) = faults.get(&row).copied() {
            if value == "=ABOVE" {
                cells = clean(row - 1);
            } else {
                value.clone_into(&mut cells[place]);
            }
            expected.push((row, HEADINGS[place].to_owned(), code, cells[place].clone()));
        }
        line(row, &cells, stray);
    }
    // The last cell a sheet can have.
    line(1_048_576, &[], true);
    expected.push((
        1_048_576,
        "column 16384".to_owned(),
        "too_many_columns",
        "x".to_owned(),
    ));
    (book(&[("Notes", ""), ("History", &xml)]), expected)
}
