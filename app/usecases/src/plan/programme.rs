//! The programme of a building as a person reads it: the last finished plan, what has changed since, the
//! what-ifs beside it, the one adopted.
//!
//! Every building has a purse of its own: what one block's leaseholders pay is not spent on another.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use planning::{PlainProgramme, Programme, ProgrammeInput, ProgrammePlanner};
use store::plans::KeptPlan;
use store::{Tie, Tx};
use terms::place::BuildingCard;
use terms::{AccountId, BuildingId, JobId, Pence, Role, UnitId};
use uuid::Uuid;

use super::asking::{Asked, Gathered, WhatIf, gather};
use super::changes::{Change, changes};
use super::making::{Made, TASK};
use super::money::{Limits, Stated, purse};
use super::order::{Order, orders};
use super::shared::SharedMade;
use super::shared_kept::{is_part, of_plan};
use crate::advice::Candidate;
use crate::work::wall;
use crate::{Error, Seat, World};

/// A kept plan read back.
#[derive(Clone, Debug)]
pub struct PlanCard {
    /// Its id.
    pub id: Uuid,
    /// A what-if's name.
    pub name: Option<String>,
    /// What was asked otherwise than stated.
    pub what_if: WhatIf,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// By whom.
    pub by: String,
    /// What it was made from.
    pub asked: Asked,
    /// What it came to.
    pub made: Made,
}

/// What a person tied, with who said so.
#[derive(Clone, Debug)]
pub struct TieCard {
    /// The tie.
    pub tie: Tie,
    /// Who said so.
    pub by: String,
}

/// The adopted plan.
#[derive(Clone, Debug)]
pub struct Adopted {
    /// Which.
    pub plan: Uuid,
    /// A what-if's name.
    pub name: Option<String>,
    /// Why.
    pub why: String,
    /// The day.
    pub on: NaiveDate,
    /// By whom.
    pub by: String,
    /// Jobs that followed.
    pub jobs: Vec<(UnitId, JobId)>,
    /// It is the building's part of a programme of several that pay from one purse.
    pub shared: bool,
}

/// A building's programme and what goes with it.
#[derive(Clone, Debug)]
pub struct BuildingProgramme {
    /// The building.
    pub building: BuildingCard,
    /// The buildings in reach.
    pub buildings: Vec<(BuildingId, String)>,
    /// The plan shown; `None` while none was made: then the plain way's programme stands in.
    pub plan: Option<PlanCard>,
    /// The plan shown is not the one as stated now: a what-if, or an adopted one since replaced.
    pub apart: bool,
    /// What another year of a unit would cost in the plan shown can be asked.
    pub may_ask: bool,
    /// The programme shown.
    pub programme: Programme,
    /// What it was planned from.
    pub input: ProgrammeInput,
    /// No money was stated, so the plan minds none.
    pub unlimited: bool,
    /// What has changed since the plan was made.
    pub changes: Vec<Change>,
    /// A plan of this estate is being made: where it is, in words.
    pub under_way: Option<String>,
    /// What-ifs, oldest first.
    pub what_ifs: Vec<PlanCard>,
    /// The adopted plan.
    pub adopted: Option<Adopted>,
    /// What people tied.
    pub ties: Vec<TieCard>,
    /// The year's money, year by year, as stated now.
    pub money: Vec<(i32, Stated)>,
    /// What else binds, as stated now.
    pub limits: Limits,
    /// What the purse holds, and its floor, as stated now.
    pub purse: (Pence, Pence),
    /// The units it is about.
    pub units: BTreeMap<UnitId, Candidate>,
    /// What an option is called.
    pub option_names: BTreeMap<String, String>,
    /// Failures expected in each year were nothing replaced, for which money is set aside; empty in a plan kept before they were.
    pub failures: Vec<f64>,
    /// Of each unit that waits: the other before or after which it stands, and what the two swapped would be. Only of a plan of
    /// least cost that pays from the building's own purse.
    pub orders: BTreeMap<UnitId, Order>,
    /// Whether this seat may state budgets, tie units and make plans.
    pub may_state: bool,
    /// The day it is read.
    pub today: NaiveDate,
}

impl PlanCard {
    /// It was sought at least cost, and pays from its building's own purse: what another year of a unit would cost follows from
    /// it alone.
    pub(super) fn is_asked_alone(&self) -> bool {
        self.made.optimised && !matches!(self.what_if, WhatIf::Shared { .. })
    }
}

/// The people who may read a programme, and adopt one.
pub(super) const READERS: [Role; 3] = [Role::Agent, Role::Supervisor, Role::Landlord];

struct Read {
    card: BuildingCard,
    cards: Vec<BuildingCard>,
    gathered: Gathered,
    plans: Vec<KeptPlan>,
    shown: Option<KeptPlan>,
    part_of: Option<SharedMade>,
    adoption: Option<(store::plans::Adoption, KeptPlan, Vec<(UnitId, JobId)>)>,
    option_names: BTreeMap<String, String>,
    purse: (Pence, Pence),
}

/// The programme of `building`; of the first in reach when none is named.
///
/// # Errors
/// [`Error::NotFound`] for a building outside the seat's reach, or an estate without any.
pub fn programme(
    world: &World,
    seat: &Seat,
    building: Option<BuildingId>,
) -> Result<BuildingProgramme, Error> {
    seat.must_be(&READERS)?;
    let today = wall::day(world.now());
    let read = world.acting(seat, |tx| read(tx, seat, building, None, today))?;
    told(world, seat, read, today)
}

/// A kept plan in place of the one as stated: a what-if, or an adopted one since replaced.
///
/// # Errors
/// [`Error::NotFound`] for a plan of another estate or outside the seat's reach.
pub fn kept_plan(world: &World, seat: &Seat, plan: Uuid) -> Result<BuildingProgramme, Error> {
    seat.must_be(&READERS)?;
    let today = wall::day(world.now());
    let read = world.acting(seat, |tx| {
        let kept = tx.plan(plan)?;
        seat.must_reach(kept.building)?;
        read(tx, seat, Some(kept.building), Some(kept), today)
    })?;
    told(world, seat, read, today)
}

fn read(
    tx: &mut Tx<'_>,
    seat: &Seat,
    building: Option<BuildingId>,
    shown: Option<KeptPlan>,
    today: NaiveDate,
) -> Result<Read, Error> {
    let cards: Vec<BuildingCard> = tx
        .buildings()?
        .into_iter()
        .filter(|b| seat.grant().reaches(b.id))
        .collect();
    let card = match building {
        Some(id) => cards.iter().find(|b| b.id == id),
        None => cards.first(),
    }
    .ok_or(Error::NotFound("building"))?
    .clone();
    let gathered = gather(tx, &card, WhatIf::AsStated, today)?;
    let plans = tx.plans(card.id)?;
    let shown = shown.or_else(|| plans.iter().find(|p| p.name.is_none()).cloned());
    let part_of = match &shown {
        Some(plan) => of_plan(tx, plan)?,
        None => None,
    };
    let adoption = match tx.adoption(card.id)? {
        Some(adoption) => {
            let plan = tx.plan(adoption.plan)?;
            let jobs = tx.plan_jobs(plan.id)?;
            Some((adoption, plan, jobs))
        }
        None => None,
    };
    Ok(Read {
        option_names: tx.kinds()?.into_iter().map(|k| (k.code, k.name)).collect(),
        purse: purse(tx, card.id)?,
        card,
        cards,
        gathered,
        plans,
        shown,
        part_of,
        adoption,
    })
}

/// A plan in a form that is no longer read counts as none: it is made anew.
pub(super) fn read_back(plan: KeptPlan, by: String) -> Option<PlanCard> {
    Some(PlanCard {
        id: plan.id,
        name: plan.name,
        what_if: serde_json::from_value(plan.ask).ok()?,
        made_at: plan.made_at,
        by,
        asked: serde_json::from_value(plan.asked).ok()?,
        made: serde_json::from_value(plan.answer).ok()?,
    })
}

/// What is planned from, and the programme: of the plan, else by the plain way.
fn shown_of(plan: Option<&PlanCard>, asked: &Asked) -> (Asked, Programme) {
    if let Some(card) = plan {
        return (card.asked.clone(), card.made.proven.programme.clone());
    }
    (asked.clone(), PlainProgramme.plan(&asked.input))
}

/// The orders of the units that wait, where they follow from the plan alone.
fn orders_of(plan: Option<&PlanCard>) -> BTreeMap<UnitId, Order> {
    let plan = plan.filter(|p| p.is_asked_alone() && p.made.proven.stands());
    plan.map(|p| orders(&p.asked, &p.made.proven.programme))
        .unwrap_or_default()
}

fn told(
    world: &World,
    seat: &Seat,
    read: Read,
    today: NaiveDate,
) -> Result<BuildingProgramme, Error> {
    let names = names(world, &read)?;
    let by = |id: AccountId| names.get(&id).cloned().unwrap_or_default();
    let (gathered, tasks) = (read.gathered, crate::tasks::recent(world, seat, 20)?);
    let plan = read.shown.and_then(|p| {
        let who = by(p.made_by);
        read_back(p, who)
    });
    let stated = read.plans.iter().find(|p| p.name.is_none()).map(|p| p.id);
    let apart = plan.as_ref().is_some_and(|p| Some(p.id) != stated);
    let may_ask = read.part_of.is_some() || plan.as_ref().is_some_and(PlanCard::is_asked_alone);
    let what_ifs = read.plans.into_iter().filter(|p| p.name.is_some());
    let (shown, programme) = shown_of(plan.as_ref(), &gathered.asked);
    let changed = plan
        .as_ref()
        // A what-if was asked otherwise from the start.
        .filter(|card| {
            let adopted = read.adoption.as_ref();
            let adopted = adopted.is_some_and(|(adoption, ..)| adoption.plan == card.id);
            !apart || (adopted && matches!(card.what_if, WhatIf::AsStated))
        })
        .map(|card| changes(&card.asked, &gathered.asked))
        .unwrap_or_default();
    Ok(BuildingProgramme {
        changes: changed,
        under_way: tasks
            .into_iter()
            .find(|t| t.kind == TASK && t.done_at.is_none())
            .map(|t| t.progress.unwrap_or_default()),
        what_ifs: what_ifs
            .filter_map(|p| {
                let who = by(p.made_by);
                read_back(p, who)
            })
            .collect(),
        adopted: read.adoption.map(|(adoption, kept, jobs)| Adopted {
            plan: adoption.plan,
            shared: is_part(&kept),
            name: kept.name,
            why: adoption.why,
            on: adoption.on,
            by: by(adoption.by),
            jobs,
        }),
        ties: gathered
            .ties
            .into_iter()
            .map(|tie| TieCard {
                by: by(tie.by),
                tie,
            })
            .collect(),
        building: read.card,
        buildings: read.cards.into_iter().map(|b| (b.id, b.name)).collect(),
        orders: orders_of(plan.as_ref()),
        plan,
        apart,
        may_ask,
        programme,
        input: shown.input,
        unlimited: shown.unlimited,
        failures: shown.failures,
        money: gathered.money,
        limits: gathered.stated,
        purse: read.purse,
        units: gathered.units,
        option_names: read.option_names,
        may_state: seat.role() != Role::Landlord,
        today,
    })
}

fn names(world: &World, read: &Read) -> Result<BTreeMap<AccountId, String>, Error> {
    let mut ids: Vec<AccountId> = read.plans.iter().map(|p| p.made_by).collect();
    ids.extend(read.shown.iter().map(|p| p.made_by));
    ids.extend(read.gathered.ties.iter().map(|t| t.by));
    ids.extend(read.adoption.iter().map(|a| a.0.by));
    ids.sort_unstable();
    ids.dedup();
    let mut names: BTreeMap<AccountId, String> =
        crate::door::names(world, &ids)?.into_iter().collect();
    names.insert(crate::THE_PROGRAM, "the program".to_owned());
    Ok(names)
}
