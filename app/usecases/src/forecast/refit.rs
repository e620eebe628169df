//! The nightly refit: every kind by maximum a posteriori, every unit in service forecast anew.
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use chrono::{NaiveDate, TimeDelta};
use dependability::UnitHistory;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::units::Which;
use terms::{BuildingId, ForecastId, Role, UnitId};

use super::histories::Facts;
use super::kept::{KeptFit, KindFacts, forecast_digest, in_service, load, verdict_code};
use super::priors::prior_of;
use super::renew::renew;
use crate::{Error, Seat, World};

/// What became of one kind.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// It could not be fitted, with the reason; its former forecasts stand.
    Failed(String),
    /// A fit was kept.
    Fitted {
        /// "converged", "boundary", "not_enough" or "failed".
        verdict: String,
        /// Failures it rests on.
        failures: u32,
        /// Forecasts written.
        forecasts: usize,
        /// Units whose record cannot be.
        left_out: usize,
    },
    /// Same facts as the last fit, in the same week: no fit was written.
    Unchanged,
}

/// One kind's line of the report.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KindReport {
    /// "CB"
    pub kind: String,
    /// "combi gas boiler"
    pub name: String,
    /// What became of it.
    pub outcome: Outcome,
}

/// What a refit answers.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct RefitReport {
    /// One line a kind, by code.
    pub kinds: Vec<KindReport>,
}

impl RefitReport {
    /// Forecasts written.
    pub fn forecasts(&self) -> usize {
        let written = |k: &KindReport| match k.outcome {
            Outcome::Fitted { forecasts, .. } => forecasts,
            Outcome::Failed(_) | Outcome::Unchanged => 0,
        };
        self.kinds.iter().map(written).sum()
    }

    /// Kinds that could not be fitted, with the reason.
    pub fn failed(&self) -> Vec<(&str, &str)> {
        self.kinds
            .iter()
            .filter_map(|k| match &k.outcome {
                Outcome::Failed(why) => Some((k.name.as_str(), why.as_str())),
                Outcome::Fitted { .. } | Outcome::Unchanged => None,
            })
            .collect()
    }
}

struct Loaded {
    today: NaiveDate,
    kinds: Vec<KindFacts>,
    last: BTreeMap<String, String>,
    standing: BTreeMap<UnitId, (ForecastId, String)>,
}

/// Refits every kind and forecasts every unit in service. A kind whose facts did not change since its last fit of
/// this week is left as it is; a kind that cannot be fitted is named, and the others go on. Running it twice changes
/// nothing, so it needs no once-key.
///
/// # Errors
/// Not the agent, a supervisor or the program; the store's own.
pub fn refit(world: &World, seat: &Seat) -> Result<RefitReport, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let loaded = world.acting(seat, load_all)?;
    let mut report = RefitReport::default();
    for facts in &loaded.kinds {
        let outcome = refit_kind(world, seat, &loaded, facts)
            .unwrap_or_else(|error| Outcome::Failed(error.to_string()));
        report.kinds.push(KindReport {
            kind: facts.kind.code.clone(),
            name: facts.kind.name.clone(),
            outcome,
        });
    }
    Ok(report)
}

fn load_all(tx: &mut Tx<'_>) -> Result<Loaded, Error> {
    let shares = tx.part_shares()?;
    let mut by_kind: BTreeMap<String, Vec<Facts>> = BTreeMap::new();
    let (mut units, today) = (Vec::new(), super::today(tx));
    for facts in load(tx, Which::All)? {
        units.push(facts.card.id);
        by_kind
            .entry(facts.card.kind.clone())
            .or_default()
            .push(facts);
    }
    let kinds = tx
        .kinds()?
        .into_iter()
        .map(|kind| {
            let facts = by_kind.remove(&kind.code).unwrap_or_default();
            KindFacts {
                prior: prior_of(&kind, &shares, &facts),
                facts,
                kind,
            }
        })
        .collect();
    let last = tx.last_fits()?;
    Ok(Loaded {
        today,
        kinds,
        // A fit that cannot be read is made anew whatever its facts.
        last: last
            .into_iter()
            .filter(|(_, row)| KeptFit::read(row).is_some())
            .map(|(k, row)| (k, row.digest))
            .collect(),
        standing: tx.standing_forecasts(&units)?,
    })
}

fn refit_kind(
    world: &World,
    seat: &Seat,
    loaded: &Loaded,
    facts: &KindFacts,
) -> Result<Outcome, Error> {
    let digest = facts.digest(loaded.today);
    if loaded.last.get(&facts.kind.code) == Some(&digest) {
        return world.acting(seat, |tx| tell_stale(tx, loaded, facts, &digest));
    }
    // A fault in the mathematics of one kind must not cost the others their night.
    let fitted = catch_unwind(AssertUnwindSafe(|| reckon(facts, loaded.today)));
    let reckoned = fitted
        .map_err(|_cause| Error::Internal("the reckoning broke off".to_owned()))?
        .map_err(|e| Error::Internal(e.to_string()))?;
    world.acting(seat, |tx| save(tx, loaded, facts, &reckoned, digest))
}

/// The kind's facts are those of its last fit, yet a unit may have been told its forecast since, on facts taken back again
/// (a list undone, a failure corrected): told anew where what stands rests on other facts.
fn tell_stale(
    tx: &mut Tx<'_>,
    loaded: &Loaded,
    facts: &KindFacts,
    digest: &str,
) -> Result<Outcome, Error> {
    tx.hold_forecasts()?;
    let ids: Vec<UnitId> = facts.facts.iter().map(|f| f.card.id).collect();
    let standing = tx.standing_forecasts(&ids)?;
    let stale = |f: &&Facts| {
        let now = forecast_digest(f, digest, loaded.today);
        standing
            .get(&f.card.id)
            .is_some_and(|(_, kept)| *kept != now)
    };
    for one in facts.facts.iter().filter(stale) {
        renew(tx, one.card.id)?;
    }
    Ok(Outcome::Unchanged)
}

struct Reckoned<'a> {
    kept: KeptFit,
    units: Vec<(&'a Facts, super::KeptForecast)>,
}

fn reckon(facts: &KindFacts, today: NaiveDate) -> Result<Reckoned<'_>, dependability::InputError> {
    let (mut kept, ready) = facts.fit(today)?;
    let mut units = Vec::new();
    let mut buildings: BTreeMap<BuildingId, Vec<&UnitHistory>> = BTreeMap::new();
    for (facts, ready) in &ready {
        let own = buildings.entry(facts.card.building).or_default();
        own.push(&ready.history);
    }
    let mut standings = BTreeMap::new();
    for (building, own) in &buildings {
        standings.insert(*building, kept.standing(*building, own)?);
    }
    for (facts, ready) in ready.iter().filter(|(facts, _)| in_service(facts)) {
        let Some(standing) = standings.get(&facts.card.building) else {
            continue;
        };
        match kept.forecast((ready, standing), today) {
            Ok(forecast) => units.push((*facts, forecast)),
            Err(why) => kept.left_out.push((facts.card.id, why.to_string())),
        }
    }
    Ok(Reckoned { kept, units })
}

fn save(
    tx: &mut Tx<'_>,
    loaded: &Loaded,
    facts: &KindFacts,
    reckoned: &Reckoned<'_>,
    digest: String,
) -> Result<Outcome, Error> {
    tx.hold_forecasts()?;
    let ids: Vec<UnitId> = facts.facts.iter().map(|f| f.card.id).collect();
    let standing = tx.standing_forecasts(&ids)?;
    let mut row = reckoned.kept.row(tx, &facts.kind.code, digest.clone())?;
    if let Some(former) = tx.last_fit(&facts.kind.code)? {
        // The last fit is the one that counts: two must never bear the same instant.
        row.made_at = row.made_at.max(former.made_at + TimeDelta::microseconds(1));
    }
    let fit = tx.add_fit(&row)?;
    let mut rows = Vec::with_capacity(reckoned.units.len());
    for (facts, forecast) in &reckoned.units {
        let facts_digest = forecast_digest(facts, &digest, loaded.today);
        rows.push(forecast.row(tx, (facts.card.id, fit), loaded.today, facts_digest)?);
    }
    tx.supersede_forecasts(&ids)?;
    tx.add_forecasts(&rows)?;
    // Whatever was told anew while this was reckoned rests on facts this fit has not seen.
    for id in &ids {
        if standing.get(id) != loaded.standing.get(id) {
            renew(tx, *id)?;
        }
    }
    let fit = &reckoned.kept.fit;
    tx.note(
        "forecasts refitted",
        &format!("kind {}", facts.kind.code),
        &json!({ "verdict": &fit.verdict, "buildings": fit.buildings.as_ref().map(|b| &b.verdict), "failures": fit.n_failures, "units": fit.n_units,
                 "forecasts": rows.len(), "left_out": reckoned.kept.left_out, "digest": digest }),
    );
    Ok(Outcome::Fitted {
        verdict: verdict_code(&fit.verdict).to_owned(),
        failures: fit.n_failures,
        forecasts: rows.len(),
        left_out: reckoned.kept.left_out.len(),
    })
}

/// Queues a refit for this estate; `false` when one is already waiting.
///
/// # Errors
/// Not the agent or a supervisor; the store's own.
pub fn ask_for_refit(world: &World, seat: &Seat, once: &str) -> Result<bool, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &"refit", |tx| {
            let queued = tx.queue("nightly_refit", json!({}), Some("refit"))?;
            tx.note("refit asked for", "estate", &json!({ "queued": queued }));
            Ok(queued)
        })
    })
}
