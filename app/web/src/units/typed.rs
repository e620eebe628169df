//! What was typed about a unit, read into values; dates may be a year or a month.
use chrono::{Datelike, Months, NaiveDate};
use usecases::register::UnitFacts;

use crate::form::Typed;

/// The days a typed date may mean: "2011", "03/2012", "2012-03" or a day.
fn days_meant(text: &str) -> Option<(NaiveDate, NaiveDate)> {
    let text = text.trim();
    let month = |year: i32, month: u32| {
        let first = NaiveDate::from_ymd_opt(year, month, 1)?;
        Some((first, first.checked_add_months(Months::new(1))?.pred_opt()?))
    };
    if let Ok(year) = text.parse::<i32>() {
        return (1900..=2100).contains(&year).then(|| {
            let first = NaiveDate::from_ymd_opt(year, 1, 1)?;
            Some((first, NaiveDate::from_ymd_opt(year, 12, 31)?))
        })?;
    }
    let parts: Vec<&str> = text.split(['/', '-', '.']).collect();
    if let [a, b] = parts.as_slice() {
        let (a, b): (u32, u32) = (a.parse().ok()?, b.parse().ok()?);
        return if a > 12 {
            month(i32::try_from(a).ok()?, b)
        } else {
            month(i32::try_from(b).ok()?, a)
        };
    }
    let day = ["%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y", "%d %B %Y"]
        .iter()
        .find_map(|format| NaiveDate::parse_from_str(text, format).ok())?;
    Some((day, day))
}

fn installed(form: &mut Typed, today: NaiveDate) -> Option<(NaiveDate, NaiveDate)> {
    let mut read = |field: &str| {
        let typed = form.value(field).trim().to_owned();
        if typed.is_empty() {
            return None;
        }
        let days = days_meant(&typed).filter(|(first, _)| first.year() >= 1900);
        if days.is_none() {
            form.complain(
                field,
                format!(
                    "“{typed}” is not a year, a month such as 03/2012 or a day such as 25/11/2026."
                ),
            );
        }
        days
    };
    let (from, until) = (read("fitted"), read("fitted_until"));
    // A year or month still running ends today.
    let ends = |first: NaiveDate, last: NaiveDate| {
        if first <= today {
            last.min(today)
        } else {
            last
        }
    };
    let (first, last) = from?;
    let last = until.map_or(last, |(_, last)| last);
    Some((first, ends(first, last)))
}

/// What the form says of a unit.
pub(super) fn read_facts(form: &mut Typed, today: NaiveDate) -> UnitFacts {
    let yes_no = |text: &str| match text {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    };
    UnitFacts {
        kind: form.value("kind").to_owned(),
        serial: form.value("serial").trim().to_owned(),
        installed: installed(form, today),
        rated_kw: form.number("rated_kw", 0.1, 5000.0),
        litres: form.number("litres", 0.1, 100_000.0),
        filter_fitted: yes_no(form.value("filter")),
        reducer_fitted: yes_no(form.value("reducer")),
        warranty_until: form.date("warranty"),
        note: form.value("note").trim().to_owned(),
    }
}
