//! A test run again in a process of its own, so that the memory it takes is its own and no other test's.
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

const MARK: &str = "RISERWARD_TEST_ALONE";

/// What a list may take at most, here and in the process that reads it.
pub const MOST_MB: u64 = 512;

/// Whether this is the process of its own. If not, the test of this name is run in one, and what it printed is shown:
/// what went to the error output past the harness here too, since that is where a test says that it was skipped or broke.
pub fn alone(name: &str) -> bool {
    if std::env::var(MARK).is_ok_and(|marked| marked == name) {
        return true;
    }
    let ran = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", name, "--nocapture", "--test-threads=1"])
        .env(MARK, name)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&ran.stdout);
    println!("{said}");
    let _unheard = std::io::stderr().write_all(&ran.stderr);
    assert!(
        ran.status.success(),
        "{name} failed in a process of its own"
    );
    assert!(
        said.contains("1 passed"),
        "{name} is the name of a test: {said}"
    );
    false
}

/// The most memory this process has had, MB, as the system counts it (VmHWM).
pub fn most_memory() -> u64 {
    memory_of("self").unwrap()
}

/// The same of any process; `None` when it is gone, or gone already in all but name.
pub fn memory_of(process: &str) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM"))?;
    let kib: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kib / 1024)
}

/// The most memory any reader of lists that is `program` has had while `work` went on, MB, looked at every few
/// milliseconds; 0 when none was seen.
pub fn reader_at_most<T>(program: &Path, work: impl FnOnce() -> T) -> (T, u64) {
    let over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let watched = scope.spawn(|| {
            let mut most = 0;
            while !over.load(Ordering::SeqCst) {
                let now = readers(program).filter_map(|pid| memory_of(&pid)).max();
                most = most.max(now.unwrap_or(0));
                std::thread::sleep(Duration::from_millis(3));
            }
            most
        });
        let answer = work();
        over.store(true, Ordering::SeqCst);
        (answer, watched.join().unwrap())
    })
}

/// Processes that are this program as a reader, by their number.
fn readers(program: &Path) -> impl Iterator<Item = String> {
    let all = std::fs::read_dir("/proc").unwrap().filter_map(Result::ok);
    all.filter(move |entry| {
        let line = std::fs::read(entry.path().join("cmdline")).unwrap_or_default();
        let words: Vec<&[u8]> = line.split(|b| *b == 0).collect();
        words.first() == Some(&program.as_os_str().as_encoded_bytes())
            && words.get(1) == Some(&b"read-list".as_slice())
    })
    .map(|entry| entry.file_name().to_string_lossy().into_owned())
}

/// Says past the harness, which keeps what passing tests print to itself, that something was not tried.
pub fn skipped(what: &str) {
    let _unheard = writeln!(std::io::stderr(), "SKIPPED: {what}");
}

/// A COBie 2.4 handover of a two-flat house. BSI (2020) Duplex Apartment Test Files, buildingSMART International, from
/// the community sample test files; CC BY 4.0, unchanged. It is read where it lies and not copied, as the note beside it
/// asks. Where `RISERWARD_REFERENCE` says that it lies somewhere, it must; else its absence is said aloud.
pub fn handover_workbook() -> Option<Vec<u8>> {
    let said = std::env::var_os("RISERWARD_REFERENCE");
    // Tests of two packages read it, so the top of the project is looked for.
    let top = Path::new(env!("CARGO_MANIFEST_DIR"))
        .ancestors()
        .find(|folder| folder.join("Cargo.lock").is_file())
        .unwrap();
    let shared = said
        .as_ref()
        .map_or_else(|| top.join("../shared/reference"), PathBuf::from);
    let place = shared.join("handover/2012-03-23-Duplex-Handover.xlsx");
    match std::fs::read(&place) {
        Ok(bytes) => Some(bytes),
        Err(error) if said.is_some() => panic!("{}: {error}", place.display()),
        Err(_) => {
            skipped(
                "the open handover workbook does not lie beside the project, so nothing of it was tried",
            );
            None
        }
    }
}
