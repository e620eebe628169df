//! The database a command works on: the private cluster of the data folder, or a server somebody else runs.
use crate::cluster::{Addresses, Cluster, Stay};
use crate::data::DataFolder;
use crate::settings::Settings;
use crate::trouble::Trouble;

/// An open way to the database.
#[derive(Debug)]
pub enum Database {
    /// Our own cluster.
    Private(Box<Cluster>),
    /// Named by `DATABASE_URL`.
    Foreign(Addresses),
}

impl Database {
    /// Opens the database the environment names, starting our own cluster where it names none.
    pub fn open(data: &DataFolder, settings: &Settings, stay: Stay) -> Result<Self, Trouble> {
        match &settings.database_url {
            Some(app) => Ok(Self::Foreign(Addresses {
                app: app.clone(),
                owner: settings.owner_url.clone(),
                keeper: settings.backup_url.clone(),
            })),
            None => Cluster::ensure(data, settings, stay, false)
                .map(|cluster| Self::Private(Box::new(cluster))),
        }
    }

    /// Where it is reached.
    pub fn addresses(&self) -> Addresses {
        match self {
            Self::Private(cluster) => cluster.addresses(),
            Self::Foreign(addresses) => addresses.clone(),
        }
    }

    /// Starts our own cluster again if it died; true when it had to.
    pub fn keep(&mut self) -> Result<bool, Trouble> {
        match self {
            Self::Private(cluster) => cluster.keep(),
            Self::Foreign(_) => Ok(false),
        }
    }

    /// Lets go; our own cluster ends with the last who used it.
    pub fn close(self) -> Result<(), Trouble> {
        match self {
            Self::Private(cluster) => cluster.stop(),
            Self::Foreign(_) => Ok(()),
        }
    }
}

/// Opens the database, does `work`, and closes it whatever came of the work.
pub fn with_database<T>(
    data: &DataFolder,
    settings: &Settings,
    work: impl FnOnce(&Database) -> Result<T, Trouble>,
) -> Result<T, Trouble> {
    let database = Database::open(data, settings, Stay::Short)?;
    let answer = work(&database);
    let closed = database.close();
    answer.and_then(|answer| closed.map(|()| answer))
}
