//! A history of 100,000 rows with 500 seeded faults, as a workbook and as text.
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
const FAULTS: [(usize, &str, &str); 11] = [
    (2, "date_unreadable", "last spring"),
    (2, "date_impossible", "31/02/2019"),
    (2, "date_in_future", "2031-05-05"),
    (2, "date_order", "2012-2005"),
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

/// The last column a sheet can have.
const LAST_COLUMN: u32 = 16_384;

/// One row of the list: its number, its cells, and whether something stands in the last column too.
struct Line {
    row: u32,
    cells: Vec<String>,
    stray: bool,
}

/// Every row under the headings, and the faults as seeded; `last` is the last row there is, which holds a stray cell alone.
fn lines(last: u32) -> (Vec<Line>, Vec<Told>) {
    let mut faults: BTreeMap<u32, (usize, &'static str, &'static str)> = BTreeMap::new();
    for n in 0..498_u32 {
        faults.insert(3 + n * 199, FAULTS[n as usize % FAULTS.len()]);
    }
    let astray = |row: u32| {
        let column = format!("column {LAST_COLUMN}");
        (row, column, "too_many_columns", "x".to_owned())
    };
    let (mut lines, mut expected) = (Vec::new(), Vec::new());
    for row in 2..=ROWS + 1 {
        let mut cells = clean(row);
        let stray = row == 150;
        if stray {
            expected.push(astray(row));
        }
        if let Some((place, code, value)) = faults.get(&row).copied() {
            if value == "=ABOVE" {
                cells = clean(row - 1);
            } else {
                value.clone_into(&mut cells[place]);
            }
            expected.push((row, HEADINGS[place].to_owned(), code, cells[place].clone()));
        }
        lines.push(Line {
            row,
            cells: cells.to_vec(),
            stray,
        });
    }
    lines.push(Line {
        row: last,
        cells: Vec::new(),
        stray: true,
    });
    expected.push(astray(last));
    (lines, expected)
}

/// The workbook, and the faults as seeded; its last stray cell is the last cell a sheet can have.
pub fn seeded() -> (Vec<u8>, Vec<Told>) {
    let (lines, expected) = lines(1_048_576);
    let headings = Line {
        row: 1,
        cells: HEADINGS.map(str::to_owned).to_vec(),
        stray: false,
    };
    let mut xml = String::new();
    for line in std::iter::once(&headings).chain(&lines) {
        let filled: String = COLUMNS
            .iter()
            .zip(&line.cells)
            .filter(|(_, text)| !text.is_empty())
            .map(|(column, text)| cell(column, line.row, text))
            .collect();
        let stray = if line.stray {
            cell("XFD", line.row, "x")
        } else {
            String::new()
        };
        write!(xml, "<row r=\"{}\">{filled}{stray}</row>", line.row).unwrap();
    }
    (book(&[("Notes", ""), ("History", &xml)]), expected)
}

/// The same as text in Windows-1252, where the byte 0x81 is no character, and the faults as seeded.
pub fn seeded_text() -> (Vec<u8>, Vec<Told>) {
    let (lines, expected) = lines(ROWS + 2);
    let mut text = HEADINGS.join(",") + "\n";
    for line in &lines {
        let cells: Vec<String> = line
            .cells
            .iter()
            .map(|cell| {
                let quote = if cell.contains(',') { "\"" } else { "" };
                format!("{quote}{cell}{quote}")
            })
            .collect();
        text.push_str(&cells.join(","));
        if line.stray {
            // So many separators stand before the last column.
            let before = cells.len().saturating_sub(1);
            text.push_str(&",".repeat(LAST_COLUMN as usize - 1 - before));
            text.push('x');
        }
        text.push('\n');
    }
    let bytes = text
        .chars()
        .map(|c| match c {
            '\u{fffd}' => 0x81,
            c => u8::try_from(c).unwrap(),
        })
        .collect();
    (bytes, expected)
}
