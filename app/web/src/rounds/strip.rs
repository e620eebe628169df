//! Twelve months of one building's visits: the days each may be made on, and the day it has.
use chrono::Months;
use terms::BuildingId;
use usecases::plan::{PlannedVisit, Rounds};
use wording::Drawing;
use wording::drawings::year_strip::{StripRow, Window, YearStrip};
use wording::sentences::{dates, plural};

/// Lines drawn at most.
const MOST: usize = 40;

/// The strip of a building.
pub(super) fn draw(rounds: &Rounds, building: BuildingId) -> Option<(Drawing, String)> {
    let mut visits: Vec<&PlannedVisit> = rounds
        .visits
        .iter()
        .filter(|v| v.unit.building == building)
        .collect();
    visits.sort_by_key(|v| (v.row.on_day.is_none(), v.row.on_day, v.row.deadline));
    let first = visits.first()?;
    let name = first.unit.building_name.clone();
    let none = visits.iter().filter(|v| v.row.on_day.is_none()).count() as u64;
    let note = if visits.len() > MOST {
        format!("{name}, the first {MOST} of {} visits", visits.len())
    } else {
        format!("{name}, windows and placed days")
    };
    let finding = match none {
        0 => format!("Every visit of {name} has a day."),
        n => format!("{} of {name} found no day.", plural(n, "visit", "visits")),
    };
    let month_before = rounds.today.checked_sub_months(Months::new(1));
    let strip = YearStrip {
        id: "year".to_owned(),
        title: note.clone(),
        finding,
        today: rounds.today,
        first_month: month_before.unwrap_or(rounds.today),
        rows: visits.into_iter().take(MOST).map(row).collect(),
    };
    Some((strip.draw(), note))
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
