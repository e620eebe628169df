//! Twelve months of one building's visits: the days each may be made on, and the day it has.
use chrono::{Months, NaiveDate};
use terms::BuildingId;
use usecases::plan::{PlannedVisit, Rounds};
use wording::drawings::year_strip::{StripRow, Window, YearStrip};
use wording::sentences::{dates, plural};
use wording::{Drawing, Link};

/// Lines drawn at a time.
const MOST: usize = 40;

/// A page of the strip.
pub(super) struct Strip {
    pub drawing: Drawing,
    pub note: String,
    /// Which page, from 1, and how many there are.
    page: (usize, usize),
}

impl Strip {
    /// The pages before and after.
    pub fn turns(&self, (from, building): (NaiveDate, BuildingId)) -> Vec<Link> {
        let (page, pages) = self.page;
        let to = |words: String, page: usize| {
            let from = dates::machine(from);
            let href = format!("/rounds?from={from}&building={building}&visits={page}#the-year");
            Link::new(words, href)
        };
        let before = (page > 1).then(|| to(format!("The {MOST} visits before"), page - 1));
        let after = (page < pages).then(|| to("The visits after these".to_owned(), page + 1));
        before.into_iter().chain(after).collect()
    }
}

/// The strip of a building, so many of its visits at a time, in the order of their days.
pub(super) fn draw(rounds: &Rounds, building: BuildingId, page: usize) -> Option<Strip> {
    let mut visits: Vec<&PlannedVisit> = rounds
        .visits
        .iter()
        .filter(|v| v.unit.building == building)
        .collect();
    visits.sort_by_key(|v| (v.row.on_day.is_none(), v.row.on_day, v.row.deadline));
    let first = visits.first()?;
    let name = first.unit.building_name.clone();
    let none = visits.iter().filter(|v| v.row.on_day.is_none()).count() as u64;
    let (count, pages) = (visits.len(), visits.len().div_ceil(MOST));
    let page = page.clamp(1, pages);
    let begins = (page - 1) * MOST;
    let note = if pages > 1 {
        let ends = (begins + MOST).min(count);
        format!("{name}, visits {} to {ends} of {count}", begins + 1)
    } else {
        format!("{name}, windows and placed days")
    };
    let finding = match none {
        0 => format!("Every visit of {name} has a day."),
        n => format!("{} of {name} found no day.", plural(n, "visit", "visits")),
    };
    let month_before = rounds.today.checked_sub_months(Months::new(1));
    let shown = visits.into_iter().skip(begins).take(MOST);
    let strip = YearStrip {
        id: "year".to_owned(),
        title: note.clone(),
        finding,
        today: rounds.today,
        first_month: month_before.unwrap_or(rounds.today),
        rows: shown.map(row).collect(),
    };
    Some(Strip {
        drawing: strip.draw(),
        note,
        page: (page, pages),
    })
}

fn row(visit: &PlannedVisit) -> StripRow {
    let by = dates::day_brief(visit.row.deadline);
    let words = match visit.row.on_day {
        Some(day) => format!("placed {}, by {by}", dates::day_brief(day)),
        None => format!("no day yet, by {by}"),
    };
    StripRow {
        name: visit.unit.space_name.clone(),
        href: format!("/duties/{}", visit.unit.id),
        group: String::new(),
        words,
        windows: vec![Window {
            booked: visit.row.on_day,
            ..Window::open(visit.row.window_first, visit.row.deadline)
        }],
    }
}
