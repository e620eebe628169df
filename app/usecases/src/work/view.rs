//! One job in full: its history, the unit's, the way in, the needs, the cautions; each shown to whom it is for.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use inspection::suspects::Ranking;
use serde_json::json;
use store::Tx;
use store::calls::Call;
use store::history::History;
use store::jobs::{Job, JobEvent, Offer};
use store::outages::{OutageCard, WhichOutages};
use store::units::Which;
use store::visits::{AccessAttempt, FindingRow, Notice, Visit};
use terms::place::{BuildingCard, Need, SpaceCard};
use terms::unit::{Reading, UnitCard};
use terms::{AccountId, DutyId, Fate, JobId, JobState, Pence, QuoteId, Role, SpaceId, VisitId};

use super::by_law::{LawClock, law_clocks};
use super::clock::working_days;
use super::names::{Names, names_in};
use super::ranking::before_visit;
use super::reach::must_see;
use super::wall;
use crate::{Error, Seat, World};

/// How to reach a space; the code never stands here.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ViewedWay {
    /// In words.
    pub how: String,
    /// Who opens.
    pub opens: String,
    /// Where the stop tap is.
    pub stop_tap: String,
    /// Where the isolation valves are.
    pub isolation: String,
    /// Where the meter is.
    pub meter: String,
    /// A key or door code is on record.
    pub has_code: bool,
    /// The one who asks may look at it now.
    pub may_look: bool,
}

/// A job in full.
#[derive(Clone, Debug)]
pub struct JobView {
    /// The job.
    pub job: Job,
    /// Its building.
    pub building: BuildingCard,
    /// Its space.
    pub space: SpaceCard,
    /// Its unit.
    pub unit: Option<UnitCard>,
    /// "combi gas boiler"
    pub kind_name: String,
    /// Names of firms and engineers.
    pub names: Names,
    /// Names of accounts in the events.
    pub accounts: BTreeMap<AccountId, String>,
    /// The clocks of law that run beside its own.
    pub law: Vec<LawClock>,
    /// What happened to it.
    pub events: Vec<JobEvent>,
    /// The calls it answers.
    pub calls: Vec<Call>,
    /// Offers: all for the desk, one's own for a firm.
    pub offers: Vec<Offer>,
    /// Duties it fulfils: id, code and name.
    pub duties: Vec<(DutyId, String, String)>,
    /// The unit's history.
    pub history: History,
    /// The unit's latest readings, each code once, newest first.
    pub last_readings: Vec<Reading>,
    /// The unit's latest findings.
    pub findings: Vec<FindingRow>,
    /// Unsafe situations not cleared.
    pub notices: Vec<Notice>,
    /// The outage it answers.
    pub outage: Option<OutageCard>,
    /// Visits so far.
    pub visits: Vec<Visit>,
    /// What a supervisor let pass on them.
    pub overrides: Vec<Overridden>,
    /// When nobody opened.
    pub attempts: Vec<AccessAttempt>,
    /// Cautions to read before touching it.
    pub cautions: Vec<String>,
    /// The way in.
    pub way: Option<ViewedWay>,
    /// What the visitor has to do for whoever lives there; empty for whom it is not.
    pub needs: Vec<Need>,
    /// The resident's name and telephone; none for whom it is not.
    pub resident: Option<(String, String)>,
    /// Likely parts from what was said and the unit's history.
    pub ranking: Option<Ranking>,
    /// The advice that weighed the latest quote.
    pub upon: Option<crate::advice::Upon>,
    /// The latest quote: id, total, last day.
    pub quote: Option<(QuoteId, Pence, NaiveDate)>,
}

/// A block of a visit's sheet that a supervisor let pass in their own name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Overridden {
    /// The visit.
    pub visit: VisitId,
    /// The supervisor.
    pub by: String,
    /// Why.
    pub reason: String,
    /// When it came in.
    pub at: DateTime<Utc>,
}

/// A job in full, to whom it is for. A look at needs is noted.
pub fn job_view(world: &World, seat: &Seat, job: JobId) -> Result<JobView, Error> {
    let names = names_in(world, seat.estate())?;
    let days = working_days(world)?;
    let mut view = world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_see(tx, seat, &job)?;
        let law = law_clocks(tx, &days, &job)?;
        load(tx, seat, job, (names, law))
    })?;
    let mut who: Vec<AccountId> = view.events.iter().map(|e| e.by).collect();
    who.extend(view.visits.iter().map(|v| v.made_by));
    who.sort();
    who.dedup();
    view.accounts = crate::door::names(world, &who)?.into_iter().collect();
    Ok(view)
}

fn load(
    tx: &mut Tx<'_>,
    seat: &Seat,
    job: Job,
    (names, law): (Names, Vec<LawClock>),
) -> Result<JobView, Error> {
    let building = tx.building(job.building)?;
    let space = tx.space(job.space)?;
    let unit = job.unit.map(|id| tx.unit(id)).transpose()?;
    let kinds = tx.kinds()?;
    let kind_name = unit.as_ref().map_or_else(String::new, |u| {
        kinds
            .iter()
            .find(|k| k.code == u.kind)
            .map_or_else(|| u.kind.clone(), |k| k.name.clone())
    });
    let history = unit
        .as_ref()
        .map(|u| tx.history(u.id))
        .transpose()?
        .unwrap_or_default();
    let ranking = match &unit {
        Some(unit) => before_visit(tx, unit, &history, job.function_lost)?,
        None => None,
    };
    let duties = duties(tx, job.id)?;
    let own_firm = seat.grant().firm;
    let desk = matches!(seat.role(), Role::Agent | Role::Supervisor);
    let offers = tx
        .offers_of(job.id)?
        .into_iter()
        .filter(|o| desk || Some(o.firm) == own_firm)
        .collect();
    let (needs, resident) = people(tx, seat, &job)?;
    Ok(JobView {
        last_readings: match &unit {
            Some(unit) => latest(tx.readings_of(unit.id)?),
            None => Vec::new(),
        },
        findings: latest_findings(tx, unit.as_ref())?,
        notices: match &unit {
            Some(unit) => tx.open_notices(Some(unit.id))?,
            None => Vec::new(),
        },
        cautions: cautions(&kinds_there(tx, job.space, unit.as_ref())?, &building),
        way: way(tx, seat, &job)?,
        events: tx.job_events(job.id)?,
        calls: tx.calls_of(job.id)?,
        outage: tx.outages(WhichOutages::OfJob(job.id))?.pop(),
        overrides: overrides(tx, job.id)?,
        visits: tx.visits_of(job.id)?,
        attempts: tx.access_attempts_of(job.id)?,
        quote: tx.quote_of_job(job.id)?,
        upon: crate::advice::advice_upon(tx, job.id)?,
        accounts: BTreeMap::new(),
        building,
        space,
        unit,
        kind_name,
        names,
        law,
        offers,
        duties,
        history,
        needs,
        resident,
        ranking,
        job,
    })
}

/// The duties of a job with their names.
fn duties(tx: &mut Tx<'_>, job: JobId) -> Result<Vec<(DutyId, String, String)>, Error> {
    let rules = tx.duty_rules()?;
    Ok(tx
        .duties_of_job(job)?
        .into_iter()
        .map(|(id, code, _)| {
            let name = rules.iter().find(|r| r.code == code);
            let name = name.map_or_else(|| code.clone(), |r| r.name.clone());
            (id, code, name)
        })
        .collect())
}

/// Each code once: the newest, as left rather than as found.
fn latest(readings: Vec<(Option<VisitId>, Reading)>) -> Vec<Reading> {
    let mut found: Vec<Reading> = Vec::new();
    for (_, reading) in readings {
        match found.iter_mut().find(|r| r.code == reading.code) {
            None => found.push(reading),
            Some(kept)
                if wall::day(kept.taken_at) == wall::day(reading.taken_at)
                    && kept.stage == "before"
                    && reading.stage == "after" =>
            {
                *kept = reading;
            }
            Some(_) => {}
        }
    }
    found
}

/// Needs, and the resident's name and telephone.
type People = (Vec<Need>, Option<(String, String)>);

/// Needs and resident: the desk always; a contractor from the eve of the visit that is booked to them to its close.
fn people(tx: &mut Tx<'_>, seat: &Seat, job: &Job) -> Result<People, Error> {
    let shown = match seat.role() {
        Role::Agent | Role::Supervisor => true,
        Role::Contractor => is_booked_to(seat, job) && eve_has_come(tx, job),
        _ => false,
    };
    if !shown {
        return Ok((Vec::new(), None));
    }
    let needs = tx.needs_of(&[job.space])?;
    if !needs.is_empty() {
        tx.note(
            "needs looked at",
            &format!("job {}", job.id),
            &json!({ "number": job.number, "as": seat.role().code() }),
        );
    }
    Ok((needs, tx.resident(job.space)?))
}

fn is_booked_to(seat: &Seat, job: &Job) -> bool {
    seat.engineer().is_some()
        && job.engineer == seat.engineer()
        && job.firm == seat.grant().firm
        && matches!(job.state, JobState::Booked | JobState::OnSite)
}

fn eve_has_come(tx: &Tx<'_>, job: &Job) -> bool {
    let today = wall::day(tx.at());
    let eve = job.booked.and_then(|(from, _)| wall::day(from).pred_opt());
    job.state == JobState::OnSite || eve.is_some_and(|eve| today >= eve)
}

fn may_look(tx: &Tx<'_>, seat: &Seat, job: &Job) -> bool {
    let today = wall::day(tx.at());
    let on_the_day = job.booked.is_some_and(|(from, _)| wall::day(from) == today);
    seat.role() == Role::Contractor && is_booked_to(seat, job) && on_the_day
}

fn way(tx: &mut Tx<'_>, seat: &Seat, job: &Job) -> Result<Option<ViewedWay>, Error> {
    let may_look = may_look(tx, seat, job);
    let Some(way) = tx.way_in(job.space)? else {
        return Ok(None);
    };
    Ok(Some(ViewedWay {
        has_code: !way.code.is_empty(),
        may_look: may_look && !way.code.is_empty(),
        how: way.how,
        opens: way.opens,
        stop_tap: way.stop_tap,
        isolation: way.isolation,
        meter: way.meter,
    }))
}

/// The key or door code: only to the engineer booked, on the day; each look is noted.
///
/// # Errors
/// [`Error::NotFound`] for everybody else, as if there were none.
pub fn look_at_code(world: &World, seat: &Seat, job: JobId) -> Result<String, Error> {
    world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_see(tx, seat, &job)?;
        if !may_look(tx, seat, &job) {
            return Err(Error::NotFound("code"));
        }
        let way = tx.way_in(job.space)?.ok_or(Error::NotFound("code"))?;
        if way.code.is_empty() {
            return Err(Error::NotFound("code"));
        }
        tx.note(
            "code looked at",
            &format!("job {}", job.id),
            &json!({ "number": job.number, "engineer": seat.engineer() }),
        );
        Ok(way.code)
    })
}

/// The kind of the unit the work is on; where none is named (a riser's strainer), the kinds that stand in the place: whoever
/// opens something there stands before any of them.
pub(crate) fn kinds_there(
    tx: &mut Tx<'_>,
    space: SpaceId,
    unit: Option<&UnitCard>,
) -> Result<Vec<String>, Error> {
    if let Some(unit) = unit {
        return Ok(vec![unit.kind.clone()]);
    }
    let mut kinds: Vec<String> = tx
        .units(Which::Space(space))?
        .into_iter()
        .filter(|u| u.fate == Fate::InService && u.space == space)
        .map(|u| u.kind)
        .collect();
    kinds.sort_unstable();
    kinds.dedup();
    Ok(kinds)
}

/// Standing cautions of the trade for these kinds and the building, the general one last.
fn cautions(kinds: &[String], building: &BuildingCard) -> Vec<String> {
    let kinds: Vec<&str> = kinds.iter().map(String::as_str).collect();
    let mut lines: Vec<String> = inspection::standing::for_kinds(&kinds)
        .into_iter()
        .filter(|line| *line != inspection::standing::GENERAL)
        .map(str::to_owned)
        .collect();
    lines.extend(inspection::standing::dangers_of(&kinds).map(|danger| danger.words.to_owned()));
    lines.push(asbestos(building));
    lines.push("Lone work: tell the office before evening calls, empty flats and plant rooms, and when you are out. Nobody under 18 alone at home: do not enter.".to_owned());
    lines
}

fn asbestos(building: &BuildingCard) -> String {
    match (building.built_year, building.asbestos_register.as_str()) {
        (_, "present") => {
            "Asbestos: the register lists some in this building. Read it before any drilling or lifting of panels, lagging, rope seals or old casings."
        }
        (Some(year), _) if year >= 2000 => "Asbestos: the building is of 2000 or later.",
        (_, "none" | "clear") => {
            "Asbestos: the register was read and lists none here; stop if you meet something that looks like it."
        }
        _ => {
            "Asbestos: the building is older than 2000 or of unknown age, and no register is on record. No drilling before a register was seen."
        }
    }
    .to_owned()
}

/// The unit's latest findings.
fn latest_findings(tx: &mut Tx<'_>, unit: Option<&UnitCard>) -> Result<Vec<FindingRow>, Error> {
    let Some(unit) = unit else {
        return Ok(Vec::new());
    };
    let all = tx.findings_of(unit.id)?;
    Ok(all.into_iter().map(|(_, f)| f).take(12).collect())
}

/// The overrides on the sheets that ended this job's visits.
fn overrides(tx: &mut Tx<'_>, job: JobId) -> Result<Vec<Overridden>, Error> {
    let mut found = Vec::new();
    for visit in tx.visits_of(job)? {
        let Some(sheet) = tx.last_sheet(visit.id)?.filter(|sheet| sheet.closes) else {
            continue;
        };
        let said = |key: &str| sheet.body.get(key).and_then(|v| v.as_str()).unwrap_or("");
        if !said("override_reason").is_empty() {
            found.push(Overridden {
                visit: visit.id,
                by: said("override_by").to_owned(),
                reason: said("override_reason").to_owned(),
                at: sheet.received_at,
            });
        }
    }
    Ok(found)
}
