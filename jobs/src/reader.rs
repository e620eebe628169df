//! Files of strangers are read by a process of their own: this program again, with less memory and little time. What
//! breaks it breaks nothing else.
use std::fs::{self, OpenOptions};
use std::io::{BufRead, BufReader, Read, Write};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::Duration;

use usecases::import::{Gathered, SheetText, Told};
use uuid::Uuid;

/// The program that reads, and where the file lies meanwhile.
#[derive(Clone, Debug)]
pub struct ListReader {
    /// The program; started as `PROGRAM read-list FILE`.
    pub program: PathBuf,
    /// A folder of our own for files that are being read.
    pub folder: PathBuf,
    /// The most memory it may take, KiB of address space.
    pub memory_kib: u64,
    /// The longest it may take.
    pub time: Duration,
}

/// 512 MiB.
pub const MEMORY_KIB: u64 = 512 * 1024;
/// One minute.
pub const TIME: Duration = Duration::from_mins(1);
/// The longest line it may say, bytes: a row of a list is shorter by far.
const LONGEST_LINE: u64 = 64 * 1024 * 1024;

const TOO_MUCH: &str = "The file needs more memory or more time to read than a list ever does, so nothing of it was read. Save the sheet anew, or as CSV (UTF-8), then send that.";

impl ListReader {
    /// The sheets of a file.
    ///
    /// # Errors
    /// The sentence why it cannot be taken.
    pub fn read(&self, bytes: &[u8]) -> Result<Vec<SheetText>, String> {
        let file = self.folder.join(format!("{}.list", Uuid::new_v4()));
        let kept = keep(&self.folder, &file, bytes);
        let read = kept
            .map_err(|error| our_fault(&error))
            .and_then(|()| self.read_apart(&file));
        if let Err(error) = fs::remove_file(&file) {
            tracing::warn!(%error, "a file that was read could not be removed");
        }
        read
    }

    fn read_apart(&self, file: &Path) -> Result<Vec<SheetText>, String> {
        let mut child = self.start(file).map_err(|error| our_fault(&error))?;
        let Some(said) = child.stdout.take() else {
            return Err(our_fault(&"the reader has no voice"));
        };
        let (over, ended) = mpsc::channel::<()>();
        let time = self.time;
        let gathered = std::thread::scope(|scope| {
            let watched = scope.spawn(move || watch(child, time, &ended));
            let gathered = listen(said);
            drop(over);
            let _ended = watched.join();
            gathered
        })?;
        gathered.whole().ok_or_else(|| TOO_MUCH.to_owned())
    }

    /// The shell sets the limit, since a limit can be set from within a process only. What a stranger sent must not find
    /// a password in the surroundings of what reads it, so there are none.
    fn start(&self, file: &Path) -> std::io::Result<Child> {
        Command::new("sh")
            .arg("-c")
            .arg("ulimit -v \"$1\" && ulimit -c 0 && exec \"$0\" read-list \"$2\"")
            .arg(&self.program)
            .arg(self.memory_kib.to_string())
            .arg(file)
            .env_clear()
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
    }
}

/// Ends the reader when it was heard out or its time is over; a reader that is killed has not told all.
fn watch(mut child: Child, time: Duration, ended: &mpsc::Receiver<()>) {
    if ended.recv_timeout(time) == Err(RecvTimeoutError::Timeout) {
        tracing::warn!("a list took too long to read");
    }
    // It may have ended already; then there is nothing to kill, and waiting clears it away.
    let _gone = child.kill();
    let _cleared = child.wait();
}

/// Everything the reader says until it falls silent.
fn listen(said: ChildStdout) -> Result<Gathered, String> {
    let mut gathered = Gathered::default();
    let mut lines = BufReader::new(said);
    let mut line = Vec::new();
    loop {
        line.clear();
        let read = lines
            .by_ref()
            .take(LONGEST_LINE)
            .read_until(b'\n', &mut line);
        match read {
            Ok(0) => return Ok(gathered),
            Ok(_) => {}
            Err(error) => return Err(our_fault(&error)),
        }
        match serde_json::from_slice::<Told>(&line) {
            Ok(told) => gathered.take(told)?,
            // Cut off in the middle of a line: not all was told.
            Err(_) => return Ok(Gathered::default()),
        }
    }
}

fn our_fault(error: &dyn std::fmt::Display) -> String {
    tracing::error!(%error, "a list could not be read apart");
    "The file could not be read just now, and that is not its fault. Send it again.".to_owned()
}

fn keep(folder: &Path, file: &Path, bytes: &[u8]) -> std::io::Result<()> {
    fs::DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(folder)?;
    let mut kept = OpenOptions::new()
        .create_new(true)
        .write(true)
        .mode(0o600)
        .open(file)?;
    kept.write_all(bytes)
}
