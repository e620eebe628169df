//! What a list would do, before it comes in.
use terms::money::thousands;
use usecases::import::{ListKind, Preview};
use wording::sentences::{capital, list, number_word};
use wording::{Row, Urgency, Why};

use super::{rows, verb};

/// "42 of 48 rows are ready; six need a word from you".
pub(in crate::import) fn preview_finding(preview: &Preview) -> String {
    let counts = preview.counts;
    let ready = counts.coming() + counts.same;
    if counts.held == 0 {
        return match (counts.coming(), counts.left_out) {
            (0, 0) => format!("All {} say what is known already", rows(preview.rows)),
            (0, _) => "Nothing of this list would come in".to_owned(),
            (n, 0) if n == preview.rows => format!("All {} are ready", rows(n)),
            (n, _) => format!("{} {} ready", capital(&rows(n)), verb(n, "is", "are")),
        };
    }
    format!(
        "{ready} of {} {} ready; {} {} a word from you",
        rows(preview.rows),
        verb(ready, "is", "are"),
        number_word(u64::from(counts.held)),
        verb(counts.held, "needs", "need"),
    )
}

/// What follows.
pub(in crate::import) fn preview_standing(preview: &Preview) -> String {
    let lacking: Vec<&str> = preview.missing.iter().map(|f| f.label()).collect();
    if !lacking.is_empty() {
        return format!(
            "No column holds {}: go back to the columns and choose one.",
            list(&lacking)
        );
    }
    match preview.kind {
        ListKind::Units => {
            "Nothing is overwritten without showing you the old and the new.".to_owned()
        }
        ListKind::History => "What happened is added; nothing is overwritten.".to_owned(),
        ListKind::Records => {
            "Times are added to those that stand; nothing is overwritten.".to_owned()
        }
    }
}

/// The counts as sentences.
pub(in crate::import) fn effect(preview: &Preview) -> Vec<Row> {
    let counts = preview.counts;
    let units = preview.kind == ListKind::Units;
    let mut effect = Vec::new();
    let mut count = |id: &str, n: u32, small: &str, sentence: String| {
        effect.push(Row::plain(id, sentence).figure(thousands(u64::from(n)), small));
    };
    count("new", counts.new, "new", new_words(preview));
    if units {
        let sentence = match counts.changed {
            0 => "No unit on the register would change.".to_owned(),
            _ => "Units where something differs. Empty cells erase nothing.".to_owned(),
        };
        count("changed", counts.changed, "changed", sentence);
    }
    count(
        "same",
        counts.same,
        "the same",
        "Rows that say what is known already.".to_owned(),
    );
    if counts.held > 0 {
        let sentence = "Rows that cannot be placed until you say how.";
        count("held", counts.held, "held back", sentence.to_owned());
    }
    if counts.left_out > 0 {
        count(
            "left-out",
            counts.left_out,
            "left out",
            "Rows left out by your choice.".to_owned(),
        );
    }
    for row in &mut effect {
        if row.id == "held" {
            row.urgency = Urgency::Soon;
        }
        if row.id == "changed" && !preview.changes.is_empty() {
            row.why = Some(changes(preview));
        }
    }
    effect
}

pub(super) fn new_words(preview: &Preview) -> String {
    let doubts = preview.doubts;
    let mut sentence = match preview.kind {
        ListKind::Units => "Units that are new to the register.".to_owned(),
        ListKind::History => "Records that are new to the register.".to_owned(),
        ListKind::Records => {
            "Times of records that are new to the register. Only in its times would a failure of a thing have been seen."
                .to_owned()
        }
    };
    let mut add = |n: u32, one: &str, many: &str| {
        if n > 0 {
            sentence.push(' ');
            sentence.push_str(&match n {
                1 => one.to_owned(),
                n => many.replace("{}", &thousands(u64::from(n))),
            });
        }
    };
    add(
        doubts.fitted_unknown,
        "One comes in with its fitting date unknown; its forecast is wider.",
        "{} of them come in with their fitting date unknown; their forecasts are wider.",
    );
    add(
        doubts.fitted_range,
        "One has a range for its fitting date, and the doubt is kept.",
        "{} of them have a range for their fitting date, and the doubt is kept.",
    );
    add(
        doubts.before_watch,
        "One failure lies before the day since which its unit is watched: it is kept, and no forecast counts it.",
        "{} failures lie before the day since which their unit is watched: they are kept, and no forecast counts them.",
    );
    add(
        doubts.counted,
        "One failure of no known day is counted in it.",
        "{} failures of no known day are counted in them.",
    );
    add(
        doubts.goes_on,
        "One unit’s own watch until now goes on beside them.",
        "{} units’ own watch until now goes on beside them.",
    );
    add(
        doubts.dated,
        "One date enters the record of its duty, and the next deadline follows from it.",
        "{} dates enter the records of their duties, and the next deadlines follow from them.",
    );
    add(
        doubts.undated,
        "One check or service has no day of its own: it is kept, and meets no duty.",
        "{} checks and services have no day of their own: they are kept, and meet no duty.",
    );
    add(
        doubts.overtaken,
        "One check or service lies before what the register holds of its duty: it is kept, and moves no date.",
        "{} checks and services lie before what the register holds of their duties: they are kept, and move no date.",
    );
    add(
        doubts.emptied,
        "One cell is taken as empty by your choice; what stood there goes into the words.",
        "{} cells are taken as empty by your choice; what stood there goes into the words.",
    );
    sentence
}

pub(super) fn changes(preview: &Preview) -> Why {
    let said = |text: &str| {
        if text.is_empty() {
            "nothing".to_owned()
        } else {
            format!("“{text}”")
        }
    };
    let mut paragraphs: Vec<String> = preview
        .changes
        .iter()
        .take(40)
        .map(|c| {
            format!(
                "Row {}, {}: {} was {}, the list says {}.",
                c.row,
                c.unit,
                c.field.label().to_lowercase(),
                said(&c.old),
                said(&c.new)
            )
        })
        .collect();
    let more = preview.changes.len().saturating_sub(40);
    if more > 0 {
        paragraphs.push(format!("And {more} more."));
    }
    Why {
        question: "See old and new".to_owned(),
        paragraphs,
        more: None,
    }
}

/// "Leave the 60 rows out that need a word".
pub(in crate::import) fn leave_rest(preview: &Preview) -> String {
    match preview.counts.held {
        0 => String::new(),
        1 => "Leave out the one row that needs a word".to_owned(),
        n => format!("Leave out all {} that need a word", rows(n)),
    }
}

/// What bringing in would do, or what stands in the way.
pub(in crate::import) fn coming(preview: &Preview) -> String {
    let counts = preview.counts;
    if !preview.ready {
        return "All rows that are ready come in together, once each cause above is settled and every question answered. Until then nothing comes in."
            .to_owned();
    }
    match (counts.coming(), counts.left_out) {
        (0, _) => "There is nothing to bring in: the register says all of this already, or it is left out.".to_owned(),
        (n, 0) => format!("{} can come in now.", capital(&rows(n))),
        (n, out) => format!("{} can come in now; {} {} left out.", capital(&rows(n)), rows(out), verb(out, "is", "are")),
    }
}
