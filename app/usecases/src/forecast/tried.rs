//! The model tried on the estate's own past: what it would have said in years gone by, had it known what happened until
//! then, met with what came after. Not a frozen forecast, and the page says so.
use std::collections::BTreeMap;

use chrono::{Months, NaiveDate};
use dependability::judgement::{Case, Judgement, judge};
use dependability::rolling::roll;
use dependability::{KindPrior, UnitHistory};
use store::units::Which;
use terms::unit::UnitCard;
use terms::{Role, UnitId};

use super::kept::load;
use super::priors::prior_of;
use super::season::axis;
use crate::{Error, Seat, World};

/// Years gone back.
const YEARS: u32 = 5;
/// Units up to which all of them are tried while the page waits; of more, one year.
const AT_ONCE: usize = 3000;

/// What trying it came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tried {
    /// The days it was taken back to, the newest first.
    pub origins: Vec<NaiveDate>,
    /// How right it would have been, all origins together; `None`: nothing was watched then.
    pub judgement: Option<Judgement>,
    /// Kind by kind, by its plural; kinds without a forecast are left out.
    pub kinds: Vec<(String, Judgement)>,
}

/// Tries the model on the record of the buildings the reader sees; kinds are fitted on the whole estate, as at night.
///
/// # Errors
/// Not the agent, a supervisor or a landlord; the store's own.
pub fn tried(world: &World, seat: &Seat) -> Result<Tried, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let (today, kinds) = world.acting(seat, |tx| {
        let (shares, today) = (tx.part_shares()?, tx.today());
        let names: BTreeMap<String, (String, KindPrior)> = tx
            .kinds()?
            .into_iter()
            .map(|kind| {
                (
                    kind.code.clone(),
                    (kind.plural.clone(), prior_of(&kind, &shares)),
                )
            })
            .collect();
        let mut kinds: BTreeMap<String, Vec<(UnitCard, UnitHistory)>> = BTreeMap::new();
        for facts in load(tx, Which::All)? {
            if let Ok(ready) = facts.ready(today) {
                let kind = kinds.entry(facts.card.kind.clone()).or_default();
                kind.push((facts.card, ready.history));
            }
        }
        let found = kinds
            .into_iter()
            .filter_map(|(code, units)| Some((names.get(&code)?.clone(), units)));
        Ok((today, found.collect::<Vec<_>>()))
    })?;
    let units: usize = kinds.iter().map(|(_, units)| units.len()).sum();
    let years = if units > AT_ONCE { 1 } else { YEARS };
    let origins: Vec<NaiveDate> = (1..=years)
        .filter_map(|year| today.checked_sub_months(Months::new(12 * year)))
        .collect();
    let at: Vec<f64> = origins.iter().map(|day| axis(*day)).collect();
    let (mut all, mut answer) = (Vec::new(), Tried::default());
    for ((plural, prior), units) in &kinds {
        let histories: Vec<UnitHistory> = units.iter().map(|(_, h)| h.clone()).collect();
        let rolled =
            roll(prior, &histories, &at, 1.0).map_err(|e| Error::Internal(e.to_string()))?;
        let cases: Vec<Case> = rolled
            .into_iter()
            .filter_map(|one| {
                let (card, _) = units.get(one.unit)?;
                let reached = seat.grant().reaches(card.building);
                reached.then(|| case(card.id, card, one.scored))
            })
            .collect();
        if let Some(judgement) = judge(&cases) {
            answer.kinds.push((plural.clone(), judgement));
        }
        all.extend(cases);
    }
    answer.origins = origins;
    answer.judgement = judge(&all);
    Ok(answer)
}

fn case(
    unit: UnitId,
    card: &UnitCard,
    scored: dependability::baselines::Said<dependability::score::Scored>,
) -> Case {
    Case {
        group: card.building.to_string(),
        unit: unit.to_string(),
        scored,
    }
}
