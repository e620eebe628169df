//! A duty as a sentence, and its date explaining itself.
use chrono::{DateTime, NaiveDate, Utc};
use terms::trade::DutyRule;
use terms::{JobState, LetterKind};
use usecases::duties::{DutyAt, DutyLine, Standing};
use wording::sentences::{counted, dates, list, plural, spans};
use wording::{Link, Row, Urgency, Verb, Why};

use super::NOT_ADVICE;
use crate::form::fresh_once;
use crate::letters::rows as letters;
use crate::when;

/// "gas safety check": a rule's name inside a sentence.
pub(crate) fn inside(name: &str) -> String {
    let mut letters = name.chars();
    match (letters.next(), letters.next()) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_lowercase().chain(name.chars().skip(1)).collect()
        }
        _ => name.to_owned(),
    }
}

/// "Flat 40, Alder House"
pub(crate) fn place(line: &DutyLine) -> String {
    line.place()
}

/// Where a duty's record stands.
pub(crate) fn record(line: &DutyLine) -> String {
    format!("{}#{}", home_of(line.at), line.rule.code)
}

pub(super) fn about(line: &DutyLine, sentence: String) -> Row {
    Row::about(
        format!("d-{}", line.duty),
        Link::new(place(line), record(line)),
        sentence,
    )
    .why(why(line))
}

/// One row: when it is due, what was tried, what is booked.
pub(crate) fn row(line: &DutyLine, today: NaiveDate, desk: bool) -> Row {
    let name = inside(&line.rule.name);
    let basis = format!("basis: {}", line.rule.basis);
    let row = match (line.standing, line.window) {
        (Standing::Late { .. }, Some(window)) => about(
            line,
            format!(
                ": {name} was due by {}; it is late.{}{}",
                dates::day_full(window.last),
                tries(line),
                booked(line)
            ),
        )
        .urgency(Urgency::Late)
        .figure(spans::due(today, window.last), basis),
        (_, Some(window)) => {
            let round = if window.last == window.deadline {
                String::new()
            } else {
                let grace = (window.last - window.deadline).num_days();
                format!(
                    " Due on {}, with {grace}\u{a0}days’ grace.",
                    dates::day_of_year(window.deadline)
                )
            };
            let opens = window
                .first
                .filter(|first| *first > today)
                .map(|first| format!(" Its window opens on {}.", dates::day(first)))
                .unwrap_or_default();
            let soon = (window.last - today).num_days() <= 14 && line.jobs.is_empty();
            about(
                line,
                format!(
                    ": {name} by {}.{round}{opens}{}{}",
                    dates::day_full(window.last),
                    tries(line),
                    booked(line)
                ),
            )
            .urgency(if soon { Urgency::Soon } else { Urgency::Plain })
            .figure(spans::due(today, window.last), basis)
        }
        (_, None) => about(
            line,
            format!(
                ": no evidence of {name}, so it counts as due now.{}{}",
                tries(line),
                booked(line)
            ),
        )
        .urgency(Urgency::Soon)
        .figure("due now", basis),
    };
    with_verbs(row, line, desk)
}

pub(super) fn with_verbs(row: Row, line: &DutyLine, desk: bool) -> Row {
    let prove = Verb::link("See its record", record(line));
    if !desk {
        return row.verb(prove);
    }
    let enter = Verb::link(
        "Enter a check from its paper",
        format!("{}/record?duty={}", home_of(line.at), line.duty),
    );
    let row = match line.jobs.first() {
        Some(job) => row.verb(Verb::link("See the job", format!("/jobs/{}", job.job))),
        None => row.verb(Verb::post(
            "Open a job",
            format!("{}/job", home_of(line.at)),
            vec![
                ("once".to_owned(), fresh_once()),
                ("duty".to_owned(), line.duty.to_string()),
            ],
        )),
    };
    let notice = line
        .jobs
        .first()
        .filter(|job| line.home && job.booked_from.is_some());
    let row = match notice {
        Some(job) => row.other(Verb::link(
            "Write the notice of the visit",
            letters::address(job.job, LetterKind::PlannedVisit),
        )),
        None => row,
    };
    row.other(prove).other(enter)
}

/// " Nobody opened three times: 12 October, 3 November and 17 November."
fn tries(line: &DutyLine) -> String {
    let days = days_of(&line.attempts);
    match days.len() {
        0 => String::new(),
        1 => format!(" Nobody opened on {}; the clock runs on.", days[0]),
        n => format!(
            " Nobody opened {}: {}; the clock runs on.",
            times(n),
            list(&days)
        ),
    }
}

pub(super) fn times(n: usize) -> String {
    match n {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        _ => counted(n as u64, "time", "times"),
    }
}

pub(super) fn days_of(attempts: &[DateTime<Utc>]) -> Vec<String> {
    attempts
        .iter()
        .map(|at| dates::day_of_year(when::local_day(*at)))
        .collect()
}

pub(super) fn booked(line: &DutyLine) -> String {
    let Some(job) = line.jobs.first() else {
        return String::new();
    };
    match (job.state, job.booked_from) {
        (JobState::Booked, Some(from)) => format!(
            " {} is booked for {}.",
            job.number,
            dates::appointment(when::local(from))
        ),
        (state, _) => format!(" {} is {state}.", job.number),
    }
}

/// What a check did to the date, for the list of what was done lately.
pub(crate) fn done(line: &DutyLine) -> Option<Row> {
    let done = line.last_done.as_ref()?;
    let on = done.done_on?;
    let row = Row::about(
        format!("done-{}", line.duty),
        Link::new(place(line), record(line)),
        format!(", {}: {}", inside(&line.rule.name), done.reason),
    );
    Some(row.figure(dates::day_brief(on), short(&done.evidence)))
}

fn short(evidence: &str) -> String {
    let mut words: Vec<&str> = evidence.split_whitespace().collect();
    if words.len() > 5 {
        words.truncate(5);
        return format!("{} …", words.join(" "));
    }
    words.join(" ")
}

/// "Why this?": how the date came, the rule in words, who set it and how it is known.
pub(crate) fn why(line: &DutyLine) -> Why {
    let mut paragraphs = vec![line.explained()];
    paragraphs.push(rule_words(&line.rule));
    paragraphs.push(format!(
        "Basis: {}. How the rule is known: {}. As at {}, rule set of {}. What proves it: {}.",
        line.rule.basis,
        line.rule.status,
        dates::day(line.rule.as_at),
        country(&line.rule.country),
        line.rule.evidence
    ));
    paragraphs.push(NOT_ADVICE.to_owned());
    Why {
        more: Some(Link::new("Its whole record", record(line))),
        ..Why::this(paragraphs)
    }
}

fn country(code: &str) -> String {
    code.parse::<terms::Country>()
        .map_or_else(|_| code.to_owned(), |c| c.words().to_owned())
}

/// "12 months", "1 week", "10 days": the time between two dates of a rule.
pub(crate) fn period(rule: &DutyRule) -> String {
    let count = |n: i32| u64::try_from(n).unwrap_or(0);
    match rule.days {
        Some(days) if days % 7 == 0 => plural(count(days / 7), "week", "weeks"),
        Some(days) => plural(count(days), "day", "days"),
        None => plural(count(rule.months), "month", "months"),
    }
}

/// A window rule in words.
pub(crate) fn rule_words(rule: &DutyRule) -> String {
    let every = period(rule);
    match rule.window_rule.as_str() {
        "W1" => format!(
            "Due every {every}. Done inside the two months that end with the deadline, the deadline’s day stays; \
             done earlier, the date moves to the day it was done; done later, that is a breach, kept on record. \
             A visit that leaves items of the check undone is no check."
        ),
        "W2" => format!(
            "Due {every} after the day it was last done; done early, the next date moves forward with it."
        ),
        "W3" if rule.days.is_some() => format!(
            "A round every {every} on fixed dates, with up to a quarter of the interval in whole days either way. \
             Done inside that, the round’s dates stay."
        ),
        "W3" => format!(
            "A round every {every} on fixed dates, with up to a quarter of the interval, at most 14 days, either way. \
             Done inside that, the round’s dates stay."
        ),
        "W4" => "Due a number of days after something happens; not repeated.".to_owned(),
        "W5" => "Dates that are counted back from a day that is fixed.".to_owned(),
        _ => format!("Looked at again when something changes, at the latest after {every}."),
    }
}

/// Where the duties of a unit, a home, a plant room or a building stand.
pub(crate) fn home_of(at: DutyAt) -> String {
    match at {
        DutyAt::Building(id) => format!("/duties/at/building/{id}"),
        DutyAt::Space(id) => format!("/duties/at/space/{id}"),
        DutyAt::Unit(id) => format!("/duties/{id}"),
    }
}
