//! A test run again in a process of its own, so that the memory it takes is its own and no other test's.
use std::io::Write;
use std::process::Command;

const MARK: &str = "RISERWARD_TEST_ALONE";

/// What a list may take at most, here and in the process that reads it.
pub const MOST_MB: u64 = 512;

/// Whether this is the process of its own. If not, the test of this name is run in one, and what it printed is shown.
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
    println!("{said}{}", String::from_utf8_lossy(&ran.stderr));
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

/// Says past the harness, which keeps what passing tests print to itself, that something was not tried.
pub fn skipped(what: &str) {
    let _unheard = writeln!(std::io::stderr(), "SKIPPED: {what}");
}
