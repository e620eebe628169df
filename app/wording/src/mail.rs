//! A mail as RFC 5322 and MIME write it (RFC 2045 quoted-printable, RFC 2047 encoded words): plain text in UTF-8.
use chrono::{DateTime, Utc};

/// The longest line of a body, without its end (RFC 2045 §6.7).
const LINE: usize = 76;
/// The longest encoded word here: RFC 2047 §2 allows 75, but on the first line the field's name stands before it and
/// the line may hold 76.
const WORD: usize = 66;
const WORD_OPENS: &str = "=?utf-8?Q?";
const WORD_ENDS: &str = "?=";

/// A mail in values. The addresses are plain ones (`name@host`), looked at where they were typed.
#[derive(Clone, Copy, Debug)]
pub struct Mail<'a> {
    /// Name and address it comes from.
    pub from: (&'a str, &'a str),
    /// The address it goes to.
    pub to: &'a str,
    /// Its subject.
    pub subject: &'a str,
    /// When it was written.
    pub at: DateTime<Utc>,
    /// What tells it from every other mail of the same sender.
    pub id: &'a str,
    /// Its text; lines end with `\n`.
    pub body: &'a str,
}

/// The whole mail, every line ended by CR LF.
pub fn message(mail: &Mail<'_>) -> String {
    let (name, address) = mail.from;
    let host = address.rsplit_once('@').map_or("localhost", |(_, h)| h);
    let from = match name.trim() {
        "" => address.to_owned(),
        name => format!("{}\r\n <{address}>", phrase(name)),
    };
    let head = [
        format!("From: {from}"),
        format!("To: {}", mail.to),
        format!("Subject: {}", phrase(mail.subject)),
        format!("Date: {}", mail.at.to_rfc2822()),
        format!("Message-ID: <{}@{host}>", mail.id),
        "Auto-Submitted: auto-generated".to_owned(),
        "MIME-Version: 1.0".to_owned(),
        "Content-Type: text/plain; charset=utf-8".to_owned(),
        "Content-Transfer-Encoding: quoted-printable".to_owned(),
    ];
    format!("{}\r\n\r\n{}\r\n", head.join("\r\n"), body(mail.body))
}

/// A text of a head: as it is when it is short and plain, else in encoded words, one a line.
pub fn phrase(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || " -'".contains(c);
    if text.chars().all(plain) && text.len() <= 60 {
        return text.to_owned();
    }
    let mut words = vec![String::new()];
    for letter in text.chars() {
        let coded = in_word(letter);
        let full =
            |word: &String| WORD_OPENS.len() + word.len() + coded.len() + WORD_ENDS.len() > WORD;
        if words.last().is_none_or(full) {
            words.push(String::new());
        }
        if let Some(word) = words.last_mut() {
            word.push_str(&coded);
        }
    }
    let words: Vec<String> = words
        .into_iter()
        .map(|word| format!("{WORD_OPENS}{word}{WORD_ENDS}"))
        .collect();
    words.join("\r\n ")
}

/// A letter inside an encoded word; a letter is never parted between two.
fn in_word(letter: char) -> String {
    match letter {
        ' ' => "_".to_owned(),
        c if c.is_ascii_alphanumeric() => c.to_string(),
        // A line's end in a head would begin another field.
        c if c.is_control() => "_".to_owned(),
        c => coded(c.encode_utf8(&mut [0; 4]).as_bytes()),
    }
}

fn coded(bytes: &[u8]) -> String {
    let each: Vec<String> = bytes.iter().map(|b| format!("={b:02X}")).collect();
    each.concat()
}

/// A text in quoted-printable, without a line end after its last line.
pub fn body(text: &str) -> String {
    let lines: Vec<String> = text
        .split('\n')
        .map(|line| quoted(line.trim_end_matches('\r')))
        .collect();
    lines.join("\r\n")
}

fn quoted(line: &str) -> String {
    let mut out = String::new();
    let mut length = 0;
    let last = line.len().saturating_sub(1);
    for (at, byte) in line.bytes().enumerate() {
        let as_it_is = match byte {
            b'=' => false,
            b' ' | b'\t' => at != last,
            other => (33..=126).contains(&other),
        };
        let piece = if as_it_is {
            char::from(byte).to_string()
        } else {
            coded(&[byte])
        };
        if length + piece.len() > LINE - 1 {
            out.push_str("=\r\n");
            length = 0;
        }
        length += piece.len();
        out.push_str(&piece);
    }
    out
}
