//! Why a job has no day.
use serde::{Deserialize, Serialize};

use super::tables::{Tables, first_start};

/// The first thing that stands in the way of a job, in the order in which a person would look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LeftOut {
    /// Nobody who serves the building holds the qualifications.
    NobodyQualified,
    /// No day of its window is one of its weekdays.
    NoWeekday,
    /// Heat goes off, and its window lies inside the heating season.
    HeatingSeason,
    /// Nobody able works on any of its days.
    NobodyWorks,
    /// The visit is longer than any shift with the way there and back.
    TooLong,
    /// Its access, daylight or promised minute never meets a shift.
    NoAccess,
    /// It takes two, and two are never there.
    NoPair,
    /// It could be done; all room is taken by other jobs, or it costs more than leaving it out.
    NoRoom,
}

/// Why `job` is left out.
pub fn why(tables: &Tables<'_>, job: usize) -> LeftOut {
    let card = &tables.problem.jobs[job];
    let able = if card.crew == 2 && !tables.leads[job].is_empty() {
        &tables.serves[card.building]
    } else {
        &tables.leads[job]
    };
    if able.is_empty() {
        return LeftOut::NobodyQualified;
    }
    if tables.open[job].is_empty() {
        let weekday = |d: &i32| {
            let weekday = (tables.problem.weekday0 + d) % 7;
            card.weekdays.as_ref().is_none_or(|w| w.contains(&weekday))
        };
        let mut window = card.earliest.max(0)..=card.latest.min(tables.problem.days - 1);
        let any = window.any(|d| weekday(&d));
        return if any && card.heat_off {
            LeftOut::HeatingSeason
        } else {
            LeftOut::NoWeekday
        };
    }
    let length = tables.length(&[job]);
    let place = tables.place(job);
    let (mut works, mut long_enough, mut fits) = (false, false, false);
    for &day in &tables.open[job] {
        let starts = tables.starts(&[job], day as usize);
        for &engineer in able {
            let Some(shift) = tables.shifts[tables.round(engineer, day as usize)] else {
                continue;
            };
            works = true;
            let way = tables.way(tables.problem.engineers[engineer].base, place);
            let until = shift[1] - way - length;
            long_enough |= shift[0] + way <= until;
            let start = starts.as_ref().and_then(|s| first_start(s, shift[0] + way));
            fits |= start.is_some_and(|s| s <= until);
        }
    }
    match (works, long_enough, fits) {
        (false, ..) => LeftOut::NobodyWorks,
        (_, false, _) => LeftOut::TooLong,
        (_, _, false) => LeftOut::NoAccess,
        _ if super::visits::bundle(tables, vec![job]).is_none() => LeftOut::NoPair,
        _ => LeftOut::NoRoom,
    }
}
