//! A socket path short enough: the kernel takes 107 bytes, a data folder may be longer.
use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::os::unix::fs::{DirBuilderExt, MetadataExt, symlink};
use std::path::{Path, PathBuf};

use crate::settings::Settings;
use crate::trouble::Trouble;

/// The longest folder whose socket file still fits: 107 bytes less "/.s.PGSQL.5432.lock".
const LONGEST: usize = 107 - 19;

/// The folder through which clients reach the socket that lies in the cluster's own folder.
pub fn reach(cluster: &Path, uid: u32, settings: &Settings) -> Result<PathBuf, Trouble> {
    if cluster.as_os_str().len() <= LONGEST {
        return Ok(cluster.to_path_buf());
    }
    let mut hasher = DefaultHasher::new();
    cluster.hash(&mut hasher);
    let name = format!("riserward-{uid}-{:08x}", hasher.finish() as u32);
    let base = settings
        .runtime
        .clone()
        .filter(|base| base.is_dir())
        .unwrap_or_else(std::env::temp_dir);
    let short = base.join(name);
    let made = fs::DirBuilder::new().mode(0o700).create(&short);
    if let Err(error) = made
        && !short.exists()
    {
        return Err(Trouble::at(&short, "written", &error));
    }
    let about =
        fs::symlink_metadata(&short).map_err(|error| Trouble::at(&short, "read", &error))?;
    if !about.is_dir() || about.uid() != uid || about.mode() & 0o077 != 0 {
        return Err(Trouble::new(format!(
            "{} belongs to somebody else or is open to others: remove it, or choose a data folder with a shorter name.",
            short.display()
        )));
    }
    let link = short.join("s");
    if fs::read_link(&link).ok().as_deref() != Some(cluster) {
        if let Err(error) = fs::remove_file(&link)
            && error.kind() != std::io::ErrorKind::NotFound
        {
            return Err(Trouble::at(&link, "removed", &error));
        }
        symlink(cluster, &link).map_err(|error| Trouble::at(&link, "written", &error))?;
    }
    Ok(link)
}
