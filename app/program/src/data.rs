//! The data folder: what lies where in it, and who may hold it.
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::Write;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use crate::trouble::Trouble;

/// Below this much free space the database is not started: a cluster that fills its disk stops anyway, later and worse.
const SPARE_KIB: u64 = 100 * 1024;

/// The folder that holds one installation's data: cluster, logs, backups, locks, mails to be sent.
#[derive(Debug, Clone)]
pub struct DataFolder {
    root: PathBuf,
}

/// A lock held until dropped, also when the process is killed.
#[derive(Debug)]
pub struct Held(#[expect(dead_code, reason = "the lock lives as long as the open file")] File);

impl DataFolder {
    /// Makes the folder if it is not there and proves that it can be written.
    pub fn open(root: &Path) -> Result<Self, Trouble> {
        private_folder(root)?;
        let root = fs::canonicalize(root).map_err(|error| Trouble::at(root, "read", &error))?;
        let probe = root.join(format!(".probe-{}", std::process::id()));
        let written = File::create(&probe).and_then(|mut file| {
            file.write_all(&[0; 8192])?;
            file.sync_all()
        });
        let cleared = fs::remove_file(&probe);
        written
            .and(cleared)
            .map_err(|error| Trouble::at(&root, "written", &error))?;
        let folder = Self { root };
        for name in ["pg", "log", "backup", "locks", "outbox", "reading"] {
            private_folder(&folder.root.join(name))?;
        }
        Ok(folder)
    }

    /// Refuses to go on when the disk is nearly full.
    pub fn needs_space(&self) -> Result<(), Trouble> {
        let output = Command::new("df")
            .arg("-Pk")
            .arg(&self.root)
            .env("LC_ALL", "C")
            .output();
        let free = output.ok().and_then(|said| {
            let text = String::from_utf8_lossy(&said.stdout).into_owned();
            text.lines()
                .nth(1)?
                .split_whitespace()
                .nth(3)?
                .parse::<u64>()
                .ok()
        });
        match free {
            Some(kib) if kib < SPARE_KIB => Err(Trouble::new(format!(
                "The disk that holds {} has only {} MB left and the database needs {}: free some space there, then start again.",
                self.root.display(),
                kib / 1024,
                SPARE_KIB / 1024,
            ))),
            _ => Ok(()),
        }
    }

    /// The folder itself.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Where clusters lie, one folder a major version.
    pub fn clusters(&self) -> PathBuf {
        self.root.join("pg")
    }

    /// Where dumps lie.
    pub fn backups(&self) -> PathBuf {
        self.root.join("backup")
    }

    /// Where mails lie that are to be sent.
    pub fn outbox(&self) -> PathBuf {
        self.root.join("outbox")
    }

    /// Where lists lie while they are read.
    pub fn being_read(&self) -> PathBuf {
        self.root.join("reading")
    }

    /// A log file by name.
    pub fn log(&self, name: &str) -> PathBuf {
        self.root.join("log").join(name)
    }

    /// Where a running server says who it is and where it listens.
    pub fn running(&self) -> PathBuf {
        self.root.join("running.json")
    }

    /// The name of the database in use; a restore makes a new one and turns this over at the end.
    pub fn database(&self) -> String {
        fs::read_to_string(self.root.join("database"))
            .map(|name| name.trim().to_owned())
            .ok()
            .filter(|name| !name.is_empty())
            .unwrap_or_else(|| "riserward".to_owned())
    }

    /// Turns over to another database, all at once.
    pub fn use_database(&self, name: &str) -> Result<(), Trouble> {
        write_whole(&self.root.join("database"), name.as_bytes())
    }

    /// Takes a lock alone, if nobody has it.
    pub fn try_alone(&self, lock: &str) -> Result<Option<Held>, Trouble> {
        let (file, path) = self.lock_file(lock)?;
        match file.try_lock() {
            Ok(()) => Ok(Some(Held(file))),
            Err(TryLockError::WouldBlock) => Ok(None),
            Err(TryLockError::Error(error)) => Err(Trouble::at(&path, "locked", &error)),
        }
    }

    /// Takes a lock alone, waiting for others.
    pub fn alone(&self, lock: &str) -> Result<Held, Trouble> {
        let (file, path) = self.lock_file(lock)?;
        file.lock()
            .map_err(|error| Trouble::at(&path, "locked", &error))?;
        Ok(Held(file))
    }

    /// Takes a lock together with others of the same mind.
    pub fn together(&self, lock: &str) -> Result<Held, Trouble> {
        let (file, path) = self.lock_file(lock)?;
        file.lock_shared()
            .map_err(|error| Trouble::at(&path, "locked", &error))?;
        Ok(Held(file))
    }

    /// Waits up to `patience` until nobody holds `lock`; says so once. True when it came free.
    pub fn until_free(&self, lock: &str, patience: Duration, say: &str) -> Result<bool, Trouble> {
        let begun = Instant::now();
        let mut said = false;
        while self.try_alone(lock)?.is_none() {
            if !said {
                eprintln!("{say}");
                said = true;
            }
            if begun.elapsed() > patience {
                return Ok(false);
            }
            std::thread::sleep(Duration::from_millis(100));
        }
        Ok(true)
    }

    fn lock_file(&self, lock: &str) -> Result<(File, PathBuf), Trouble> {
        let path = self.root.join("locks").join(lock);
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .mode(0o600)
            .open(&path)
            .map_err(|error| Trouble::at(&path, "written", &error))?;
        Ok((file, path))
    }
}

/// A folder only its owner may enter, with its parents.
pub fn private_folder(path: &Path) -> Result<(), Trouble> {
    fs::DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(path)
        .map_err(|error| Trouble::at(path, "written", &error))
}

/// Writes a file beside its name and moves it into place, so that a reader never sees half of it.
pub fn write_whole(path: &Path, content: &[u8]) -> Result<(), Trouble> {
    let beside = path.with_extension("part");
    let written = OpenOptions::new()
        .create(true)
        .truncate(true)
        .write(true)
        .mode(0o600)
        .open(&beside)
        .and_then(|mut file| {
            file.write_all(content)?;
            file.sync_all()
        })
        .and_then(|()| fs::rename(&beside, path));
    written.map_err(|error| Trouble::at(path, "written", &error))
}
