//! What a record says, gathered from the sheet of its visit, the readings kept and the register.
use inspection::RuleBook;
use inspection::readings::{set_for, tests_for};
use inspection::rulebook::{FieldSpec, ReadingSpec};
use store::Tx;
use store::jobs::Job;
use store::visits::Visit;
use terms::trade::Kind;
use terms::unit::{Reading, UnitCard};
use terms::{Covers, Engineer, EngineerId, JobKind, JobState, Level, RecordKind, VisitId};

use super::content::{Content, Defect, DutyLine, Item, ReadingLine};
use crate::Error;
use crate::letterhead::letterhead_in;
use crate::visit::Sheet;
use crate::work::{Names, wall};

/// A record as it stands, with what it was gathered from.
pub(super) struct Gathered {
    pub content: Content,
    pub visit: Visit,
    pub unit: UnitCard,
    pub sheet: Sheet,
}

/// Defects a sheet may list besides an unsafe situation.
pub(super) const DEFECTS: usize = 3;
/// Appliances and flues a sheet may list.
pub(super) const ITEMS: usize = 8;

/// Which records a job may leave: the gas safety record where the check was one of its duties, the service sheet
/// after a service or check of a unit whose kind has a set of readings.
pub(super) fn kinds_for(tx: &mut Tx<'_>, job: &Job) -> Result<Vec<RecordKind>, Error> {
    let Some(unit) = job.unit else {
        return Ok(Vec::new());
    };
    let rules = tx.duty_rules()?;
    let is_check = |code: &str| {
        let rule = rules.iter().find(|r| r.code == code);
        rule.is_some_and(crate::duties::is_gas_check)
    };
    let mut kinds = Vec::new();
    if tx
        .duties_of_job(job.id)?
        .iter()
        .any(|(_, code, _)| is_check(code))
    {
        kinds.push(RecordKind::GasSafety);
    }
    let has_set = book()?.set(&tx.unit(unit)?.kind).is_some();
    if has_set && matches!(job.kind, JobKind::Service | JobKind::Check) {
        kinds.push(RecordKind::Service);
    }
    Ok(kinds)
}

/// Gathers a record of a job.
///
/// # Errors
/// [`Error::NotFound`] when the job leaves no such record, or no visit has ended that could carry it.
pub(super) fn gather(
    tx: &mut Tx<'_>,
    names: &Names,
    job: &Job,
    kind: RecordKind,
) -> Result<Gathered, Error> {
    if !kinds_for(tx, job)?.contains(&kind) {
        return Err(Error::NotFound("record"));
    }
    let (visit, sheet, rule_book) = carrier(tx, job, kind)?.ok_or(Error::NotFound("record"))?;
    let unit = tx.unit(job.unit.ok_or(Error::NotFound("unit"))?)?;
    let content = content(tx, names, (job, kind), (&visit, &unit), (&sheet, rule_book))?;
    Ok(Gathered {
        content,
        visit,
        unit,
        sheet,
    })
}

/// The visit a record is of: for the check the last one whose sheet lists its items, for the service the one that
/// ended it, else the last that was made.
fn carrier(
    tx: &mut Tx<'_>,
    job: &Job,
    kind: RecordKind,
) -> Result<Option<(Visit, Sheet, String)>, Error> {
    let mut ended = Vec::new();
    for visit in tx.visits_of(job.id)? {
        let Some(row) = tx.last_sheet(visit.id)?.filter(|row| row.closes) else {
            continue;
        };
        if outcome_of(&visit) == JobState::NoAccess {
            continue;
        }
        let sheet: Sheet =
            serde_json::from_value(row.body).map_err(|e| Error::Internal(format!("sheet: {e}")))?;
        ended.push((visit, sheet, row.rule_book));
    }
    let at = match kind {
        RecordKind::GasSafety => ended
            .iter()
            .rposition(|(_, sheet, _)| (1..=ITEMS).any(|n| sheet.has(&format!("gc.{n}.result")))),
        RecordKind::Service => ended
            .iter()
            .position(|(visit, _, _)| {
                let left = outcome_of(visit);
                matches!(left, JobState::Done | JobState::WaitingForDecision)
            })
            .or(ended.len().checked_sub(1)),
    };
    Ok(at.map(|at| ended.swap_remove(at)))
}

fn outcome_of(visit: &Visit) -> JobState {
    let said = visit.outcome.as_deref().and_then(|o| o.parse().ok());
    said.unwrap_or(JobState::OnSite)
}

fn book() -> Result<&'static RuleBook, Error> {
    RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))
}

fn content(
    tx: &mut Tx<'_>,
    names: &Names,
    (job, kind): (&Job, RecordKind),
    (visit, unit): (&Visit, &UnitCard),
    (sheet, rule_book): (&Sheet, String),
) -> Result<Content, Error> {
    let day = wall::day(visit.arrived_at);
    let kinds = tx.kinds()?;
    let unit_kind = kinds.iter().find(|k| k.code == unit.kind);
    let building = tx.building(job.building)?;
    let engineer = visit.engineer.or(job.engineer);
    let card = engineer.and_then(|id| names.engineer_card(id));
    let paper = match kind {
        RecordKind::GasSafety => vec![Covers::Gas],
        RecordKind::Service => unit_kind.map_or_else(Vec::new, papers_for),
    };
    let kept = tx.readings_of(unit.id)?;
    let measured = measured(unit, &kept, visit.id, sheet)?;
    let firm = visit.firm.or(job.firm);
    Ok(Content {
        kind,
        job_number: job.number.clone(),
        on: day,
        arrived_at: visit.arrived_at,
        left_at: visit.left_at,
        source: visit.source.clone(),
        place: format!("{}, {}", job.space_name, job.building_name),
        address: building.address,
        sender: letterhead_in(tx)?,
        unit_number: unit.number.clone(),
        unit_kind: unit_kind.map_or_else(|| unit.kind.clone(), |k| k.name.clone()),
        kind_code: unit.kind.clone(),
        firm: firm.map_or_else(String::new, |id| names.firm(id).to_owned()),
        engineer: engineer_name(names, engineer),
        registration: registration(card, &paper, day),
        items: items(sheet),
        defects: defects(sheet),
        examined_26_9: sheet.yes("gc_26_9"),
        readings: measured.lines,
        not_taken: measured.not_taken,
        answered: measured.answered,
        first_service: !kept
            .iter()
            .any(|(of, r)| *of != Some(visit.id) && wall::day(r.taken_at) < day),
        work: sheet.get("work").to_owned(),
        fitted: part_name(tx, unit, sheet.get("fitted"))?,
        left: outcome_of(visit),
        next_words: sheet.get("next_words").to_owned(),
        told: sheet.yes_no("told"),
        not_told_why: sheet.get("soft.resident_not_told").to_owned(),
        findings: findings(tx, job, unit, day)?,
        duties: duties(tx, job, day)?,
        signature: String::new(),
        rule_book,
    })
}

fn engineer_name(names: &Names, engineer: Option<EngineerId>) -> String {
    engineer.map_or_else(String::new, |id| names.engineer(id).to_owned())
}

/// The papers work on a kind of unit asks for.
pub(super) fn papers_for(kind: &Kind) -> Vec<Covers> {
    kind.covers
        .split_whitespace()
        .filter_map(|code| code.parse().ok())
        .collect()
}

/// The number of the first paper in date on the day that covers the work; empty when there is none.
pub(super) fn registration(
    card: Option<&Engineer>,
    covers: &[Covers],
    day: chrono::NaiveDate,
) -> String {
    covers
        .iter()
        .find_map(|what| card?.covers(*what, day))
        .map_or_else(String::new, |paper| paper.number.clone())
}

fn part_name(tx: &mut Tx<'_>, unit: &UnitCard, code: &str) -> Result<String, Error> {
    if code.is_empty() {
        return Ok(String::new());
    }
    let parts = tx.part_shares()?;
    let part = parts.iter().find(|p| p.kind == unit.kind && p.code == code);
    Ok(part.map_or_else(|| code.to_owned(), |p| p.name.clone()))
}

fn items(sheet: &Sheet) -> Vec<Item> {
    (1..=ITEMS)
        .filter(|n| sheet.has(&format!("gc.{n}.name")) || sheet.has(&format!("gc.{n}.result")))
        .map(|n| Item {
            n,
            description: sheet.get(&format!("gc.{n}.name")).to_owned(),
            location: sheet.get(&format!("gc.{n}.where")).to_owned(),
            result: sheet.get(&format!("gc.{n}.result")).to_owned(),
        })
        .collect()
}

/// Defects as the engineer listed them, an unsafe situation among them. "None found" has to be said.
fn defects(sheet: &Sheet) -> Option<Vec<Defect>> {
    let mut found: Vec<Defect> = Vec::new();
    if matches!(sheet.get("unsafe"), "ID" | "AR") {
        let class = if sheet.get("unsafe") == "ID" {
            "immediately dangerous"
        } else {
            "at risk"
        };
        found.push(Defect {
            n: None,
            text: format!("{} Classed {class}.", sheet.get("unsafe_words")),
            action: unsafe_action(sheet),
        });
    }
    if sheet.get("gc_defects") == "found" {
        let listed = (1..=DEFECTS).filter(|n| *n == 1 || sheet.has(&format!("gc_d.{n}.words")));
        found.extend(listed.map(|n| Defect {
            n: Some(n),
            text: sheet.get(&format!("gc_d.{n}.words")).to_owned(),
            action: sheet.get(&format!("gc_d.{n}.action")).to_owned(),
        }));
    }
    (sheet.has("gc_defects") || !found.is_empty()).then_some(found)
}

fn unsafe_action(sheet: &Sheet) -> String {
    let done = match (sheet.yes("unsafe_isolated"), sheet.yes("unsafe_refused")) {
        (true, _) => "Isolated and labelled",
        (false, true) => "Permission to turn it off was refused; told not to use it",
        (false, false) => return String::new(),
    };
    match sheet.get("unsafe_notice") {
        "" => format!("{done}."),
        number => format!("{done}; warning notice {number} left."),
    }
}

/// The readings of a visit.
#[derive(Default)]
struct Measured {
    lines: Vec<ReadingLine>,
    not_taken: Vec<(String, String)>,
    answered: Vec<(String, String)>,
}

fn measured(
    unit: &UnitCard,
    kept: &[(Option<VisitId>, Reading)],
    visit: VisitId,
    sheet: &Sheet,
) -> Result<Measured, Error> {
    let book = book()?;
    let here = |code: &str, stage: &str| {
        kept.iter()
            .find(|(of, r)| *of == Some(visit) && r.code == code && r.stage == stage)
            .map(|(_, r)| r)
    };
    let mut found = Measured::default();
    let set = set_for(book, &unit.kind);
    for (spec, owed) in set
        .iter()
        .map(|s| (s, true))
        .chain(tests_for(book, &unit.kind).iter().map(|s| (s, false)))
    {
        let mut said = Vec::new();
        for field in &spec.fields {
            let (before, after) = (here(&field.code, "before"), here(&field.code, "after"));
            let Some(any) = before.or(after) else {
                continue;
            };
            let words = |r: Option<&Reading>| r.map_or_else(String::new, |r| shown(field, r));
            said.push(words(before.or(after)));
            found.lines.push(ReadingLine {
                reading: spec.code.clone(),
                label: spec.name_of(field),
                before: words(before),
                after: words(after),
                instrument: any.instrument.clone(),
                calibrated_until: any.calibrated_until,
            });
        }
        let reason = sheet.get(&format!("no.{}", spec.code));
        if is_taken(spec, |code| {
            here(code, "before").is_some() || here(code, "after").is_some()
        }) {
            found.answered.push((spec.code.clone(), said.join(", ")));
        } else if owed && !reason.is_empty() {
            found
                .not_taken
                .push((spec.label.clone(), reason.to_owned()));
            // A reason that was typed stands in its place: it says what happened.
            let words = format!("not taken: {reason}");
            found.answered.push((spec.code.clone(), words));
        }
    }
    Ok(found)
}

/// Whether the fields a reading needs are there.
fn is_taken(spec: &ReadingSpec, has: impl Fn(&str) -> bool) -> bool {
    if spec.any {
        return spec.fields.iter().any(|f| has(&f.code));
    }
    let mut needed = spec.fields.iter().filter(|f| !f.optional).peekable();
    needed.peek().is_some() && needed.all(|f| has(&f.code))
}

/// "19.8 mbar", "yes", "drips when heating"
fn shown(field: &FieldSpec, reading: &Reading) -> String {
    let Some(value) = reading.value else {
        let choice = field
            .choices
            .iter()
            .find(|(code, _)| *code == reading.words);
        return choice.map_or_else(|| reading.words.clone(), |(_, words)| words.clone());
    };
    if reading.measured_in.is_empty() {
        value.to_string()
    } else {
        format!("{value}\u{a0}{}", reading.measured_in)
    }
}

/// What the rules asked for at this visit, in words.
fn findings(
    tx: &mut Tx<'_>,
    job: &Job,
    unit: &UnitCard,
    day: chrono::NaiveDate,
) -> Result<Vec<String>, Error> {
    Ok(tx
        .findings_of(unit.id)?
        .into_iter()
        .filter(|(of, f)| *of == job.id && f.on == day)
        .filter(|(_, f)| matches!(f.level, Level::Act | Level::Stop))
        .map(|(_, f)| f.words)
        .collect())
}

fn duties(tx: &mut Tx<'_>, job: &Job, day: chrono::NaiveDate) -> Result<Vec<DutyLine>, Error> {
    let rules = tx.duty_rules()?;
    let of_job = tx.duties_of_job(job.id)?;
    let ids: Vec<terms::DutyId> = of_job.iter().map(|(id, _, _)| *id).collect();
    let rows = tx.completions_of(&ids, false)?;
    Ok(of_job
        .into_iter()
        .map(|(id, code, _)| {
            let row = rows
                .iter()
                .rfind(|r| r.duty == id && r.job == Some(job.id) && r.done_on == Some(day));
            let rule = rules.iter().find(|r| r.code == code);
            DutyLine {
                name: rule.map_or(code, |r| r.name.clone()),
                done_on: row.and_then(|r| r.done_on),
                whole: row.is_some_and(|r| r.check_complete),
                next: row.and_then(|r| r.next_deadline),
            }
        })
        .collect())
}
