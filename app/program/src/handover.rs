//! What root's command line must turn into before the system user takes it over: that user may not open root's files
//! and stands in another folder.
use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};

use crate::commands::{Act, CommandLine};
use crate::trouble::Trouble;

/// The files a command reads from or writes to, opened while still root, and the words left to say.
#[derive(Debug, Default)]
pub struct Handover {
    /// Becomes standard input.
    pub input: Option<PathBuf>,
    /// Becomes standard output.
    pub output: Option<PathBuf>,
    /// The words after the program's name.
    pub words: Vec<OsString>,
}

impl Handover {
    /// From what was typed: files become `-`, a mapping becomes its content, other paths become whole.
    pub fn of(
        line: &CommandLine,
        data: &Path,
        typed: impl Iterator<Item = OsString>,
    ) -> Result<Self, Trouble> {
        let mut handover = Self::default();
        let mut swaps: Vec<(OsString, OsString)> = Vec::new();
        let mut more = Vec::new();
        if let Some(folder) = &line.data {
            swaps.push((folder.into(), data.into()));
        }
        match &line.act {
            Act::Import(wish) => {
                handover.input = Some(wish.file.clone());
                if let (None, Some(name)) = (&wish.named, wish.file.file_name()) {
                    more = vec!["--named".into(), name.to_owned()];
                }
                if let Some(mapping) = wish
                    .mapping
                    .as_deref()
                    .filter(|said| !said.trim_start().starts_with('{'))
                {
                    let content = std::fs::read_to_string(mapping)
                        .map_err(|error| Trouble::at(Path::new(mapping), "read", &error))?;
                    swaps.push((mapping.into(), content.into()));
                }
            }
            Act::Restore { file } => handover.input = Some(file.clone()),
            Act::Export { to, .. } => handover.output = Some(to.clone()),
            Act::Backup { to } => handover.output.clone_from(to),
            Act::Serve(wish) => {
                for path in [&wish.cert, &wish.key].into_iter().flatten() {
                    let whole = std::path::absolute(path)
                        .map_err(|error| Trouble::at(path, "found", &error))?;
                    swaps.push((path.into(), whole.into()));
                }
            }
            // A list is read by a child that inherits what it needs; nothing is handed over.
            Act::Work
            | Act::Migrate
            | Act::Check
            | Act::ForgetDevice { .. }
            | Act::Demo(_)
            | Act::ReadList { .. } => {}
        }
        for file in [&mut handover.input, &mut handover.output] {
            *file = file.take().filter(|path| path.as_os_str() != "-");
            swaps.extend(
                file.iter()
                    .map(|path| (path.clone().into_os_string(), "-".into())),
            );
        }
        if handover.input.is_none() {
            more.clear();
        }
        handover.words = typed
            .map(|word| swapped(word, &swaps))
            .chain(more)
            .collect();
        Ok(handover)
    }
}

/// The word, or what stands in its place; also where it follows an option's equals sign.
fn swapped(word: OsString, swaps: &[(OsString, OsString)]) -> OsString {
    for (old, new) in swaps {
        if word == *old {
            return new.clone();
        }
        let option = word.to_str().and_then(|text| text.split_once('='));
        if let Some((option, value)) = option
            && option.starts_with("--")
            && OsStr::new(value) == old
        {
            let mut whole = OsString::from(format!("{option}="));
            whole.push(new);
            return whole;
        }
    }
    word
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;

    fn handed(typed: &[&str]) -> (Option<PathBuf>, Option<PathBuf>, Vec<String>) {
        let line = CommandLine::parse_from(std::iter::once(&"riserward").chain(typed));
        let words = typed.iter().map(OsString::from);
        let handover = Handover::of(&line, Path::new("/data"), words).unwrap();
        let words = handover
            .words
            .iter()
            .map(|word| word.to_str().unwrap().to_owned())
            .collect();
        (handover.input, handover.output, words)
    }

    #[test]
    fn files_are_handed_over_open_and_the_data_folder_whole() {
        let (input, _, words) =
            handed(&["--data", "here", "import", "lists/units.csv", "--preview"]);
        assert_eq!(input.as_deref(), Some(Path::new("lists/units.csv")));
        assert_eq!(
            words,
            [
                "--data",
                "/data",
                "import",
                "-",
                "--preview",
                "--named",
                "units.csv"
            ]
        );
        let (_, output, words) = handed(&["backup", "--to=out.dump"]);
        assert_eq!(output.as_deref(), Some(Path::new("out.dump")));
        assert_eq!(words, ["backup", "--to=-"]);
    }

    #[test]
    fn streams_stay_streams() {
        let (input, output, words) = handed(&["import", "-"]);
        assert_eq!((input, output), (None, None));
        assert_eq!(words, ["import", "-"]);
    }

    #[test]
    fn certificates_are_found_from_another_folder() {
        let (_, _, words) = handed(&["serve", "--cert", "c.pem", "--key=k.pem"]);
        assert!(
            words[2].starts_with('/') && words[2].ends_with("/c.pem"),
            "{words:?}"
        );
        assert!(
            words[3].starts_with("--key=/") && words[3].ends_with("/k.pem"),
            "{words:?}"
        );
    }
}
