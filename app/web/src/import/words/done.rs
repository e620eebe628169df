//! What a list did, once it came in, was taken back or put away.
use terms::money::thousands;
use usecases::import::{Counts, ImportHead, ListKind, Preview, Undone, View, undo_until};
use wording::sentences::{capital, dates, glue, list, plural};
use wording::{Row, Verb};

use super::preview::{changes, new_words};
use super::{rows, verb};
use crate::when;

/// "brought in on 25 November 2026".
pub(in crate::import) fn standing_of(head: &ImportHead) -> String {
    let day = |at| dates::day(when::local_day(at));
    match (head.state.as_str(), head.done_at, head.undone_at) {
        ("done", Some(at), _) => format!("brought in on {}", day(at)),
        ("undone", _, Some(at)) => format!("taken back on {}", day(at)),
        ("reading", ..) => "being read".to_owned(),
        ("coming_in", ..) => "coming in".to_owned(),
        ("refused", ..) => format!("sent on {}; it could not be taken", day(head.made_at)),
        ("dropped", ..) => format!("sent on {} and put away", day(head.made_at)),
        _ => format!("sent on {}; not brought in yet", day(head.made_at)),
    }
}

/// After bringing in, above the heading.
pub(in crate::import) fn brought_in(counts: Counts, view: &View) -> String {
    let until = undo_until(&view.head).map_or_else(String::new, |until| {
        format!(
            " This can be undone in one step until {}.",
            dates::day(when::local_day(until))
        )
    });
    format!(
        "{} {} brought in.{until}",
        capital(&rows(counts.coming())),
        verb(counts.coming(), "was", "were")
    )
}

/// What taking back would do.
pub(in crate::import) fn would_take_back(undo: Option<&Undone>) -> String {
    let Some(undo) = undo else {
        return String::new();
    };
    let mut parts = Vec::new();
    if undo.units > 0 {
        parts.push(format!(
            "{} would leave the register",
            plural(undo.units as u64, "unit", "units")
        ));
    }
    if undo.restored > 0 {
        parts.push(format!(
            "{} would again be as before",
            plural(undo.restored as u64, "unit", "units")
        ));
    }
    if undo.events > 0 {
        parts.push(format!(
            "{} would leave it",
            plural(undo.events as u64, "record", "records")
        ));
    }
    if undo.dates > 0 {
        parts.push(format!(
            "{} would leave the records of duties",
            plural(undo.dates as u64, "date", "dates")
        ));
    }
    if undo.statements > 0 {
        parts.push(format!(
            "{} of times, homes or units would stand no more",
            plural(undo.statements as u64, "statement", "statements")
        ));
    }
    if parts.is_empty() {
        return "It would change nothing.".to_owned();
    }
    capital(&format!("{}.", list(&parts)))
}

/// After taking back, above the heading.
pub(in crate::import) fn taken_back(undone: &Undone) -> String {
    let mut parts = Vec::new();
    if undone.units > 0 {
        parts.push(format!(
            "{} left the register",
            plural(undone.units as u64, "unit", "units")
        ));
    }
    if undone.restored > 0 {
        parts.push(match undone.restored {
            1 => "one unit is again what it was".to_owned(),
            n => format!(
                "{} are again what they were",
                plural(n as u64, "unit", "units")
            ),
        });
    }
    if undone.events > 0 {
        parts.push(format!(
            "{} left it",
            plural(undone.events as u64, "record", "records")
        ));
    }
    if undone.dates > 0 {
        parts.push(format!(
            "{} left the records of duties",
            plural(undone.dates as u64, "date", "dates")
        ));
    }
    if undone.statements > 0 {
        parts.push(format!(
            "{} of times, homes or units {} no more",
            plural(undone.statements as u64, "statement", "statements"),
            if undone.statements == 1 {
                "stands"
            } else {
                "stand"
            }
        ));
    }
    if parts.is_empty() {
        return "The list was taken back; it had changed nothing.".to_owned();
    }
    format!("The list was taken back: {}.", list(&parts))
}

/// The heading of a list that is no longer in preview.
pub(in crate::import) fn done_finding(view: &View) -> String {
    let n = view.preview.counts.coming();
    match view.head.state.as_str() {
        "done" if n == 0 => "The list changed nothing".to_owned(),
        "done" => format!("{} came in", capital(&rows(n))),
        "undone" => "The list was taken back".to_owned(),
        _ => "The list was put away".to_owned(),
    }
}

/// What follows from it.
pub(in crate::import) fn done_standing(view: &View) -> String {
    match view.head.state.as_str() {
        "done" => "Each fact it brought says so, and what stood before stays readable.".to_owned(),
        "undone" => "Nothing of it stands in the register any more. Send it again to bring it in."
            .to_owned(),
        _ => "Nothing of it was stored in the register.".to_owned(),
    }
}

/// "25 November 2026, 07:58, by Ines Harrowby".
pub(in crate::import) fn done_note(view: &View) -> String {
    let at = view
        .head
        .undone_at
        .or(view.head.done_at)
        .unwrap_or(view.head.made_at);
    let at = when::local(at);
    format!(
        "{}, {}; sent by {}",
        dates::day(at.date()),
        at.format("%H:%M"),
        view.sent_by
    )
}

/// What came in, counted.
pub(in crate::import) fn came(preview: &Preview, head: &ImportHead) -> Vec<Row> {
    let counts = preview.counts;
    let units = preview.kind == ListKind::Units;
    let figure = |n: u32| thousands(u64::from(n));
    let mut came = Vec::new();
    if head.state == "done" {
        if counts.new > 0 {
            came.push(
                Row::plain("new", glue(&new_words(preview))).figure(figure(counts.new), "new"),
            );
        }
        if units && counts.changed > 0 {
            let row = Row::plain(
                "changed",
                "Units changed. Each keeps its former value with its date.",
            );
            came.push(
                row.figure(figure(counts.changed), "changed")
                    .why(changes(preview)),
            );
        }
    }
    if counts.same > 0 {
        came.push(
            Row::plain("same", "Rows said what was known already.")
                .figure(figure(counts.same), "the same"),
        );
    }
    if counts.left_out > 0 {
        let row = Row::plain(
            "left-out",
            "Rows were left out by choice. Mend them and send them as a list of their own.",
        );
        let href = format!("/import/{}/to-mend.csv", head.id);
        came.push(
            row.figure(figure(counts.left_out), "left out")
                .verb(Verb::link("Download these rows, with what is wrong", href)),
        );
    }
    came
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_taken_back_is_counted() {
        let plain = |t: String| t.replace('\u{a0}', " ");
        let undone = Undone {
            units: 35,
            restored: 1,
            events: 0,
            dates: 0,
            statements: 0,
        };
        assert_eq!(
            plain(taken_back(&undone)),
            "The list was taken back: 35 units left the register and one unit is again what it was."
        );
        let times = Undone {
            statements: 2,
            ..Undone::default()
        };
        assert_eq!(
            plain(taken_back(&times)),
            "The list was taken back: 2 statements of times, homes or units stand no more."
        );
        assert_eq!(
            plain(would_take_back(Some(&times))),
            "2 statements of times, homes or units would stand no more."
        );
        assert_eq!(
            taken_back(&Undone::default()),
            "The list was taken back; it had changed nothing."
        );
    }
}
