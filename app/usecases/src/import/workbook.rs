//! The cells of a workbook, sheet by sheet, row by row; what a list can never be is refused before it is unpacked.
use std::io::{Read, Seek, SeekFrom};

use calamine::{DataRef, Reader, Xlsx};

use super::files::Told;
use super::reading::{MOST_COLUMNS, MOST_ROWS, UNREAD, too_many_rows};

/// The most cells of a workbook.
const MOST_CELLS: u64 = 5_000_000;
/// The most bytes all files of a workbook may unpack to.
const MOST_UNPACKED: u64 = 400 * 1024 * 1024;
/// A file that unpacks to more than this …
const LARGE: u64 = 10 * 1024 * 1024;
/// … and to so many times its packed size holds nothing but repetition.
const MOST_RATIO: u64 = 100;
/// The end record of an archive with the longest comment it may bear, bytes.
const LONGEST_END: u64 = 22 + 65_535;
/// The longest directory of an archive that is read, bytes.
const LONGEST_DIRECTORY: u64 = 8 * 1024 * 1024;

/// Hands every sheet and every row with something in it to `out`.
///
/// # Errors
/// A sentence: no workbook, too large, or one that unpacks to far more than it holds.
pub fn read<R: Read + Seek>(
    mut file: R,
    out: &mut dyn FnMut(Told) -> Result<(), String>,
) -> Result<(), String> {
    refuse_bomb(&mut file)?;
    file.rewind().map_err(|e| broken(&e))?;
    let mut book = Xlsx::new(file).map_err(|e| broken(&e))?;
    let mut cells = 0_u64;
    for name in book.sheet_names() {
        out(Told::Sheet(name.clone()))?;
        sheet(&mut book, &name, (&mut cells, &mut *out))?;
    }
    Ok(())
}

fn broken(why: &dyn std::fmt::Display) -> String {
    format!("The workbook cannot be read: {why}. Open it, save it anew as .xlsx, then send that.")
}

fn sheet<R: Read + Seek>(
    book: &mut Xlsx<R>,
    name: &str,
    (cells, out): (&mut u64, &mut dyn FnMut(Told) -> Result<(), String>),
) -> Result<(), String> {
    // A chart alone is a sheet without cells.
    let Ok(mut reader) = book.worksheet_cells_reader(name) else {
        return Ok(());
    };
    let mut row: (u32, Vec<(u32, String)>) = (0, Vec::new());
    let mut rows = 0_usize;
    while let Some(cell) = reader.next_cell().map_err(|e| broken(&e))? {
        let (line, column) = cell.get_position();
        *cells += 1;
        if *cells > MOST_CELLS {
            return Err("The workbook has more than 5,000,000 cells. Send only the sheet that lists units or their history.".to_owned());
        }
        let text = text_of(cell.get_value());
        if text.is_empty() {
            continue;
        }
        if line != row.0 && !row.1.is_empty() {
            out(told(row.0, &mut row.1))?;
            rows += 1;
            if rows > MOST_ROWS + 1 {
                return Err(too_many_rows(rows));
            }
        }
        row.0 = line;
        row.1.push((column, text));
    }
    if !row.1.is_empty() {
        out(told(row.0, &mut row.1))?;
    }
    Ok(())
}

/// A row with its cells side by side; of the cells right of the last column a list may have, the first is kept in its
/// place.
fn told(line: u32, found: &mut Vec<(u32, String)>) -> Told {
    let mut cells: Vec<String> = Vec::new();
    let mut far = false;
    for (column, text) in found.drain(..) {
        let place = column as usize;
        if far || place < cells.len() {
            continue;
        }
        far = place >= MOST_COLUMNS;
        cells.resize(place, String::new());
        cells.push(text);
    }
    Told::Row(line + 1, cells)
}

/// A cell as a person would have typed it.
fn text_of(value: &DataRef<'_>) -> String {
    let text = match value {
        DataRef::Empty => return String::new(),
        DataRef::Int(number) => return number.to_string(),
        DataRef::Float(number) => return number.to_string(),
        DataRef::Bool(said) => return if *said { "yes" } else { "no" }.to_owned(),
        DataRef::DateTime(at) if at.is_datetime() => return day_of(at.to_ymd_hms_milli()),
        DataRef::DateTime(span) => return span.as_f64().to_string(),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            text.as_str()
        }
        DataRef::SharedString(text) => *text,
        DataRef::Error(error) => return error.to_string(),
    };
    text.trim()
        .chars()
        .map(|c| match c {
            '\n' | '\t' => c,
            '\r' => '\n',
            c if c.is_control() => UNREAD,
            c => c,
        })
        .collect()
}

/// "2014-11-03", with the time of day where there is one.
fn day_of((year, month, day, hour, minute, second, _): (u16, u8, u8, u8, u8, u8, u16)) -> String {
    if (hour, minute, second) == (0, 0, 0) {
        format!("{year:04}-{month:02}-{day:02}")
    } else {
        format!("{year:04}-{month:02}-{day:02} {hour:02}:{minute:02}:{second:02}")
    }
}

/// Reads an archive's own directory and refuses one whose files unpack to more than a list can be. What a directory
/// says may be a lie: then the limits of the process that reads it end it.
fn refuse_bomb<R: Read + Seek>(file: &mut R) -> Result<(), String> {
    let no_end = || "The workbook did not arrive whole. Send it again.".to_owned();
    let length = file.seek(SeekFrom::End(0)).map_err(|e| broken(&e))?;
    let tail = bytes_at(
        file,
        length.saturating_sub(LONGEST_END),
        LONGEST_END.min(length),
    )?;
    let end = tail
        .windows(4)
        .rposition(|four| four == b"PK\x05\x06")
        .ok_or_else(no_end)?;
    let size = u64::from(number(&tail, end + 12).ok_or_else(no_end)?);
    let start = u64::from(number(&tail, end + 16).ok_or_else(no_end)?);
    if size > LONGEST_DIRECTORY || start.saturating_add(size) > length {
        return Err(no_end());
    }
    let directory = bytes_at(file, start, size)?;
    let (mut at, mut all) = (0_usize, 0_u64);
    while directory.get(at..at + 4) == Some(b"PK\x01\x02".as_slice()) {
        let packed = u64::from(number(&directory, at + 20).ok_or_else(no_end)?);
        let unpacked = u64::from(number(&directory, at + 24).ok_or_else(no_end)?);
        all = all.saturating_add(unpacked);
        let repeated = unpacked > LARGE && unpacked / packed.max(1) > MOST_RATIO;
        if repeated || all > MOST_UNPACKED {
            return Err(format!(
                "The workbook would unpack to {} MB or more, which no list needs. Nothing of it was read. Save the sheet anew, or as CSV (UTF-8), then send that.",
                terms::money::thousands(all.max(unpacked) / (1024 * 1024))
            ));
        }
        let lengths = [28, 30, 32].map(|place| short(&directory, at + place));
        at += 46 + lengths.iter().map(|l| usize::from(*l)).sum::<usize>();
    }
    Ok(())
}

fn bytes_at<R: Read + Seek>(file: &mut R, start: u64, length: u64) -> Result<Vec<u8>, String> {
    file.seek(SeekFrom::Start(start)).map_err(|e| broken(&e))?;
    let mut bytes = Vec::new();
    file.take(length)
        .read_to_end(&mut bytes)
        .map_err(|e| broken(&e))?;
    Ok(bytes)
}

fn number(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..at + 4)?;
    four.try_into().ok().map(u32::from_le_bytes)
}

fn short(bytes: &[u8], at: usize) -> u16 {
    bytes
        .get(at..at + 2)
        .and_then(|two| two.try_into().ok())
        .map_or(0, u16::from_le_bytes)
}
