//! Makes every word printable: a character without a shape would fail the whole paper, so a mark stands for it.
use std::borrow::Cow;

use serde_json::Value;
use unicode_normalization::{IsNormalized, UnicodeNormalization, is_nfc_quick};

use crate::faces::Faces;

/// Stands for what cannot be printed; the paper says so at its end.
pub(crate) const MARK: char = '□';
/// The longest stretch without a place to break at; longer ones would run out of their column.
const UNBROKEN: usize = 28;

/// Goes through all words of the paper; where a mark had to be set, `marked` is true.
pub(crate) fn make(paper: &mut Value, faces: &Faces) {
    let mut marked = false;
    each(paper, "", &mut |key, text| {
        let (mut clean, lost) = printable(text, faces);
        marked |= lost;
        // A drawing is not to be broken, its words stand where they stand; the document's own names are not set.
        if !matches!(key, "svg" | "told" | "title" | "author") {
            clean = breakable(&clean);
        }
        *text = clean;
    });
    if let Some(fields) = paper.as_object_mut() {
        fields.insert("marked".to_owned(), Value::Bool(marked));
    }
}

fn each(value: &mut Value, key: &str, act: &mut impl FnMut(&str, &mut String)) {
    match value {
        Value::String(text) => act(key, text),
        Value::Array(list) => list.iter_mut().for_each(|one| each(one, key, act)),
        Value::Object(fields) => {
            for (key, one) in fields {
                each(one, key, act);
            }
        }
        _ => {}
    }
}

/// Composed letters, no controls, a mark for what no face holds; and whether there was any.
fn printable(text: &str, faces: &Faces) -> (String, bool) {
    // Most words, and asking each letter of them of every face took a third of a paper's time.
    if text.chars().all(plain) {
        return (text.to_owned(), false);
    }
    let composed = match is_nfc_quick(text.chars()) {
        IsNormalized::Yes => Cow::Borrowed(text),
        _ => Cow::Owned(text.nfc().collect()),
    };
    let mut lost = false;
    let mut clean = String::with_capacity(composed.len());
    for letter in composed.chars() {
        match letter {
            c if plain(c) => clean.push(c),
            '\n' | '\r' | '\t' | '\u{2028}' | '\u{2029}' => clean.push(' '),
            // Changes how its neighbour looks or where lines may break, and is itself nothing to see.
            c if c.is_control() || unseen(c) => {}
            // A face may hold shapes of its own there, which nobody could read out.
            c if faces.hold(c) && !private(c) => clean.push(c),
            _ => {
                lost = true;
                clean.push(MARK);
            }
        }
    }
    (clean, lost)
}

/// A letter, figure or sign that every text may hold: seen, composed, and in the faces (they are refused otherwise).
pub(crate) fn plain(letter: char) -> bool {
    matches!(letter, ' '..='~')
}

fn unseen(letter: char) -> bool {
    matches!(letter,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}'
        | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}'
        | '\u{e0000}'..='\u{e0fff}')
}

fn private(letter: char) -> bool {
    matches!(letter, '\u{e000}'..='\u{f8ff}' | '\u{f0000}'..)
}

/// With places to break at in words that are longer than any column.
fn breakable(text: &str) -> String {
    let mut run = 0;
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        run = if letter == ' ' { 0 } else { run + 1 };
        if run > UNBROKEN {
            out.push('\u{200b}');
            run = 1;
        }
        out.push(letter);
    }
    out
}
