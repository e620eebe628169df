//! Everything the program takes from its environment, read once, here and nowhere else.
use std::path::{Path, PathBuf};

use crate::trouble::Trouble;

/// The port when none is named; registered for no other service that we know of.
pub const PORT: u16 = 7140;

/// What the program that sets papers is called.
pub const PAPERS: &str = "riserward-papers";

/// The system user that owns data and processes when root starts the program.
const SYSTEM_USER: &str = "riserward";

/// The environment, as the program understands it.
#[derive(Debug, Clone)]
pub struct Settings {
    /// `RISERWARD_DATA`: the data folder, when no `--data` names one.
    pub data: Option<PathBuf>,
    /// `DATABASE_URL`: a server that somebody else runs, under the role `serve` and `work` use.
    pub database_url: Option<String>,
    /// `RISERWARD_OWNER_URL`: the same database under the role that owns the tables.
    pub owner_url: Option<String>,
    /// `RISERWARD_BACKUP_URL`: the same database under a role that row-level security leaves alone.
    pub backup_url: Option<String>,
    /// `RISERWARD_USER`: the system user to run as when root starts the program.
    pub system_user: String,
    /// `RISERWARD_PG_BIN`: a folder with PostgreSQL's programs, looked at before the usual ones.
    pub server_programs: Option<PathBuf>,
    /// `RISERWARD_LOG`: a filter for the log, such as `info` or `web=debug`.
    pub log: String,
    /// `RISERWARD_HOLIDAYS_URL`: where the list of bank holidays is fetched from, if anywhere.
    pub holidays_url: Option<String>,
    /// `RISERWARD_PAGES`: where others reach the pages, for links in mails, such as `https://heat.example`; else where
    /// this machine itself reaches them.
    pub pages: Option<String>,
    /// `RISERWARD_MAIL_FROM`: the address mails come from. Mails are written as files into `outbox/` under the data
    /// folder, one `.eml` each, which stay as the record.
    pub mail_from: String,
    /// `RISERWARD_MAIL_SERVER`: the mail server that takes them on, `HOST:PORT`: 465 is encrypted from the first byte, any
    /// other port by STARTTLS, which it must offer; a server on this machine itself is spoken to in clear. Without it
    /// the files are there to be handed to one.
    pub mail_server: Option<String>,
    /// `RISERWARD_MAIL_USER` and `RISERWARD_MAIL_PASSWORD`, if that server wants them; both or neither.
    pub mail_login: (Option<String>, Option<jobs::Secret>),
    /// `RISERWARD_PAPERS`: the program that sets papers as PDF; else `riserward-papers` beside this one.
    pub papers: Option<PathBuf>,
    /// `PATH`, where programs are looked for.
    pub path: Vec<PathBuf>,
    /// `XDG_RUNTIME_DIR`, for short socket paths.
    pub runtime: Option<PathBuf>,
    /// `XDG_DATA_HOME`, else `HOME/.local/share`.
    home_data: Option<PathBuf>,
    /// Names of libpq's own variables that are set and would bend connections to our own server.
    pub stray_libpq: Vec<String>,
}

#[expect(
    clippy::disallowed_methods,
    reason = "this is the one place that reads the environment"
)]
fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|value| !value.is_empty())
}

impl Settings {
    /// Reads the environment.
    pub fn read() -> Self {
        let home = variable("HOME").map(PathBuf::from);
        let path = variable("PATH").unwrap_or_default();
        Self {
            data: variable("RISERWARD_DATA").map(PathBuf::from),
            database_url: variable("DATABASE_URL"),
            owner_url: variable("RISERWARD_OWNER_URL"),
            backup_url: variable("RISERWARD_BACKUP_URL"),
            system_user: variable("RISERWARD_USER").unwrap_or_else(|| SYSTEM_USER.to_owned()),
            server_programs: variable("RISERWARD_PG_BIN").map(PathBuf::from),
            log: variable("RISERWARD_LOG").unwrap_or_else(|| "info".to_owned()),
            holidays_url: variable("RISERWARD_HOLIDAYS_URL"),
            pages: variable("RISERWARD_PAGES"),
            mail_from: variable("RISERWARD_MAIL_FROM")
                .unwrap_or_else(|| "riserward@localhost".to_owned()),
            mail_server: variable("RISERWARD_MAIL_SERVER"),
            mail_login: (
                variable("RISERWARD_MAIL_USER"),
                variable("RISERWARD_MAIL_PASSWORD").map(jobs::Secret),
            ),
            papers: variable("RISERWARD_PAPERS").map(PathBuf::from),
            path: std::env::split_paths(&path).collect(),
            runtime: variable("XDG_RUNTIME_DIR").map(PathBuf::from),
            home_data: variable("XDG_DATA_HOME")
                .map(PathBuf::from)
                .or_else(|| home.map(|home| home.join(".local/share"))),
            stray_libpq: std::env::vars_os()
                .filter_map(|(name, _)| name.into_string().ok())
                .filter(|name| name.starts_with("PG"))
                .collect(),
        }
    }

    /// The data folder: the one `named`, else of the environment, else the usual one of this user.
    pub fn data_folder(&self, named: Option<&Path>, root: bool) -> Result<PathBuf, Trouble> {
        if let Some(folder) = named.or(self.data.as_deref()) {
            return std::path::absolute(folder)
                .map_err(|error| Trouble::at(folder, "found", &error));
        }
        if root {
            return Ok(PathBuf::from("/var/lib/riserward"));
        }
        self.home_data.as_ref().map(|share| share.join("riserward")).ok_or_else(|| {
            Trouble::new("This user has no home folder: say where the data should be with --data FOLDER.")
        })
    }
}
