//! The columns of a list: which found their place, and how its dates are to be read.
use chrono::NaiveDate;
use usecases::import::{Column, DateCell, How, Order, Preview, read_date};
use wording::sentences::{capital, counted, dates, list, number_word, plural};
use wording::{Row, Urgency, Verb};

use super::rows;
use crate::form::fresh_once;

/// "48 rows, 6 columns".
pub(in crate::import) fn size(preview: &Preview) -> String {
    format!(
        "{}, {}",
        rows(preview.rows),
        plural(preview.columns.len() as u64, "column", "columns")
    )
}

/// "Five of your six columns found their place".
pub(in crate::import) fn columns_finding(preview: &Preview) -> String {
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
        number_word(found),
        counted(all, "column", "columns"),
        if found == 1 { "its" } else { "their" }
    ))
}

/// What is to be done on the page of columns.
pub(in crate::import) fn columns_standing(preview: &Preview) -> String {
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
pub(in crate::import) fn how(column: &Column) -> &'static str {
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
pub(in crate::import) fn both_ways(example: &str) -> (String, String) {
    let reference = NaiveDate::from_ymd_opt(2100, 1, 1).unwrap_or(NaiveDate::MIN);
    let read = |order| match read_date(example, order, reference) {
        DateCell::Read(span) => dates::day(span.from),
        _ => example.to_owned(),
    };
    (read(Order::DayFirst), read(Order::MonthFirst))
}

/// "Day first. 41 other dates can only be read this way."
pub(in crate::import) fn only_so(lead: &str, others: u32) -> String {
    match others {
        0 => lead.to_owned(),
        1 => format!("{lead} One other date can only be read this way."),
        n => format!(
            "{lead} {} can only be read this way.",
            plural(u64::from(n), "other date", "other dates")
        ),
    }
}

/// The columns whose dates can be read both ways.
pub(in crate::import) fn asked(preview: &Preview, id: &str) -> Vec<Row> {
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
}
