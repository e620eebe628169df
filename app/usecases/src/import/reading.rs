//! From the bytes of a file to rows of cells, numbered as a spreadsheet numbers them.
use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

use super::fields;

/// The largest file taken, in bytes.
pub const MOST_BYTES: usize = 32 * 1024 * 1024;
/// The most rows under the headings.
pub const MOST_ROWS: usize = 150_000;
/// The most columns.
pub const MOST_COLUMNS: usize = 200;
/// The most rows with cells right of [`MOST_COLUMNS`].
const MOST_STRAYS: usize = 1_000;

/// What stands for a character that could not be read.
pub const UNREAD: char = '\u{fffd}';

/// One row under the headings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetRow {
    /// As a spreadsheet counts: the first row of the file is 1; a line break inside quotes makes no new row.
    pub number: u32,
    /// Its cells, trimmed; at most [`MOST_COLUMNS`].
    pub cells: Vec<String>,
    /// The first cell with something in it right of those, with its place; one stray cell in the last column of a
    /// sheet must not make 16,384 cells of a row.
    pub stray: Option<(usize, String)>,
}

impl SheetRow {
    /// The cell in a column; empty where the row is short.
    pub fn cell(&self, place: usize) -> &str {
        self.cells.get(place).map_or("", String::as_str)
    }
}

/// A list as read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// The sheet's name in its workbook; empty for a list in text.
    pub title: String,
    /// The character between cells.
    pub delimiter: char,
    /// The row the headings stand in.
    pub heading_row: u32,
    /// The headings, trimmed.
    pub headings: Vec<String>,
    /// The rows under them; rows with nothing in them are left out.
    pub rows: Vec<SheetRow>,
}

impl Sheet {
    /// A column's name: its heading, or "column 7" where it has none.
    pub fn name(&self, place: usize) -> String {
        match self.headings.get(place) {
            Some(heading) if !heading.is_empty() => heading.clone(),
            _ => format!("column {}", place + 1),
        }
    }
}

/// The text of a file: UTF-8 (or UTF-16, by its mark), else Windows-1252. What neither can read becomes [`UNREAD`].
///
/// # Errors
/// A sentence: too large, empty, or not a text at all.
pub fn decode(bytes: &[u8]) -> Result<(String, &'static str), String> {
    if bytes.len() > MOST_BYTES {
        return Err(format!(
            "The file has {:.1} MB; at most 32 MB can be taken. Cut it into several lists.",
            bytes.len() as f64 / (1024.0 * 1024.0)
        ));
    }
    if bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Err(
            "This is a workbook of an old sort, not a list in text. Save it as .xlsx or the sheet as CSV (UTF-8), then send that."
                .to_owned(),
        );
    }
    let (encoding, text) = if let Some((marked, length)) = Encoding::for_bom(bytes) {
        let (text, _) = marked.decode_without_bom_handling(&bytes[length..]);
        (marked, text.into_owned())
    } else if let Ok(text) = std::str::from_utf8(bytes) {
        (UTF_8, text.to_owned())
    } else {
        let guessed = unmarked(bytes);
        let (text, _) = guessed.decode_without_bom_handling(bytes);
        (guessed, text.into_owned())
    };
    // Bytes that Windows-1252 leaves undefined come out as control characters; a text has none of those.
    let text: String = text
        .chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' => c,
            c if c.is_control() => UNREAD,
            c => c,
        })
        .collect();
    if text.trim().is_empty() {
        return Err("The file is empty.".to_owned());
    }
    let unread = text.chars().filter(|&c| c == UNREAD).count();
    if unread * 4 > text.chars().count() {
        return Err(
            "This is not a list in text. Save the sheet as CSV (UTF-8), then send that.".to_owned(),
        );
    }
    Ok((text, encoding.name()))
}

/// UTF-8 with some damage, or Windows-1252: whichever reads more.
fn unmarked(bytes: &[u8]) -> &'static Encoding {
    let lossy = String::from_utf8_lossy(bytes);
    let (mut read, mut broken) = (0_usize, 0_usize);
    for c in lossy.chars() {
        match c {
            UNREAD => broken += 1,
            c if !c.is_ascii() => read += 1,
            _ => {}
        }
    }
    // The contract takes no third encoding, so nothing further is guessed: a guess from a dozen pound signs would
    // sooner spoil them than help.
    if read > broken { UTF_8 } else { WINDOWS_1252 }
}

/// Parts a text into rows and finds its headings.
///
/// # Errors
/// A sentence: too many rows or columns, or no rows at all.
pub fn rows(text: &str) -> Result<Sheet, String> {
    let (given, text, before) = separator_line(text);
    let delimiter = given.unwrap_or_else(|| guess_delimiter(text));
    let all = records(text, delimiter, before)?;
    let place = heading_place(&all);
    under(all, place, delimiter)
}

/// Parts a text into rows whose headings are its first row and whose separator is a comma.
///
/// # Errors
/// As [`rows`].
pub(super) fn headed_rows(text: &str) -> Result<Sheet, String> {
    under(records(text, ',', 0)?, 0, ',')
}

fn under(mut all: Vec<SheetRow>, place: usize, delimiter: char) -> Result<Sheet, String> {
    let Some(heading) = all.get(place) else {
        return Err("The file has no rows.".to_owned());
    };
    let (heading_row, mut headings) = (heading.number, heading.cells.clone());
    if let Some((place, _)) = &heading.stray {
        return Err(format!(
            "The list has {} columns; at most {MOST_COLUMNS} can be taken.",
            place + 1
        ));
    }
    for place in 0..headings.len() {
        let heading = headings[place].clone();
        if !heading.is_empty() && headings[..place].contains(&heading) {
            headings[place] = format!("{heading} (column {})", place + 1);
        }
    }
    all.drain(..=place);
    if all.is_empty() {
        return Err("There are headings, and no rows under them.".to_owned());
    }
    if all.len() > MOST_ROWS {
        return Err(too_many_rows(all.len()));
    }
    let strays = all.iter().filter(|row| row.stray.is_some()).count();
    if strays > MOST_STRAYS {
        return Err(too_many_strays(strays));
    }
    Ok(Sheet {
        title: String::new(),
        delimiter,
        heading_row,
        headings,
        rows: all,
    })
}

pub(super) fn too_many_rows(rows: usize) -> String {
    format!(
        "The list has {} rows; at most 150,000 can be taken at once. Cut it into several lists.",
        terms::money::thousands(rows as u64)
    )
}

pub(super) fn too_many_strays(rows: usize) -> String {
    format!(
        "{} rows have cells right of column 200. Delete what stands there, then send the list again.",
        terms::money::thousands(rows as u64)
    )
}

/// Some programs write a first line "sep=;" that names the separator; it counts as a row.
fn separator_line(text: &str) -> (Option<char>, &str, u32) {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    let named = first.trim_end_matches('\r').strip_prefix("sep=");
    match named.and_then(|s| s.chars().next()) {
        Some(c) if c.is_ascii() => (Some(c), rest, 1),
        _ => (None, text, 0),
    }
}

fn guess_delimiter(text: &str) -> char {
    let head: String = text.lines().take(12).collect::<Vec<_>>().join("\n");
    [',', ';', '\t']
        .into_iter()
        .map(|c| {
            let rows = records(&head, c, 0).unwrap_or_default();
            let place = heading_place(&rows);
            (rows.get(place).map_or(0, |r| r.cells.len()), c)
        })
        // The first of equals: a list of one column is taken as parted by commas.
        .fold((0, ','), |best, next| if next.0 > best.0 { next } else { best })
        .1
}

/// Every row with something in it. The csv crate leaves blank lines out and miscounts lines, so rows are counted
/// here: one for each record, and one for each blank line before it.
fn records(text: &str, delimiter: char, before: u32) -> Result<Vec<SheetRow>, String> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(delimiter).unwrap_or(b','))
        .from_reader(text.as_bytes());
    let (mut rows, mut number) = (Vec::new(), before);
    let mut record = csv::StringRecord::new();
    loop {
        let from = reader.position().byte() as usize;
        let more = reader
            .read_record(&mut record)
            .map_err(|e| format!("The list cannot be parted into rows: {e}."))?;
        if !more {
            return Ok(rows);
        }
        number += 1 + blank_lines(text, from);
        let row = parted(number, &record);
        if row.stray.is_some() || !row.cells.is_empty() {
            rows.push(row);
        }
    }
}

/// A record as a row: cells trimmed, empty ones at the end left out.
fn parted(number: u32, record: &csv::StringRecord) -> SheetRow {
    let stray = record
        .iter()
        .enumerate()
        .skip(MOST_COLUMNS)
        .find(|(_, cell)| !cell.trim().is_empty())
        .map(|(place, cell)| (place, cell.trim().to_owned()));
    let mut cells: Vec<String> = record
        .iter()
        .take(MOST_COLUMNS)
        .map(|cell| cell.trim().to_owned())
        .collect();
    while cells.last().is_some_and(String::is_empty) {
        cells.pop();
    }
    SheetRow {
        number,
        cells,
        stray,
    }
}

/// Blank lines between the end of the last record and the next one.
fn blank_lines(text: &str, from: usize) -> u32 {
    let bytes = text.as_bytes();
    let mut at = from;
    // The line feed of the record before is still unread after its carriage return.
    if at > 0 && bytes.get(at - 1) == Some(&b'\r') && bytes.get(at) == Some(&b'\n') {
        at += 1;
    }
    let mut blank = 0;
    loop {
        match (bytes.get(at), bytes.get(at + 1)) {
            (Some(b'\r'), Some(b'\n')) => at += 2,
            (Some(b'\r' | b'\n'), _) => at += 1,
            _ => return blank,
        }
        blank += 1;
    }
}

/// Headings are the first row, unless a row among the first ten names at least two known columns and more than it.
fn heading_place(rows: &[SheetRow]) -> usize {
    let known = |row: &SheetRow| row.cells.iter().filter(|c| fields::is_heading(c)).count();
    let first = rows.first().map_or(0, known);
    rows.iter()
        .take(10)
        .position(|row| known(row) >= 2 && known(row) > first)
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(text: &str) -> Vec<(u32, String)> {
        rows(text)
            .unwrap()
            .rows
            .into_iter()
            .map(|r| (r.number, r.cells.join("|")))
            .collect()
    }

    #[test]
    fn rows_are_counted_as_a_spreadsheet_counts() {
        let lf = "flat,kind\n1,CB\n\n\"2\nrear\",CB\n , \n3,CB\n";
        let expected = [
            (2, "1|CB".to_owned()),
            (4, "2\nrear|CB".to_owned()),
            (6, "3|CB".to_owned()),
        ];
        assert_eq!(numbers(lf), expected);
        let crlf = lf.replace('\n', "\r\n");
        let crlf: Vec<(u32, String)> = numbers(&crlf)
            .into_iter()
            .map(|(n, c)| (n, c.replace("\r\n", "\n")))
            .collect();
        assert_eq!(crlf, expected);
        assert_eq!(numbers("\n\nflat,kind\n\n1,CB")[0].0, 5);
        assert_eq!(numbers("\r\n\r\nflat,kind\r\n\r\n1,CB")[0].0, 5);
        assert_eq!(
            numbers("sep=;\r\nflat;kind\r\n1;CB")[0],
            (3, "1|CB".to_owned())
        );
    }

    #[test]
    fn separators_and_headings_are_guessed() {
        let sheet = rows("Flat;Kind;Cost\n1;CB;1,250.00\n2;CB;9,10\n").unwrap();
        assert_eq!((sheet.delimiter, sheet.headings.len()), (';', 3));
        assert_eq!(rows("Flat\tKind\n1\tCB\n").unwrap().delimiter, '\t');
        let titled = rows("Alder boilers, as of May\n\nFlat,Kind,Serial\n1,CB,A1\n").unwrap();
        assert_eq!((titled.heading_row, titled.rows[0].number), (3, 4));
        assert!(rows("Flat,Kind\n").is_err());
        let wide = format!("{}\n1", vec!["c"; 201].join(","));
        assert!(rows(&wide).unwrap_err().contains("201 columns"));
        let long = format!("flat,kind\n{}", "1,CB\n".repeat(MOST_ROWS + 1));
        assert!(rows(&long).unwrap_err().contains("150,001 rows"));
    }

    #[test]
    fn a_stray_cell_far_right_is_kept_with_its_place() {
        let far = format!("flat,kind\n1,CB\n{}x\n", ",".repeat(16_383));
        let sheet = rows(&far).unwrap();
        assert_eq!(sheet.rows[1].stray, Some((16_383, "x".to_owned())));
        assert!(sheet.rows[1].cells.is_empty());
        let many = format!(
            "flat,kind\n{}",
            format!("{}x\n", ",".repeat(200)).repeat(1_001)
        );
        assert!(rows(&many).unwrap_err().contains("1,001 rows"));
    }

    #[test]
    fn texts_are_decoded_or_refused_in_a_sentence() {
        let marked = decode(b"\xef\xbb\xbfFlat,Words\n1,caf\xc3\xa9\n").unwrap();
        assert_eq!(marked, ("Flat,Words\n1,café\n".to_owned(), "UTF-8"));
        let western = decode(b"Flat,Cost\n1,\xa3310\n2,caf\xe9 \x96 new\n").unwrap();
        assert_eq!(western.1, "windows-1252");
        assert_eq!(western.0, "Flat,Cost\n1,£310\n2,café – new\n");
        let undefined = decode(b"Flat,Words\n1,a\x81b\n2,\xa3\n").unwrap();
        assert_eq!(undefined.0, "Flat,Words\n1,a\u{fffd}b\n2,£\n");
        let damaged = decode(b"Flat,Words\n1,caf\xc3\xa9\n2,na\xc3\xafve\n3,x\xffy\n").unwrap();
        assert_eq!(damaged.1, "UTF-8");
        assert!(damaged.0.contains("x\u{fffd}y") && damaged.0.contains("naïve"));
        let wide: Vec<u8> = [0xff, 0xfe]
            .into_iter()
            .chain("Flat,£\n1,2".encode_utf16().flat_map(u16::to_le_bytes))
            .collect();
        assert_eq!(decode(&wide).unwrap().0, "Flat,£\n1,2");
        assert!(
            decode(b"\xd0\xcf\x11\xe0old")
                .unwrap_err()
                .contains("the sheet as CSV")
        );
        assert!(
            decode(&vec![b'a'; MOST_BYTES + 1])
                .unwrap_err()
                .contains("32 MB")
        );
        assert!(decode(b" \n").unwrap_err().contains("empty"));
        assert!(decode(&[0_u8, 1, 2, 3, 200, 201]).is_err());
    }
}
