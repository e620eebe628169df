//! Why a visit stands on its day, in sentences that hold for this visit alone; the fullest week; what is late.
use terms::FirmId;
use usecases::plan::{Because, PlannedVisit, Rounds, WeekLoad};
use wording::sentences::{capital, counted, dates, list, plural};
use wording::{Link, Row, Urgency, Why};

use super::days::{place, what};

/// Late visits said one by one.
const SAID: usize = 20;

/// The reasons, one paragraph.
pub(super) fn sentences(rounds: &Rounds, visit: &PlannedVisit) -> String {
    let days = format!(
        "Its days run from {} to {}.",
        dates::day(visit.row.window_first),
        dates::day(visit.row.deadline)
    );
    let said = visit
        .because
        .iter()
        .map(|reason| sentence(rounds, visit, reason));
    let said: Vec<String> = std::iter::once(days).chain(said).collect();
    said.join(" ")
}

fn sentence(rounds: &Rounds, visit: &PlannedVisit, reason: &Because) -> String {
    match reason {
        Because::Promised => "It is a job with a day, and a promise stays where it is.".to_owned(),
        Because::Pinned => "A person pinned it here.".to_owned(),
        Because::Late(days) => format!(
            "It is late by {}, so it is caught up before what is in time.",
            plural((*days).max(0) as u64, "day", "days")
        ),
        Because::NoEvidence => {
            "Nobody can show when it was last done, so it is caught up before what is in time.".to_owned()
        }
        Because::SameFlat(units) => format!(
            "It is one visit with {} in the same flat: one ring at the door.",
            list(units)
        ),
        Because::Company(n) => format!(
            "The engineer makes {} in this building that day, so nobody travels for it alone.",
            counted(*n as u64, "other visit", "other visits")
        ),
        Because::OutsideSeason => {
            "Heat goes off while it is done, so it lies outside the heating season, 1 October to 31 March.".to_owned()
        }
        Because::SeasonForced => format!(
            "Heat goes off while it is done, inside the heating season all the same: its last day, {}, leaves no other.",
            dates::day(visit.row.deadline)
        ),
        Because::SeasonPromised => {
            "Heat goes off while it is done, inside the heating season all the same: that day is promised, and a promise \
             stays where it is."
                .to_owned()
        }
        Because::SeasonPinned => {
            "Heat goes off while it is done, inside the heating season all the same: a person pinned it to that day."
                .to_owned()
        }
        Because::SeasonPressed => {
            "Heat goes off while it is done, inside the heating season all the same: it cannot wait until spring.".to_owned()
        }
        Because::Two(second) => format!(
            "It takes two: {} comes along.",
            rounds.names.engineer(*second)
        ),
        Because::Daylight => "It is work outside, so it lies in daylight.".to_owned(),
        Because::Riskier(expected, middle) => riskier(*expected, *middle),
        Because::Early => "It stands in the first week it can be done.".to_owned(),
        Because::AtTheEnd => "It stands in the last week of its days: later it would be late.".to_owned(),
        Because::FullBefore(load) => format!(
            "Before that, the week of {} is full: {}.",
            dates::day(load.week),
            of_hours(rounds, load)
        ),
        Because::Held(day, why) => format!(
            "Nobody was to come before {}: {}.",
            dates::day(*day),
            why.trim_end_matches('.')
        ),
        Because::Again(nth) => format!(
            "It falls due again: this is visit number {nth} for it within these twelve months. Its days move with the visit before \
             it, so it is offered once that one is made."
        ),
        Because::Access => "It lies within the hours at which somebody opens there.".to_owned(),
    }
}

/// Failures of two units in so many years as tell them apart.
fn riskier(expected: f64, middle: f64) -> String {
    let apart = |years: &f64| (expected * years).round() > (middle * years).round();
    let years = [10.0, 100.0].into_iter().find(apart).unwrap_or(1_000.0);
    let times = |a_year: f64| counted((a_year * years).round() as u64, "time", "times");
    format!(
        "It is expected to fail about {} in {years} years like the next, where half the units fail about {} or less often, so it \
         comes early in its days.",
        times(expected),
        times(middle)
    )
}

fn of_hours(rounds: &Rounds, load: &WeekLoad) -> String {
    format!(
        "{} has {} h planned of {} h it gives",
        firm(rounds, load.firm),
        tenths(load.minutes),
        tenths(load.given)
    )
}

fn firm(rounds: &Rounds, id: FirmId) -> &str {
    rounds.names.firm(id)
}

/// Minutes as hours with one digit.
fn tenths(minutes: i64) -> String {
    format!("{:.1}", minutes as f64 / 60.0)
}

/// The fullest week, and whether it is a peak; which firms' weeks bind.
pub(super) fn fullest(rounds: &Rounds) -> Option<Row> {
    let week = rounds.fullest?;
    let peak = if week.is_peak() {
        "that is a peak, more than a quarter over the average"
    } else {
        "no peak: under a quarter over the average"
    };
    let full: Vec<&WeekLoad> = rounds.weeks.iter().filter(|w| w.is_full()).collect();
    let binds = match full.as_slice() {
        [] => " No firm’s week is full, so no visit waits for hours.".to_owned(),
        [one] => format!(
            " One week is full: that of {}, {}.",
            dates::day(one.week),
            of_hours(rounds, one)
        ),
        [first, ..] => format!(
            " {} are full, the first that of {}: {}.",
            capital(&counted(full.len() as u64, "week", "weeks")),
            dates::day(first.week),
            of_hours(rounds, first)
        ),
    };
    let said: Vec<String> = full
        .iter()
        .map(|load| {
            format!(
                "The week of {}: {}.",
                dates::day(load.week),
                of_hours(rounds, load)
            )
        })
        .collect();
    let row = Row::plain(
        "fullest-week",
        format!(
            "The week of {} is the fullest: {}, visits, calls and ways together, against {} h in the firm’s average week; \
             {peak}.{binds}",
            dates::day(week.load.week),
            of_hours(rounds, &week.load),
            tenths(week.mean)
        ),
    )
    .figure(
        format!("{}\u{a0}h", tenths(week.load.minutes)),
        "in the fullest week",
    );
    Some(if said.is_empty() {
        row
    } else {
        row.why(Why::this(said))
    })
}

/// What is late, with the day it has now.
pub(super) fn late(rounds: &Rounds) -> Vec<Row> {
    let mut late: Vec<(i64, &PlannedVisit)> = rounds
        .visits
        .iter()
        .filter_map(|visit| Some((visit.late?, visit)))
        .collect();
    late.sort_by_key(|(days, visit)| (-days, visit.visit));
    let calls = super::days::calls_late(rounds);
    let more = (late.len() + calls.len()).saturating_sub(SAID);
    let visits = late.into_iter().map(|(days, visit)| {
        let stands = match visit.row.on_day {
            Some(day) => format!("it has {}", dates::weekday_day(day)),
            None => "it found no day".to_owned(),
        };
        Row::about(
            format!("late-{}", visit.visit),
            Link::new(place(visit), format!("/duties/{}", visit.unit.id)),
            format!(": {}; {stands}.", what(visit)),
        )
        .urgency(Urgency::Late)
        .figure(plural(days.max(0) as u64, "day", "days"), "late")
    });
    let mut rows: Vec<Row> = calls.into_iter().chain(visits).take(SAID).collect();
    if more > 0 {
        let sentence = format!(
            "{}.",
            capital(&counted(more as u64, "more is late", "more are late"))
        );
        rows.push(Row::plain("late-more", sentence));
    }
    rows
}
