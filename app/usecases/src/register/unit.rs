//! One unit with everything on record of it.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use store::Tx;
use store::advices::{Advice, WhichAdvice};
use store::branches::BranchCard;
use store::history::History;
use store::standing::{DutyNow, ForecastNow, JobNow};
use store::swaps::Swap;
use store::units::{Statement, Stay, Which};
use store::visits::{FindingRow, Notice};
use terms::place::SpaceCard;
use terms::trade::{DutyRule, Kind, PartShare};
use terms::unit::{Reading, UnitCard};
use terms::{AccountId, Fate, JobId, Pence, Role, UnitId, VisitId};

use super::alike::{AlikeNow, holds};
use super::may_read_unit;
use crate::advice::AtRisk;
use crate::duties::dates::by_last_day;
use crate::{Error, Seat, World};

/// One unit with everything on record of it.
#[derive(Clone, Debug)]
pub struct UnitView {
    /// The unit.
    pub unit: UnitCard,
    /// Its kind; `None` when the kind was taken off the list.
    pub kind: Option<Kind>,
    /// What kinds are called, by code.
    pub kind_names: BTreeMap<String, String>,
    /// What it is alike with others in.
    pub alike: AlikeNow,
    /// The parts of its kind.
    pub parts: Vec<PartShare>,
    /// Where it stands.
    pub space: SpaceCard,
    /// Its stays with the names of the spaces, oldest first.
    pub stays: Vec<(Stay, String)>,
    /// Pipes it feeds today, by name.
    pub feeds: Vec<String>,
    /// Pipes its space hangs on today, by name.
    pub hangs_on: Vec<String>,
    /// Other units that stood, or stand, in its space.
    pub others_here: Vec<UnitCard>,
    /// What took its place, and what it took the place of, the earliest first.
    pub swaps: Vec<Swap>,
    /// Notices of its maker that are open on it.
    pub recalls: Vec<crate::recalls::OpenRecall>,
    /// Failures, parts, services.
    pub history: History,
    /// What readings of its kind are called, by code.
    pub reading_names: BTreeMap<String, String>,
    /// Readings with their visit, newest first.
    pub readings: Vec<(Option<VisitId>, Reading)>,
    /// Its jobs, newest first.
    pub jobs: Vec<JobNow>,
    /// The forecast in force.
    pub forecast: Option<ForecastNow>,
    /// Why there is no forecast, when there is none.
    pub no_forecast: Option<String>,
    /// Unsafe situations not yet cleared.
    pub notices: Vec<Notice>,
    /// What rules said of its readings, newest first.
    pub findings: Vec<(JobId, FindingRow)>,
    /// The advice in force, when there is one.
    pub advice: Option<Advice>,
    /// What replacing it would cost by that advice.
    pub replacing_costs: Option<Pence>,
    /// Whether the reader may open its jobs: not a landlord, whose pages hold nothing operational.
    pub opens_jobs: bool,
    /// The date its warranty hangs on, when there is one; not to a contractor.
    pub at_risk: Option<AtRisk>,
    /// Its duties with their rules.
    pub duties: Vec<(DutyNow, Option<DutyRule>)>,
    /// Everything ever stated of it, newest first.
    pub statements: Vec<Statement>,
    /// The names behind accounts.
    pub names: BTreeMap<AccountId, String>,
    /// Whether money may be shown: not to a contractor.
    pub shows_money: bool,
    /// Whether the reader may correct it.
    pub may_correct: bool,
    /// Today.
    pub today: NaiveDate,
}

/// One unit with everything on record of it.
///
/// # Errors
/// [`Error::NotFound`] for a unit of another estate, of another landlord's building, or that a contractor has no
/// job for.
pub fn unit_view(world: &World, seat: &Seat, id: UnitId) -> Result<UnitView, Error> {
    let mut view = world.acting(seat, |tx| {
        let unit = tx.unit(id)?;
        may_read_unit(tx, seat, &unit)?;
        let mut stays = Vec::new();
        for stay in tx.stays_of(id)? {
            let name = tx.space(stay.space)?.name;
            stays.push((stay, name));
        }
        let others_here = tx
            .units(Which::Space(unit.space))?
            .into_iter()
            .filter(|u| u.id != id)
            .collect();
        let duties = duties_of(tx, &unit)?;
        let road = matches!(seat.role(), Role::Contractor | Role::Office);
        let (feeds, hangs_on) = pipes_of(tx, &unit)?;
        let (advice, replacing_costs) = advice_now(tx, road, id)?;
        let kinds = tx.kinds()?;
        let at = tx.at();
        let likes = tx.likes(Some(&[id]), at)?.remove(&id);
        Ok(UnitView {
            alike: holds(&likes.unwrap_or_default()),
            feeds,
            hangs_on,
            kind_names: kinds
                .iter()
                .map(|k| (k.code.clone(), k.name.clone()))
                .collect(),
            kind: kinds.into_iter().find(|k| k.code == unit.kind),
            parts: tx
                .part_shares()?
                .into_iter()
                .filter(|p| p.kind == unit.kind)
                .collect(),
            space: tx.space(unit.space)?,
            history: tx.history(id)?,
            reading_names: reading_names(&unit.kind)?,
            readings: tx.readings_of(id)?,
            jobs: tx.jobs_of_unit_now(id)?,
            no_forecast: crate::forecast::why_none(tx, id)?,
            notices: tx.open_notices(Some(id))?,
            findings: tx.findings_of(id)?,
            advice,
            replacing_costs,
            opens_jobs: seat.role() != Role::Landlord,
            at_risk: at_risk(tx, road, &unit)?,
            forecast: tx.forecasts_now(&[id])?.pop(),
            statements: tx.statements_of(id)?,
            names: BTreeMap::new(),
            shows_money: !road,
            may_correct: seat.role() == Role::Agent,
            today: tx.today(),
            others_here,
            swaps: tx.swaps_of(id)?,
            recalls: crate::recalls::open_on(tx, &unit)?,
            stays,
            duties,
            unit,
        })
    })?;
    let mut who: Vec<AccountId> = view.statements.iter().map(|s| s.recorded_by).collect();
    who.sort_unstable();
    who.dedup();
    view.names = crate::door::names(world, &who)?.into_iter().collect();
    if view.unit.fate != Fate::InService {
        view.forecast = None;
    }
    Ok(view)
}

/// Its duties by the last day that is not late, with the rule of each.
fn duties_of(tx: &mut Tx<'_>, unit: &UnitCard) -> Result<Vec<(DutyNow, Option<DutyRule>)>, Error> {
    let rules = tx.duty_rules()?;
    let duties = by_last_day(&rules, tx.duties_now(Some(unit.building))?);
    let its_own = duties.into_iter().filter(|d| d.unit == unit.id);
    let with_rule = |d: DutyNow| {
        let rule = rules.iter().find(|r| r.code == d.rule).cloned();
        (d, rule)
    };
    Ok(its_own.map(with_rule).collect())
}

/// The advice in force with what replacing costs by it: money, so not for a contractor.
fn advice_now(
    tx: &mut Tx<'_>,
    road: bool,
    unit: UnitId,
) -> Result<(Option<Advice>, Option<Pence>), Error> {
    if road {
        return Ok((None, None));
    }
    let mut all = tx.advices(WhichAdvice::InForce)?.into_iter();
    let Some(advice) = all.rfind(|a| a.unit == unit) else {
        return Ok((None, None));
    };
    let price = crate::advice::instead_price(&advice)?;
    Ok((Some(advice), price))
}

/// The date the warranty hangs on: money, so not for a contractor.
fn at_risk(tx: &mut Tx<'_>, road: bool, unit: &UnitCard) -> Result<Option<AtRisk>, Error> {
    if road {
        return Ok(None);
    }
    crate::advice::cover_at_risk(tx, unit)
}

/// The pipes a unit feeds, and those its space hangs on, by name.
fn pipes_of(tx: &mut Tx<'_>, unit: &UnitCard) -> Result<(Vec<String>, Vec<String>), Error> {
    let today = tx.today();
    let branches = tx.branches(unit.building, today)?;
    let named = |on: &dyn Fn(&BranchCard) -> bool| -> Vec<String> {
        let found = branches.iter().filter(|b| on(b));
        found.map(|b| b.name.clone()).collect()
    };
    let feeds = named(&|b| b.fed_by.contains(&unit.id));
    Ok((feeds, named(&|b| b.spaces.contains(&unit.space))))
}

/// What the rule book calls the readings of a kind, by the code of what is typed in.
pub(crate) fn reading_names(kind: &str) -> Result<BTreeMap<String, String>, Error> {
    let book = inspection::RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    let mut names = BTreeMap::new();
    let specs = book
        .set(kind)
        .into_iter()
        .flat_map(|set| set.readings.iter().chain(&set.tests));
    for spec in specs {
        for field in &spec.fields {
            names
                .entry(field.code.clone())
                .or_insert_with(|| spec.name_of(field));
        }
    }
    Ok(names)
}
