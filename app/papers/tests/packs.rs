//! The packs in tests/packs, set by the program the server runs and read back by readers that are not ours: `pdfinfo`
//! and `pdftotext`. The open validator is asked by `tests/papers-valid/run`.
#![expect(clippy::unwrap_used, clippy::panic, reason = "tests break loudly")]
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use papers::Papers;
use wording::paper::{Column, Named, Paper, Part, Section};

const PROGRAM: &str = env!("CARGO_BIN_EXE_riserward-papers");
const NAMES: [&str; 7] = [
    "short",
    "flat-22",
    "flat-46",
    "three-courses",
    "hostile",
    "forty",
    "empty",
];

fn words(name: &str) -> Vec<u8> {
    let place = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/packs");
    std::fs::read(place.join(format!("{name}.json"))).unwrap()
}

fn paper(name: &str) -> Paper {
    serde_json::from_slice(&words(name)).unwrap()
}

fn kept(pdf: &[u8], name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("papers");
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join(format!("{name}.pdf"));
    std::fs::write(&file, pdf).unwrap();
    file
}

fn said(program: &str, words: &[&str], file: &Path) -> String {
    let mut command = Command::new(program);
    match program {
        "pdftotext" => command.args(words).arg(file).arg("-"),
        _ => command.args(words).arg(file),
    };
    let output = command
        .output()
        .unwrap_or_else(|error| panic!("{program} (Debian: poppler-utils): {error}"));
    assert!(output.status.success(), "{program} {}", file.display());
    // `pdfinfo` hands names on as they stand in the file, which is not always UTF-8.
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// The text in reading order, every run of spaces and line ends as one space.
fn read(file: &Path) -> String {
    plain(&said("pdftotext", &["-raw"], file))
}

fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn pages(info: &str) -> u32 {
    let line = info.lines().find(|l| l.starts_with("Pages:")).unwrap();
    line["Pages:".len()..].trim().parse().unwrap()
}

/// Each stands after the one before it.
fn in_order(text: &str, marks: &[&str]) {
    let mut from = 0;
    for mark in marks {
        let mark = mark.replace('\u{a0}', " ");
        let found = text[from..].find(&mark);
        from += found.unwrap_or_else(|| panic!("“{mark}” does not follow in: {text}")) + mark.len();
    }
}

#[test]
fn a_pack_is_two_tagged_pages_in_reading_order() {
    for name in ["flat-22", "flat-46", "three-courses"] {
        two_pages_in_order(name);
    }
}

fn two_pages_in_order(name: &str) {
    let pdf = Papers::new().unwrap().set(&paper(name)).unwrap();
    let file = kept(&pdf, name);
    let info = said("pdfinfo", &[], &file);
    assert!(info.contains("Tagged:          yes"), "{info}");
    assert_eq!(pages(&info), 2, "{info}");
    let about = paper(name);
    assert!(info.contains(&about.title), "{info}");
    assert!(info.contains(&about.author), "{info}");
    let text = read(&file);
    let headings: Vec<&str> = about.sections.iter().map(|s| s.heading.as_str()).collect();
    in_order(&text, &headings);
    in_order(&text, &["Riserward", &plain(&about.heading), "The answers"]);
    in_order(&text, &["Reminder, not legal advice", "Prepared by"]);
    in_order(&text, &["Signed for the landlord", "Head of the record"]);
}

#[test]
fn the_table_reads_row_by_row_and_its_headings_say_what_they_head() {
    let pdf = Papers::new().unwrap().set(&paper("short")).unwrap();
    let file = kept(&pdf, "short");
    let row = ["Money now", "£412.00", "£2,750.00", "£4,350.00"];
    let text = read(&file);
    in_order(&text, &["Repair and keep", "Replace, like for like"]);
    in_order(&text, &row);
    // A course without the fact has a dash, and the row stands where its course has it.
    in_order(&text, &["Money now", "Grant, not taken off above – £0 –"]);
    in_order(&text, &["Grant", "Cost by 2036 £3,548 £3,728 £5,489"]);
    let tags = said("pdfinfo", &["-struct-text"], &file);
    for tag in ["H1", "H2", "Table", "TR", "TH", "TD", "Figure"] {
        assert!(
            tags.lines().any(|l| l.trim().starts_with(tag)),
            "{tag} in {tags}"
        );
    }
    let tags = said("pdfinfo", &["-struct"], &file);
    for scope in ["/Row", "/Column", "/Both"] {
        assert!(tags.contains(scope), "{scope} in {tags}");
    }
    // The drawing is a figure; that it has words for who cannot see it is asked by tests/papers-valid.
    assert_eq!(tags.matches("Figure").count(), 1, "{tags}");
}

#[test]
fn a_resident_with_a_circumflex_and_a_face_prints() {
    for name in ["short", "hostile"] {
        let pdf = Papers::new().unwrap().set(&paper(name)).unwrap();
        let text = read(&kept(&pdf, name));
        assert!(text.contains("Siân Ŵyn 😀"), "{text}");
    }
}

#[test]
fn what_people_write_is_words_and_what_no_face_holds_is_marked() {
    let pdf = Papers::new().unwrap().set(&paper("hostile")).unwrap();
    let file = kept(&pdf, "hostile");
    let text = read(&file);
    for said in [
        "We advise #strong[nothing] for <b>flat 22</b>, $x^2$, \"quoted\", \\ and `code`",
        "#import \"x.typ\"",
        "a b cd",
        "#eval",
        "Ŵyn; Łódź, Жанна, Νίκος, Đặng, ½ ≥ ✓ → 10 °C −5 £ €",
        "□□□, □□□□, □, □, family 👨👩👧",
        "this paper has no shape for",
    ] {
        assert!(text.contains(said), "“{said}” is not in: {text}");
    }
    // The long word was broken and nothing of it is lost.
    let letters: String = text.chars().filter(|c| c.is_alphanumeric()).collect();
    assert!(
        letters.contains("Lopadotemachoselachogaleokranio"),
        "{text}"
    );
    assert!(
        letters.contains("tragano") && letters.contains("pterygon"),
        "{text}"
    );
    assert!(letters.contains(&"y".repeat(200)), "{text}");
}

#[test]
fn a_long_pack_goes_on_over_pages_and_an_empty_one_is_a_page() {
    let mut papers = Papers::new().unwrap();
    let file = kept(&papers.set(&paper("forty")).unwrap(), "forty");
    assert!(pages(&said("pdfinfo", &[], &file)) > 4);
    let text = read(&file);
    in_order(
        &text,
        &["Course 1", "Course 40", "Sentence number 120", "Doubt 90"],
    );
    let file = kept(&papers.set(&paper("empty")).unwrap(), "empty");
    assert_eq!(pages(&said("pdfinfo", &[], &file)), 1);
    let bare = Paper {
        sections: vec![Section {
            heading: String::new(),
            note: String::new(),
            parts: vec![
                Part::Columns {
                    columns: vec![Column {
                        title: String::new(),
                        verdict: String::new(),
                        facts: Vec::<Named>::new(),
                    }],
                },
                Part::Table {
                    headers: Vec::new(),
                    rows: vec![vec!["a".to_owned()]],
                },
            ],
        }],
        ..paper("empty")
    };
    assert!(papers.set(&bare).unwrap().starts_with(b"%PDF"));
}

#[test]
fn the_same_words_make_the_same_bytes() {
    let mut papers = Papers::new().unwrap();
    for name in NAMES {
        let first = papers.set(&paper(name)).unwrap();
        assert_eq!(first, papers.set(&paper(name)).unwrap(), "{name}, again");
        // Another process, which has set nothing before.
        assert_eq!(first, by_the_program(name), "{name}, elsewhere");
    }
    let mut other = paper("short");
    other.heading.push('!');
    let (one, two) = (papers.set(&paper("short")), papers.set(&other));
    assert_ne!(one.unwrap(), two.unwrap(), "other words, other bytes");
}

fn by_the_program(name: &str) -> Vec<u8> {
    let mut child = Command::new(PROGRAM)
        .arg("--once")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(&words(name)).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    output.stdout
}

#[test]
fn the_program_answers_one_request_after_another_and_says_what_is_wrong() {
    let mut child = Command::new(PROGRAM)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut asks = child.stdin.take().unwrap();
    let mut voice = child.stdout.take().unwrap();
    let unknown = words("empty");
    let unknown = String::from_utf8(unknown)
        .unwrap()
        .replace("author", "writer");
    for (asked, word) in [
        (words("short"), "pdf"),
        (unknown.into_bytes(), "trouble"),
        (b"not json".to_vec(), "trouble"),
        (words("empty"), "pdf"),
    ] {
        writeln!(asks, "{}", asked.len()).unwrap();
        asks.write_all(&asked).unwrap();
        let (said, bytes) = answer(&mut voice);
        assert_eq!(said, word, "{}", String::from_utf8_lossy(&bytes));
        assert_eq!(bytes.starts_with(b"%PDF"), word == "pdf");
    }
    drop(asks);
    assert!(child.wait().unwrap().success(), "it ends with its input");
}

fn answer(voice: &mut impl Read) -> (String, Vec<u8>) {
    let mut line = Vec::new();
    let mut one = [0];
    while one != *b"\n" {
        voice.read_exact(&mut one).unwrap();
        line.push(one[0]);
    }
    let line = String::from_utf8(line).unwrap();
    let (word, length) = line.trim().split_once(' ').unwrap();
    let mut bytes = vec![0; length.parse().unwrap()];
    voice.read_exact(&mut bytes).unwrap();
    (word.to_owned(), bytes)
}
