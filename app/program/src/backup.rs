//! `backup` and `restore`. A dump can be empty and call itself a success; so every table in the file is
//! counted against the database it came from, and after a restore the other way round.
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::Stdio;

use terms::clock::Clock;

use crate::clock::WorldClock;
use crate::cluster::server::{Server, finish};
use crate::cluster::{Cluster, Stay};
use crate::data::DataFolder;
use crate::database::{Database, with_database};
use crate::settings::Settings;
use crate::trouble::{Explained, Trouble};
use crate::wiring::{self, Counts};

/// How many dumps left by clean stops are kept; those made by hand are never removed.
const KEPT: usize = 7;
const AT_STOP: &str = "at-stop-";

/// `backup`: into the data folder, or to the file named.
pub fn by_hand(data: &DataFolder, settings: &Settings, to: Option<&Path>) -> Result<(), Trouble> {
    let dump = with_database(data, settings, |database| {
        let server = server_for(database, settings)?;
        let keeper = database.addresses().keeper.ok_or_else(|| {
            Trouble::new(
                "A dump under a role that row-level security binds would be empty: name a role with BYPASSRLS in RISERWARD_BACKUP_URL.",
            )
        })?;
        dump(data, &server, &keeper, "by-hand-")
    })?;
    match to {
        None => println!(
            "{}: {} rows in {} tables, counted.",
            dump.file.display(),
            dump.rows,
            dump.tables
        ),
        Some(to) => {
            hand_out(&dump.file, to)?;
            eprintln!("{} rows in {} tables, counted.", dump.rows, dump.tables);
        }
    }
    Ok(())
}

/// The dump a clean stop leaves; the oldest of them go.
pub fn at_stop(data: &DataFolder, cluster: &Cluster) -> Result<(), Trouble> {
    let keeper = cluster.addresses().keeper.unwrap_or_default();
    dump(data, cluster.server(), &keeper, AT_STOP)?;
    let mut dumps: Vec<PathBuf> = fs::read_dir(data.backups())
        .map_err(|error| Trouble::at(&data.backups(), "read", &error))?
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| {
            path.file_name()
                .and_then(|name| name.to_str())
                .is_some_and(|name| name.starts_with(AT_STOP))
        })
        .collect();
    dumps.sort_unstable();
    for old in dumps.iter().rev().skip(KEPT) {
        fs::remove_file(old).map_err(|error| Trouble::at(old, "removed", &error))?;
    }
    Ok(())
}

/// `restore`: loads the dump into a database of its own, counts it, and only then turns over to it.
pub fn restore(data: &DataFolder, settings: &Settings, file: &Path) -> Result<(), Trouble> {
    if settings.database_url.is_some() {
        return Err(Trouble::new(
            "The database named in DATABASE_URL is somebody else's to replace: load the dump there with pg_restore, or restore into a data folder without DATABASE_URL.",
        ));
    }
    let Some(alone) = data.try_alone("program")? else {
        return Err(Trouble::new(
            "Riserward is running on this data: stop it first, then restore.",
        ));
    };
    let held = take_in(data, file)?;
    let cluster = Cluster::ensure(data, settings, Stay::Short, true)?;
    let outcome = turn_over(data, &cluster, &held);
    let cleared = fs::remove_file(&held).map_err(|error| Trouble::at(&held, "removed", &error));
    let closed = cluster.stop();
    drop(alone);
    outcome.and(cleared).and(closed)
}

fn turn_over(data: &DataFolder, cluster: &Cluster, file: &Path) -> Result<(), Trouble> {
    let in_file = rows_in(cluster.server(), file)?;
    let present = data.database();
    let saved = dump(
        data,
        cluster.server(),
        &cluster.addresses().keeper.unwrap_or_default(),
        "before-restore-",
    )?;
    let next = format!("riserward_{}", stamp().replace('-', "_"));
    cluster.make_database(&next)?;
    let loaded = load(cluster, &next, file, &in_file);
    if let Err(trouble) = loaded {
        cluster.drop_database(&next)?;
        return Err(Trouble::new(format!(
            "{trouble} The present data are as they were."
        )));
    }
    data.use_database(&next)?;
    cluster.drop_database(&present)?;
    println!(
        "Restored {} rows in {} tables, counted. What was there before is kept in {}.",
        in_file.values().sum::<u64>(),
        in_file.len(),
        saved.file.display()
    );
    Ok(())
}

fn load(cluster: &Cluster, database: &str, file: &Path, in_file: &Counts) -> Result<(), Trouble> {
    let addresses = cluster.addresses_of(database);
    let keeper = addresses.keeper.unwrap_or_default();
    finish(
        cluster
            .server()
            .command("pg_restore")
            .args([
                "--exit-on-error",
                "--single-transaction",
                "--dbname",
                &keeper,
            ])
            .arg(file),
    )?;
    let there = wiring::counted(&keeper, |_, counts| counts.clone())?;
    same(in_file, &there)
}

/// A finished, counted dump.
struct Dump {
    file: PathBuf,
    rows: u64,
    tables: usize,
}

fn dump(data: &DataFolder, server: &Server, keeper: &str, prefix: &str) -> Result<Dump, Trouble> {
    let file = data.backups().join(format!("{prefix}{}.dump", stamp()));
    let beside = file.with_extension("part");
    let made = wiring::counted(keeper, |snapshot, counts| {
        finish(
            server
                .command("pg_dump")
                .args([
                    "--format",
                    "custom",
                    "--snapshot",
                    snapshot,
                    "--dbname",
                    keeper,
                    "--file",
                ])
                .arg(&beside),
        )?;
        same(counts, &rows_in(server, &beside)?)?;
        Ok((counts.values().sum(), counts.len()))
    })
    .and_then(|made| made);
    let (rows, tables) = match made {
        Ok(made) => made,
        Err(trouble) => {
            if beside.exists() {
                fs::remove_file(&beside)
                    .map_err(|error| Trouble::at(&beside, "removed", &error))?;
            }
            return Err(trouble);
        }
    };
    fs::rename(&beside, &file).map_err(|error| Trouble::at(&file, "written", &error))?;
    Ok(Dump { file, rows, tables })
}

/// Which tables hold another number of rows than they should, in words; silence when none does.
fn same(expected: &Counts, got: &Counts) -> Result<(), Trouble> {
    let zero = |counts: &Counts, name: &str| counts.get(name).copied().unwrap_or_default();
    let names: std::collections::BTreeSet<&String> = expected.keys().chain(got.keys()).collect();
    let wrong: Vec<String> = names
        .into_iter()
        .filter(|name| zero(expected, name) != zero(got, name))
        .map(|name| {
            format!(
                "{name} has {} rows of {}",
                zero(got, name),
                zero(expected, name)
            )
        })
        .collect();
    if wrong.is_empty() {
        return Ok(());
    }
    Err(Trouble::new(format!(
        "The copy is not whole and was thrown away: {}.",
        wrong.join(", ")
    )))
}

/// Counts the rows of each table in a dump by reading it through.
fn rows_in(server: &Server, file: &Path) -> Result<Counts, Trouble> {
    let advice = "name a file that `riserward backup` wrote.";
    let what = format!("{} cannot be read as a dump", file.display());
    let mut reading = server
        .command("pg_restore")
        .args(["--data-only", "--file", "-"])
        .arg(file)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .explained(&what, advice)?;
    let counts = match reading.stdout.take() {
        Some(text) => count_copied(BufReader::new(text)).explained(&what, advice)?,
        None => Counts::new(),
    };
    let said = reading.wait_with_output().explained(&what, advice)?;
    if !said.status.success() {
        let cause = String::from_utf8_lossy(&said.stderr)
            .lines()
            .next()
            .unwrap_or_default()
            .to_owned();
        return Err(Trouble::new(format!("{what} ({cause}): {advice}")));
    }
    Ok(counts)
}

/// Each block of rows begins with "COPY schema.table (…) FROM stdin;" and ends with a line "\.".
fn count_copied(mut text: impl BufRead) -> std::io::Result<Counts> {
    let mut counts = BTreeMap::new();
    let mut within: Option<String> = None;
    let mut line = Vec::new();
    loop {
        line.clear();
        if text.read_until(b'\n', &mut line)? == 0 {
            return Ok(counts);
        }
        match &within {
            Some(_) if line == b"\\.\n" => within = None,
            Some(name) => *counts.entry(name.clone()).or_default() += 1,
            None => {
                let words = String::from_utf8_lossy(&line);
                let name = words
                    .strip_prefix("COPY ")
                    .filter(|rest| rest.trim_end().ends_with("FROM stdin;"))
                    .and_then(|rest| rest.split_once(" (").or_else(|| rest.split_once(" FROM")))
                    .map(|(name, _)| name.to_owned());
                if let Some(name) = name {
                    counts.entry(name.clone()).or_insert(0);
                    within = Some(name);
                }
            }
        }
    }
}

/// The dump as a file in the data folder; standard input is laid down there first.
fn take_in(data: &DataFolder, file: &Path) -> Result<PathBuf, Trouble> {
    let mut from: Box<dyn Read> = if file.as_os_str() == "-" {
        Box::new(std::io::stdin().lock())
    } else {
        Box::new(File::open(file).map_err(|error| Trouble::at(file, "read", &error))?)
    };
    let held = data.backups().join("incoming.part");
    let mut to = File::create(&held).map_err(|error| Trouble::at(&held, "written", &error))?;
    let copied = std::io::copy(&mut from, &mut to);
    copied
        .and_then(|_| to.sync_all())
        .map_err(|error| Trouble::at(&held, "written", &error))?;
    Ok(held)
}

fn hand_out(file: &Path, to: &Path) -> Result<(), Trouble> {
    let mut from = File::open(file).map_err(|error| Trouble::at(file, "read", &error))?;
    let copied = if to.as_os_str() == "-" {
        let mut out = std::io::stdout().lock();
        std::io::copy(&mut from, &mut out).and_then(|_| out.flush())
    } else {
        File::create(to).and_then(|mut out| {
            std::io::copy(&mut from, &mut out)?;
            out.sync_all()
        })
    };
    copied.map_err(|error| Trouble::at(to, "written", &error))?;
    fs::remove_file(file).map_err(|error| Trouble::at(file, "removed", &error))
}

/// A server that is somebody else's is dumped with the newest programs installed here.
fn server_for(database: &Database, settings: &Settings) -> Result<Server, Trouble> {
    match database {
        Database::Private(cluster) => Ok(cluster.server().clone()),
        Database::Foreign(_) => Server::installed(settings)
            .into_iter()
            .next()
            .ok_or_else(|| {
                Trouble::new(
                    "The program pg_dump is not installed: install PostgreSQL's client programs.",
                )
            }),
    }
}

/// The present instant for file names, so that they sort by age.
fn stamp() -> String {
    WorldClock.now().format("%Y%m%d-%H%M%S").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_a_dump_are_counted_by_table() {
        let text = b"SET x;\nCOPY estate.units (id, \"a (b\") FROM stdin;\n1\ta\n2\tCOPY door.x (a) FROM stdin;\n\\.\n\nCOPY door.accounts (id) FROM stdin;\n\\.\n";
        let counts = count_copied(&text[..]).unwrap();
        assert_eq!(counts.get("estate.units"), Some(&2));
        assert_eq!(counts.get("door.accounts"), Some(&0));
        assert_eq!(counts.len(), 2);
    }

    #[test]
    fn a_copy_with_a_row_too_few_is_not_whole() {
        let whole = Counts::from([("a.b".to_owned(), 3), ("a.c".to_owned(), 0)]);
        let short = Counts::from([("a.b".to_owned(), 2)]);
        assert!(same(&whole, &whole).is_ok());
        assert!(
            same(&whole, &short)
                .unwrap_err()
                .to_string()
                .contains("a.b has 2 rows of 3")
        );
    }
}
