//! Clocks of law that run from a report beside the landlord's own times: the right to repair of a council's secure tenant,
//! and the clocks of a hazard in a social tenancy. Both follow who holds the home on the day of the report.
use chrono::{DateTime, NaiveDate, Utc};
use inspection::RuleBook;
use inspection::clock::{
    AwaabClock, AwaabKind, Deadline, LocalTime, RepairClock, WorkingDays, awaab, right_to_repair,
};
use store::Tx;
use store::hazards::Hazard;
use store::jobs::Job;
use terms::{Country, JobId, JobKind, SpaceId, Tenure, UsedAs};

use super::clock::report_of;
use super::wall;
use crate::Error;

/// How the hazard clocks are known: a status as the rule book words them.
const AWAAB_STATUS: &str = "published page";

/// One clock of law, beside the landlord's own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LawClock {
    /// "Right to repair", or what the hazard is.
    pub what: String,
    /// Its dates in a sentence, or why none is held.
    pub sentence: String,
    /// What it rests on.
    pub basis: &'static str,
    /// How the rule is known.
    pub status: String,
    /// The next of its dates that is not met; none where it does not run, or everything is done.
    pub due_at: Option<DateTime<Utc>>,
    /// The steps of a hazard, in order; empty for other clocks.
    pub steps: Vec<HazardStep>,
    /// The home of a hazard; none for other clocks.
    pub hazard_in: Option<SpaceId>,
}

/// One thing the hazard clocks ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HazardStep {
    /// "investigated"
    pub what: &'static str,
    /// By when.
    pub by: Deadline,
    /// The day it was done.
    pub done_on: Option<NaiveDate>,
    /// Past its day: of today while it is open, of the day it was done after.
    pub late: bool,
}

pub(super) fn book() -> Result<&'static RuleBook, Error> {
    RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))
}

/// The instant a deadline ends at.
pub(super) fn instant(by: Deadline) -> Option<DateTime<Utc>> {
    match by {
        Deadline::At(LocalTime(moment)) => wall::instant(moment.date(), moment.time()),
        Deadline::On(day) => wall::end_of(day),
    }
}

/// Whether the right to repair is this home's on the day of a report.
pub(crate) fn is_council_secure(
    tx: &mut Tx<'_>,
    space: SpaceId,
    at: DateTime<Utc>,
) -> Result<bool, Error> {
    Ok(tx.tenure_on(space, wall::day(at))? == Tenure::CouncilSecure)
}

/// The clocks of law of a job, by the day it was reported.
pub(crate) fn law_clocks(
    tx: &mut Tx<'_>,
    days: &WorkingDays,
    job: &Job,
) -> Result<Vec<LawClock>, Error> {
    let country = tx.building(job.building)?.country;
    let mut clocks: Vec<LawClock> = repair_clock(tx, days, (job, country))?
        .into_iter()
        .collect();
    for hazard in tx.hazards_of(Some(job.id))? {
        clocks.push(hazard_clock(tx, days, (&hazard, country))?);
    }
    Ok(clocks)
}

/// The right to repair of the home a repair is for; nothing where the loss is none of its defects.
fn repair_clock(
    tx: &mut Tx<'_>,
    days: &WorkingDays,
    (job, country): (&Job, Country),
) -> Result<Option<LawClock>, Error> {
    let lost = job.function_lost.filter(|_| job.kind == JobKind::Repair);
    let (Some(lost), true) = (lost, country.code() == book()?.country()) else {
        return Ok(None);
    };
    let internal = |e: inspection::InspectionError| Error::Internal(e.to_string());
    let rule = book()?.response_rule(report_of(lost)).map_err(internal)?;
    let home = tx.space(job.space)?;
    let (Some(defect), UsedAs::Flat) = (&rule.defect, home.used_as) else {
        return Ok(None);
    };
    let on = wall::day(job.opened_at);
    let known = book()?
        .repair_rules()
        .iter()
        .find(|r| r.defect == *defect)
        .map_or_else(String::new, |r| r.status.clone());
    let (sentence, due) = match tx.tenure_on(job.space, on)? {
        Tenure::CouncilSecure => {
            let clock: RepairClock =
                right_to_repair(book()?, days, country.code(), defect, on).map_err(internal)?;
            (clock.sentence(), clock.due)
        }
        Tenure::Unknown => (
            "Whether the right to repair applies is not known: secure tenants of a council have it, and who holds this home \
             is not stated."
                .to_owned(),
            None,
        ),
        Tenure::Social | Tenure::Private | Tenure::LongLease => return Ok(None),
    };
    Ok(Some(LawClock {
        what: "Right to repair".to_owned(),
        sentence,
        basis: "law",
        status: known,
        due_at: due.and_then(wall::end_of),
        steps: Vec::new(),
        hazard_in: None,
    }))
}

/// The clocks of one hazard. A home of which nobody knows who holds it is kept to them until somebody says otherwise.
pub(super) fn hazard_clock(
    tx: &mut Tx<'_>,
    days: &WorkingDays,
    (hazard, country): (&Hazard, Country),
) -> Result<LawClock, Error> {
    let kind: AwaabKind = hazard
        .kind
        .parse()
        .map_err(|e: inspection::InspectionError| Error::Internal(e.to_string()))?;
    let tenure = tx.tenure_on(hazard.space, wall::day(hazard.aware_at))?;
    let dated = awaab(
        days,
        kind,
        &hazard.hazard,
        LocalTime(wall::local(hazard.aware_at)),
        hazard.investigated_on,
    );
    let runs = country == Country::England && tenure.is_social() != Some(false);
    let steps = if runs {
        steps(&dated, hazard, wall::day(tx.at()))
    } else {
        Vec::new()
    };
    let sentence = match (country, tenure.is_social()) {
        (Country::England, Some(false)) => format!(
            "The hazard clocks are those of social tenancies; this home was held by a {tenure} when it was told. It stays \
             on record as a hazard, and the fitness of the home is owed all the same."
        ),
        (Country::England, None) if dated.applies => format!(
            "{} These are the clocks of social tenancies: who holds this home is not stated, so it is kept to them until \
             somebody says otherwise.",
            dated.sentence()
        ),
        (Country::England, _) => dated.sentence(),
        (other, _) => format!("No hazard clocks are held for {other}; nothing is guessed."),
    };
    Ok(LawClock {
        what: capital(kind.words()),
        sentence,
        basis: "law",
        status: AWAAB_STATUS.to_owned(),
        due_at: steps
            .iter()
            .filter(|step| step.done_on.is_none())
            .filter_map(|step| instant(step.by))
            .min(),
        steps,
        hazard_in: Some(hazard.space),
    })
}

fn capital(words: &str) -> String {
    let words = words.trim_start_matches("an ").trim_start_matches("a ");
    let mut letters = words.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

/// What the clocks ask for, each with its day. Further works need not be begun where none are needed.
fn steps(clock: &AwaabClock, hazard: &Hazard, today: NaiveDate) -> Vec<HazardStep> {
    let safe_by = clock
        .make_safe_by
        .or(clock.safety_work_by.map(Deadline::On));
    let asked = [
        ("investigated", clock.investigate_by, hazard.investigated_on),
        (
            "written summary given",
            clock.summary_by.map(Deadline::On),
            hazard.summary_on,
        ),
        ("made safe", safe_by, hazard.safety_on),
        (
            "further works begun, where any are needed",
            clock.further_work_begin_by.map(Deadline::On),
            hazard.begun_on,
        ),
    ];
    asked
        .into_iter()
        .filter_map(|(what, by, done_on)| {
            let by = by?;
            Some(HazardStep {
                what,
                by,
                done_on,
                late: done_on.unwrap_or(today) > by.day(),
            })
        })
        .collect()
}

/// Whether law sets a date for a job, so that nothing stops its clock.
pub(super) fn runs_by_law(tx: &mut Tx<'_>, job: &Job) -> Result<bool, Error> {
    let country = tx.building(job.building)?.country;
    // Which days are working days moves a date, never whether there is one.
    let days = WorkingDays::england_published(&[]);
    if repair_clock(tx, &days, (job, country))?.is_some_and(|clock| clock.due_at.is_some()) {
        return Ok(true);
    }
    for hazard in tx.hazards_of(Some(job.id))? {
        if hazard_clock(tx, &days, (&hazard, country))?
            .due_at
            .is_some()
        {
            return Ok(true);
        }
    }
    Ok(false)
}

/// A job's own time, or the nearest of the law's where that comes first, with its sentence.
pub(crate) fn no_later(
    tx: &mut Tx<'_>,
    days: &WorkingDays,
    job: &Job,
    due_at: Option<DateTime<Utc>>,
) -> Result<(Option<DateTime<Utc>>, Option<String>), Error> {
    let nearest = law_clocks(tx, days, job)?
        .into_iter()
        .filter_map(|clock| Some((clock.due_at?, clock.sentence)))
        .min_by_key(|(at, _)| *at);
    Ok(match (nearest, due_at) {
        (Some((law, why)), Some(own)) if law < own => (Some(law), Some(why)),
        (Some((law, why)), None) => (Some(law), Some(why)),
        (_, own) => (own, None),
    })
}

/// Brings an open job's time forward where the law's comes first; it is never put off.
pub(crate) fn bring_forward(tx: &mut Tx<'_>, days: &WorkingDays, job: JobId) -> Result<(), Error> {
    let job = tx.job(job)?;
    if job.closed_at.is_some() {
        return Ok(());
    }
    if let (Some(at), Some(why)) = no_later(tx, days, &job, job.due_at)? {
        tx.move_due(job.id, at, format!("{} {why}", job.due_why).trim())?;
    }
    Ok(())
}
