//! Workbooks made by hand: an archive of a few parts, whole or lying about how large they are.
use std::fmt::Write as _;
use std::io::Write as _;

use flate2::write::DeflateEncoder;
use flate2::{Compression, Crc};

/// An archive being packed.
#[derive(Default)]
pub struct Packed {
    bytes: Vec<u8>,
    directory: Vec<u8>,
    files: u16,
}

/// A piece of a file as a block that may be repeated: it refers to nothing before itself.
fn block(piece: &[u8]) -> Vec<u8> {
    let mut packer = DeflateEncoder::new(Vec::new(), Compression::fast());
    packer.write_all(piece).unwrap();
    packer.flush().unwrap();
    packer.get_ref().clone()
}

impl Packed {
    /// Adds a file made of pieces, each so many times. `claimed`: the unpacked size the archive says it has, where
    /// that is not the true one.
    pub fn add(&mut self, name: &str, pieces: &[(&[u8], usize)], claimed: Option<u32>) {
        let mut packed = Vec::new();
        let (mut crc, mut size) = (Crc::new(), 0_u64);
        for (piece, times) in pieces {
            let block = block(piece);
            for _ in 0..*times {
                packed.extend_from_slice(&block);
                size += piece.len() as u64;
                if claimed.is_none() {
                    crc.update(piece);
                }
            }
        }
        // The last block: final, and empty.
        packed.extend_from_slice(&[0x03, 0x00]);
        let start = u32::try_from(self.bytes.len()).unwrap();
        let mut fields = Vec::new();
        fields.extend_from_slice(&[20, 0, 0, 0, 8, 0, 0, 0, 0x21, 0x5b]);
        fields.extend_from_slice(&crc.sum().to_le_bytes());
        fields.extend_from_slice(&u32::try_from(packed.len()).unwrap().to_le_bytes());
        let says = claimed.unwrap_or(u32::try_from(size).unwrap());
        fields.extend_from_slice(&says.to_le_bytes());
        fields.extend_from_slice(&u16::try_from(name.len()).unwrap().to_le_bytes());
        fields.extend_from_slice(&[0, 0]);
        self.bytes.extend_from_slice(b"PK\x03\x04");
        self.bytes.extend_from_slice(&fields);
        self.bytes.extend_from_slice(name.as_bytes());
        self.bytes.extend_from_slice(&packed);
        self.directory.extend_from_slice(b"PK\x01\x02\x14\x00");
        self.directory.extend_from_slice(&fields);
        self.directory.extend_from_slice(&[0; 10]);
        self.directory.extend_from_slice(&start.to_le_bytes());
        self.directory.extend_from_slice(name.as_bytes());
        self.files += 1;
    }

    /// The archive.
    pub fn finish(mut self) -> Vec<u8> {
        let start = u32::try_from(self.bytes.len()).unwrap();
        let size = u32::try_from(self.directory.len()).unwrap();
        self.bytes.append(&mut self.directory);
        self.bytes.extend_from_slice(b"PK\x05\x06\0\0\0\0");
        self.bytes.extend_from_slice(&self.files.to_le_bytes());
        self.bytes.extend_from_slice(&self.files.to_le_bytes());
        self.bytes.extend_from_slice(&size.to_le_bytes());
        self.bytes.extend_from_slice(&start.to_le_bytes());
        self.bytes.extend_from_slice(&[0, 0]);
        self.bytes
    }
}

/// The parts of a workbook that name its sheets.
fn names(packed: &mut Packed, sheets: &[&str]) {
    let mut list = String::new();
    let mut parts = String::new();
    for (n, name) in sheets.iter().enumerate() {
        let n = n + 1;
        write!(
            list,
            "<sheet name=\"{name}\" sheetId=\"{n}\" r:id=\"rId{n}\"/>"
        )
        .unwrap();
        write!(
            parts,
            "<Relationship Id=\"rId{n}\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet\" Target=\"worksheets/sheet{n}.xml\"/>"
        )
        .unwrap();
    }
    let book = format!(
        "<?xml version=\"1.0\"?><workbook xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\" xmlns:r=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships\"><sheets>{list}</sheets></workbook>"
    );
    let links = "http://schemas.openxmlformats.org/package/2006/relationships";
    let of_book =
        format!("<?xml version=\"1.0\"?><Relationships xmlns=\"{links}\">{parts}</Relationships>");
    let of_all = format!(
        "<?xml version=\"1.0\"?><Relationships xmlns=\"{links}\"><Relationship Id=\"rId1\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
    );
    let types = "<?xml version=\"1.0\"?><Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\"><Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/><Default Extension=\"xml\" ContentType=\"application/xml\"/></Types>";
    packed.add("[Content_Types].xml", &[(types.as_bytes(), 1)], None);
    packed.add("_rels/.rels", &[(of_all.as_bytes(), 1)], None);
    packed.add("xl/workbook.xml", &[(book.as_bytes(), 1)], None);
    packed.add(
        "xl/_rels/workbook.xml.rels",
        &[(of_book.as_bytes(), 1)],
        None,
    );
}

const HEAD: &str = "<?xml version=\"1.0\"?><worksheet xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"><sheetData>";
const FOOT: &str = "</sheetData></worksheet>";

/// One cell: its column's letters, its row's number, its text.
pub fn cell(column: &str, row: u32, text: &str) -> String {
    let text = text
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;");
    format!("<c r=\"{column}{row}\" t=\"inlineStr\"><is><t>{text}</t></is></c>")
}

/// A workbook of sheets, each with its rows as XML.
pub fn book(sheets: &[(&str, &str)]) -> Vec<u8> {
    let mut packed = Packed::default();
    let all: Vec<&str> = sheets.iter().map(|s| s.0).collect();
    names(&mut packed, &all);
    for (n, (_, rows)) in sheets.iter().enumerate() {
        let whole = format!("{HEAD}{rows}{FOOT}");
        let name = format!("xl/worksheets/sheet{}.xml", n + 1);
        packed.add(&name, &[(whole.as_bytes(), 1)], None);
    }
    packed.finish()
}

/// A workbook whose one cell holds so many MiB of nothing but one letter; it says so, or claims another size.
pub fn bomb(mebibytes: usize, claimed: Option<u32>) -> Vec<u8> {
    let mut packed = Packed::default();
    names(&mut packed, &["Units"]);
    let head = format!("{HEAD}<row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>");
    let foot = format!("</t></is></c></row>{FOOT}");
    let letters = vec![b'A'; 1 << 20];
    let pieces = [
        (head.as_bytes(), 1),
        (letters.as_slice(), mebibytes),
        (foot.as_bytes(), 1),
    ];
    packed.add("xl/worksheets/sheet1.xml", &pieces, claimed);
    packed.finish()
}
