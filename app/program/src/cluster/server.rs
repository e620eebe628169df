//! PostgreSQL's own programs: where they are, which version, and how they are called.
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::settings::Settings;
use crate::trouble::{Explained, Trouble};

/// The oldest major version the program works with.
pub const OLDEST: u32 = 14;

/// Part of util-linux, which Debian always has; elsewhere a server left by a killed program stays until asked to stop.
const SETPRIV: &str = "/usr/bin/setpriv";

/// One installed PostgreSQL server.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Server {
    /// The folder with `postgres`, `initdb`, `pg_ctl`, `pg_dump`, `createdb` …
    pub bin: PathBuf,
    /// Its major version.
    pub major: u32,
}

impl Server {
    /// All servers of this machine that are complete, newest first.
    pub fn installed(settings: &Settings) -> Vec<Self> {
        let mut folders: Vec<PathBuf> = settings.server_programs.iter().cloned().collect();
        if let Ok(majors) = fs::read_dir("/usr/lib/postgresql") {
            folders.extend(majors.flatten().map(|major| major.path().join("bin")));
        }
        folders.extend(settings.path.iter().cloned());
        let mut servers: Vec<Self> = Vec::new();
        for folder in folders {
            let Some(server) = Self::in_folder(&folder) else {
                continue;
            };
            if !servers.iter().any(|known| known.bin == server.bin) {
                servers.push(server);
            }
        }
        servers.sort_by_key(|server| std::cmp::Reverse(server.major));
        servers
    }

    fn in_folder(folder: &Path) -> Option<Self> {
        // A link to `postgres` in some other folder leads to where the whole set lies.
        let program = fs::canonicalize(folder.join("postgres")).ok()?;
        let bin = program.parent()?.to_path_buf();
        let complete = [
            "initdb",
            "pg_ctl",
            "pg_dump",
            "pg_restore",
            "createuser",
            "createdb",
            "dropdb",
        ];
        if !complete.iter().all(|name| bin.join(name).exists()) {
            return None;
        }
        let said = plain(Command::new(&program))
            .arg("--version")
            .output()
            .ok()?;
        let major = major_of(&String::from_utf8_lossy(&said.stdout))?;
        Some(Self { bin, major })
    }

    /// One of the server's programs, with libpq's variables and the mail server's taken out, and messages in English.
    pub fn command(&self, name: &str) -> Command {
        plain(Command::new(self.bin.join(name)))
    }

    /// The same, tied to the thread that starts it: when this program dies the other gets `signal`.
    pub fn tied(&self, name: &str, signal: &str) -> Command {
        if !Path::new(SETPRIV).exists() {
            return self.command(name);
        }
        let mut command = plain(Command::new(SETPRIV));
        command
            .args(["--pdeathsig", signal, "--"])
            .arg(self.bin.join(name));
        command
    }
}

fn plain(mut command: Command) -> Command {
    command.stdin(Stdio::null()).env("LC_ALL", "C");
    for variable in [
        "PGDATA",
        "PGHOST",
        "PGHOSTADDR",
        "PGPORT",
        "PGUSER",
        "PGDATABASE",
        "PGOPTIONS",
        "RISERWARD_MAIL_FROM",
        "RISERWARD_MAIL_SERVER",
        "RISERWARD_MAIL_USER",
        "RISERWARD_MAIL_PASSWORD",
    ] {
        command.env_remove(variable);
    }
    command
}

/// "postgres (PostgreSQL) 15.18 (Debian …)" → 15.
fn major_of(version: &str) -> Option<u32> {
    version.split_whitespace().find_map(|word| {
        let digits = word.split(|c: char| !c.is_ascii_digit()).next()?;
        digits.parse().ok()
    })
}

/// Runs a program to its end; an answer other than success becomes its last words.
pub fn finish(command: &mut Command) -> Result<Output, Trouble> {
    let name = command.get_program().to_owned();
    let name = Path::new(&name)
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let output = command.output().explained(
        &format!("The program {name} could not be started"),
        "install PostgreSQL (bash app/start does it).",
    )?;
    if output.status.success() {
        return Ok(output);
    }
    Err(Trouble::new(last_words(&String::from_utf8_lossy(
        &output.stderr,
    ))))
}

fn last_words(said: &str) -> String {
    let line = said
        .lines()
        .find(|line| line.contains("No space left"))
        .or_else(|| {
            said.lines()
                .find(|line| line.contains("error:") || line.contains("FATAL"))
        })
        .or_else(|| said.lines().rfind(|line| !line.trim().is_empty()))
        .unwrap_or("it said nothing");
    if line.contains("No space left") {
        return "The disk that holds the data folder is full: free some space there, then start again.".to_owned();
    }
    format!("PostgreSQL stopped: {}", line.trim())
}

#[cfg(test)]
mod tests {
    use std::process::Command;

    use super::{major_of, plain};

    #[test]
    fn the_mail_servers_password_is_not_handed_on() {
        let command = plain(Command::new("postgres"));
        let taken_out: Vec<_> = command
            .get_envs()
            .filter(|(_, value)| value.is_none())
            .filter_map(|(name, _)| name.to_str())
            .collect();
        for name in ["RISERWARD_MAIL_USER", "RISERWARD_MAIL_PASSWORD"] {
            assert!(taken_out.contains(&name), "{taken_out:?}");
        }
    }

    #[test]
    fn versions_are_read() {
        assert_eq!(
            major_of("postgres (PostgreSQL) 15.18 (Debian 15.18-0+deb12u1)\n"),
            Some(15)
        );
        assert_eq!(major_of("postgres (PostgreSQL) 17beta2\n"), Some(17));
        assert_eq!(major_of("no number here"), None);
    }
}
