//! Who the program runs as. PostgreSQL refuses root, and root need not serve pages: started by root the
//! program copies itself beside the data and becomes a system user of its own before it does anything else.
use std::fs::{self, File, OpenOptions};
use std::os::unix::fs::{MetadataExt, OpenOptionsExt, PermissionsExt, chown};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::commands::CommandLine;
use crate::handover::Handover;
use crate::settings::{PAPERS, Settings};
use crate::trouble::{Explained, Trouble};

/// The number of the user this process acts as.
pub fn effective_user() -> Result<u32, Trouble> {
    fs::metadata("/proc/self")
        .map(|about| about.uid())
        .explained(
            "The process table is not there",
            "mount /proc, then start again.",
        )
}

/// Replaces the process: as root by one of the system user, else by one without libpq's stray variables.
/// Returns where nothing is to change.
pub fn settle(settings: &Settings, data: &Path, line: &CommandLine) -> Result<(), Trouble> {
    let program =
        std::env::current_exe().explained("The program cannot find itself", "start it again.")?;
    if effective_user()? == 0 {
        let handover = Handover::of(line, data, std::env::args_os().skip(1))?;
        let user = SystemUser::find(&settings.system_user)?;
        let copy = user.lay_beside(&program, data)?;
        let mut command = Command::new("setpriv");
        command
            .arg(format!("--reuid={}", user.uid))
            .arg(format!("--regid={}", user.gid))
            .args(["--init-groups", "--"])
            .arg(copy)
            .args(&handover.words)
            .env("HOME", data)
            .env("USER", &settings.system_user)
            .env("LOGNAME", &settings.system_user)
            .env("RISERWARD_DATA", data)
            .env_remove("XDG_RUNTIME_DIR")
            .env_remove("XDG_DATA_HOME")
            .current_dir(data);
        handover.open_into(&mut command)?;
        return Err(replace(settings, command));
    }
    if settings.database_url.is_none() && !settings.stray_libpq.is_empty() {
        let mut command = Command::new(program);
        command.args(std::env::args_os().skip(1));
        return Err(replace(settings, command));
    }
    Ok(())
}

fn replace(settings: &Settings, mut command: Command) -> Trouble {
    if settings.database_url.is_none() {
        for name in &settings.stray_libpq {
            command.env_remove(name);
        }
    }
    let error = command.exec();
    Trouble::new(format!(
        "The program could not start itself as another user ({error}): install util-linux, or start as an ordinary user."
    ))
}

impl Handover {
    fn open_into(&self, command: &mut Command) -> Result<(), Trouble> {
        if let Some(path) = &self.input {
            let file = File::open(path).map_err(|error| Trouble::at(path, "read", &error))?;
            command.stdin(Stdio::from(file));
        }
        if let Some(path) = &self.output {
            let file = OpenOptions::new()
                .create(true)
                .truncate(true)
                .write(true)
                .mode(0o600)
                .open(path)
                .map_err(|error| Trouble::at(path, "written", &error))?;
            command.stdout(Stdio::from(file));
        }
        Ok(())
    }
}

struct SystemUser {
    name: String,
    uid: u32,
    gid: u32,
}

/// Puts a copy of `program` at `copy`, in one step. What is large may be a second name of the same file where the disk
/// allows it.
fn lay(program: &Path, copy: &Path, large: bool) -> std::io::Result<()> {
    // Named by process: several commands may start at once.
    let beside = copy.with_extension(format!("part.{}", std::process::id()));
    if !large || fs::hard_link(program, &beside).is_err() {
        fs::copy(program, &beside)?;
    }
    fs::set_permissions(&beside, fs::Permissions::from_mode(0o755))?;
    fs::rename(&beside, copy)?;
    // A file renamed onto itself keeps both names.
    if beside.exists() {
        fs::remove_file(&beside)?;
    }
    Ok(())
}

impl SystemUser {
    fn find(name: &str) -> Result<Self, Trouble> {
        let number = |flag: &str| -> Option<u32> {
            let said = Command::new("id")
                .args([flag, name])
                .stderr(Stdio::null())
                .output()
                .ok()?;
            String::from_utf8_lossy(&said.stdout).trim().parse().ok()
        };
        match (number("-u"), number("-g")) {
            (Some(0), _) => Err(Trouble::new(
                "RISERWARD_USER names root, whom the database refuses: name an ordinary or a system user.",
            )),
            (Some(uid), Some(gid)) => Ok(Self {
                name: name.to_owned(),
                uid,
                gid,
            }),
            _ => Err(Trouble::new(format!(
                "The system user {name} is not there: run bash app/start once as root, which makes it, or name another in RISERWARD_USER."
            ))),
        }
    }

    /// Makes the data folder this user's and puts a copy of the program where this user can run it.
    fn lay_beside(&self, program: &Path, data: &Path) -> Result<PathBuf, Trouble> {
        crate::data::private_folder(data)?;
        let about = fs::metadata(data).map_err(|error| Trouble::at(data, "read", &error))?;
        if about.uid() != self.uid {
            let empty = fs::read_dir(data).is_ok_and(|mut entries| entries.next().is_none());
            if !empty {
                return Err(Trouble::new(format!(
                    "The data folder {} belongs to another user than {}: start as that user, give it over with chown -R {}, or choose another with --data FOLDER.",
                    data.display(),
                    self.name,
                    self.name
                )));
            }
            chown(data, Some(self.uid), Some(self.gid))
                .map_err(|error| Trouble::at(data, "written", &error))?;
        }
        self.can_reach(data)?;
        let folder = data.join("program");
        let copy = folder.join("riserward");
        if program == copy {
            return Ok(copy);
        }
        let laid = fs::create_dir_all(&folder)
            .and_then(|()| fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)))
            .and_then(|()| lay(program, &copy, false));
        laid.map_err(|error| Trouble::at(&folder, "written", &error))?;
        // It may be built later than the program; app/start lays it there then. Without it everything else works, so that it
        // cannot be laid is told and stops nothing.
        let papers = program.with_file_name(PAPERS);
        if papers.is_file()
            && let Err(error) = lay(&papers, &folder.join(PAPERS), true)
        {
            eprintln!(
                "riserward: {} could not be laid into {} ({error}): no paper can be had as PDF until it lies there.",
                papers.display(),
                folder.display()
            );
        }
        Ok(copy)
    }

    /// A folder inside a private one (such as root's home) is out of reach however it belongs to the user itself.
    fn can_reach(&self, data: &Path) -> Result<(), Trouble> {
        let status = Command::new("setpriv")
            .arg(format!("--reuid={}", self.uid))
            .arg(format!("--regid={}", self.gid))
            .args(["--init-groups", "--", "test", "-x"])
            .arg(data)
            .status()
            .explained(
                "The program setpriv is missing",
                "install util-linux, or start as an ordinary user.",
            )?;
        if status.success() {
            return Ok(());
        }
        Err(Trouble::new(format!(
            "The data folder {} lies inside a folder that the user {} may not enter: choose one elsewhere with --data, such as /var/lib/riserward.",
            data.display(),
            self.name
        )))
    }
}
