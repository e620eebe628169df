//! What can be typed after the program's name.
use std::net::IpAddr;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use crate::settings::PORT;

/// Riserward: the register of heating and hot water in blocks of flats, what is likely to fail, and what to do about it.
#[derive(Debug, Parser)]
#[command(name = "riserward", version)]
pub struct CommandLine {
    /// The data folder; without it RISERWARD_DATA, else /var/lib/riserward for root, else ~/.local/share/riserward.
    #[arg(long, global = true, value_name = "FOLDER")]
    pub data: Option<PathBuf>,
    /// What to do.
    #[command(subcommand)]
    pub act: Act,
}

/// The sub-commands.
#[derive(Debug, Subcommand)]
pub enum Act {
    /// Serve the pages and run the background tasks until stopped.
    Serve(Serve),
    /// Run background tasks only, beside one or more `serve`.
    Work,
    /// Bring the database's tables up to this program's version.
    Migrate,
    /// Check that the record of who did what is whole.
    Check,
    /// Write out everything an estate holds, one JSON object a line.
    Export {
        /// The estate, by name; not needed where there is one.
        #[arg(long, value_name = "NAME")]
        estate: Option<String>,
        /// The file to write; `-` writes to standard output.
        #[arg(long, value_name = "FILE", default_value = "-")]
        to: PathBuf,
    },
    /// Bring in units and their history from a spreadsheet or CSV.
    Import(Import),
    /// Reads a list and says its rows, one JSON value a line. Started by the program itself, with little memory.
    #[command(hide = true)]
    ReadList {
        /// The file.
        file: PathBuf,
    },
    /// Write a dump of the whole database and count every table in it against the database.
    Backup {
        /// The file to write; without it one in the data folder's backup/.
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
    },
    /// Load a dump in place of the present data; the present data are dumped first.
    Restore {
        /// The dump.
        file: PathBuf,
    },
    /// Take a lost second device off somebody's account; a new one can then be set.
    ForgetDevice {
        /// The sign-in name.
        email: String,
    },
    /// Fill an empty database with the invented demo estate and print its sign-ins.
    Demo(Demo),
}

/// Options of `serve`.
#[derive(Debug, Args)]
pub struct Serve {
    /// The port to listen on.
    #[arg(long, default_value_t = PORT)]
    pub port: u16,
    /// The address to listen on; anything but this machine's own loopback needs --cert and --key, or --trusted-proxy.
    #[arg(long, default_value = "127.0.0.1")]
    pub address: IpAddr,
    /// The certificate chain, PEM.
    #[arg(long, value_name = "FILE", requires = "key")]
    pub cert: Option<PathBuf>,
    /// The certificate's private key, PEM.
    #[arg(long, value_name = "FILE", requires = "cert")]
    pub key: Option<PathBuf>,
    /// The address of a proxy that speaks HTTPS and whose word about the caller is believed.
    #[arg(long, value_name = "ADDRESS")]
    pub trusted_proxy: Option<IpAddr>,
    /// Leave the background tasks to `work`.
    #[arg(long)]
    pub no_work: bool,
    /// Fill the database with the demo estate if it holds none.
    #[arg(long)]
    pub demo: bool,
    /// The data is thrown away afterwards, so no dump of it is left; never typed.
    #[arg(skip)]
    pub throw_away: bool,
}

/// Options of `import`.
#[derive(Debug, Args)]
pub struct Import {
    /// The CSV file or workbook (.xlsx); `-` reads standard input.
    pub file: PathBuf,
    /// Only look: say what is wrong and what would be brought in.
    #[arg(long)]
    pub preview: bool,
    /// Answer as JSON.
    #[arg(long)]
    pub json: bool,
    /// The estate to bring it into, by name; not needed where there is one.
    #[arg(long, value_name = "NAME")]
    pub estate: Option<String>,
    /// The building the rows belong to, where no column names it.
    #[arg(long, value_name = "NAME")]
    pub building: Option<String>,
    /// The sheet of a workbook with several; without it the one whose headings say most.
    #[arg(long, value_name = "NAME")]
    pub sheet: Option<String>,
    /// Whose list it is: how its columns and names are matched is remembered under it.
    #[arg(long, value_name = "NAME")]
    pub source: Option<String>,
    /// What a row is; without it the headings tell.
    #[arg(long, value_enum)]
    pub rows: Option<Rows>,
    /// Which column is what: a JSON object of heading to field (null leaves a column out), or a file that holds one;
    /// beside headings "dates": "day_first" or "month_first", and "leave_out": a list of codes whose rows stay out.
    #[arg(long, value_name = "FILE")]
    pub mapping: Option<String>,
    /// What to call the file where it is read from standard input.
    #[arg(long, value_name = "NAME")]
    pub named: Option<String>,
}

/// What a row of an imported file stands for.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Rows {
    /// A unit.
    Units,
    /// Something that happened to a unit.
    History,
    /// A time in which failures were written down.
    Records,
}

/// Options of `demo`.
#[derive(Debug, Args)]
pub struct Demo {
    /// Serve it to a phone on the same network: a throw-away certificate and the address as a QR code.
    #[arg(long)]
    pub phone: bool,
    /// With --phone: the port to listen on.
    #[arg(long, default_value_t = PORT + 1)]
    pub port: u16,
    /// With --phone: this machine's address on the network; found when not named.
    #[arg(long)]
    pub address: Option<IpAddr>,
}
