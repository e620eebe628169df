//! The private PostgreSQL cluster: one a data folder, used by nobody else, stopped with the program.
//!
//! Whoever finds it stopped starts it as its child, tied so that the server ends cleanly even when the
//! program is killed. Whoever finds it running uses it. Three locks keep this straight: `program` is held by
//! the one `serve`, `users` is shared by short commands at work, `cluster` is held while starting or stopping.
mod folder;
mod postmaster;
mod running;
pub mod server;
mod socket;

use std::path::{Path, PathBuf};
use std::process::{Child, Command};
use std::time::{Duration, Instant};

use self::postmaster::Life;
use self::server::{Server, finish};
use crate::data::{DataFolder, Held};
use crate::identity;
use crate::settings::Settings;
use crate::trouble::{Explained, Trouble};

/// How long a server may take to end or to free what it held.
const PATIENCE: Duration = Duration::from_mins(1);

/// Where one database is reached under each of the three roles.
#[derive(Debug, Clone)]
pub struct Addresses {
    /// The role of `serve` and `work`.
    pub app: String,
    /// The role that owns the tables; absent when a foreign server names none.
    pub owner: Option<String>,
    /// A role row-level security leaves alone, for dumps; absent when a foreign server names none.
    pub keeper: Option<String>,
}

/// How long the one who asks will need the cluster.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stay {
    /// `serve` and `work`: look after the cluster and start it again when it dies.
    Long,
    /// A command that ends by itself.
    Short,
}

/// A running cluster.
#[derive(Debug)]
pub struct Cluster {
    data: DataFolder,
    server: Server,
    folder: PathBuf,
    host: PathBuf,
    child: Option<Child>,
    at_work: Option<Held>,
}

impl Cluster {
    /// Uses the running cluster of this data folder or starts it, making it first where there is none.
    /// `fresh` lets a newer server begin a new cluster beside one it cannot read (for a restore).
    pub fn ensure(
        data: &DataFolder,
        settings: &Settings,
        stay: Stay,
        fresh: bool,
    ) -> Result<Self, Trouble> {
        let (server, folder) = folder::choose(data, &Server::installed(settings), fresh)?;
        if stay == Stay::Long && folder.exists() && postmaster::life(&folder) != Life::Stopped {
            let say =
                "Another riserward command is at work in this data folder; waiting for it to end.";
            data.until_free("users", PATIENCE, say)?;
        }
        let starting = data.alone("cluster")?;
        folder::make(&server, &folder)?;
        folder::settle(&folder)?;
        let host = socket::reach(&folder, identity::effective_user()?, settings)?;
        let mut cluster = Self {
            data: data.clone(),
            server,
            folder,
            host,
            child: None,
            at_work: None,
        };
        cluster.start_if_stopped()?;
        cluster.prepare()?;
        if stay == Stay::Short {
            cluster.at_work = Some(data.together("users")?);
        }
        drop(starting);
        Ok(cluster)
    }

    /// The addresses of the database in use.
    pub fn addresses(&self) -> Addresses {
        self.addresses_of(&self.data.database())
    }

    /// The addresses of a database of this cluster by name.
    pub fn addresses_of(&self, database: &str) -> Addresses {
        let url = |role: &str| {
            let host = percent_encoded(&self.host);
            format!("postgresql:///{database}?host={host}&port=5432&user={role}")
        };
        Addresses {
            app: url(folder::APP),
            owner: Some(url(folder::OWNER)),
            keeper: Some(url(folder::KEEPER)),
        }
    }

    /// The server's programs.
    pub fn server(&self) -> &Server {
        &self.server
    }

    /// Makes an empty database owned by the owner role.
    pub fn make_database(&self, name: &str) -> Result<(), Trouble> {
        finish(
            self.at_socket("createdb")
                .args(["--owner", folder::OWNER, name]),
        )
        .map(drop)
    }

    /// Removes a database.
    pub fn drop_database(&self, name: &str) -> Result<(), Trouble> {
        finish(
            self.at_socket("dropdb")
                .args(["--if-exists", "--force", name]),
        )
        .map(drop)
    }

    /// Starts the cluster again if it has died; true when it had to. For those who stay long.
    pub fn keep(&mut self) -> Result<bool, Trouble> {
        let gone = match &mut self.child {
            Some(child) => child.try_wait().is_ok_and(|ended| ended.is_some()),
            None => matches!(postmaster::life(&self.folder), Life::Stopped | Life::Stale),
        };
        if !gone {
            return Ok(false);
        }
        self.child = None;
        let starting = self.data.alone("cluster")?;
        self.start_if_stopped()?;
        drop(starting);
        Ok(true)
    }

    /// Stops the cluster if this process started it, once no other command uses it.
    pub fn stop(mut self) -> Result<(), Trouble> {
        self.at_work = None;
        if self.child.is_none() {
            return Ok(());
        }
        let begun = Instant::now();
        let mut said = false;
        loop {
            let stopping = self.data.alone("cluster")?;
            if self.data.try_alone("users")?.is_some() || begun.elapsed() > PATIENCE {
                self.stop_now()?;
                drop(stopping);
                return Ok(());
            }
            drop(stopping);
            if !said {
                eprintln!(
                    "Another riserward command still uses the database; waiting for it to end."
                );
                said = true;
            }
            std::thread::sleep(Duration::from_millis(100));
        }
    }

    fn stop_now(&mut self) -> Result<(), Trouble> {
        if let Some(mut child) = self.child.take() {
            let mut stop = self.server.command("pg_ctl");
            stop.args([
                "stop",
                "--mode",
                "fast",
                "--silent",
                "--wait",
                "--timeout",
                "60",
                "--pgdata",
            ]);
            finish(stop.arg(&self.folder))?;
            child.wait().explained(
                "The database server did not end",
                "start again; it recovers by itself.",
            )?;
        }
        Ok(())
    }

    /// Makes the roles and the first database; a mark in the folder says it is done.
    fn prepare(&self) -> Result<(), Trouble> {
        let mark = self.folder.join("riserward.ready");
        if mark.exists() {
            return Ok(());
        }
        for role in [folder::OWNER, folder::APP] {
            let made = finish(self.at_socket("createuser").args([
                "--no-superuser",
                "--no-createdb",
                "--no-createrole",
                role,
            ]));
            already_there(made)?;
        }
        already_there(self.make_database(&self.data.database()))?;
        crate::data::write_whole(&mark, b"roles and database made\n")
    }

    fn at_socket(&self, program: &str) -> Command {
        let mut command = self.server.command(program);
        command.arg("--host").arg(&self.host).args([
            "--port",
            "5432",
            "--username",
            folder::KEEPER,
        ]);
        command
    }
}

/// A start that broke off half-way has made some of it already.
fn already_there<T>(made: Result<T, Trouble>) -> Result<(), Trouble> {
    match made {
        Err(trouble) if !trouble.to_string().contains("already exists") => Err(trouble),
        _ => Ok(()),
    }
}

/// A path as libpq wants it inside a connection address.
fn percent_encoded(path: &Path) -> String {
    use std::os::unix::ffi::OsStrExt;
    path.as_os_str()
        .as_bytes()
        .iter()
        .map(|&byte| match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'~' => {
                (byte as char).to_string()
            }
            _ => format!("%{byte:02X}"),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::percent_encoded;
    use std::path::Path;

    #[test]
    fn paths_survive_in_addresses() {
        assert_eq!(
            percent_encoded(Path::new("/a b/é%")),
            "%2Fa%20b%2F%C3%A9%25"
        );
    }
}
