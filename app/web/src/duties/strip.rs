//! Twelve months of windows of one duty in one building.
use chrono::{Months, NaiveDate};
use usecases::duties::{DutyLine, Standing};
use wording::Drawing;
use wording::drawings::year_strip::{StripRow, Window, YearStrip};
use wording::sentences::{dates, plural};

use super::rows::{inside, record};
use crate::when;

/// Lines drawn at most; the list has the rest.
const MOST: usize = 40;

/// The strip of `lines`, which are of one rule and one building, soonest first.
pub(super) fn draw(lines: &[&DutyLine], today: NaiveDate) -> Option<(Drawing, String)> {
    let first = lines.first()?;
    let first_month = today.checked_sub_months(Months::new(2)).unwrap_or(today);
    let last_month = first_month
        .checked_add_months(Months::new(12))
        .unwrap_or(today);
    let rows: Vec<StripRow> = lines
        .iter()
        .filter(|line| {
            line.window
                .is_some_and(|w| w.first.unwrap_or(w.deadline) < last_month)
        })
        .take(MOST)
        .map(|line| strip_row(line, first_month))
        .collect();
    let note = format!(
        "{}, windows of {}",
        first.building_name,
        inside(&first.rule.name)
    );
    if rows.is_empty() {
        return None;
    }
    let late = lines
        .iter()
        .filter(|l| matches!(l.standing, Standing::Late { .. }))
        .count();
    let finding = match late {
        0 => format!(
            "No {} of {} is late.",
            inside(&first.rule.name),
            first.building_name
        ),
        n => format!(
            "{} of {} past the day.",
            plural(n as u64, "line", "lines"),
            plural(lines.len() as u64, "line", "lines")
        ),
    };
    let strip = YearStrip {
        id: "year".to_owned(),
        title: note.clone(),
        finding,
        today,
        first_month,
        rows,
    };
    Some((strip.draw(), note))
}

fn strip_row(line: &DutyLine, from: NaiveDate) -> StripRow {
    let mut windows = Vec::new();
    let done = line.last_done.as_ref();
    if let Some((on, counted)) = done.and_then(|c| Some((c.done_on?, c.treated_as?)))
        && on >= from
    {
        let span = usecases::duties::dates::window(&line.rule, counted);
        windows.push(Window {
            opens: span.first.unwrap_or(on).min(on),
            deadline: span.last.max(on),
            booked: None,
            no_access: Vec::new(),
            done: Some(on),
        });
    }
    if let Some(span) = line.window {
        windows.push(Window {
            opens: span.first.unwrap_or(span.deadline),
            deadline: span.last,
            booked: line.booked().map(when::local_day),
            no_access: line
                .attempts
                .iter()
                .map(|at| when::local_day(*at))
                .collect(),
            done: None,
        });
    }
    StripRow {
        name: if line.space_name.is_empty() {
            "The building".to_owned()
        } else {
            line.space_name.clone()
        },
        href: record(line),
        group: String::new(),
        words: words(line),
        windows,
    }
}

fn words(line: &DutyLine) -> String {
    let by = line
        .last_day()
        .map(|day| format!("by {}", dates::day_brief(day)))
        .unwrap_or_default();
    let tries = match line.attempts.len() {
        0 => String::new(),
        1 => "; no access once".to_owned(),
        n => format!("; no access {n} times"),
    };
    match (line.standing, line.booked()) {
        (Standing::Late { days }, _) => format!(
            "late by {}{tries}",
            plural(days.unsigned_abs(), "day", "days")
        ),
        (_, Some(at)) => format!("{by}; booked {}", dates::day_brief(when::local_day(at))),
        _ => format!("{by}{tries}"),
    }
}
