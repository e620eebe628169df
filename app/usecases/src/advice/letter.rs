//! The landlord's letter: what waits for him, the money, and what he would want to be told.
use std::collections::BTreeMap;

use chrono::{DateTime, Months, NaiveDate, TimeDelta, Utc};
use store::Tx;
use store::advices::{ToldFailures, WhichAdvice};
use store::outages::WhichOutages;
use store::units::Which;
use terms::unit::UnitCard;
use terms::{ExpectedPounds, Fate, Pence, Role, UnitId};

use super::before_money::{AtRisk, covers_at_risk};
use super::book::Book;
use super::case::{Subject, weighable};
use super::listing::listed;
use super::reading::Listed;
use crate::{Error, Seat, World};

/// 8 in 10 of a normal law lie within this many standard deviations.
const EIGHTY: f64 = 1.281_551_565_544_6;

/// A decision that waits for the landlord.
#[derive(Clone, Debug)]
pub struct ForDecision {
    /// The advice.
    pub listed: Listed,
    /// The day by which.
    pub by: Option<NaiveDate>,
    /// Days it is late.
    pub days_late: i64,
}

/// What was spent, and what the next 12 months are expected to cost.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Money {
    /// Repairs of the last 12 months.
    pub repairs: Pence,
    /// Services and checks of the last 12 months.
    pub services: Pence,
    /// Replacements of the last 12 months.
    pub replacements: Pence,
    /// Everything of the 12 months before.
    pub before: Pence,
    /// Expected failures of the next 12 months, paid for.
    pub next_failures: ExpectedPounds,
    /// Services of the next 12 months.
    pub next_services: ExpectedPounds,
    /// 1 year in 10 costs less than this.
    pub low: ExpectedPounds,
    /// 1 year in 10 costs more than this.
    pub high: ExpectedPounds,
    /// Units in service, and how many of them have a forecast of their own.
    pub units: (usize, usize),
}

/// Something out of order.
#[derive(Clone, Debug)]
pub enum Exception {
    /// A unit isolated or unsafe as the engineer on site classed it.
    Unsafe {
        /// The unit's number.
        number: String,
        /// "Flat 14"
        space: String,
        /// "Alder House"
        building: String,
        /// Since when.
        since: DateTime<Utc>,
        /// Whether it is isolated.
        isolated: bool,
    },
    /// A check the law asks for is late.
    Late {
        /// "Gas safety check"
        check: String,
        /// "Flat 14, Alder House"
        place: String,
        /// The day it was due by.
        deadline: NaiveDate,
    },
    /// A warranty hangs on a duty of its maker that is due soon.
    Cover {
        /// "Flat 14, Alder House"
        place: String,
        /// "combi gas boiler"
        kind: String,
        /// The duty, its day, the warranty's last day, and what the cover between them is worth.
        risk: AtRisk,
    },
    /// One cause took heat or hot water from several homes, lately or still.
    Outage {
        /// "Riser 4, Alder House"
        place: String,
        /// Homes that called.
        homes: usize,
        /// Homes × hours taken.
        home_hours: f64,
        /// Since when.
        since: DateTime<Utc>,
        /// Until when; `None` while it lasts.
        until: Option<DateTime<Utc>>,
        /// What it was, or is thought to be; may be empty.
        cause: String,
    },
}

/// The whole letter.
#[derive(Clone, Debug)]
pub struct Letter {
    /// To whom.
    pub to: String,
    /// The names of the buildings it speaks of.
    pub buildings: Vec<String>,
    /// Decisions that wait, the most urgent first.
    pub decisions: Vec<ForDecision>,
    /// Decided in the last 60 days.
    pub decided: Vec<Listed>,
    /// The money.
    pub money: Money,
    /// What is out of order, unsafe first.
    pub exceptions: Vec<Exception>,
    /// Legal checks that run: late ones, all.
    pub checks: (usize, usize),
    /// The day.
    pub today: NaiveDate,
}

/// The letter of today for the buildings of this landlord.
pub fn letter(world: &World, seat: &Seat) -> Result<Letter, Error> {
    seat.must_be(&[Role::Landlord])?;
    world.acting(seat, |tx| {
        let today = tx.today();
        let rows = tx.advices(WhichAdvice::InForce)?;
        let all = listed(world, tx, seat, rows)?;
        let mut decisions: Vec<ForDecision> = all
            .iter()
            .filter(|a| a.needs_landlord())
            .map(|a| for_decision(a, today))
            .collect();
        decisions.sort_by_key(|d| (d.listed.isolated_since.is_none(), d.by, d.listed.made_at));
        let since = tx.at() - TimeDelta::days(60);
        let decided = all
            .into_iter()
            .filter(|a| a.decision.as_ref().is_some_and(|d| d.at >= since))
            .collect();
        let buildings = tx
            .buildings()?
            .into_iter()
            .filter(|b| seat.grant().reaches(b.id))
            .map(|b| b.name)
            .collect();
        let units: Vec<UnitCard> = tx
            .units(Which::All)?
            .into_iter()
            .filter(|u| seat.grant().reaches(u.building))
            .collect();
        let money = money(tx, &units)?;
        let (mut exceptions, checks) = exceptions(tx, seat, &units)?;
        exceptions.extend(covers(tx, &units)?);
        exceptions.extend(outages(tx, seat)?);
        Ok(Letter {
            to: seat.name().to_owned(),
            buildings,
            decisions,
            decided,
            money,
            exceptions,
            checks,
            today,
        })
    })
}

fn for_decision(advice: &Listed, today: NaiveDate) -> ForDecision {
    let by = advice.decide_by();
    ForDecision {
        by,
        days_late: by.map_or(0, |day| (today - day).num_days().max(0)),
        listed: advice.clone(),
    }
}

fn money(tx: &mut Tx<'_>, units: &[UnitCard]) -> Result<Money, Error> {
    let (today, at) = (tx.today(), tx.at());
    let (from, before) = (today - Months::new(12), today - Months::new(24));
    let ids: Vec<UnitId> = units.iter().map(|u| u.id).collect();
    let histories = tx.histories(&ids, at)?;
    let mut money = Money::default();
    let mut add = |day: NaiveDate, what: &str, cost: Option<Pence>| {
        let Some(cost) = cost.filter(|_| day > before && day <= today) else {
            return;
        };
        let place = if day <= from {
            &mut money.before
        } else {
            match what {
                "service" | "check" | "survey" => &mut money.services,
                "replacement" => &mut money.replacements,
                _ => &mut money.repairs,
            }
        };
        place.0 += cost.0;
    };
    for history in histories.values() {
        for failure in &history.failures {
            add(failure.happened_on, "failure", failure.cost);
        }
        for service in &history.services {
            add(service.happened_on, &service.what, service.cost);
        }
    }
    next_year(tx, units, &histories, &mut money)?;
    Ok(money)
}

/// Expected cost of the next 12 months: Σ m c + services, with variance Σ m E[c²] + v (m c)², units taken as independent.
fn next_year(
    tx: &mut Tx<'_>,
    units: &[UnitCard],
    histories: &BTreeMap<UnitId, store::history::History>,
    money: &mut Money,
) -> Result<(), Error> {
    let book = Book::load(tx)?;
    let told: BTreeMap<UnitId, ToldFailures> = tx
        .told_failures(None)?
        .into_iter()
        .map(|t| (t.unit, t))
        .collect();
    let none = store::history::History::default();
    let today = tx.today();
    let (mut failures, mut services, mut variance) = (0.0, 0.0, 0.0);
    for card in units.iter().filter(|u| u.fate == Fate::InService) {
        if book.kind(&card.kind).is_err() {
            continue;
        }
        let subject = Subject {
            card,
            options: Vec::new(),
            told: told.get(&card.id),
            failures: &histories.get(&card.id).unwrap_or(&none).failures,
            fitted: &histories.get(&card.id).unwrap_or(&none).parts,
            quote: None,
            today,
            age: None,
        };
        let weighable = weighable(&book, &subject)?;
        let stays = weighable.staying.beside_all(&[card.kind.as_str()]);
        let old = weighable.case.old;
        let m = match &old.faults {
            costing::Yearly::Each(years) => years.first().copied().unwrap_or_default(),
            costing::Yearly::Same(one) => *one,
        };
        // Money that is paid; disruption is not.
        let paid = costing::FaultCost {
            disruption: 0.0,
            ..old.fault_cost
        };
        // What its own warranty pays is nobody's cost here; it pays for the unit's own parts.
        let own = 1.0 - stays.first().copied().unwrap_or(0.0);
        let m = m * (1.0 - old.covered(0) * own);
        failures += m * paid.mean();
        variance += m * paid.mean_square() + old.frailty_var * (m * paid.mean()).powi(2);
        if let costing::Yearly::Same(service) = old.service {
            services += service;
        }
        money.units.0 += 1;
        money.units.1 += usize::from(subject.told.is_some());
    }
    let middle = failures + services;
    let reach = EIGHTY * variance.sqrt();
    money.next_failures = ExpectedPounds(failures);
    money.next_services = ExpectedPounds(services);
    money.low = ExpectedPounds((middle - reach).max(services));
    money.high = ExpectedPounds(middle + reach);
    Ok(())
}

/// A warranty is told of when its duty is due within so many days.
const COVER_DAYS: u64 = 60;

/// Warranties that hang on a duty due soon.
fn covers(tx: &mut Tx<'_>, units: &[UnitCard]) -> Result<Vec<Exception>, Error> {
    let last = tx.today() + chrono::Days::new(COVER_DAYS);
    let kinds: BTreeMap<String, String> =
        tx.kinds()?.into_iter().map(|k| (k.code, k.name)).collect();
    Ok(covers_at_risk(tx, units, last)?
        .into_iter()
        .map(|(unit, risk)| Exception::Cover {
            place: format!("{}, {}", unit.space_name, unit.building_name),
            kind: kinds.get(&unit.kind).cloned().unwrap_or_default(),
            risk,
        })
        .collect())
}

/// How far back an outage is told, in days.
const OUTAGE_DAYS: i64 = 60;

/// The outages of his buildings that last or ended lately, the newest first.
fn outages(tx: &mut Tx<'_>, seat: &Seat) -> Result<Vec<Exception>, Error> {
    let now = tx.at();
    let oldest = now - TimeDelta::days(OUTAGE_DAYS);
    let all = tx.outages(WhichOutages::All)?;
    Ok(all
        .into_iter()
        .filter(|card| seat.grant().reaches(card.building))
        .filter(|card| card.until_at.is_none_or(|until| until >= oldest))
        .map(|card| Exception::Outage {
            home_hours: crate::outages::hours_of(&card, now),
            homes: card.homes.len(),
            since: card.from_at,
            until: card.until_at,
            place: match card.branch_name {
                Some(branch) => format!("{branch}, {}", card.building_name),
                None => card.building_name,
            },
            cause: card.cause,
        })
        .collect())
}

fn exceptions(
    tx: &mut Tx<'_>,
    seat: &Seat,
    units: &[UnitCard],
) -> Result<(Vec<Exception>, (usize, usize)), Error> {
    let mut found = Vec::new();
    for notice in tx.open_notices(None)? {
        if let Some(unit) = units.iter().find(|u| u.id == notice.unit) {
            found.push(Exception::Unsafe {
                number: unit.number.clone(),
                space: unit.space_name.clone(),
                building: unit.building_name.clone(),
                since: notice.made_at,
                isolated: notice.isolated,
            });
        }
    }
    let rules: BTreeMap<String, String> = tx
        .duty_rules()?
        .into_iter()
        .filter(|r| r.basis == "law")
        .map(|r| (r.code, r.name))
        .collect();
    let spaces: BTreeMap<_, _> = tx.spaces(None)?.into_iter().map(|s| (s.id, s)).collect();
    let buildings: BTreeMap<_, _> = tx
        .buildings()?
        .into_iter()
        .map(|b| (b.id, b.name))
        .collect();
    let (today, mut late, mut all) = (tx.today(), 0, 0);
    for due in tx.running_deadlines()? {
        let Some(check) = rules.get(&due.rule) else {
            continue;
        };
        if !seat.grant().reaches(due.building) {
            continue;
        }
        all += 1;
        if due.deadline >= today {
            continue;
        }
        late += 1;
        let building = buildings.get(&due.building).cloned().unwrap_or_default();
        let unit = units.iter().find(|u| Some(u.id) == due.unit);
        let space = due.space.and_then(|id| spaces.get(&id));
        let place = unit
            .map(|u| u.space_name.clone())
            .or_else(|| space.map(|s| s.name.clone()))
            .map_or_else(|| building.clone(), |name| format!("{name}, {building}"));
        found.push(Exception::Late {
            check: check.clone(),
            place,
            deadline: due.deadline,
        });
    }
    Ok((found, (late, all)))
}
