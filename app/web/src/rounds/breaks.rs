//! The rules the standing round breaks, found from the rules alone, whoever placed or moved its visits.
use std::collections::BTreeMap;

use terms::JobId;
use usecases::plan::{Breach, Rounds, Rule};
use wording::sentences::{capital, counted, dates, list};
use wording::{Link, Row, Urgency, Verb};

use super::days::{place, what};

/// Visits said one by one.
const SAID: usize = 20;

/// A row for every visit that breaks a rule, and for every week that holds more than is given. Where none is broken, that.
pub(super) fn rows(rounds: &Rounds) -> Vec<Row> {
    if rounds.card.is_none() {
        return Vec::new();
    }
    let mut by_job: BTreeMap<JobId, Vec<&Breach>> = BTreeMap::new();
    let mut lost = 0u64;
    let mut rows = Vec::new();
    for breach in &rounds.breaches {
        match (breach.job, &breach.rule) {
            // What was met or opened since, and what came since, is no fault of a visit.
            (_, Rule::JobUnknown) => {}
            (_, Rule::JobLost) => lost += 1,
            (Some(job), _) => by_job.entry(job).or_default().push(breach),
            (None, rule) => rows.push(week(rounds, rule, rows.len())),
        }
    }
    let more = by_job.len().saturating_sub(SAID) as u64;
    let visits = by_job.iter().take(SAID);
    let visits = visits.filter_map(|(job, breaches)| visit(rounds, *job, breaches));
    let mut all: Vec<Row> = visits.collect();
    if more > 0 {
        let sentence = format!(
            "{} a rule.",
            capital(&counted(more, "more visit breaks", "more visits break"))
        );
        all.push(Row::plain("breaks-more", sentence));
    }
    all.extend(rows);
    if lost > 0 {
        let sentence = format!(
            "{} since the visits were placed: place them again, and {} a day.",
            capital(&counted(
                lost,
                "visit came to be wanted",
                "visits came to be wanted"
            )),
            if lost == 1 { "it gets" } else { "they get" }
        );
        all.push(Row::plain("breaks-lost", sentence));
    }
    if all.is_empty() {
        all.push(Row::plain(
            "breaks-none",
            "Held against every rule afresh, it breaks none.",
        ));
    }
    all
}

/// One visit with what it breaks.
fn visit(rounds: &Rounds, job: JobId, breaches: &[&Breach]) -> Option<Row> {
    let planned = rounds.visits.iter().find(|v| v.visit == job.0);
    let mut jobs = rounds
        .promised
        .iter()
        .chain(rounds.calls.iter().map(|(job, _)| job));
    let (subject, said, verb) = if let Some(visit) = planned {
        let subject = Link::new(place(visit), format!("/duties/{}", visit.unit.id));
        let verb = match visit.row.job {
            Some(job) => Verb::link("See the job", format!("/jobs/{job}")),
            None => Verb::link(
                "Move to another day",
                format!("/rounds/{}/move", visit.visit),
            ),
        };
        (subject, what(visit), verb)
    } else {
        let card = jobs.find(|card| card.id == job)?;
        let subject = Link::new(
            format!("{}, {}", card.space_name, card.building_name),
            format!("/jobs/{}", card.id),
        );
        let said = format!("{} {}", card.kind, card.number);
        let verb = Verb::link("See the job", format!("/jobs/{}", card.id));
        (subject, said, verb)
    };
    let day = planned.and_then(|v| v.row.on_day);
    let day = day.map_or(String::new(), |day| {
        format!(", on {}", dates::weekday_day(day))
    });
    let mut words: Vec<String> = breaches.iter().map(|b| words(&b.rule).to_owned()).collect();
    words.dedup();
    let promised = if breaches.iter().any(|b| b.promised) {
        " It is promised, so it stays until somebody books it anew."
    } else {
        ""
    };
    let sentence = format!(": {said}{day}: {}.{promised}", list(&words));
    Some(
        Row::about(format!("breaks-{job}"), subject, sentence)
            .urgency(Urgency::Soon)
            .verb(verb),
    )
}

/// A week that holds more than is given.
fn week(rounds: &Rounds, rule: &Rule, n: usize) -> Row {
    let hours = |minutes: u32| format!("{:.1}\u{a0}h", f64::from(minutes) / 60.0);
    let said = match rule {
        Rule::FirmOver {
            firm,
            week,
            minutes,
            given,
        } => Some((rounds.names.firm(*firm), week, minutes, given)),
        Rule::EngineerOver {
            engineer,
            week,
            minutes,
            given,
        } => Some((rounds.names.engineer(*engineer), week, minutes, given)),
        _ => None,
    };
    let sentence = said.map_or_else(
        || "The round as a whole breaks a rule: place the visits again.".to_owned(),
        |(who, week, minutes, given)| {
            format!(
                "{who} has {} planned in the week of {}, of {} given.",
                hours(*minutes),
                dates::day(*week),
                hours(*given)
            )
        },
    );
    Row::plain(format!("breaks-week-{n}"), sentence).urgency(Urgency::Soon)
}

/// A broken rule, as the end of a sentence.
fn words(rule: &Rule) -> &'static str {
    match rule {
        Rule::JobTwice => "it stands there twice",
        Rule::EngineerUnknown => "that engineer gives this estate no time any more",
        Rule::WrongFirm => "that firm does not do it",
        Rule::OutsideWindow => "that lies outside its days",
        Rule::NotWorking => "nobody works that day, or the engineer is away",
        Rule::OutsideHours => "it begins before or ends after the hours of that day",
        Rule::NoAccess => "nobody opens then",
        Rule::Dark => "it is work outside, and it would not be light",
        Rule::HeatOff => "heat goes off for it, in the heating season",
        Rule::NotTogether => "it takes two, and the second is not there",
        Rule::NotQualified => "nobody there holds a qualification in date for it on that day",
        Rule::Overlap => "the engineer cannot be there by then from the visit before",
        Rule::PromiseBroken => "it was promised for another time",
        Rule::JobUnknown | Rule::JobLost | Rule::FirmOver { .. } | Rule::EngineerOver { .. } => {
            "the round has changed since"
        }
    }
}
