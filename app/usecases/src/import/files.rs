//! A file as sent, read into sheets: what the process that reads it says, line by line, and how that is gathered.
use std::io::{Cursor, Read, Seek};
use std::panic::{AssertUnwindSafe, catch_unwind};

use serde::{Deserialize, Serialize};

use super::reading::{self, Sheet};
use super::{fields, handover, workbook};

/// How an archive begins, as a workbook is one.
pub const ARCHIVE: &[u8] = b"PK\x03\x04";
/// How much of a text is told at once, bytes.
const PIECE: usize = 64 * 1024;

/// One line of what is read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// A sheet begins.
    Sheet(String),
    /// A row of it: its number as a spreadsheet counts, and its cells.
    Row(u32, Vec<String>),
    /// A piece of a list in text.
    Text(String),
    /// It cannot be taken; the sentence says why.
    Refused(String),
    /// All was told.
    End,
}

/// One sheet as text, its rows where the file had them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SheetText {
    /// Its name; empty for a list in text.
    pub name: String,
    /// Its cells, parted by commas; blank lines stand for blank rows. A list in text is as it came.
    pub text: String,
    lines: u32,
}

/// Reads a file and hands it to `out`, [`Told::End`] last.
///
/// # Errors
/// The sentence why it cannot be taken.
pub fn tell<R: Read + Seek>(
    mut file: R,
    out: &mut dyn FnMut(Told) -> Result<(), String>,
) -> Result<(), String> {
    let failed = |e: std::io::Error| format!("The file cannot be read: {e}.");
    let mut first = [0_u8; 4];
    let got = file.read(&mut first).map_err(failed)?;
    file.rewind().map_err(failed)?;
    if got == 4 && first == *ARCHIVE {
        // The reader of workbooks is other people's code on a stranger's file: what it breaks off at is a refusal.
        let read = catch_unwind(AssertUnwindSafe(|| workbook::read(file, out)));
        read.unwrap_or_else(|_| {
            Err(
                "The workbook cannot be read. Open it, save it anew as .xlsx, then send that."
                    .to_owned(),
            )
        })?;
    } else {
        let mut bytes = Vec::new();
        file.take(reading::MOST_BYTES as u64 + 1)
            .read_to_end(&mut bytes)
            .map_err(failed)?;
        let (text, _) = reading::decode(&bytes)?;
        drop(bytes);
        let mut rest = text.as_str();
        while !rest.is_empty() {
            let mut cut = PIECE.min(rest.len());
            while !rest.is_char_boundary(cut) {
                cut += 1;
            }
            let (piece, after) = rest.split_at(cut);
            out(Told::Text(piece.to_owned()))?;
            rest = after;
        }
    }
    out(Told::End)
}

/// Gathers what is told into sheets.
#[derive(Debug, Default)]
pub struct Gathered {
    sheets: Vec<SheetText>,
    whole: bool,
}

impl Gathered {
    /// Takes one line.
    ///
    /// # Errors
    /// The sentence of a refusal.
    pub fn take(&mut self, told: Told) -> Result<(), String> {
        match told {
            Told::Sheet(name) => self.sheets.push(SheetText {
                name,
                ..SheetText::default()
            }),
            Told::Text(piece) => self.last().text.push_str(&piece),
            Told::Row(number, cells) => self.last().push(number, &cells),
            Told::Refused(sentence) => return Err(sentence),
            Told::End => self.whole = true,
        }
        Ok(())
    }

    fn last(&mut self) -> &mut SheetText {
        if self.sheets.is_empty() {
            self.sheets.push(SheetText::default());
        }
        let last = self.sheets.len() - 1;
        &mut self.sheets[last]
    }

    /// The sheets, when all was told.
    pub fn whole(self) -> Option<Vec<SheetText>> {
        self.whole.then_some(self.sheets)
    }
}

impl SheetText {
    fn push(&mut self, number: u32, cells: &[String]) {
        while self.lines + 1 < number {
            self.text.push('\n');
            self.lines += 1;
        }
        for (place, cell) in cells.iter().enumerate() {
            if place > 0 {
                self.text.push(',');
            }
            // Quoted whatever could be taken for a separator of another sort.
            if cell.contains([',', ';', '\t', '"', '\n', '\r']) {
                self.text.push('"');
                self.text.push_str(&cell.replace('"', "\"\""));
                self.text.push('"');
            } else {
                self.text.push_str(cell);
            }
        }
        self.text.push('\n');
        self.lines += 1;
    }
}

/// Reads a file in this process.
///
/// # Errors
/// The sentence why it cannot be taken.
pub fn read_here(bytes: &[u8]) -> Result<Vec<SheetText>, String> {
    let mut gathered = Gathered::default();
    tell(Cursor::new(bytes), &mut |told| gathered.take(told))?;
    gathered
        .whole()
        .ok_or_else(|| "The file did not arrive whole. Send it again.".to_owned())
}

/// The list of a file.
#[derive(Debug)]
pub struct Chosen {
    /// The sheet it was on; empty for a list in text.
    pub sheet: String,
    /// Its text.
    pub text: String,
    /// Its rows.
    pub list: Sheet,
    /// What a handover's sheets say against each other.
    pub findings: Vec<handover::Finding>,
}

/// The sheet that was asked for, or the one whose headings say most; of a handover workbook the list of its units.
///
/// # Errors
/// A sentence: no such sheet, or no list on any.
pub fn choose(mut sheets: Vec<SheetText>, wanted: &str) -> Result<Chosen, String> {
    if wanted.is_empty()
        && let Some(found) = handover::units_of(&sheets)
    {
        let list = titled(&found.text, "Component")?;
        return Ok(Chosen {
            sheet: "Component".to_owned(),
            text: found.text,
            list,
            findings: found.findings,
        });
    }
    let place = if wanted.is_empty() {
        richest(&sheets)
    } else {
        let same = |s: &SheetText| s.name.trim().to_lowercase() == wanted.trim().to_lowercase();
        sheets.iter().position(same).ok_or_else(|| {
            let names: Vec<&str> = sheets.iter().map(|s| s.name.as_str()).collect();
            format!(
                "The workbook has no sheet called {wanted}. It has: {}.",
                names.join(", ")
            )
        })?
    };
    if place >= sheets.len() {
        return Err("The file has no rows.".to_owned());
    }
    let SheetText { name, text, .. } = sheets.swap_remove(place);
    let list = titled(&text, &name)?;
    Ok(Chosen {
        sheet: name,
        text,
        list,
        findings: Vec::new(),
    })
}

/// A text parted into rows, under its sheet's name.
///
/// # Errors
/// As [`reading::rows`].
pub fn titled(text: &str, sheet: &str) -> Result<Sheet, String> {
    let mut list = reading::rows(text)?;
    sheet.clone_into(&mut list.title);
    Ok(list)
}

/// The rows of a sheet whose headings are its first row by the format it is in, whatever words its rows hold.
pub(super) fn headed(text: &str, sheet: &str) -> Result<Sheet, String> {
    let mut list = reading::headed_rows(text)?;
    sheet.clone_into(&mut list.title);
    Ok(list)
}

/// The place of the sheet with the most headings known here; the first of equals.
fn richest(sheets: &[SheetText]) -> usize {
    let known = |sheet: &SheetText| {
        let head: String = sheet.text.lines().take(40).collect::<Vec<_>>().join("\n");
        reading::rows(&head).map_or(0, |list| {
            list.headings
                .iter()
                .filter(|h| fields::is_heading(h))
                .count()
        })
    };
    let counts: Vec<usize> = sheets.iter().map(known).collect();
    let most = counts.iter().max().copied().unwrap_or(0);
    counts.iter().position(|n| *n == most).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_a_sheet_keep_their_numbers_and_their_cells() {
        let mut sheet = SheetText::default();
        let cells = |all: &[&str]| all.iter().map(|c| (*c).to_owned()).collect::<Vec<_>>();
        sheet.push(3, &cells(&["Flat", "Kind", "Notes"]));
        sheet.push(4, &cells(&["1", "combi", "a;b, \"c\"\nd"]));
        sheet.push(9, &cells(&["", "", "far"]));
        let list = titled(&sheet.text, "Units").unwrap();
        assert_eq!((list.heading_row, list.delimiter), (3, ','));
        assert_eq!(list.rows[0].number, 4);
        assert_eq!(list.rows[0].cells, ["1", "combi", "a;b, \"c\"\nd"]);
        assert_eq!((list.rows[1].number, list.rows[1].cell(2)), (9, "far"));
    }

    #[test]
    fn what_is_told_survives_the_way_between_processes() {
        for told in [
            Told::Sheet("Units".to_owned()),
            Told::Row(7, vec!["a\n\"b\"".to_owned()]),
            Told::Text("é".to_owned()),
            Told::Refused("No.".to_owned()),
            Told::End,
        ] {
            let line = serde_json::to_string(&told).unwrap();
            assert!(!line.contains('\n'));
            assert_eq!(serde_json::from_str::<Told>(&line).unwrap(), told);
        }
    }

    #[test]
    fn a_text_is_told_in_pieces_and_gathered_whole() {
        let text = format!("flat,kind,notes\n1,combi,{}\n", "é".repeat(100_000));
        let sheets = read_here(text.as_bytes()).unwrap();
        assert_eq!((sheets.len(), sheets[0].text.as_str()), (1, text.as_str()));
        assert!(Gathered::default().whole().is_none());
    }
}
