//! A history of 100,000 rows with 500 seeded faults, as text and as a workbook, and a bomb of 60 MB, in one run: read by a
//! process of their own as the program does it, each fault told by sheet, row, column and code, the good rows in, the bad
//! rows out, all of it taken back. Seconds and the most memory of both processes are printed, and the memory is held to:
//! `cargo test --release -p tests --test all import_size -- --nocapture --test-threads=1` alone shows them.
use std::cell::Cell;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

use chrono::{NaiveDate, TimeDelta};
use jobs::ListReader;
use terms::{EstateId, ImportId};
use usecases::import::{self, BroughtIn, Code, Preview, Undone};
use usecases::tasks::Claimed;

use crate::import::{Estate, block};
use crate::support::alone::{MOST_MB, alone, most_memory, reader_at_most};
use crate::support::built::built;
use crate::support::long_list::{FLATS, ROWS, Told, seeded, seeded_text};

fn estate() -> Estate {
    let estate = Estate::bare();
    let mut units = "Building,Flat,Kind,Records since\n".to_owned();
    for name in ["Alder House", "Osier Tower"] {
        block(estate.world(), &estate.seat, name, (25, 10));
        for flat in 1..=FLATS {
            writeln!(units, "{name},{flat},combi,2005").unwrap();
        }
    }
    estate.bring_in("units.csv", &units);
    estate
}

type Read<'a> = &'a (dyn Fn(&[u8]) -> Result<Vec<import::SheetText>, String> + Sync);

/// Runs the tasks of lists alone: a refit over 100,000 records is not what is timed here.
fn run_lists(estate: &Estate, read: Read<'_>) {
    let world = estate.world();
    let act = |task: &Claimed| -> Result<String, jobs::Trouble> {
        let whose = EstateId(task.estate.unwrap());
        let errand = || serde_json::from_value(task.payload.clone()).unwrap();
        match task.kind.as_str() {
            import::READ_TASK => Ok(import::read_list(world, whose, &errand(), read)?),
            import::BRING_IN_TASK => Ok(import::bring_in_list(world, whose, &errand())?),
            other => Ok(format!("{other} is left alone")),
        }
    };
    let stop = AtomicBool::new(false);
    assert!(jobs::work_off(world, "w1", jobs::LEASE, &stop, &act) >= 1);
}

fn timed<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let begun = Instant::now();
    let answer = work();
    println!(
        "{what}: {:.1} s, this process at most {} MB so far",
        begun.elapsed().as_secs_f64(),
        most_memory()
    );
    answer
}

/// The program as it is started to read what strangers send, and the most memory it had, MB.
struct Apart {
    reader: ListReader,
    most: Cell<u64>,
}

impl Apart {
    fn new() -> Self {
        let made_of = ["app", "jobs", "migrations", "templates"];
        let name = format!("riserward-{}", uuid::Uuid::new_v4().simple());
        let reader = ListReader {
            program: built("program", "riserward", &made_of),
            folder: std::env::temp_dir().join(name),
            memory_kib: jobs::MEMORY_KIB,
            time: jobs::TIME,
        };
        Self {
            reader,
            most: Cell::new(0),
        }
    }

    /// Runs the tasks of lists, each file read by the process apart.
    fn run(&self, what: &str, estate: &Estate) {
        let begun = Instant::now();
        let ((), most) = reader_at_most(&self.reader.program, || {
            let reader = &self.reader;
            run_lists(estate, &|bytes| reader.read(bytes));
        });
        println!(
            "{what}: {:.1} s, this process at most {} MB so far, the one that reads at most {most} MB",
            begun.elapsed().as_secs_f64(),
            most_memory()
        );
        self.most.set(self.most.get().max(most));
    }
}

impl Drop for Apart {
    fn drop(&mut self) {
        let _gone = std::fs::remove_dir_all(&self.reader.folder);
    }
}

/// Every fault of a preview stands where it was seeded, by sheet, row, column, code and value, and there is no other.
fn tells_each(preview: &Preview, sheet: &str, expected: &[Told]) {
    let mut by_code: BTreeMap<&str, usize> = BTreeMap::new();
    for (_, _, code, _) in expected {
        *by_code.entry(code).or_default() += 1;
    }
    let mut found: BTreeMap<&str, usize> = BTreeMap::new();
    for problem in &preview.problems {
        *found.entry(problem.code.code()).or_default() += 1;
        assert_eq!(problem.sheet, sheet);
    }
    println!("faults by code: {found:?}");
    assert_eq!(found, by_code, "as many of each code as were seeded");
    let told: Vec<Told> = preview
        .problems
        .iter()
        .map(|p| (p.row, p.column.clone(), p.code.code(), p.value.clone()))
        .collect();
    assert_eq!(told, expected);
    assert_eq!((preview.rows, preview.sheet.as_str()), (ROWS + 1, sheet));
    assert_eq!((preview.counts.new, preview.counts.held), (99_501, 500));
}

fn records(estate: &Estate) -> usize {
    let ids: Vec<_> = estate.units().iter().map(|u| u.id).collect();
    let all = estate
        .world()
        .acting(&estate.seat, |tx| {
            let at = tx.at();
            Ok(tx.histories(&ids, at)?)
        })
        .unwrap();
    all.values()
        .map(|h| h.failures.len() + h.services.len() + h.parts.len())
        .sum()
}

fn state(estate: &Estate, id: ImportId) -> (String, Option<import::Progress>) {
    let (head, progress) = import::standing(estate.world(), &estate.seat, id).unwrap();
    (head.state, progress)
}

#[test]
fn a_hundred_thousand_rows_with_500_faults_come_in_and_go_back() {
    if !alone("import_size::a_hundred_thousand_rows_with_500_faults_come_in_and_go_back") {
        return;
    }
    let (estate, apart) = (estate(), Apart::new());
    the_bomb_is_refused(&estate, &apart);
    the_text_tells_each_fault(&estate, &apart);
    let begun = Instant::now();
    let dated = the_workbook_comes_in(&estate, &apart);
    println!(
        "whole import of the workbook: {ROWS} rows in {:.1} s",
        begun.elapsed().as_secs_f64()
    );
    it_goes_back(&estate, dated);
    // Of everything: the seeding, this test's own copies, the server's answers.
    let (most, reader) = (most_memory(), apart.most.get());
    println!("the most memory: {most} MB here, {reader} MB in the process that reads");
    assert!(reader > 0, "the process that reads was seen at work");
    assert!(reader < MOST_MB, "{reader} MB at most, of {MOST_MB} MB");
    assert!(most < MOST_MB, "{most} MB at most, of {MOST_MB} MB");
}

/// 60 MB packed into less than one.
fn the_bomb_is_refused(estate: &Estate, apart: &Apart) {
    let id = estate.send("bomb.xlsx", &crate::support::workbook::bomb(60, None));
    apart.run("a bomb of 60 MB", estate);
    let (standing, progress) = state(estate, id);
    assert_eq!(standing, "refused");
    let words = progress.unwrap().words;
    assert!(words.contains("would unpack to 60 MB"), "{words}");
}

/// The list as text: each fault told; then it is put away.
fn the_text_tells_each_fault(estate: &Estate, apart: &Apart) {
    let (bytes, expected) = seeded_text();
    assert_eq!(expected.len(), 500);
    println!("the text has {} KB", bytes.len() / 1024);
    let id = estate.send("history.csv", &bytes);
    drop(bytes);
    assert_eq!(state(estate, id).0, "reading");
    apart.run("the text read and looked at", estate);
    tells_each(&estate.view(id).preview, "", &expected);
    import::drop_list(estate.world(), &estate.seat, id, "put away").unwrap();
}

/// The list as a workbook: each fault told, the bad rows out with why, the good rows in. Answers how many dates it gave.
fn the_workbook_comes_in(estate: &Estate, apart: &Apart) -> usize {
    let (bytes, expected) = seeded();
    assert_eq!(expected.len(), 500);
    println!("the workbook has {} KB", bytes.len() / 1024);
    let id = estate.send("history.xlsx", &bytes);
    drop(bytes);
    assert_eq!(state(estate, id).0, "reading");
    apart.run("the workbook read and looked at", estate);
    let preview = estate.view(id).preview;
    tells_each(&preview, "History", &expected);
    let dated = preview.doubts.dated as usize;
    assert!(
        dated > 49_000,
        "half of the rows are services and checks: {dated}"
    );
    // Nothing comes in until every cause is settled; only the bad rows can be taken out, with why.
    assert!(import::bring_in(estate.world(), &estate.seat, id, "too early").is_err());
    let (name, bad) = import::bad_rows(estate.world(), &estate.seat, id).unwrap();
    assert_eq!(name, "history to mend.csv");
    let bad = String::from_utf8(bad).unwrap();
    assert_eq!(bad.lines().count(), 501);
    assert!(
        bad.lines()
            .next()
            .unwrap()
            .ends_with("Row in the list,What is wrong")
    );
    timed("every cause left out", || {
        import::leave_rest_out(estate.world(), &estate.seat, id, "rest").unwrap();
    });
    let before = estate.links();
    let asked = import::bring_in(estate.world(), &estate.seat, id, "in").unwrap();
    assert_eq!(asked, BroughtIn::Waits);
    assert_eq!(
        (state(estate, id).0.as_str(), records(estate)),
        ("coming_in", 0)
    );
    timed("brought in", || {
        let reader = &apart.reader;
        run_lists(estate, &|bytes| reader.read(bytes));
    });
    let (standing, progress) = state(estate, id);
    let progress = progress.unwrap();
    assert_eq!((standing.as_str(), progress.done), ("done", 99_501));
    assert_eq!(progress.done, progress.of_all);
    assert_eq!(records(estate), 99_501);
    assert!(estate.links() > before);
    dated
}

/// One press takes it back, and says before what it would do.
fn it_goes_back(estate: &Estate, dated: usize) {
    let heads = import::lists(estate.world(), &estate.seat).unwrap();
    let id = heads.iter().find(|h| h.name == "history.xlsx").unwrap().id;
    let would = Undone {
        units: 0,
        restored: 0,
        events: 99_501,
        // Every clean service meets the yearly service of its boiler, every clean check its gas safety check.
        dates: dated,
        statements: 0,
    };
    assert_eq!(estate.view(id).undo, Some(would));
    let undone = timed("taken back", || {
        import::undo(estate.world(), &estate.seat, id, "undo").unwrap()
    });
    assert_eq!(undone, would);
    assert_eq!(records(estate), 0);
}

#[test]
fn encodings_are_read_and_what_none_can_read_is_told() {
    let estate = Estate::new();
    estate.bring_in("units.csv", "Number,Flat,Kind\nB1,1,combi\n");
    let mut rows = "Number,Date,What,Cost,Words\n".to_owned();
    for n in 0..300 {
        let day = NaiveDate::from_ymd_opt(2016, 1, 1).unwrap() + TimeDelta::days(10 * n);
        writeln!(rows, "B1,{day},repair,\u{a3}{}.00,caf\u{e9} {n}", 20 + n).unwrap();
    }
    let sixteen: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain(rows.encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    let preview = estate.look("sixteen.csv", &sixteen);
    assert_eq!((preview.problems.len(), preview.counts.new), (0, 300));
    // Windows-1252, where 0x81 is no character: seeded in every thirtieth row.
    let western: Vec<u8> = rows
        .replace("0\n", "0\u{fffd}\n")
        .chars()
        .map(|c| match c {
            '\u{fffd}' => 0x81,
            c => u8::try_from(c).unwrap(),
        })
        .collect();
    let seeded = western.split(|b| *b == 0x81).count() - 1;
    let preview = estate.look("western.csv", &western);
    assert!(seeded > 20);
    assert_eq!(preview.problems.len(), seeded);
    assert!(
        preview
            .problems
            .iter()
            .all(|p| p.code == Code::TextUndecodable)
    );
}

#[test]
fn a_file_of_more_than_32_megabytes_and_a_bomb_are_refused_in_a_sentence() {
    let estate = Estate::new();
    let bomb = crate::support::workbook::bomb(60, None);
    let id = estate.send("bomb.xlsx", &bomb);
    run_lists(&estate, &import::read_here);
    let (standing, progress) = state(&estate, id);
    assert_eq!(standing, "refused");
    let words = progress.unwrap().words;
    assert!(words.contains("would unpack to 60 MB"), "{words}");
    // Incompressible, so it is as large as it says.
    let form = import::Upload {
        name: "large.csv".to_owned(),
        bytes: vec![b'a'; 60 << 20],
        kind: None,
        building: None,
        source: String::new(),
        sheet: String::new(),
    };
    let refused = import::upload(estate.world(), &estate.seat, form, "large");
    assert!(
        matches!(refused, Err(usecases::Error::Invalid(w)) if w[0].sentence.contains("at most 32 MB"))
    );
}
