//! What stops a command, as one sentence that says what to do about it.
use std::fmt;
use std::io;
use std::path::Path;

/// A reason to stop, worded for the person at the terminal.
#[derive(Debug)]
pub struct Trouble(String);

impl Trouble {
    /// `sentence` stands alone: what is wrong and what to do.
    pub fn new(sentence: impl Into<String>) -> Self {
        Self(sentence.into())
    }

    /// An error of the file system met at `path` while trying to `act` ("written", "read").
    pub fn at(path: &Path, act: &str, error: &io::Error) -> Self {
        let place = path.display();
        Self(match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => format!(
                "The disk that holds {place} is full: free some space there, then start again."
            ),
            io::ErrorKind::ReadOnlyFilesystem => format!(
                "{place} cannot be {act} because its file system is read-only: choose another data folder with --data FOLDER."
            ),
            io::ErrorKind::PermissionDenied => format!(
                "{place} may not be {act} by this user: give the folder to this user (chown), or choose another with --data FOLDER."
            ),
            io::ErrorKind::NotFound => format!("{place} is not there: check the name."),
            _ => format!(
                "{place} could not be {act} ({error}): check the folder, or choose another with --data FOLDER."
            ),
        })
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0)
    }
}

impl std::error::Error for Trouble {}

/// Turns an error of another room or of a program into a sentence.
pub trait Explained<T> {
    /// `before` says what was being done; the cause follows in brackets, then `advice`.
    fn explained(self, before: &str, advice: &str) -> Result<T, Trouble>;
}

impl<T, E: fmt::Display> Explained<T> for Result<T, E> {
    fn explained(self, before: &str, advice: &str) -> Result<T, Trouble> {
        self.map_err(|cause| Trouble::new(format!("{before} ({cause}): {advice}")))
    }
}
