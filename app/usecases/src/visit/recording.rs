//! What a visit leaves in the history: readings, observations, findings, failure, part, duties, notices.
use inspection::findings::Finding;
use inspection::{RuleBook, Value, Values};
use store::Tx;
use store::visits::{AccessAttempt, FindingRow, NewNotice, Seen, Visit};
use terms::unit::{FailureRecord, PartFitted, Reading, ServiceRecord, UnitCard};
use terms::{FailureId, JobKind, JobState, Level, Pence};

use super::as_left;
use super::assess::Assessment;
use super::blocks::is_gas_work;
use super::closing::is_planned;
use super::facts::Facts;
use super::replacing;
use super::sheet::Sheet;
use super::values::{calibrated_until, instrument_name, specs};
use crate::duties::{Done, complete, complete_at, happened};
use crate::work::wall;
use crate::{Error, forecast};

/// Records everything a visit found and did; answers how many readings were kept.
pub(super) fn record(
    tx: &mut Tx<'_>,
    facts: &Facts,
    (visit, outcome): (&Visit, JobState),
    sheet: &Sheet,
    assessment: &Assessment,
) -> Result<usize, Error> {
    if outcome == JobState::NoAccess {
        tx.add_access_attempt(
            facts.job.id,
            &AccessAttempt {
                at: visit.arrived_at,
                by: tx.who(),
                engineer: visit.engineer,
                left_behind: sheet.get("left_behind").to_owned(),
                words: sheet.get("access_words").to_owned(),
            },
        )?;
        return Ok(0);
    }
    let Some(old) = &facts.unit else {
        return Ok(0);
    };
    // Before the unit goes: its duties end with it, and what is handed on has to know what this visit met.
    duties(tx, facts, sheet, assessment)?;
    let replaced = facts.job.kind == JobKind::Replacement && outcome == JobState::Done;
    let new = if replaced {
        Some(replacing::replace(tx, facts, old, sheet)?)
    } else {
        None
    };
    let unit = new.as_ref().unwrap_or(old);
    if new.is_some() && is_notifiable(&unit.kind) {
        let words = format!("{} came on {}.", unit.number, facts.job.number);
        happened(tx, "unit_replaced", (unit.space, facts.day), &words)?;
    }
    as_left::keep(tx, facts, (sheet, assessment), replaced)?;
    let went = facts.came_as(sheet).map(|_| old);
    let measured = Measured { visit, unit, went };
    let readings = readings(tx, facts, &measured, (sheet, assessment), replaced)?;
    seen_and_found(tx, facts, &measured, assessment)?;
    notices(tx, facts, unit, sheet)?;
    let failed = failure(tx, facts, unit, (sheet, outcome))?;
    let fitted = part(tx, facts, unit, sheet)?;
    service(tx, facts, unit, (sheet, outcome))?;
    if failed || fitted {
        forecast::renew_unit(tx, unit.id)?;
    }
    Ok(readings)
}

/// Fitting one is notifiable building work, certified within 30 days (the trade's duty table, G7 and U2).
fn is_notifiable(kind: &str) -> bool {
    matches!(kind, "CB" | "GB" | "PB" | "UV" | "VC" | "TS")
}

/// Of which units a visit has readings: of the one that stands there, and, where one of another kind came and was
/// measured, of the one that went, before the work.
struct Measured<'a> {
    visit: &'a Visit,
    unit: &'a UnitCard,
    went: Option<&'a UnitCard>,
}

fn readings(
    tx: &mut Tx<'_>,
    facts: &Facts,
    of: &Measured<'_>,
    (sheet, assessment): (&Sheet, &Assessment),
    replaced: bool,
) -> Result<usize, Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    let cal = calibrated_until(facts, sheet);
    let before = of.went.unwrap_or(of.unit);
    let mut stages = vec![("before", &assessment.before, facts.kind_code(), before)];
    // Of a unit of another kind that is not in the register yet nothing can be kept but the sheet.
    if replaced || of.went.is_none() {
        stages.push(("after", &assessment.after, facts.kind_after(sheet), of.unit));
    }
    let mut kept = 0;
    for (stage, values, kind, unit) in stages {
        let fields = specs(book, kind).flat_map(|spec| spec.fields.iter().map(move |f| (spec, f)));
        for (spec, field) in fields {
            let Some((value, words)) = shown(values, &field.code) else {
                continue;
            };
            let reading = Reading {
                unit: unit.id,
                code: field.code.clone(),
                value,
                words,
                measured_in: field.unit.clone(),
                place: spec.place.clone(),
                conditions: sheet.get(&format!("cond.{}", spec.code)).to_owned(),
                stage: stage.to_owned(),
                instrument: instrument_name(facts, sheet, &spec.code),
                calibrated_until: cal.get(&spec.code).copied(),
                taken_at: of.visit.arrived_at,
            };
            tx.add_reading(&reading, Some(of.visit.id), None)?;
            kept += 1;
        }
    }
    Ok(kept)
}

fn shown(values: &Values, code: &str) -> Option<(Option<f64>, String)> {
    match values.get(code) {
        Value::Number(number) => Some((Some(number), String::new())),
        Value::Bool(truth) => Some((None, if truth { "yes" } else { "no" }.to_owned())),
        Value::Text(text) => Some((None, text)),
        Value::List(_) | Value::Unknown => None,
    }
}

fn seen_and_found(
    tx: &mut Tx<'_>,
    facts: &Facts,
    of: &Measured<'_>,
    assessment: &Assessment,
) -> Result<(), Error> {
    let seen_of = |unit: &UnitCard| Seen {
        unit: unit.id,
        job: facts.job.id,
        visit: of.visit.id,
        on: facts.day,
    };
    let about = seen_of(of.went.unwrap_or(of.unit));
    for code in &assessment.seen {
        tx.add_observation(about, code, true)?;
    }
    for code in &assessment.not_seen {
        tx.add_observation(about, code, false)?;
    }
    keep_findings(tx, about, &assessment.found)?;
    if of.went.is_some_and(|went| went.id != of.unit.id) {
        keep_findings(tx, seen_of(of.unit), &assessment.left)?;
    }
    Ok(())
}

fn keep_findings(tx: &mut Tx<'_>, about: Seen, found: &[Finding]) -> Result<(), Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    for finding in found {
        let level = match finding.level {
            inspection::Level::Stop => Level::Stop,
            inspection::Level::Act => Level::Act,
            inspection::Level::Watch => Level::Watch,
            _ => Level::Info,
        };
        tx.add_finding(
            about,
            &FindingRow {
                level,
                code: finding.code.clone(),
                reading: finding.reading.clone(),
                words: finding.sentence.clone(),
                rule_book: book.digest().to_owned(),
                on: about.on,
            },
        )?;
    }
    Ok(())
}

fn notices(tx: &mut Tx<'_>, facts: &Facts, unit: &UnitCard, sheet: &Sheet) -> Result<(), Error> {
    let class = sheet.get("unsafe");
    if matches!(class, "ID" | "AR") {
        let id = tx.add_notice(&NewNotice {
            unit: unit.id,
            job: facts.job.id,
            class: class.to_owned(),
            number: sheet.get("unsafe_notice").to_owned(),
            isolated: sheet.yes("unsafe_isolated"),
            permission_refused: sheet.yes("unsafe_refused"),
            words: sheet.get("unsafe_words").to_owned(),
        })?;
        tx.note(
            "unsafe situation",
            &format!("unit {}", unit.id),
            &serde_json::json!({ "notice": id, "class": class, "job": facts.job.number }),
        );
        // Regulation 11(2) speaks of what may kill or injure: the engineer or employer considers it, the clock runs.
        if class == "ID" && facts.burns_gas() {
            let words = format!(
                "Found on {}: to be considered by the engineer or employer, and reported where the regulation asks.",
                facts.job.number
            );
            happened(tx, "dangerous_gas_fitting", (unit.space, facts.day), &words)?;
        }
    }
    let registration = facts.engineer.as_ref().and_then(|e| {
        e.covers(facts.gas_covers(sheet), facts.day)
            .map(|q| q.number.clone())
    });
    for notice in &facts.notices {
        if let (true, Some(number)) = (sheet.yes(&format!("clear.{}", notice.id)), &registration) {
            tx.clear_notice(notice.id, number)?;
            tx.note(
                "unsafe situation cleared",
                &format!("unit {}", unit.id),
                &serde_json::json!({ "notice": notice.id, "registration": number }),
            );
        }
    }
    Ok(())
}

/// A repair that answers a call is one failure, whatever the number of its visits; a part found failing at
/// planned work is one found at service.
fn failure(
    tx: &mut Tx<'_>,
    facts: &Facts,
    unit: &UnitCard,
    (sheet, outcome): (&Sheet, JobState),
) -> Result<bool, Error> {
    let planned = is_planned(facts.job.kind);
    let cause = sheet.get("cause");
    let none_found = cause == "none_found";
    if planned && (cause.is_empty() || none_found) {
        return Ok(false);
    }
    let calls = tx.calls_of(facts.job.id)?;
    let since = calls.iter().map(|c| c.since_at).min();
    let before = facts
        .history
        .failures
        .iter()
        .find(|f| f.job == Some(facts.job.id));
    let cost = Pence::parse_pounds(sheet.get("cost"));
    let part = facts
        .parts
        .iter()
        .find(|p| p.code == cause)
        .map(|p| p.code.clone());
    let happened_on = if planned {
        facts.day
    } else {
        wall::day(since.unwrap_or(facts.job.opened_at))
    };
    let record = FailureRecord {
        id: before.map_or(FailureId(uuid::Uuid::nil()), |f| f.id),
        unit: unit.id,
        part: part.or_else(|| before.and_then(|f| f.part.clone())),
        function_lost: facts.job.function_lost.map(|f| f.code().to_owned()),
        happened_on: before.map_or(happened_on, |f| f.happened_on),
        happened_until: None,
        found_at_service: planned,
        no_fault_found: none_found,
        cost: cost.or_else(|| before.and_then(|f| f.cost)),
        job: Some(facts.job.id),
        same_as: String::new(),
        words: words_of(sheet, outcome),
        recorded_at: tx.at(),
    };
    match before {
        Some(_) => tx.state_failure(&record)?,
        None => drop(tx.add_failure(&record, None)?),
    }
    tx.note(
        "failure recorded",
        &format!("unit {}", unit.id),
        &serde_json::json!({
            "job": facts.job.number, "part": record.part,
            "found_at_service": planned, "no_fault_found": none_found,
        }),
    );
    Ok(true)
}

fn words_of(sheet: &Sheet, outcome: JobState) -> String {
    match sheet.get("work") {
        "" => format!("Left {outcome}."),
        work => work.to_owned(),
    }
}

fn part(tx: &mut Tx<'_>, facts: &Facts, unit: &UnitCard, sheet: &Sheet) -> Result<bool, Error> {
    let fitted = sheet.get("fitted");
    if fitted.is_empty() {
        return Ok(false);
    }
    tx.add_part_fitted(
        &PartFitted {
            unit: unit.id,
            part: fitted.to_owned(),
            fitted_on: facts.day,
            planned: is_planned(facts.job.kind) && sheet.get("cause").is_empty(),
            job: Some(facts.job.id),
        },
        sheet.get("work"),
        None,
    )?;
    tx.note(
        "part fitted",
        &format!("unit {}", unit.id),
        &serde_json::json!({ "part": fitted, "on": facts.day, "job": facts.job.number }),
    );
    Ok(true)
}

/// Planned work that was finished is a service record; a service that found a failing part was still done.
fn service(
    tx: &mut Tx<'_>,
    facts: &Facts,
    unit: &UnitCard,
    (sheet, outcome): (&Sheet, JobState),
) -> Result<(), Error> {
    let kind = facts.job.kind;
    let serviced = matches!(kind, JobKind::Service | JobKind::Check);
    let examined = serviced && outcome == JobState::WaitingForDecision;
    let already = facts
        .history
        .services
        .iter()
        .any(|s| s.job == Some(facts.job.id));
    if !is_planned(kind) || already || !(outcome == JobState::Done || examined) {
        return Ok(());
    }
    tx.add_service(
        &ServiceRecord {
            unit: unit.id,
            what: kind.code().to_owned(),
            happened_on: facts.day,
            cost: Pence::parse_pounds(sheet.get("cost")),
            words: words_of(sheet, outcome),
            job: Some(facts.job.id),
        },
        None,
    )?;
    Ok(())
}

/// A duty is met by its own items, however the visit ends: a check that found something is still a check.
fn duties(
    tx: &mut Tx<'_>,
    facts: &Facts,
    sheet: &Sheet,
    assessment: &Assessment,
) -> Result<(), Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    for duty in facts.duties.iter().filter(|d| !d.done) {
        let Some(said) = sheet.yes_no(&format!("duty.{}", duty.code)) else {
            continue;
        };
        let whole = said && (!duty.gas_check || gas_check_stands(book, (facts, sheet), assessment));
        let done = Done {
            on: facts.day,
            check_complete: whole,
            job: Some(facts.job.id),
            evidence: format!("job sheet of {}", facts.job.number),
        };
        match duty.unit {
            Some(unit) => complete(tx, unit, &duty.code, &done)?,
            None => complete_at(tx, duty.id, &done)?,
        }
        if whole && duty.gas_check && facts.space.used_as == terms::UsedAs::Flat {
            let words = format!("Checked on {}.", facts.job.number);
            happened(tx, "gas_check_made", (facts.space.id, facts.day), &words)?;
        }
    }
    Ok(())
}

/// Every appliance and flue listed with its result and signed, by an engineer in date, with pressure or rate
/// and combustion (or the lawful alternative) on the sheet.
fn gas_check_stands(
    book: &RuleBook,
    (facts, sheet): (&Facts, &Sheet),
    assessment: &Assessment,
) -> bool {
    let blocks = &assessment.completion.hard_blocks;
    let mut latest = assessment.before.clone();
    latest.take_over("", &assessment.after);
    let pressure = latest.has("working_mbar") || latest.has("gas_rate_kw");
    let combustion =
        (latest.has("co_ppm") && latest.has("co2_percent")) || sheet.has("gas_alternative");
    is_gas_work(book, facts, sheet)
        && !blocks.contains(&2)
        && !blocks.contains(&4)
        && pressure
        && combustion
}
