//! Files of strangers, read by a process of their own: what breaks it is a sentence here. Built as a test of the package
//! `program`, which gives it the program.
#![expect(
    clippy::unwrap_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "a test breaks loudly, and the harness reads the environment"
)]
#[path = "support/alone.rs"]
#[expect(dead_code, reason = "the other tests' harness needs more of it")]
mod alone;
#[path = "support/long_list.rs"]
#[expect(dead_code, reason = "the list as text is for the test of its size")]
mod long_list;
#[path = "support/workbook.rs"]
mod workbook;

use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use jobs::ListReader;
use usecases::import::read_here;

fn reader(memory_kib: u64, time: Duration) -> ListReader {
    ListReader {
        program: PathBuf::from(env!("CARGO_BIN_EXE_riserward")),
        folder: std::env::temp_dir().join(format!("riserward-{}", uuid::Uuid::new_v4().simple())),
        memory_kib,
        time,
    }
}

fn usual() -> ListReader {
    reader(jobs::MEMORY_KIB, jobs::TIME)
}

fn refusal(reader: &ListReader, bytes: &[u8]) -> String {
    let sentence = match reader.read(bytes) {
        Err(sentence) => sentence,
        Ok(sheets) => panic!("{} sheets were read", sheets.len()),
    };
    let left = std::fs::read_dir(&reader.folder).unwrap().count();
    std::fs::remove_dir_all(&reader.folder).unwrap();
    assert_eq!(left, 0, "nothing of the file stays behind");
    sentence
}

#[test]
fn what_another_process_reads_is_what_this_one_would() {
    let rows: Vec<String> = (1..=200)
        .map(|n| {
            let cells = ["A", "B", "C"].map(|c| workbook::cell(c, n, &format!("{c} & {n}")));
            format!("<row r=\"{n}\">{}</row>", cells.concat())
        })
        .collect();
    let book = workbook::book(&[("First", rows.concat().as_str()), ("Second", "")]);
    let text = "Flat,Kind,Notes\n1,combi,\"two\nlines, \u{e9}\"\n".as_bytes();
    for bytes in [book.as_slice(), text] {
        let here = read_here(bytes).unwrap();
        assert!(here[0].text.lines().count() > 2);
        assert_eq!(usual().read(bytes).unwrap(), here);
    }
}

#[test]
fn a_bomb_that_says_what_it_is_is_refused_before_it_is_unpacked() {
    let bomb = workbook::bomb(60, None);
    assert!(bomb.len() < 1 << 20, "60 MB packed into {}", bomb.len());
    let sentence = refusal(&usual(), &bomb);
    assert!(sentence.contains("would unpack to 60 MB"), "{sentence}");
}

#[test]
fn a_bomb_that_lies_is_unpacked_no_further_than_it_claims() {
    // It claims a kilobyte and holds more than the process may have.
    let begun = Instant::now();
    match usual().read(&workbook::bomb(1_500, Some(1_000))) {
        Ok(sheets) => {
            let held: usize = sheets.iter().map(|s| s.text.len()).sum();
            assert!(held <= 1_000, "{held} bytes of a claimed kilobyte");
        }
        Err(sentence) => assert!(
            sentence.contains("more memory or more time") || sentence.contains("cannot be read"),
            "{sentence}"
        ),
    }
    assert!(begun.elapsed() < jobs::TIME * 2);
}

#[test]
fn a_reader_that_takes_too_long_or_too_much_is_ended() {
    let text = b"Flat,Kind\n1,combi\n".as_slice();
    let short = refusal(&reader(jobs::MEMORY_KIB, Duration::ZERO), text);
    assert!(short.contains("more time"), "{short}");
    // One MiB is not enough to start.
    let small = refusal(&reader(1024, jobs::TIME), text);
    assert!(small.contains("more memory"), "{small}");
}

#[test]
fn what_reads_is_told_nothing_of_its_surroundings() {
    // A program of our own in the place of the reader; it leaves what it was told beside itself.
    let own = reader(jobs::MEMORY_KIB, jobs::TIME);
    std::fs::create_dir(&own.folder).unwrap();
    let spy = own.folder.join("spy");
    std::fs::write(&spy, "#!/bin/sh\nenv >\"$0.told\"\n").unwrap();
    std::fs::set_permissions(&spy, std::fs::Permissions::from_mode(0o755)).unwrap();
    let spied = ListReader {
        program: spy.clone(),
        ..own
    };
    assert!(spied.read(b"Flat,Kind\n1,combi\n").is_err());
    let told = std::fs::read_to_string(spy.with_extension("told")).unwrap();
    std::fs::remove_dir_all(&spied.folder).unwrap();
    // The shells set these themselves.
    let own_words = ["PWD=", "OLDPWD=", "SHLVL=", "_="];
    let handed_on: Vec<&str> = told
        .lines()
        .filter(|line| !own_words.iter().any(|word| line.starts_with(word)))
        .collect();
    assert!(handed_on.is_empty(), "{handed_on:?}");
    assert!(std::env::vars().count() > 4, "there was something to tell");
}

#[test]
fn what_is_no_list_is_refused_in_the_words_of_the_one_that_read_it() {
    for (bytes, words) in [
        (b"\xd0\xcf\x11\xe0old".as_slice(), "the sheet as CSV"),
        (b"PK\x03\x04 and no more", "did not arrive whole"),
        (&[0, 1, 2, 3, 200, 201, 7], "not a list in text"),
    ] {
        let sentence = refusal(&usual(), bytes);
        assert!(sentence.contains(words), "{sentence}");
    }
}

/// The system itself holds the reader to its limit of address space, which no more memory than that can be in; beside
/// it the most it had is looked at and printed, with the time.
fn held_to_its_limit(what: &str, bytes: &[u8]) -> Vec<usecases::import::SheetText> {
    let begun = Instant::now();
    let program = Path::new(env!("CARGO_BIN_EXE_riserward"));
    let (sheets, most) = alone::reader_at_most(program, || usual().read(bytes));
    let sheets = sheets.unwrap();
    println!(
        "{what}: {:.1} s, the reader had {most} MB at most",
        begun.elapsed().as_secs_f64()
    );
    const { assert!(jobs::MEMORY_KIB <= alone::MOST_MB * 1024) };
    assert!(most > 0, "the reader was seen at work");
    assert!(
        most < alone::MOST_MB,
        "{most} MB at most, of {} MB",
        alone::MOST_MB
    );
    sheets
}

#[test]
fn a_hundred_thousand_rows_with_500_faults_are_read_within_the_limits() {
    let (bytes, faults) = long_list::seeded();
    assert_eq!(faults.len(), 500);
    let sheets = held_to_its_limit("100,000 rows", &bytes);
    let history = sheets.iter().find(|s| s.name == "History").unwrap();
    // Heading, rows, and the stray cell in the last row there can be.
    let rows = history.text.lines().count();
    assert!(rows > long_list::ROWS as usize, "{rows} rows");
}

#[test]
fn the_open_handover_workbook_is_read_within_the_limits() {
    let Some(bytes) = alone::handover_workbook() else {
        return;
    };
    let sheets = held_to_its_limit("the handover workbook", &bytes);
    assert!(sheets.iter().any(|s| s.name == "Component"));
}
