//! After an unsafe finding: made safe, the notice left, people told, heat for the flat, and the job that puts it right.
//! What is missing of it is refused with its own sentence; the order is that of the trade's safety page, section 5.
use chrono::{DateTime, NaiveTime, Utc};
use inspection::clock::WorkingDays;
use store::Tx;
use store::jobs::NewJob;
use terms::{FunctionLost, JobKind, JobState, UsedAs};

use super::facts::Facts;
use super::sheet::Sheet;
use crate::work::{Home, due_by_finish, is_council_secure, open_in, report_of, wall};
use crate::{Error, FieldError};

/// Minutes set aside to put an unsafe unit right (common practice, no source).
const MINUTES: i32 = 90;

/// How heat was seen to while the unit is off; the code and what it says on paper.
pub(crate) const HEAT: [(&str, &str); 4] = [
    ("lent", "lent"),
    ("declined", "offered and not wanted"),
    ("none", "none to lend: the office finds some"),
    ("not_needed", "not needed, heat and hot water go on"),
];

/// Who is told: the key of the time, who it is on paper, and the sentence when the time is missing.
pub(crate) const TOLD: [(&str, &str, &str); 4] = [
    (
        "told_resident",
        "The resident",
        "Say at what time the resident was told.",
    ),
    (
        "told_agent",
        "The managing agent",
        "Say at what time the managing agent was told.",
    ),
    (
        "told_landlord",
        "The landlord",
        "Say at what time the landlord was told.",
    ),
    (
        "told_network",
        "The gas emergency service",
        "Immediately dangerous and permission refused: ring the gas emergency service, and say at what time.",
    ),
];

/// The class stated on this sheet: "ID" or "AR".
pub(crate) fn class_of(sheet: &Sheet) -> Option<&str> {
    Some(sheet.get("unsafe")).filter(|class| matches!(*class, "ID" | "AR"))
}

/// What an unsafe finding still lacks, each with its sentence at its field.
pub(super) fn missing(facts: &Facts, sheet: &Sheet) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    let Some(class) = class_of(sheet) else {
        return wrongs;
    };
    let refused = sheet.yes("unsafe_refused");
    if !sheet.yes("unsafe_isolated") && !refused {
        wrongs.push(FieldError::at(
            "unsafe_isolated",
            "Say that it is isolated and labelled, or that permission was refused.",
        ));
    }
    if !sheet.has("unsafe_notice") {
        wrongs.push(FieldError::at(
            "unsafe_notice",
            "Give the number of the warning notice you left.",
        ));
    }
    for (key, _, sentence) in TOLD {
        let asked = match key {
            "told_resident" => facts.space.used_as == UsedAs::Flat,
            "told_network" => class == "ID" && refused && facts.burns_gas(),
            _ => true,
        };
        wrongs.extend(time_missing(sheet, key, sentence, asked));
    }
    if takes_away(facts.kind_code()).is_some() {
        wrongs.extend(heat_missing(sheet));
    }
    wrongs
}

/// A time of day under a key: missing where it is asked for, unreadable wherever it stands.
fn time_missing(sheet: &Sheet, key: &str, sentence: &str, asked: bool) -> Option<FieldError> {
    let typed = sheet.get(key);
    if typed.is_empty() {
        return asked.then(|| FieldError::at(key, sentence));
    }
    let read = NaiveTime::parse_from_str(typed, "%H:%M");
    read.is_err()
        .then(|| FieldError::at(key, format!("“{typed}” is not a time such as 14:30.")))
}

fn heat_missing(sheet: &Sheet) -> Vec<FieldError> {
    let said = sheet.get("heat");
    if !HEAT.iter().any(|(code, _)| *code == said) {
        return vec![FieldError::at(
            "heat",
            "Say what heat was lent or offered while it is off.",
        )];
    }
    if !matches!(said, "lent" | "declined") {
        return Vec::new();
    }
    let what = (!sheet.has("heat_what"))
        .then(|| FieldError::at("heat_what", "Say which heaters, and how many."));
    let when = time_missing(
        sheet,
        "heat_at",
        "Say at what time heat was lent or offered.",
        true,
    );
    what.into_iter().chain(when).collect()
}

/// What a unit of this kind takes from the flat while it is off.
fn takes_away(kind: &str) -> Option<FunctionLost> {
    match kind {
        "CB" | "HIU" => Some(FunctionLost::HeatingAndHotWater),
        "GB" | "EB" | "HP" => Some(FunctionLost::Heating),
        "UV" | "VC" | "TS" => Some(FunctionLost::HotWater),
        _ => None,
    }
}

/// When it has to be put right: by the resident's clock where the unit took heat or hot water away, else within one
/// working day (the trade's safety page, section 5).
fn clock(
    tx: &mut Tx<'_>,
    facts: &Facts,
    lost: Option<FunctionLost>,
    days: &WorkingDays,
) -> Result<(Option<DateTime<Utc>>, String), Error> {
    if let Some(lost) = lost {
        let same_day = tx
            .needs_of(&[facts.job.space])?
            .iter()
            .any(|need| need.same_day);
        let country = facts.building.country;
        let home = Home {
            same_day,
            council_secure: is_council_secure(tx, facts.job.space, tx.at())?,
        };
        let due = due_by_finish(days, country, report_of(lost), tx.at(), home)?;
        if due.at.is_some() {
            return Ok((due.at, due.why));
        }
    }
    let next = wall::end_of(days.after(wall::day(tx.at()), 1));
    Ok((
        next,
        "An unsafe unit is decided upon within one working day: common practice, no source."
            .to_owned(),
    ))
}

/// Opens the job that puts an unsafe unit right, its state as the reason. A repair or replacement
/// that found it stays open itself, and only gets a clock if it had none.
pub(super) fn follow_up(
    tx: &mut Tx<'_>,
    facts: &Facts,
    sheet: &Sheet,
    days: &WorkingDays,
) -> Result<(), Error> {
    let (Some(class), Some(unit)) = (class_of(sheet), &facts.unit) else {
        return Ok(());
    };
    let lost = takes_away(&unit.kind).filter(|_| sheet.yes("unsafe_isolated"));
    let (due_at, due_why) = clock(tx, facts, lost, days)?;
    if matches!(facts.job.kind, JobKind::Repair | JobKind::Replacement) {
        let mut job = tx.hold_job(facts.job.id)?;
        if job.due_at.is_none() {
            job.due_at = due_at;
            job.due_why = due_why;
            tx.save_job(&job)?;
        }
        return Ok(());
    }
    let words = format!(
        "Unsafe, classed {}: {} Notice {}; found on {}.",
        if class == "ID" {
            "immediately dangerous"
        } else {
            "at risk"
        },
        sheet.get("unsafe_words"),
        sheet.get("unsafe_notice"),
        facts.job.number
    );
    let new = NewJob {
        kind: JobKind::Repair,
        building: facts.job.building,
        space: facts.job.space,
        unit: Some(unit.id),
        function_lost: lost,
        words,
        source: "unsafe",
        covers: facts
            .kind
            .as_ref()
            .map(|k| k.covers.clone())
            .unwrap_or_default(),
        minutes: MINUTES,
        due_at,
        due_why,
        duties: Vec::new(),
    };
    let (_, number) = open_in(tx, &new)?;
    let said = format!("{number} is open to put the unsafe state right.");
    let whom = facts.job.firm.map(|firm| (firm, facts.job.engineer));
    let state = sheet.outcome().unwrap_or(JobState::LeftIsolated);
    tx.add_job_event(facts.job.id, state, whom, &said)?;
    Ok(())
}
