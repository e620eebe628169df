//! Mails as the program left them in a folder, read back.
use std::path::PathBuf;

use crate::work_estate::{Loop, fresh};

/// A folder for mails of one test, gone with it.
pub struct Outbox(PathBuf);

impl Outbox {
    pub fn new() -> Self {
        Self(std::env::temp_dir().join(format!("riserward-outbox-{}", fresh())))
    }

    pub fn settings(&self, estate: &Loop) -> jobs::Settings {
        self.settings_with(estate, None)
    }

    pub fn settings_with(&self, estate: &Loop, server: Option<jobs::MailServer>) -> jobs::Settings {
        jobs::Settings {
            bank_holidays_url: None,
            worker: "w1".to_owned(),
            mail: Some(jobs::Mail {
                outbox: self.0.clone(),
                pages: estate.app.address.clone(),
                from: "desk@estate.example".to_owned(),
                server,
            }),
            reader: None,
        }
    }

    /// How many notes there are that a mail went out, or was about to.
    pub fn notes(&self, ending: &str) -> usize {
        let entries = std::fs::read_dir(&self.0).unwrap();
        entries
            .filter(|e| {
                e.as_ref()
                    .unwrap()
                    .path()
                    .extension()
                    .is_some_and(|x| x == ending)
            })
            .count()
    }

    /// Every mail there is, oldest first, as the files stand.
    pub fn files(&self) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(&self.0) else {
            return Vec::new();
        };
        let mut paths: Vec<PathBuf> = entries.map(|e| e.unwrap().path()).collect();
        paths.retain(|p| !p.extension().is_some_and(|x| x == "sent" || x == "sending"));
        paths.sort();
        assert!(
            paths
                .iter()
                .all(|p| p.extension().is_some_and(|x| x == "eml")),
            "{paths:?}"
        );
        paths
            .iter()
            .map(|p| std::fs::read_to_string(p).unwrap())
            .collect()
    }

    /// Runs what is queued; the newest mail then.
    pub fn newest(&self, estate: &Loop) -> Letter {
        jobs::run_queue(estate.world(), &self.settings(estate));
        Letter::read(self.files().last().expect("a mail"))
    }
}

impl Drop for Outbox {
    fn drop(&mut self) {
        let _gone_already = std::fs::remove_dir_all(&self.0);
    }
}

/// A mail read back: head fields unfolded and decoded, body decoded.
pub struct Letter {
    head: Vec<(String, String)>,
    pub body: String,
}

/// The bytes behind `=XX`; everything else stands for itself.
fn bytes_of(coded: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut rest = coded;
    while let Some((before, after)) = rest.split_once('=') {
        bytes.extend(before.bytes());
        bytes.push(u8::from_str_radix(&after[..2], 16).expect("two hexadecimal digits"));
        rest = &after[2..];
    }
    bytes.extend(rest.bytes());
    bytes
}

/// RFC 2047: encoded words in the Q encoding, the space between two of them dropped.
fn decoded(field: &str) -> String {
    let mut out = String::new();
    for word in field.split(' ') {
        let inside = word
            .strip_prefix("=?utf-8?Q?")
            .and_then(|w| w.strip_suffix("?="));
        match inside {
            Some(inside) => {
                out.push_str(&String::from_utf8(bytes_of(&inside.replace('_', " "))).unwrap());
            }
            None if out.is_empty() => out.push_str(word),
            None => {
                out.push(' ');
                out.push_str(word);
            }
        }
    }
    out
}

impl Letter {
    fn read(file: &str) -> Self {
        assert!(
            !file.replace("\r\n", "").contains(['\r', '\n']),
            "bare line ends"
        );
        for line in file.split("\r\n") {
            assert!(line.len() <= 78 && line.is_ascii(), "{line}");
        }
        let (head, body) = file.split_once("\r\n\r\n").expect("a head and a body");
        let head = head
            .replace("\r\n ", " ")
            .split("\r\n")
            .map(|line| line.split_once(": ").expect("a field"))
            .map(|(name, value)| (name.to_owned(), decoded(value)))
            .collect();
        let body = String::from_utf8(bytes_of(&body.replace("=\r\n", ""))).unwrap();
        Self { head, body }
    }

    pub fn field(&self, name: &str) -> &str {
        let mut found = self.head.iter().filter(|(n, _)| n == name);
        let (_, value) = found.next().unwrap_or_else(|| panic!("no field {name}"));
        assert!(found.next().is_none(), "{name} stands once");
        value
    }

    /// The address of the page behind the link, which stands in the mail once.
    pub fn path(&self, estate: &Loop) -> String {
        let pages = estate.app.address.as_str();
        assert_eq!(self.body.matches(pages).count(), 1, "{}", self.body);
        let (_, after) = self.body.split_once(pages).unwrap();
        after.split_whitespace().next().unwrap().to_owned()
    }
}
