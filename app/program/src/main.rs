//! Settings, logging, wiring; one sub-command a thing a person does at the terminal.
mod backup;
mod clock;
mod cluster;
mod commands;
mod data;
mod database;
mod demo;
mod export;
mod handover;
mod identity;
mod import;
mod phone;
mod serve;
mod settings;
mod telemetry;
mod tls;
mod trouble;
mod wiring;

use std::fs::OpenOptions;
use std::io::{Read, Write};
use std::path::Path;
use std::process::ExitCode;

use clap::Parser;

use crate::commands::{Act, CommandLine};
use crate::data::DataFolder;
use crate::database::with_database;
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
    // It needs nothing but the file, and is given nothing else.
    if let Act::ReadList { file } = &line.act {
        return import::say_rows(file, &mut std::io::stdout().lock());
    }
    let settings = Settings::read();
    let root = identity::effective_user()? == 0;
    let folder = settings.data_folder(line.data.as_deref(), root)?;
    identity::settle(&settings, &folder, line)?;
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
        Act::Export { estate, to } => with_database(&data, &settings, |database| {
            let world = wiring::world(&database.addresses())?;
            export::run(&world, estate.as_deref(), &mut writer(to)?)
        }),
        Act::Import(wish) => {
            let content = content(&wish.file)?;
            with_database(&data, &settings, |database| {
                let reader = wiring::reader(&data);
                let world = wiring::world(&database.addresses())?;
                import::run(&world, wish, (&content, reader.as_ref()))
            })
        }
        // Answered above.
        Act::ReadList { .. } => Ok(()),
        Act::Backup { to } => backup::by_hand(&data, &settings, to.as_deref()),
        Act::Restore { file } => backup::restore(&data, &settings, file),
        Act::ForgetDevice { email } => with_database(&data, &settings, |database| {
            wiring::forget_device(&wiring::world(&database.addresses())?, email)
        }),
        Act::Demo(wish) if wish.phone => phone::show(&data, &settings, wish),
        Act::Demo(_) => with_database(&data, &settings, |database| demo::fill(database, &data)),
    }
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
