//! The program's own log: a file in the data folder, or standard error where there is no data folder.
use std::fs::OpenOptions;
use std::path::Path;
use std::sync::Mutex;

use tracing_subscriber::EnvFilter;

use crate::settings::Settings;
use crate::trouble::{Explained, Trouble};

/// Begins the log. A panic that reaches the top of a thread is written there too.
pub fn begin(settings: &Settings, file: Option<&Path>) -> Result<(), Trouble> {
    let filter = EnvFilter::try_new(&settings.log).explained(
        "RISERWARD_LOG is not a log filter",
        "write for example RISERWARD_LOG=info.",
    )?;
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(false);
    let begun = match file {
        Some(path) => {
            let file = OpenOptions::new()
                .create(true)
                .append(true)
                .open(path)
                .map_err(|error| Trouble::at(path, "written", &error))?;
            log.with_writer(Mutex::new(file)).try_init()
        }
        None => log.with_writer(std::io::stderr).try_init(),
    };
    begun.explained("The log could not be begun", "start again.")?;
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        tracing::error!(%panic, "a thread broke off");
        usual(panic);
    }));
    Ok(())
}
