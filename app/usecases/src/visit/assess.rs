//! What the rules say of a sheet: findings as found and as left, likely parts, and what stands in the way of ending it.
use std::collections::BTreeMap;

use inspection::completion::{Completion, check_with, words_for};
use inspection::findings::{Finding, VisitFindings, VisitInput, at_visit};
use inspection::suspects::{RankQuery, Ranking, rank};
use inspection::{Level, RuleBook, Values};
use terms::{FunctionLost, JobState};

use super::as_left;
use super::blocks::completion_sheet;
use super::facts::Facts;
use super::sheet::{ENDS, Sheet};
use super::values::{calibrated_until, earlier, typed_values};
use crate::work::{NEIGHBOURS, complaint_of, known_of};
use crate::{Error, FieldError};

/// The judgement on a sheet as it stands.
#[derive(Clone, Debug)]
pub struct Assessment {
    /// Fields that cannot be read.
    pub wrongs: Vec<FieldError>,
    /// Findings of the readings before the work.
    pub found: Vec<Finding>,
    /// The code each limit gave for the readings before the work, by its row.
    pub judged: BTreeMap<String, String>,
    /// Findings of the readings as left.
    pub left: Vec<Finding>,
    /// Likely parts; none for kinds without a table or when nothing was looked for.
    pub ranking: Option<Ranking>,
    /// Observations seen, typed or shown by readings.
    pub seen: Vec<String>,
    /// Observations looked for and not there.
    pub not_seen: Vec<String>,
    /// The completion blocks.
    pub completion: Completion,
    /// What stands in the way of "done", in words.
    pub in_the_way: Vec<String>,
    /// The ends that are open.
    pub open_ends: Vec<JobState>,
    /// The values before the work.
    pub(super) before: Values,
    /// The values after the work.
    pub(super) after: Values,
}

impl Assessment {
    /// Whether any reading before the work was typed.
    pub fn has_readings(&self) -> bool {
        self.before.iter().any(|(_, value)| !value.is_blank())
    }

    /// Findings that say stop and were not put right.
    pub fn stops(&self) -> impl Iterator<Item = &Finding> {
        self.left.iter().filter(|f| f.level == Level::Stop)
    }
}

fn internal(error: inspection::InspectionError) -> Error {
    Error::Internal(error.to_string())
}

/// Judges a sheet.
///
/// # Errors
/// Only if the rule book itself is wrong.
pub fn assess(facts: &Facts, sheet: &Sheet) -> Result<Assessment, Error> {
    let book = RuleBook::shipped().map_err(internal)?;
    let mut wrongs = as_left::wrongs(sheet);
    let before = typed_values(book, facts.kind_code(), (sheet, "r."), &mut wrongs);
    let after = typed_values(book, facts.kind_after(sheet), (sheet, "a."), &mut wrongs);
    let mut latest = before.clone();
    latest.take_over("", &after);
    let found = judge(book, facts, sheet, &before)?;
    let left = match facts.came_as(sheet) {
        Some(kind) => judge_new(book, facts, (sheet, kind), &after)?,
        None => judge(book, facts, sheet, &latest)?,
    };
    let (seen, not_seen) = observations(book, facts, sheet, &found);
    let ranking = ranked(book, facts, &seen, &not_seen)?;
    let inputs = super::blocks::Inputs {
        facts,
        sheet,
        latest: &latest,
        before: &before,
        after: &after,
        left: &left,
    };
    let completion = check_with(book, &completion_sheet(book, &inputs)).map_err(internal)?;
    let mut in_the_way = words_for(book, &completion);
    in_the_way.extend(
        left.findings
            .iter()
            .filter(|f| f.level == Level::Stop)
            .map(|f| f.sentence.clone()),
    );
    let stopped = left.findings.iter().any(|f| f.level == Level::Stop);
    let open_ends = open_ends(&completion, stopped);
    Ok(Assessment {
        wrongs,
        found: found.findings,
        judged: found.judged,
        left: left.findings,
        ranking,
        seen,
        not_seen,
        completion,
        in_the_way,
        open_ends,
        before,
        after,
    })
}

/// What the rules leave open, in the order offered.
fn open_ends(completion: &Completion, stopped: bool) -> Vec<JobState> {
    use inspection::completion::Outcome;
    let open = |outcome: Outcome| completion.allowed_outcomes.contains(&outcome);
    ENDS.into_iter()
        .filter(|end| match end {
            JobState::Done => open(Outcome::Complete) && !stopped,
            JobState::WaitingForPart => open(Outcome::AwaitingPart),
            JobState::MadeSafe => open(Outcome::MadeSafeReturn) || open(Outcome::UserDeclined),
            JobState::WaitingForDecision => open(Outcome::MadeSafeReturn),
            JobState::NoAccess => open(Outcome::NoAccess),
            _ => open(Outcome::Isolated),
        })
        .collect()
}

fn judge(
    book: &RuleBook,
    facts: &Facts,
    sheet: &Sheet,
    readings: &Values,
) -> Result<VisitFindings, Error> {
    if book.set(facts.kind_code()).is_none() {
        return Ok(VisitFindings::default());
    }
    with_input(book, (facts, sheet, readings), |input| {
        at_visit(book, input).map_err(internal)
    })
}

/// What the rules say of the first readings of a unit of another kind that came: it has no past and no maker's figures yet.
fn judge_new(
    book: &RuleBook,
    facts: &Facts,
    (sheet, kind): (&Sheet, &str),
    readings: &Values,
) -> Result<VisitFindings, Error> {
    if book.set(kind).is_none() {
        return Ok(VisitFindings::default());
    }
    let mut plate = Values::new();
    for (key, name) in [
        ("new.rated_kw", "rated_kw"),
        ("new.rated_kw", "heat_kw"),
        ("new.litres", "litres"),
    ] {
        if let Ok(number) = sheet.get(key).replace(',', ".").parse::<f64>() {
            plate.set(name, number);
        }
    }
    if let Some(fitted) = sheet.yes_no("new.reducer") {
        plate.set("reducer_fitted", fitted);
    }
    at_visit(
        book,
        &VisitInput {
            kind,
            on: facts.day,
            first_service: true,
            service: false,
            readings,
            earlier: &[],
            plate: &plate,
            site: &site(facts),
            makers: &BTreeMap::new(),
            calibrated_until: &calibrated_until(facts, sheet),
            next_due: None,
            work_recorded_since_last: true,
        },
    )
    .map_err(internal)
}

/// Everything the rules are told of a visit besides the readings typed.
pub(super) fn with_input<T>(
    book: &RuleBook,
    (facts, sheet, readings): (&Facts, &Sheet, &Values),
    then: impl FnOnce(&VisitInput<'_>) -> T,
) -> T {
    then(&VisitInput {
        kind: facts.kind_code(),
        on: facts.day,
        first_service: facts.first_service(),
        service: facts.owes_the_set(),
        readings,
        earlier: &earlier(book, facts),
        plate: &plate(facts),
        site: &site(facts),
        makers: &facts.makers,
        calibrated_until: &calibrated_until(facts, sheet),
        next_due: facts.next_due,
        work_recorded_since_last: work_since(facts),
    })
}

fn plate(facts: &Facts) -> Values {
    let mut plate = Values::new();
    let charge = facts.makers.get("A14").and_then(|m| m.number("charge_bar"));
    if let Some(bar) = charge {
        plate.set("vessel_setting_bar", bar);
    }
    if let Some(unit) = &facts.unit {
        if let Some(kw) = unit.rated_kw {
            plate.set("rated_kw", kw);
            plate.set("heat_kw", kw);
        }
        if let Some(litres) = unit.litres {
            plate.set("litres", litres);
        }
        if let Some(fitted) = unit.reducer_fitted {
            plate.set("reducer_fitted", fitted);
        }
    }
    plate
}

fn site(facts: &Facts) -> Values {
    let heating = matches!(
        facts.job.function_lost,
        Some(FunctionLost::Heating | FunctionLost::HeatingAndHotWater)
    );
    Values::new()
        .with("winter", inspection::calendar::is_winter(facts.day))
        .with("heating_failed", heating)
}

/// Whether work on the unit is on record since its last readings.
pub(super) fn work_since(facts: &Facts) -> bool {
    let Some((_, last)) = facts.readings.first() else {
        return false;
    };
    let last = crate::work::wall::day(last.taken_at);
    facts.history.parts.iter().any(|p| p.fitted_on >= last)
        || facts.history.failures.iter().any(|f| f.happened_on >= last)
}

/// What was seen and not seen: the caller's complaint, what the readings show, and what was typed, which wins.
fn observations(
    book: &RuleBook,
    facts: &Facts,
    sheet: &Sheet,
    found: &VisitFindings,
) -> (Vec<String>, Vec<String>) {
    let Ok(table) = book.table(facts.kind_code()) else {
        return (Vec::new(), Vec::new());
    };
    let mut said: BTreeMap<&str, bool> = BTreeMap::new();
    let told = told_before(book, facts);
    for code in &told {
        said.insert(code, true);
    }
    for code in &found.seen {
        said.insert(code, true);
    }
    for code in &found.not_seen {
        said.insert(code, false);
    }
    for (code, typed) in sheet.behind("o.") {
        match typed {
            "seen" => said.insert(code, true),
            "not" => said.insert(code, false),
            _ => None,
        };
    }
    let pick = |wanted: bool| {
        table
            .observations
            .iter()
            .filter(|o| said.get(o.code.as_str()) == Some(&wanted))
            .map(|o| o.code.clone())
            .collect()
    };
    (pick(true), pick(false))
}

/// What the ranking is told besides what was seen; none without a unit.
pub(super) fn rank_query(facts: &Facts) -> Option<RankQuery> {
    let unit = facts.unit.as_ref()?;
    let learned = (
        facts.parts.as_slice(),
        facts.learned.clone(),
        &facts.part_rates,
    );
    Some(RankQuery {
        hardness_mg_l: unit.hardness_mg_l.or(facts.building.hardness_mg_l),
        ..known_of(unit, &facts.history, learned, facts.day)
    })
}

/// What is taken as seen before anybody looked: what the caller said, and that neighbours called too.
pub(super) fn told_before(book: &RuleBook, facts: &Facts) -> Vec<String> {
    complaint_of(book, facts.kind_code(), facts.job.function_lost)
        .into_iter()
        .chain(facts.neighbours_too.then(|| NEIGHBOURS.to_owned()))
        .collect()
}

fn ranked(
    book: &RuleBook,
    facts: &Facts,
    seen: &[String],
    not_seen: &[String],
) -> Result<Option<Ranking>, Error> {
    let Some(known) = rank_query(facts).filter(|_| !seen.is_empty()) else {
        return Ok(None);
    };
    let query = RankQuery {
        seen: seen.to_vec(),
        not_seen: not_seen.to_vec(),
        ..known
    };
    match rank(book, &query) {
        Ok(ranking) => Ok(Some(ranking)),
        // No part of the table explains it all: say nothing rather than guess.
        Err(inspection::InspectionError::Impossible { .. }) => Ok(None),
        Err(other) => Err(internal(other)),
    }
}
