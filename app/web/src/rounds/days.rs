//! Days as written lists: one stretch an engineer and day, each visit a sentence.
use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use terms::EngineerId;
use usecases::plan::{Because, CallStand, PlannedVisit, Promised, Rounds, past_its_time};
use wording::sentences::{counted, dates, list, plural, spans};
use wording::{Link, Row, Urgency, Verb, Why};

use super::reasons;
use crate::duties::rows::{inside, rule_words};
use crate::form::fresh_once;
use crate::when;

/// An engineer's day.
pub(super) struct DaySheet {
    pub id: String,
    pub heading: String,
    pub note: String,
    pub rows: Vec<Row>,
    /// Offers what is not a job yet; `None` when everything is.
    pub offer: Option<Verb>,
}

/// "09:15"
pub(super) fn clock(minute: i32) -> String {
    let seconds = u32::try_from(minute).unwrap_or(0).saturating_mul(60);
    NaiveTime::from_num_seconds_from_midnight_opt(seconds, 0)
        .map(|t| t.format("%H:%M").to_string())
        .unwrap_or_default()
}

/// "Flat 40, Alder House"
pub(super) fn place(visit: &PlannedVisit) -> String {
    format!("{}, {}", visit.unit.space_name, visit.unit.building_name)
}

/// "gas safety check and yearly service of the gas boiler"
pub(super) fn what(visit: &PlannedVisit) -> String {
    let names: Vec<String> = visit.parts.iter().map(|p| inside(&p.rule.name)).collect();
    list(&names)
}

/// The days from `from` on, at most `most` of them, each engineer's apart.
pub(super) fn sheets(rounds: &Rounds, from: NaiveDate, most: usize) -> Vec<DaySheet> {
    let mut found: BTreeMap<(NaiveDate, String, EngineerId), Vec<(i32, Row)>> = BTreeMap::new();
    let mut free: BTreeMap<(NaiveDate, EngineerId), usize> = BTreeMap::new();
    let key = |day: NaiveDate, who: EngineerId| (day, rounds.names.engineer(who).to_owned(), who);
    for visit in &rounds.visits {
        let (Some(day), Some(who), Some(start)) =
            (visit.row.on_day, visit.row.engineer, visit.row.start_minute)
        else {
            continue;
        };
        if day < from {
            continue;
        }
        for (person, id) in people((who, visit.row.second), &format!("v-{}", visit.visit)) {
            let row = Row {
                id,
                ..visit_row(rounds, visit)
            };
            found
                .entry(key(day, person))
                .or_default()
                .push((start, row));
        }
        if visit.row.job.is_none() && visit.row.nth == 1 {
            *free.entry((day, who)).or_default() += 1;
        }
    }
    for (job, call) in &rounds.calls {
        let Some(stand) = call.place.filter(|stand| stand.day >= from) else {
            continue;
        };
        let minute = i32::try_from(stand.start).unwrap_or(0);
        for (person, id) in people((stand.engineer, stand.second), &format!("call-{}", job.id)) {
            let row = Row {
                id,
                ..call_row(rounds, job, &stand)
            };
            let rows = found.entry(key(stand.day, person)).or_default();
            rows.push((minute, row));
        }
    }
    for job in &rounds.promised {
        let (Some((at, until)), Some(who)) = (job.booked, job.engineer) else {
            continue;
        };
        let at = when::local(at);
        if at.date() < from {
            continue;
        }
        let minute = i32::try_from((at.time() - NaiveTime::MIN).num_minutes()).unwrap_or(0);
        let minutes = (when::local(until) - at).num_minutes();
        let rows = found.entry(key(at.date(), who)).or_default();
        rows.push((minute, promised_row(job, minute, minutes)));
    }
    found
        .into_iter()
        .take(most)
        .map(|((day, name, who), mut rows)| {
            rows.sort_by_key(|(start, _)| *start);
            DaySheet {
                id: format!("day-{}-{who}", dates::machine(day)),
                heading: dates::weekday_day(day),
                note: name,
                rows: rows.into_iter().map(|(_, row)| row).collect(),
                offer: free.get(&(day, who)).map(|n| offer_day(day, who, *n)),
            }
        })
        .collect()
}

fn offer_day(day: NaiveDate, who: EngineerId, n: usize) -> Verb {
    let label = match n {
        1 => "Offer this day’s visit".to_owned(),
        n => format!(
            "Offer this day’s {} visits",
            wording::sentences::number_word(n as u64)
        ),
    };
    Verb::post(
        label,
        "/rounds/day",
        vec![
            ("once".to_owned(), fresh_once()),
            ("day".to_owned(), dates::machine(day)),
            ("engineer".to_owned(), who.to_string()),
        ],
    )
}

/// Whose day a visit stands on, each with an id of its own for the row there.
fn people(
    (who, second): (EngineerId, Option<EngineerId>),
    id: &str,
) -> impl Iterator<Item = (EngineerId, String)> + use<> {
    let with = second.map(|second| (second, format!("{id}-with")));
    std::iter::once((who, id.to_owned())).chain(with)
}

/// " It is past its time, Monday 23 November 2026 at 16:00."
fn past(job: &Promised, by: NaiveDateTime) -> Option<String> {
    let clock = past_its_time(job, by)?;
    Some(format!(
        " It is past its time, {} at {}.",
        dates::weekday_day(clock.date()),
        clock.format("%H:%M")
    ))
}

/// An open job at the time proposed for it.
fn call_row(rounds: &Rounds, job: &Promised, stand: &CallStand) -> Row {
    let minute = i32::try_from(stand.start).unwrap_or(0);
    let at = NaiveTime::from_num_seconds_from_midnight_opt(stand.start.saturating_mul(60), 0);
    let late = past(job, stand.day.and_time(at.unwrap_or_default()));
    let two = stand.second.map_or_else(String::new, |second| {
        format!(
            " Two come: {} and {}.",
            rounds.names.engineer(stand.engineer),
            rounds.names.engineer(second)
        )
    });
    let urgency = late.is_some().then_some(Urgency::Late);
    let late = late.unwrap_or_default();
    let place = format!("{}, {}", job.space_name, job.building_name);
    let mut row = Row::about(
        format!("call-{}", job.id),
        Link::new(place, format!("/jobs/{}", job.id)),
        format!(
            ": {} {}, not booked yet: this time is proposed for it.{late}{two}",
            job.kind, job.number
        ),
    )
    .figure(format!("{}\u{a0}min", job.minutes), "proposed")
    .verb(Verb::link("Offer or book it", format!("/jobs/{}", job.id)));
    if let Some(urgency) = urgency {
        row = row.urgency(urgency);
    }
    row.at = clock(minute);
    row
}

/// Open jobs that are past their time by the time proposed for them, or by now.
pub(super) fn calls_late(rounds: &Rounds) -> Vec<Row> {
    let late = rounds.calls.iter().filter_map(|(job, call)| {
        let by = call.place.map_or(rounds.today, |stand| stand.day);
        let clock = past_its_time(job, by.and_time(NaiveTime::MIN))?;
        let place = format!("{}, {}", job.space_name, job.building_name);
        let stands = call.place.map_or_else(
            || "it found no day".to_owned(),
            |stand| format!("{} is proposed", dates::weekday_day(stand.day)),
        );
        let row = Row::about(
            format!("late-{}", job.id),
            Link::new(place, format!("/jobs/{}", job.id)),
            format!(
                ": {} {}, to be done by {}; {stands}.",
                job.kind,
                job.number,
                dates::weekday_day(clock.date())
            ),
        );
        let days = (by - clock.date()).num_days().max(0) as u64;
        Some(
            row.urgency(Urgency::Late)
                .figure(plural(days, "day", "days"), "late"),
        )
    });
    late.collect()
}

/// Open jobs for which no time was found.
fn calls_without(rounds: &Rounds) -> impl Iterator<Item = Row> + '_ {
    rounds.calls.iter().filter_map(|(job, call)| {
        let why = call.why.as_ref().filter(|_| call.place.is_none())?;
        let place = format!("{}, {}", job.space_name, job.building_name);
        let subject = Link::new(place, format!("/jobs/{}", job.id));
        let late = past(job, rounds.today.and_time(NaiveTime::MIN));
        let urgency = if late.is_some() {
            Urgency::Late
        } else {
            Urgency::Soon
        };
        let sentence = format!(
            ": {} {}; {why}.{}",
            job.kind,
            job.number,
            late.unwrap_or_default()
        );
        let row = Row::about(format!("call-{}", job.id), subject, sentence);
        Some(row.urgency(urgency))
    })
}

fn promised_row(job: &Promised, minute: i32, minutes: i64) -> Row {
    let place = format!("{}, {}", job.space_name, job.building_name);
    let mut row = Row::about(
        format!("job-{}", job.id),
        Link::new(place, format!("/jobs/{}", job.id)),
        format!(
            ": {} {}, promised: it stays where it is.",
            job.kind, job.number
        ),
    )
    .figure(format!("{minutes}\u{a0}min"), "promised");
    row.at = clock(minute);
    row
}

fn visit_row(rounds: &Rounds, visit: &PlannedVisit) -> Row {
    let pinned = if visit.row.pinned {
        " Pinned: it stays here when the visits are placed again."
    } else {
        ""
    };
    let job = match (&visit.job, visit.row.job) {
        (Some(job), _) => format!(" {} is {}.", job.number, job.state),
        (None, Some(_)) => " Its job is finished or stood down.".to_owned(),
        (None, None) => String::new(),
    };
    let mut row = Row::about(
        format!("v-{}", visit.visit),
        Link::new(place(visit), format!("/duties/{}", visit.unit.id)),
        format!(
            ": {}, by {}.{}{job}{pinned}",
            what(visit),
            dates::day(visit.row.deadline),
            beside(rounds, visit)
        ),
    )
    .figure(format!("{}\u{a0}min", visit.minutes), "")
    .why(why(rounds, visit));
    if let Some(days) = visit.late {
        row = row.urgency(Urgency::Late).figure(
            format!("{}\u{a0}min", visit.minutes),
            format!("{} late", plural(days.max(0) as u64, "day", "days")),
        );
    }
    row.at = visit.row.start_minute.map(clock).unwrap_or_default();
    if let Some(job) = visit.row.job {
        return row.verb(Verb::link("See the job", format!("/jobs/{job}")));
    }
    let pin = Verb::post(
        if visit.row.pinned {
            "Let it go again"
        } else {
            "Pin it here"
        },
        format!("/rounds/{}/pin", visit.visit),
        vec![
            ("once".to_owned(), fresh_once()),
            (
                "pinned".to_owned(),
                if visit.row.pinned { "no" } else { "yes" }.to_owned(),
            ),
        ],
    );
    let move_it = Verb::link(
        "Move to another day",
        format!("/rounds/{}/move", visit.visit),
    );
    // What follows another visit of its duty becomes a job once that one is made.
    if visit.row.nth > 1 {
        return row.verb(move_it).other(pin);
    }
    row.verb(Verb::post(
        "Offer this visit",
        format!("/rounds/{}/offer", visit.visit),
        vec![("once".to_owned(), fresh_once())],
    ))
    .verb(move_it)
    .other(pin)
}

/// What of its day is to be known before it is offered: who comes along, heat off in the season.
fn beside(rounds: &Rounds, visit: &PlannedVisit) -> String {
    let said = visit.because.iter().filter_map(|reason| match reason {
        Because::Two(second) => Some(match visit.row.engineer {
            Some(lead) => format!(
                " Two come: {} and {}.",
                rounds.names.engineer(lead),
                rounds.names.engineer(*second)
            ),
            None => String::new(),
        }),
        Because::SeasonForced => Some(format!(
            " Heat goes off, in the heating season: its last day, {}, leaves no other.",
            dates::day(visit.row.deadline)
        )),
        Because::SeasonPromised => {
            Some(" Heat goes off, in the heating season: that day is promised.".to_owned())
        }
        Because::SeasonPinned => {
            Some(" Heat goes off, in the heating season: a person pinned it there.".to_owned())
        }
        Because::SameFlat(units) => Some(format!(" One visit with {}.", list(units))),
        Because::Again(_) => Some(" It follows the visit before it.".to_owned()),
        _ => None,
    });
    said.collect()
}

/// Why the visit stands where it does.
fn why(rounds: &Rounds, visit: &PlannedVisit) -> Why {
    let mut paragraphs = vec![reasons::sentences(rounds, visit)];
    for part in &visit.parts {
        paragraphs.push(format!(
            "{}, {} minutes. {} Basis: {}.",
            part.rule.name,
            part.minutes,
            rule_words(&part.rule),
            part.rule.basis
        ));
    }
    Why {
        question: "Why then?".to_owned(),
        more: Some(Link::new(
            "Its record",
            format!("/duties/{}", visit.unit.id),
        )),
        ..Why::this(paragraphs)
    }
}

/// Visits without a day shown one by one; the rest are counted by their reason.
const SHOWN: usize = 20;

/// Visits without a day, each with its reason, soonest first.
pub(super) fn unplaced(rounds: &Rounds) -> Vec<Row> {
    let mut without: Vec<&PlannedVisit> = rounds
        .visits
        .iter()
        .filter(|v| v.row.on_day.is_none())
        .collect();
    without.sort_by_key(|v| v.row.deadline);
    let mut rows: Vec<Row> = calls_without(rounds).collect();
    let visits = without
        .iter()
        .take(SHOWN)
        .map(|visit| unplaced_row(rounds, visit));
    rows.extend(visits);
    let mut more: BTreeMap<&str, u64> = BTreeMap::new();
    for visit in without.iter().skip(SHOWN) {
        *more.entry(reason(visit)).or_default() += 1;
    }
    rows.extend(more.into_iter().enumerate().map(|(n, (reason, count))| {
        Row::plain(
            format!("more-{n}"),
            format!("{}.", wording::sentences::capital(reason)),
        )
        .figure(
            plural(count, "more visit", "more visits"),
            "for this reason",
        )
    }));
    rows
}

fn reason(visit: &PlannedVisit) -> &str {
    visit
        .row
        .unplaced_why
        .as_deref()
        .unwrap_or("no day was found")
}

fn unplaced_row(rounds: &Rounds, visit: &PlannedVisit) -> Row {
    let today = rounds.today;
    let late = visit.row.deadline < today;
    Row::about(
        format!("v-{}", visit.visit),
        Link::new(place(visit), format!("/duties/{}", visit.unit.id)),
        format!(": {}; {}.", what(visit), reason(visit)),
    )
    .urgency(if late { Urgency::Late } else { Urgency::Soon })
    .figure(
        spans::due(today, visit.row.deadline),
        format!("{} minutes", visit.minutes),
    )
    .verb(Verb::link(
        "Find it a day",
        format!("/rounds/{}/move", visit.visit),
    ))
    .why(why(rounds, visit))
}

/// "Three engineers"
pub(super) fn engineers(rounds: &Rounds) -> String {
    wording::sentences::capital(&counted(
        rounds.names.engineers.len() as u64,
        "engineer",
        "engineers",
    ))
}
