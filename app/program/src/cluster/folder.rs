//! The cluster's folder: choosing it by version, making it, and its three settings files.
use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::server::{OLDEST, Server, finish};
use crate::data::{DataFolder, write_whole};
use crate::trouble::Trouble;

/// The cluster's superuser: makes the roles and the database, and dumps; nothing else uses it.
pub const KEEPER: &str = "riserward_keeper";
/// Owns the tables and changes them.
pub const OWNER: &str = "riserward_owner";
/// What `serve` and `work` act as.
pub const APP: &str = "riserward_app";

const CONFIGURATION: &str = "\
# Written at every start; put your own settings into postgresql.auto.conf.
listen_addresses = ''
unix_socket_directories = '.'
unix_socket_permissions = 0700
max_connections = 60
timezone = 'UTC'
log_timezone = 'UTC'
log_line_prefix = '%m [%p] '
lc_messages = 'C'
";

/// The cluster folder this data folder uses and the server that can read it.
/// The newest folder counts; one whose server is gone is left alone and named.
pub fn choose(
    data: &DataFolder,
    servers: &[Server],
    fresh: bool,
) -> Result<(Server, PathBuf), Trouble> {
    let newest = servers
        .iter()
        .find(|server| server.major >= OLDEST)
        .ok_or_else(|| none(servers))?;
    let there = majors(&data.clusters());
    let Some(major) = there.last().copied() else {
        return Ok((
            newest.clone(),
            data.clusters().join(newest.major.to_string()),
        ));
    };
    if let Some(server) = servers.iter().find(|server| server.major == major) {
        return Ok((server.clone(), data.clusters().join(major.to_string())));
    }
    if fresh && newest.major > major {
        return Ok((
            newest.clone(),
            data.clusters().join(newest.major.to_string()),
        ));
    }
    Err(Trouble::new(format!(
        "The data in {} were written by PostgreSQL {major}, which is not installed here (there is {}): install PostgreSQL {major} again, or load the newest dump into the new version with `riserward restore FILE` from {}.",
        data.root().display(),
        newest.major,
        data.backups().display(),
    )))
}

fn none(servers: &[Server]) -> Trouble {
    Trouble::new(match servers.first() {
        Some(old) => format!(
            "PostgreSQL {} in {} is too old: install version {OLDEST} or newer (on Debian: apt-get install postgresql).",
            old.major,
            old.bin.display()
        ),
        None => format!(
            "No PostgreSQL server is installed: run bash app/start, which installs one, or install version {OLDEST} or newer."
        ),
    })
}

fn majors(clusters: &Path) -> Vec<u32> {
    let mut found: Vec<u32> = fs::read_dir(clusters)
        .map(|entries| {
            entries
                .flatten()
                .filter(|entry| entry.path().join("PG_VERSION").exists())
                .filter_map(|entry| entry.file_name().to_str()?.parse().ok())
                .collect()
        })
        .unwrap_or_default();
    found.sort_unstable();
    found
}

/// Makes the cluster if it is not there: beside its place first, so that a broken attempt leaves nothing that looks whole.
pub fn make(server: &Server, cluster: &Path) -> Result<(), Trouble> {
    if cluster.join("PG_VERSION").exists() {
        return Ok(());
    }
    clear_attempts(cluster);
    let beside = cluster.with_extension(format!("new-{}", std::process::id()));
    let made = finish(
        server
            .tied("initdb", "TERM")
            .arg("--pgdata")
            .arg(&beside)
            .args([
                "--username",
                KEEPER,
                "--auth",
                "peer",
                "--locale",
                "C.UTF-8",
            ])
            .args([
                "--encoding",
                "UTF8",
                "--data-checksums",
                "--no-instructions",
            ]),
    );
    if let Err(trouble) = made {
        // What is left of the attempt would only hold the space that was missing.
        clear_attempts(cluster);
        return Err(trouble);
    }
    let main = beside.join("postgresql.conf");
    let mut text = fs::read_to_string(&main).map_err(|error| Trouble::at(&main, "read", &error))?;
    text.push_str("\ninclude_if_exists = 'riserward.conf'\n");
    write_whole(&main, text.as_bytes())?;
    fs::rename(&beside, cluster).map_err(|error| Trouble::at(cluster, "written", &error))
}

/// Removes what broken attempts left; one that is still ending by itself may win the race for a file, and is
/// removed at another start.
fn clear_attempts(cluster: &Path) {
    let (Some(folder), Some(name)) = (
        cluster.parent(),
        cluster.file_name().and_then(OsStr::to_str),
    ) else {
        return;
    };
    let prefix = format!("{name}.new-");
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let left = entry
            .file_name()
            .to_str()
            .is_some_and(|name| name.starts_with(&prefix));
        if left && let Err(error) = fs::remove_dir_all(entry.path()) {
            tracing::debug!(%error, "a broken attempt is still being cleared away");
        }
    }
}

/// Writes who may come in (only this system user, over the socket) and our settings.
pub fn settle(cluster: &Path) -> Result<(), Trouble> {
    let user = system_user()?;
    let quoted = user.replace('"', "\"\"");
    let line = |role: &str| format!("riserward \"{quoted}\" {role}\n");
    let ident = [KEEPER, OWNER, APP].map(line).concat();
    write_whole(&cluster.join("riserward.conf"), CONFIGURATION.as_bytes())?;
    write_whole(
        &cluster.join("pg_hba.conf"),
        b"local all all peer map=riserward\n",
    )?;
    write_whole(&cluster.join("pg_ident.conf"), ident.as_bytes())
}

fn system_user() -> Result<String, Trouble> {
    let output = Command::new("id").arg("-un").output();
    output
        .ok()
        .filter(|said| said.status.success())
        .map(|said| String::from_utf8_lossy(&said.stdout).trim().to_owned())
        .filter(|name| !name.is_empty())
        .ok_or_else(|| {
            Trouble::new("This user number has no name on this machine, and PostgreSQL needs one: start as a named user.")
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn server(major: u32) -> Server {
        Server {
            bin: PathBuf::from(format!("/usr/lib/postgresql/{major}/bin")),
            major,
        }
    }

    /// A data folder with clusters of these major versions.
    fn data(name: &str, majors: &[u32]) -> DataFolder {
        let root = std::env::temp_dir().join(format!("riserward-{name}-{}", std::process::id()));
        let data = DataFolder::open(&root).unwrap();
        for major in majors {
            let cluster = data.clusters().join(major.to_string());
            fs::create_dir_all(&cluster).unwrap();
            fs::write(cluster.join("PG_VERSION"), major.to_string()).unwrap();
        }
        data
    }

    #[test]
    fn the_newest_server_is_taken_where_there_are_no_data() {
        let data = data("choose-none", &[]);
        let (chosen, folder) = choose(&data, &[server(16), server(15)], false).unwrap();
        assert_eq!((chosen.major, folder), (16, data.clusters().join("16")));
        fs::remove_dir_all(data.root()).unwrap();
    }

    #[test]
    fn data_stay_with_the_version_that_wrote_them() {
        let data = data("choose-stay", &[15]);
        let (chosen, _) = choose(&data, &[server(16), server(15)], false).unwrap();
        assert_eq!(chosen.major, 15);
        let gone = choose(&data, &[server(16)], false).unwrap_err().to_string();
        assert!(
            gone.contains("PostgreSQL 15") && gone.contains("restore"),
            "{gone}"
        );
        let (fresh, _) = choose(&data, &[server(16)], true).unwrap();
        assert_eq!(fresh.major, 16, "a restore may begin anew beside them");
        fs::remove_dir_all(data.root()).unwrap();
    }

    #[test]
    fn no_server_and_one_too_old_are_two_sentences() {
        let data = data("choose-old", &[]);
        let none = choose(&data, &[], false).unwrap_err().to_string();
        assert!(
            none.contains("No PostgreSQL server") && none.contains("app/start"),
            "{none}"
        );
        let old = choose(&data, &[server(13)], false).unwrap_err().to_string();
        assert!(
            old.contains("PostgreSQL 13") && old.contains("too old") && old.contains("14"),
            "{old}"
        );
        fs::remove_dir_all(data.root()).unwrap();
    }
}
