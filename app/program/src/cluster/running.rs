//! Starting the cluster's server and waiting for it.
use std::fs::{self, File, OpenOptions};
use std::io::{Read, Seek, SeekFrom};
use std::os::unix::process::CommandExt;
use std::path::PathBuf;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use super::postmaster::{self, Life};
use super::{Cluster, PATIENCE};
use crate::trouble::{Explained, Trouble};

/// The log is begun anew above this size.
const LONG_LOG: u64 = 10 * 1024 * 1024;
/// A server tied to a killed program has begun to end within this time.
const TIED: Duration = Duration::from_secs(5);

impl Cluster {
    pub(super) fn start_if_stopped(&mut self) -> Result<(), Trouble> {
        let begun = Instant::now();
        loop {
            match postmaster::life(&self.folder) {
                Life::Ready => return Ok(()),
                Life::Stopped | Life::Stale => break,
                // Without setpriv nothing ends it; then it is as good as any.
                Life::Orphaned if begun.elapsed() > TIED => return Ok(()),
                Life::Busy if begun.elapsed() > PATIENCE => {
                    return Err(Trouble::new(format!(
                        "The database server in {} neither starts nor ends: look into {}, then start again.",
                        self.folder.display(),
                        self.log().display(),
                    )));
                }
                Life::Busy | Life::Orphaned => std::thread::sleep(Duration::from_millis(50)),
            }
        }
        if !postmaster::orphans_gone(&self.folder, PATIENCE) {
            return Err(Trouble::new(format!(
                "Processes of an earlier database server still run in {}: end them, then start again.",
                self.folder.display()
            )));
        }
        for lock in postmaster::stale_locks(&self.folder) {
            fs::remove_file(&lock).map_err(|error| Trouble::at(&lock, "removed", &error))?;
        }
        self.data.needs_space()?;
        self.spawn()
    }

    /// Must run on the main thread: the tie is to the thread that starts the server.
    fn spawn(&mut self) -> Result<(), Trouble> {
        let (log, begun_at) = self.open_log()?;
        let errors = log
            .try_clone()
            .map_err(|error| Trouble::at(&self.log(), "written", &error))?;
        let mut command = self.server.tied("postgres", "INT");
        // A group of its own: Ctrl-C at the terminal is for the program, which stops the server last.
        command.arg("-D").arg(&self.folder).process_group(0);
        command.stdin(Stdio::null()).stdout(log).stderr(errors);
        let mut child = command.spawn().explained(
            "The database server could not be started",
            "run bash app/start, which installs what is missing.",
        )?;
        let ended = self.until_ready(&mut child)?;
        if ended {
            return Err(self.why_it_ended(begun_at));
        }
        self.child = Some(child);
        Ok(())
    }

    /// Waits as long as the server lives: recovery after a crash takes the time it takes. True when it ended instead.
    fn until_ready(&self, child: &mut Child) -> Result<bool, Trouble> {
        let begun = Instant::now();
        let mut said = false;
        while !matches!(postmaster::life(&self.folder), Life::Ready | Life::Orphaned) {
            let ended = child
                .try_wait()
                .explained("The database server was lost", "start again.")?;
            if ended.is_some() {
                return Ok(true);
            }
            if !said && begun.elapsed() > Duration::from_secs(10) {
                eprintln!(
                    "The database is recovering from an interrupted run; this can take some minutes."
                );
                said = true;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        Ok(false)
    }

    fn why_it_ended(&self, begun_at: u64) -> Trouble {
        let mut said = String::new();
        if let Ok(mut log) = File::open(self.log()) {
            let read = log
                .seek(SeekFrom::Start(begun_at))
                .and_then(|_| log.read_to_string(&mut said));
            if read.is_err() {
                said.clear();
            }
        }
        if said.contains("No space left") {
            return Trouble::new(format!(
                "The disk that holds {} is full: free some space there, then start again.",
                self.data.root().display()
            ));
        }
        let cause = said
            .lines()
            .find(|line| line.contains("FATAL") || line.contains("PANIC"))
            .and_then(|line| {
                line.split_once(": ")
                    .map(|(_, cause)| cause.trim().to_owned())
            })
            .unwrap_or_else(|| "it gave no reason".to_owned());
        Trouble::new(format!(
            "The database server stopped at once ({cause}): its log is {}; the data are left as they were.",
            self.log().display()
        ))
    }

    fn open_log(&self) -> Result<(File, u64), Trouble> {
        let path = self.log();
        if fs::metadata(&path).is_ok_and(|about| about.len() > LONG_LOG) {
            let old = path.with_extension("log.1");
            fs::rename(&path, &old).map_err(|error| Trouble::at(&old, "written", &error))?;
        }
        let file = OpenOptions::new()
            .create(true)
            .append(true)
            .open(&path)
            .map_err(|error| Trouble::at(&path, "written", &error))?;
        let length = fs::metadata(&path)
            .map(|about| about.len())
            .unwrap_or_default();
        Ok((file, length))
    }

    fn log(&self) -> PathBuf {
        self.data.log("postgres.log")
    }
}
