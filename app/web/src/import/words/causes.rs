//! What is wrong with rows, cause by cause, and what can be done about each.
use usecases::import::{Cause, Code, Preview, Remedy};
use wording::sentences::list;
use wording::{Link, Row, Urgency, Verb, Why};

use super::{rows, verb};
use crate::form::fresh_once;

/// What is wrong, counted.
fn wrong_words(cause: &Cause) -> String {
    let n = rows(cause.rows);
    let (one, many) = match cause.code {
        Code::RequiredMissing => ("lacks what must stand there", "lack what must stand there"),
        Code::DateUnreadable => ("has a date we cannot read", "have a date we cannot read"),
        Code::DateImpossible => ("has a day no calendar has", "have a day no calendar has"),
        Code::DateInFuture => ("has a day still to come", "have a day still to come"),
        Code::DateOrder => (
            "has dates the wrong way round",
            "have dates the wrong way round",
        ),
        Code::PlaceUnknown => (
            "names a place the register does not have",
            "name a place the register does not have",
        ),
        Code::KindUnknown => (
            "has a word that is on no list",
            "have a word that is on no list",
        ),
        Code::MoneyUnreadable => (
            "has an amount we cannot read",
            "have an amount we cannot read",
        ),
        Code::MoneyNegative => (
            "has an amount below nothing",
            "have an amount below nothing",
        ),
        Code::NumberUnreadable => (
            "has a number we cannot read",
            "have a number we cannot read",
        ),
        Code::RowDoubled => ("stands in the list twice", "stand in the list twice"),
        Code::SerialDoubled => (
            "shares a serial with a row above",
            "share a serial with a row above",
        ),
        Code::TooManyColumns => (
            "has more cells than there are headings",
            "have more cells than there are headings",
        ),
        Code::TextUndecodable => (
            "has characters nobody can read",
            "have characters nobody can read",
        ),
        Code::ContradictsRecord => ("contradicts the register", "contradict the register"),
    };
    format!("{n} {}.", verb(cause.rows, one, many))
}

/// One cause: what was found, what is needed, and what can be done.
pub(in crate::import) fn cause(n: usize, cause: &Cause, preview: &Preview, id: &str) -> Row {
    let found: Vec<String> = cause
        .values
        .iter()
        .map(|v| format!("“{}”", short(v)))
        .collect();
    let mut sentence = String::new();
    if !found.is_empty() {
        sentence = format!(" Found {}.", list(&found));
    }
    sentence.push(' ');
    sentence.push_str(&cause.sentence);
    let mut row = Row::about(
        format!("cause-{n}"),
        Link::new(wrong_words(cause), ""),
        sentence,
    )
    .figure(short(&cause.column), "column");
    let choice = |label: String, remedy: &str| {
        let fields = vec![
            ("once".to_owned(), fresh_once()),
            ("code".to_owned(), cause.code.code().to_owned()),
            ("column".to_owned(), cause.column.clone()),
            ("remedy".to_owned(), remedy.to_owned()),
        ];
        Verb::post(label, format!("/import/{id}/settle"), fields)
    };
    if !preview.missing.is_empty() {
        return row.verb(Verb::link(
            "Choose the column",
            format!("/import/{id}/columns"),
        ));
    }
    row = if let Some(import_remedy) = cause.remedy {
        let done = match import_remedy {
            Remedy::LeaveOut => "These rows are left out by your choice.",
            Remedy::TakeAsEmpty => {
                "These cells are taken as empty by your choice; what stood there goes into the words."
            }
            Remedy::KeepBoth => {
                "By your choice these rows happened beside what the register holds."
            }
        };
        row.more.push(done.to_owned());
        row.verb(choice("Take that choice back".to_owned(), ""))
    } else {
        let leave = match cause.rows {
            1 => "Leave this row out".to_owned(),
            n => format!("Leave these {} out", rows(n)),
        };
        let row = row.urgency(Urgency::Soon).verb(choice(leave, "leave_out"));
        if cause.can_be_empty {
            let empty = verb(
                cause.rows,
                "Take the cell as empty",
                "Take the cells as empty",
            );
            row.verb(choice(empty.to_owned(), "take_as_empty"))
        } else if cause.can_both_be {
            row.verb(choice("Both happened: keep both".to_owned(), "keep_both"))
        } else {
            row
        }
    };
    row.why(where_found(cause, preview))
}

fn where_found(cause: &Cause, preview: &Preview) -> Why {
    let all: Vec<String> = preview
        .problems
        .iter()
        .filter(|p| p.code == cause.code && p.column == cause.column)
        .map(|p| {
            if p.value.is_empty() {
                format!("Row {}: {}", p.row, p.sentence)
            } else {
                format!("Row {}: “{}”. {}", p.row, short(&p.value), p.sentence)
            }
        })
        .collect();
    let more = all.len().saturating_sub(25);
    let mut paragraphs: Vec<String> = all.into_iter().take(25).collect();
    if more > 0 {
        paragraphs.push(format!("And {more} more; the download below has them all."));
    }
    Why {
        question: "See the rows".to_owned(),
        paragraphs,
        more: None,
    }
}

fn short(text: &str) -> String {
    if text.chars().count() <= 60 {
        return text.to_owned();
    }
    let cut: String = text.chars().take(57).collect();
    format!("{cut}…")
}
