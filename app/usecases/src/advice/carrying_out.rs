//! What follows from a decision: the repair goes on, is asked about again, or gives way to a replacement.
use serde_json::json;
use store::Tx;
use store::advices::{Advice, Decision};
use store::jobs::{Job, NewJob, Which};
use terms::unit::UnitCard;
use terms::{Choice, DecisionId, JobKind, JobState};

use super::deciding::{DecideForm, Decided, answer_of};
use super::reading::Listed;
use crate::Error;

/// Minutes set aside to fit a unit (common practice, no source).
const FITTING_MINUTES: i32 = 420;

/// Writes the decision and moves the job; the caller has checked both and holds the advice.
pub(super) fn carry_out(
    tx: &mut Tx<'_>,
    form: &DecideForm,
    advice: &Advice,
    unit: &UnitCard,
) -> Result<Decided, Error> {
    let decision = tx.add_decision(&Decision {
        id: DecisionId(uuid::Uuid::nil()),
        advice: advice.id,
        unit: unit.id,
        choice: form.choice,
        option: form
            .option
            .clone()
            .filter(|_| form.choice == Choice::Replace),
        reason: form.reason.trim().to_owned(),
        how: form.how.clone(),
        decided_by: tx.who(),
        on_behalf_of: form.on_behalf_of.trim().to_owned(),
        recorded_at: tx.at(),
    })?;
    let job = advice.job.map(|id| tx.hold_job(id)).transpose()?;
    let job = match form.choice {
        Choice::Keep => None,
        Choice::Repair => job.map(|job| goes_on(tx, job, form)).transpose()?,
        Choice::AnotherQuote => job.map(|job| asked_again(tx, job, form)).transpose()?,
        Choice::Replace => Some(replaced(tx, job, form, (advice, unit))?),
    };
    let body = json!({
        "advice": advice.id, "choice": form.choice, "option": form.option, "how": form.how,
        "on_behalf_of": form.on_behalf_of.trim(), "reason": form.reason.trim(), "digest": advice.digest,
    });
    tx.note("advice decided", &unit.id.to_string(), &body);
    let job = job.map(|j| (j.id, j.number, j.state));
    Ok(Decided {
        decision,
        unit_number: unit.number.clone(),
        job,
    })
}

/// The job that follows from what was decided, its number and where it stands: the repair that asked, or the replacement it
/// opened.
pub(super) fn following(
    tx: &mut Tx<'_>,
    listed: &Listed,
    asked: Option<&Job>,
) -> Result<Option<(String, JobState)>, Error> {
    let Some(made) = &listed.decision else {
        return Ok(None);
    };
    Ok(match made.choice {
        Choice::Keep | Choice::AnotherQuote => None,
        Choice::Repair => asked.map(|job| (job.number.clone(), job.state)),
        Choice::Replace => tx
            .jobs(&Which::Unit(listed.unit.id))?
            .into_iter()
            .filter(|job| job.kind == JobKind::Replacement && job.source == "advice")
            .filter(|job| job.opened_at >= made.at)
            .min_by_key(|job| job.opened_at)
            .map(|job| (job.number, job.state)),
    })
}

/// The reason as a sentence.
fn reason(form: &DecideForm) -> String {
    let words = form.reason.trim();
    if words.ends_with(['.', '!', '?']) {
        words.to_owned()
    } else {
        format!("{words}.")
    }
}

/// Moves a job where that is allowed; else only writes the words into its history.
fn moved(tx: &mut Tx<'_>, mut job: Job, to: JobState, words: &str) -> Result<Job, Error> {
    if job.state.may_become(to) {
        job.state = to;
        if to == JobState::ToPlace {
            (job.firm, job.engineer, job.booked) = (None, None, None);
        }
        if to == JobState::Taken {
            job.booked = None;
        }
        if to == JobState::StoodDown {
            job.closed_at = Some(tx.at());
        }
        tx.save_job(&job)?;
    }
    let whom = job.firm.map(|firm| (firm, job.engineer));
    tx.add_job_event(job.id, job.state, whom, words)?;
    Ok(job)
}

fn goes_on(tx: &mut Tx<'_>, job: Job, form: &DecideForm) -> Result<Job, Error> {
    let to = if job.firm.is_some() {
        JobState::Taken
    } else {
        JobState::ToPlace
    };
    let words = format!("Decided: repair as quoted. {}", reason(form));
    moved(tx, job, to, &words)
}

fn asked_again(tx: &mut Tx<'_>, job: Job, form: &DecideForm) -> Result<Job, Error> {
    let words = format!("Decided: ask for another quote. {}", reason(form));
    moved(tx, job, JobState::ToPlace, &words)
}

/// " Works first: the cold main in 22 mm; a scale reducer.": what whoever is offered the job has to quote and do before it;
/// nothing where nothing comes first.
fn works_first(advice: &Advice, option: &str) -> Result<String, Error> {
    let answer = answer_of(advice)?;
    let mut options = answer.options.iter();
    let Some(found) = options.find(|o| o.code == option) else {
        return Ok(String::new());
    };
    let size = found.too_little.map_or_else(String::new, |more| {
        let measure = if more.litres { "l" } else { "kW" };
        format!(" Size: {:.0} {measure} or more.", more.would_do)
    });
    let works: Vec<&str> = found.works.iter().map(|work| work.what.as_str()).collect();
    Ok(if works.is_empty() {
        size
    } else {
        format!("{size} Works first: {}.", works.join("; "))
    })
}

/// Opens the replacement, leads the calls to it and stands the repair down.
fn replaced(
    tx: &mut Tx<'_>,
    repair: Option<Job>,
    form: &DecideForm,
    (advice, unit): (&Advice, &UnitCard),
) -> Result<Job, Error> {
    let option = form.option.clone().unwrap_or_default();
    let works = works_first(advice, &option)?;
    let kinds = tx.kinds()?;
    let new = kinds.iter().find(|k| k.code == option);
    let name = new.map_or(option.as_str(), |k| k.name.as_str());
    let how = if option == unit.kind {
        "like for like".to_owned()
    } else {
        format!("with another kind: {name}")
    };
    let (id, _) = tx.add_job(&NewJob {
        kind: JobKind::Replacement,
        building: unit.building,
        space: unit.space,
        unit: Some(unit.id),
        function_lost: repair.as_ref().and_then(|job| job.function_lost),
        words: format!("Replace {} {how}. {}{works}", unit.number, reason(form)),
        source: "advice",
        covers: new.map(|k| k.covers.clone()).unwrap_or_default(),
        minutes: FITTING_MINUTES,
        due_at: repair.as_ref().and_then(|job| job.due_at),
        due_why: repair
            .as_ref()
            .map(|job| job.due_why.clone())
            .unwrap_or_default(),
        duties: Vec::new(),
    })?;
    let job = tx.job(id)?;
    if let Some(repair) = repair {
        tx.move_calls(repair.id, id)?;
        let words = format!("Decided: replace instead, {}. {}", job.number, reason(form));
        moved(tx, repair, JobState::StoodDown, &words)?;
    }
    Ok(job)
}
