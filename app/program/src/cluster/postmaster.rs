//! Is this cluster's server running? The pid file may be stale, or name a process that is something else.
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// What the pid file of a cluster and the process table say together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Life {
    /// No server, and nothing that speaks of one but perhaps a pid file of a dead process.
    Stopped,
    /// The pid file names a living process that is not this cluster's server.
    Stale,
    /// The server is there and not yet (or no longer) taking connections.
    Busy,
    /// The server takes connections but the program that started it is gone: it is about to end.
    Orphaned,
    /// The server takes connections.
    Ready,
}

/// Reads the life of the cluster in `folder` (already canonical).
pub fn life(folder: &Path) -> Life {
    let Ok(text) = fs::read_to_string(folder.join("postmaster.pid")) else {
        return Life::Stopped;
    };
    let mut lines = text.lines();
    let pid: Option<u32> = lines.next().and_then(|line| line.trim().parse().ok());
    // Lines of the file: pid, folder, start time, port, socket folder, address, shared memory, status.
    let ready = lines.nth(6).is_some_and(|status| status.trim() == "ready");
    match pid.map(|pid| (alive(pid), works_in(pid, folder))) {
        Some((true, true)) if ready && pid.is_some_and(kept) => Life::Ready,
        Some((true, true)) if ready => Life::Orphaned,
        Some((true, true)) => Life::Busy,
        Some((true, false)) => Life::Stale,
        _ => Life::Stopped,
    }
}

/// Waits for server processes left behind by a killed postmaster; they end by themselves within moments.
/// A new server beside one of them could damage the data, so this must come before a pid file is removed.
pub fn orphans_gone(folder: &Path, patience: Duration) -> bool {
    let begun = Instant::now();
    while anyone_in(folder) {
        if begun.elapsed() > patience {
            return false;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    true
}

/// Lock files that name a living process which is not this cluster's server, such as a stranger that came to the
/// number later or a killed server nobody has buried: PostgreSQL would refuse to start beside them for ever.
/// Only for a folder in which no server process is left.
pub fn stale_locks(folder: &Path) -> Vec<PathBuf> {
    ["postmaster.pid", ".s.PGSQL.5432.lock"]
        .iter()
        .map(|name| folder.join(name))
        .filter(|path| {
            fs::read_to_string(path)
                .ok()
                .and_then(|text| text.lines().next()?.trim().parse().ok())
                .is_some_and(|pid| alive(pid) && !works_in(pid, folder))
        })
        .collect()
}

fn alive(pid: u32) -> bool {
    process(pid).exists()
}

/// Every process of a PostgreSQL server has its cluster as working folder.
fn works_in(pid: u32, folder: &Path) -> bool {
    fs::read_link(process(pid).join("cwd")).is_ok_and(|cwd| cwd == folder) && is_postgres(pid)
}

fn is_postgres(pid: u32) -> bool {
    fs::read_to_string(process(pid).join("comm")).is_ok_and(|name| name.trim() == "postgres")
}

/// The parent of a server is the program that started it; when that was killed, whoever adopts orphans.
fn kept(pid: u32) -> bool {
    fs::read_to_string(process(pid).join("status"))
        .ok()
        .and_then(|text| {
            text.lines()
                .find_map(|line| line.strip_prefix("PPid:")?.trim().parse().ok())
        })
        .and_then(|parent: u32| fs::read_to_string(process(parent).join("comm")).ok())
        .is_some_and(|name| name.trim() == "riserward")
}

fn anyone_in(folder: &Path) -> bool {
    let Ok(entries) = fs::read_dir("/proc") else {
        return false;
    };
    entries
        .flatten()
        .filter_map(|entry| entry.file_name().to_str()?.parse::<u32>().ok())
        .any(|pid| works_in(pid, folder))
}

fn process(pid: u32) -> PathBuf {
    Path::new("/proc").join(pid.to_string())
}

#[cfg(test)]
mod tests {
    use super::{Life, life, stale_locks};

    #[test]
    fn a_pid_file_naming_a_stranger_is_stale_and_one_naming_nobody_is_stopped() {
        let folder = std::env::temp_dir().join(format!("riserward-pid-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        assert_eq!(life(&folder), Life::Stopped);
        std::fs::write(
            folder.join("postmaster.pid"),
            format!("{}\n", std::process::id()),
        )
        .unwrap();
        assert_eq!(life(&folder), Life::Stale);
        assert_eq!(stale_locks(&folder), [folder.join("postmaster.pid")]);
        // Above the largest process number Linux gives out (2^22).
        std::fs::write(folder.join("postmaster.pid"), "4194999\n").unwrap();
        assert_eq!(life(&folder), Life::Stopped);
        assert!(stale_locks(&folder).is_empty());
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
