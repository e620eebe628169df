//! The cluster's folder: choosing it by version, making it, and its three settings files.
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
    let beside = cluster.with_extension("new");
    if beside.exists() {
        fs::remove_dir_all(&beside).map_err(|error| Trouble::at(&beside, "removed", &error))?;
    }
    let made = finish(
        server
            .command("initdb")
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
        if beside.exists() {
            fs::remove_dir_all(&beside).map_err(|error| Trouble::at(&beside, "removed", &error))?;
        }
        return Err(trouble);
    }
    let main = beside.join("postgresql.conf");
    let mut text = fs::read_to_string(&main).map_err(|error| Trouble::at(&main, "read", &error))?;
    text.push_str("\ninclude_if_exists = 'riserward.conf'\n");
    write_whole(&main, text.as_bytes())?;
    fs::rename(&beside, cluster).map_err(|error| Trouble::at(cluster, "written", &error))
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
