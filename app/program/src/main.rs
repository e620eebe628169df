//! Settings, logging, wiring; one sub-command a thing a person does at the terminal.
mod backup;
mod clock;
mod cluster;
mod commands;
mod data;
mod database;
mod demo;
mod identity;
mod serve;
mod settings;
mod telemetry;
mod tls;
mod trouble;
mod wiring;

use std::ffi::OsString;
use std::fs::OpenOptions;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Parser;

use crate::commands::{Act, CommandLine, Demo};
use crate::data::DataFolder;
use crate::database::with_database;
use crate::identity::Handed;
use crate::settings::Settings;
use crate::trouble::Trouble;

fn main() -> ExitCode {
    let line = CommandLine::parse();
    match act(&line) {
        Ok(()) => ExitCode::SUCCESS,
        Err(trouble) => {
            eprintln!("riserward: {trouble}");
            ExitCode::FAILURE
        }
    }
}

fn act(line: &CommandLine) -> Result<(), Trouble> {
    let settings = Settings::read();
    let root = identity::effective_user()? == 0;
    let folder = settings.data_folder(line.data.as_deref(), root)?;
    let (handed, arguments) = hand_over(line);
    identity::settle(&settings, &folder, arguments, &handed)?;
    let data = DataFolder::open(&folder)?;
    let log = settings
        .database_url
        .is_none()
        .then(|| data.log("riserward.log"));
    telemetry::begin(&settings, log.as_deref())?;
    tls::choose_cryptography();
    match &line.act {
        Act::Serve(wish) => serve::serve(&data, &settings, wish),
        Act::Work => serve::work(&data, &settings),
        Act::Migrate => with_database(&data, &settings, |database| {
            let addresses = database.addresses();
            let steps = wiring::migrate(addresses.owner.as_deref().unwrap_or(&addresses.app))?;
            println!("The tables are up to date ({steps} steps taken).");
            Ok(())
        }),
        Act::Check => with_database(&data, &settings, |database| {
            wiring::check(&wiring::world(&database.addresses())?)
        }),
        Act::Export { to } => with_database(&data, &settings, |database| {
            let world = wiring::world(&database.addresses())?;
            wiring::export(&world, &mut writer(to)?)
        }),
        Act::Import(wish) => {
            let content = content(&wish.file)?;
            with_database(&data, &settings, |database| {
                wiring::import(&wiring::world(&database.addresses())?, wish, &content)
            })
        }
        Act::Backup { to } => backup::by_hand(&data, &settings, to.as_deref()),
        Act::Restore { file } => backup::restore(&data, &settings, file),
        Act::Demo(Demo { phone: true }) => Err(Trouble::new(
            "Showing the demo on a phone is not built yet.",
        )),
        Act::Demo(_) => with_database(&data, &settings, |database| demo::fill(database, &data)),
    }
}

/// Files named on the command line are opened by whoever typed it: root's files are handed to the system user open.
fn hand_over(line: &CommandLine) -> (Handed, Vec<OsString>) {
    let mut handed = Handed::default();
    let named: Option<&Path> = match &line.act {
        Act::Import(wish) => Some(&wish.file),
        Act::Restore { file } => Some(file),
        _ => None,
    };
    handed.input = named.filter(|path| !is_stream(path)).map(Path::to_path_buf);
    let to: Option<&PathBuf> = match &line.act {
        Act::Export { to } => Some(to),
        Act::Backup { to } => to.as_ref(),
        _ => None,
    };
    handed.output = to.filter(|path| !is_stream(path)).cloned();
    let opened = [handed.input.as_ref(), handed.output.as_ref()];
    let mut arguments: Vec<OsString> = std::env::args_os()
        .skip(1)
        .map(|word| {
            if opened.iter().flatten().any(|path| path.as_os_str() == word) {
                "-".into()
            } else {
                word
            }
        })
        .collect();
    if let (Act::Import(wish), Some(path)) = (&line.act, &handed.input)
        && wish.named.is_none()
        && let Some(name) = path.file_name()
    {
        arguments.extend(["--named".into(), name.to_owned()]);
    }
    (handed, arguments)
}

fn is_stream(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// The whole of a file, or of standard input for `-`.
fn content(file: &Path) -> Result<Vec<u8>, Trouble> {
    let mut content = Vec::new();
    let read = if is_stream(file) {
        std::io::stdin().lock().read_to_end(&mut content).map(drop)
    } else {
        std::fs::read(file).map(|bytes| content = bytes)
    };
    read.map_err(|error| Trouble::at(file, "read", &error))?;
    Ok(content)
}

fn writer(to: &Path) -> Result<Box<dyn Write>, Trouble> {
    if is_stream(to) {
        return Ok(Box::new(std::io::stdout().lock()));
    }
    let file = OpenOptions::new()
        .create(true)
        .truncate(true)
        .write(true)
        .open(to);
    file.map(|file| Box::new(file) as Box<dyn Write>)
        .map_err(|error| Trouble::at(to, "written", &error))
}
