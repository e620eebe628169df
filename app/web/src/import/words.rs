//! The sentences of bringing in a list, made from what the preview counted.
use chrono::NaiveDate;
use usecases::import::{
    Cause, Code, Column, Counts, DateCell, Field, How, ImportHead, ListKind, Order, Preview,
    Undone, View, read_date,
};
use wording::sentences::{capital, counted, dates, glue, list, plural};
use wording::{Link, Row, Urgency, Verb, Why};

use crate::form::fresh_once;
use crate::when;

/// "a list of units".
pub(super) fn kind(kind: ListKind) -> &'static str {
    match kind {
        ListKind::Units => "a list of units",
        ListKind::History => "a history",
    }
}

fn rows(n: u32) -> String {
    plural(u64::from(n), "row", "rows")
}

fn verb(n: u32, one: &'static str, many: &'static str) -> &'static str {
    if n == 1 { one } else { many }
}

/// What a column of this sort may hold, on the page a list is sent from.
pub(super) fn expected(field: Field) -> &'static str {
    match field {
        Field::Building => "name or code; not needed where there is one building",
        Field::Space => "“14”, “Flat 14”, “Plant room”",
        Field::Kind => "“combi”, “HIU”, “thermal store” and the like",
        Field::Number => "the number on the label, where there is one",
        Field::Serial => "as on the plate",
        Field::Fitted => "a day, month, year, “2005-2010”, “about 2012”, “2009?”, “unknown”",
        Field::RatedKw => "a number",
        Field::Litres => "a number, for units that store water",
        Field::Filter | Field::Reducer | Field::FoundAtService => "yes, no or nothing",
        Field::WarrantyUntil => "its last day",
        Field::WatchedFrom => {
            "since when every failure of this unit was written down; without it, from today"
        }
        Field::Note | Field::Words => "free words; no names of residents",
        Field::Date => "a day, month, year or range",
        Field::What => "failure, no fault found, service, check, repair or part",
        Field::Part => "“pump”, “diverter valve”, as the kind of unit has them",
        Field::FunctionLost => "heating, hot water, both, leak, noise, other",
        Field::Cost => "pounds with VAT: 1,250.00",
        Field::SameAs => "the same mark on rows that are one failure",
    }
}

/// "brought in on 25 November 2026".
pub(super) fn standing_of(head: &ImportHead) -> String {
    let day = |at| dates::day(when::local_day(at));
    match (head.state.as_str(), head.done_at, head.undone_at) {
        ("done", Some(at), _) => format!("brought in on {}", day(at)),
        ("undone", _, Some(at)) => format!("taken back on {}", day(at)),
        ("dropped", ..) => format!("sent on {} and put away", day(head.made_at)),
        _ => format!("sent on {}; not brought in yet", day(head.made_at)),
    }
}

/// "48 rows, 6 columns".
pub(super) fn size(preview: &Preview) -> String {
    format!(
        "{}, {}",
        rows(preview.rows),
        plural(preview.columns.len() as u64, "column", "columns")
    )
}

/// "Five of your six columns found their place".
pub(super) fn columns_finding(preview: &Preview) -> String {
    let all = preview.columns.len() as u64;
    let found = preview.columns.iter().filter(|c| c.field.is_some()).count() as u64;
    if found == all {
        return match all {
            1 => "Your one column found its place".to_owned(),
            _ => format!(
                "All your {} found their place",
                counted(all, "column", "columns")
            ),
        };
    }
    capital(&format!(
        "{} of your {} found {} place",
        wording::sentences::number_word(found),
        counted(all, "column", "columns"),
        if found == 1 { "its" } else { "their" }
    ))
}

/// What is to be done on the page of columns.
pub(super) fn columns_standing(preview: &Preview) -> String {
    let lacking: Vec<&str> = preview.missing.iter().map(|f| f.label()).collect();
    if !lacking.is_empty() {
        return format!(
            "Choose the column that holds {}; without it no row can be read.",
            list(&lacking)
        );
    }
    if preview
        .columns
        .iter()
        .filter_map(|c| c.dates.as_ref())
        .any(|d| d.asks)
    {
        return "Check them, and say which way round the dates are.".to_owned();
    }
    "Check them; nothing is stored yet.".to_owned()
}

/// How a column found its field.
pub(super) fn how(column: &Column) -> &'static str {
    if column.dates.as_ref().is_some_and(|d| d.asks) {
        return "day first or month first? see below";
    }
    match column.how {
        How::Chosen => "chosen by you",
        How::Name => "matched by name",
        How::Remembered => "as the last time",
        How::Shape => "matched by shape",
        How::LeftOut => "not read",
    }
}

/// A date both ways round: "3 April 2026", "4 March 2026".
pub(super) fn both_ways(example: &str) -> (String, String) {
    let reference = NaiveDate::from_ymd_opt(2100, 1, 1).unwrap_or(NaiveDate::MIN);
    let read = |order| match read_date(example, order, reference) {
        DateCell::Read(span) => dates::day(span.from),
        _ => example.to_owned(),
    };
    (read(Order::DayFirst), read(Order::MonthFirst))
}

/// "Day first. 41 other dates can only be read this way."
pub(super) fn only_so(lead: &str, others: u32) -> String {
    match others {
        0 => lead.to_owned(),
        1 => format!("{lead} One other date can only be read this way."),
        n => format!(
            "{lead} {} can only be read this way.",
            plural(u64::from(n), "other date", "other dates")
        ),
    }
}

/// "42 of 48 rows are ready; six need a word from you".
pub(super) fn preview_finding(preview: &Preview) -> String {
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
        wording::sentences::number_word(u64::from(counts.held)),
        verb(counts.held, "needs", "need"),
    )
}

/// What follows.
pub(super) fn preview_standing(preview: &Preview) -> String {
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
    }
}

/// The counts as sentences.
pub(super) fn effect(preview: &Preview) -> Vec<Row> {
    let counts = preview.counts;
    let units = preview.kind == ListKind::Units;
    let mut effect = Vec::new();
    let mut count = |id: &str, n: u32, small: &str, sentence: String| {
        effect.push(Row::plain(id, sentence).figure(terms::money::thousands(u64::from(n)), small));
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

fn new_words(preview: &Preview) -> String {
    let doubts = preview.doubts;
    let mut sentence = match preview.kind {
        ListKind::Units => "Units that are new to the register.".to_owned(),
        ListKind::History => "Records that are new to the register.".to_owned(),
    };
    let mut add = |n: u32, one: &str, many: &str| {
        if n > 0 {
            sentence.push(' ');
            sentence.push_str(&match n {
                1 => one.to_owned(),
                n => many.replace("{}", &terms::money::thousands(u64::from(n))),
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
        doubts.emptied,
        "One cell is taken as empty by your choice; what stood there goes into the words.",
        "{} cells are taken as empty by your choice; what stood there goes into the words.",
    );
    sentence
}

fn changes(preview: &Preview) -> Why {
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

/// The columns whose dates can be read both ways.
pub(super) fn asked(preview: &Preview, id: &str) -> Vec<Row> {
    preview
        .columns
        .iter()
        .enumerate()
        .filter_map(|(place, column)| {
            let column_dates = column.dates.as_ref().filter(|d| d.asks)?;
            let (day, month) = both_ways(&column_dates.example);
            let say = |label: String, order: &str| {
                let fields = vec![
                    ("once".to_owned(), fresh_once()),
                    ("place".to_owned(), place.to_string()),
                    ("order".to_owned(), order.to_owned()),
                ];
                Verb::post(label, format!("/import/{id}/dates"), fields)
            };
            let row = Row::plain(
                format!("dates-{place}"),
                format!(
                    "In “{}”, {} may be {day} or {month}. The whole column is read one way.",
                    column.heading, column_dates.example
                ),
            );
            Some(
                row.urgency(Urgency::Soon)
                    .verb(say(format!("It is {day}"), "day_first"))
                    .verb(say(format!("It is {month}"), "month_first"))
                    .figure(column.heading.clone(), "column"),
            )
        })
        .collect()
}

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
pub(super) fn cause(n: usize, cause: &Cause, preview: &Preview, id: &str) -> Row {
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
            usecases::import::Remedy::LeaveOut => "These rows are left out by your choice.",
            usecases::import::Remedy::TakeAsEmpty => {
                "These cells are taken as empty by your choice; what stood there goes into the words."
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

/// "Leave the 60 rows out that need a word".
pub(super) fn leave_rest(preview: &Preview) -> String {
    match preview.counts.held {
        0 => String::new(),
        1 => "Leave out the one row that needs a word".to_owned(),
        n => format!("Leave out all {} that need a word", rows(n)),
    }
}

/// What bringing in would do, or what stands in the way.
pub(super) fn coming(preview: &Preview) -> String {
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

/// After bringing in, above the heading.
pub(super) fn brought_in(counts: Counts, view: &View) -> String {
    let until = usecases::import::undo_until(&view.head).map_or_else(String::new, |until| {
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

/// After taking back, above the heading.
pub(super) fn taken_back(undone: &Undone) -> String {
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
    if parts.is_empty() {
        return "The list was taken back; it had changed nothing.".to_owned();
    }
    format!("The list was taken back: {}.", list(&parts))
}

/// The heading of a list that is no longer in preview.
pub(super) fn done_finding(view: &View) -> String {
    let n = view.preview.counts.coming();
    match view.head.state.as_str() {
        "done" if n == 0 => "The list changed nothing".to_owned(),
        "done" => format!("{} came in", capital(&rows(n))),
        "undone" => "The list was taken back".to_owned(),
        _ => "The list was put away".to_owned(),
    }
}

/// What follows from it.
pub(super) fn done_standing(view: &View) -> String {
    match view.head.state.as_str() {
        "done" => "Each fact it brought says so, and what stood before stays readable.".to_owned(),
        "undone" => "Nothing of it stands in the register any more. Send it again to bring it in."
            .to_owned(),
        _ => "Nothing of it was stored in the register.".to_owned(),
    }
}

/// "25 November 2026, 07:58, by Ines Harrowby".
pub(super) fn done_note(view: &View) -> String {
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
pub(super) fn came(preview: &Preview, head: &ImportHead) -> Vec<Row> {
    let counts = preview.counts;
    let units = preview.kind == ListKind::Units;
    let figure = |n: u32| terms::money::thousands(u64::from(n));
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
    fn dates_are_told_both_ways() {
        let plain = |t: String| t.replace('\u{a0}', " ");
        let (day, month) = both_ways("03/04/2026");
        assert_eq!(
            (plain(day), plain(month)),
            ("3 April 2026".to_owned(), "4 March 2026".to_owned())
        );
    }

    #[test]
    fn what_was_taken_back_is_counted() {
        let plain = |t: String| t.replace('\u{a0}', " ");
        let undone = Undone {
            units: 35,
            restored: 1,
            events: 0,
        };
        assert_eq!(
            plain(taken_back(&undone)),
            "The list was taken back: 35 units left the register and one unit is again what it was."
        );
        assert_eq!(
            taken_back(&Undone::default()),
            "The list was taken back; it had changed nothing."
        );
    }
}
