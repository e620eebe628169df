//! The model tried on the estate's own past: what it would have said in years gone by, had it known what happened until
//! then, met with what came after. Not a frozen forecast, and the page says so.
use std::collections::BTreeMap;

use chrono::{Months, NaiveDate};
use dependability::judgement::{Against, Case, Judgement, compared, judge};
use dependability::rolling::{Rolled, Trial, roll};
use dependability::{Housed, KindPrior, UnitHistory};
use store::Tx;
use store::units::Which;
use terms::Role;
use terms::unit::UnitCard;

use super::histories::Facts;
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
    /// Kind by kind; kinds without a forecast are left out.
    pub kinds: Vec<TriedKind>,
}

/// One kind tried.
#[derive(Clone, Debug, PartialEq)]
pub struct TriedKind {
    /// Its plural.
    pub plural: String,
    /// How right it would have been.
    pub judgement: Judgement,
    /// Part clocks, whose ageing is the trade's, against one clock a unit whose ageing is fitted (FORECAST §13); `None`
    /// where the kind has no parts, or there is but one group.
    pub parts: Option<Against>,
}

/// Tries the model on the record of the buildings the reader sees; kinds are fitted on the whole estate, as at night.
///
/// # Errors
/// Not the agent, a supervisor or a landlord; the store's own.
pub fn tried(world: &World, seat: &Seat) -> Result<Tried, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let (today, kinds) = world.acting(seat, on_record)?;
    let units: usize = kinds.iter().map(|(_, units)| units.len()).sum();
    let years = if units > AT_ONCE { 1 } else { YEARS };
    let origins: Vec<NaiveDate> = (1..=years)
        .filter_map(|year| today.checked_sub_months(Months::new(12 * year)))
        .collect();
    let at: Vec<f64> = origins.iter().map(|day| axis(*day)).collect();
    let (mut all, mut answer) = (Vec::new(), Tried::default());
    for (kind, units) in &kinds {
        let OfKind {
            plural,
            prior,
            life,
        } = kind;
        let names: Vec<String> = units.iter().map(|(c, _)| c.building.to_string()).collect();
        let housed: Vec<Housed<'_>> = units
            .iter()
            .zip(&names)
            .map(|((_, history), building)| Housed { history, building })
            .collect();
        let rolled = |prior: &KindPrior| {
            let trial = Trial {
                prior,
                life: Some(*life),
                years: 1.0,
            };
            roll(&trial, &housed, &at).map_err(|e| Error::Internal(e.to_string()))
        };
        let reached = |one: &Rolled| {
            let (card, _) = units.get(one.unit)?;
            seat.grant().reaches(card.building).then_some(card)
        };
        let by_parts = rolled(prior)?;
        let cases: Vec<Case> = by_parts
            .iter()
            .filter_map(|one| Some(case(reached(one)?, one.scored)))
            .collect();
        if let Some(judgement) = judge(&cases) {
            let by_unit = judgement.by_unit;
            let one_clock = KindPrior {
                parts: Vec::new(),
                ..prior.clone()
            };
            let parts = if prior.parts.is_empty() || judgement.thin() {
                None
            } else {
                beside(&by_parts, &rolled(&one_clock)?, |one| {
                    let card = reached(one)?;
                    Some(if by_unit {
                        card.id.to_string()
                    } else {
                        card.building.to_string()
                    })
                })
            };
            answer.kinds.push(TriedKind {
                plural: plural.clone(),
                judgement,
                parts,
            });
        }
        all.extend(cases);
    }
    answer.origins = origins;
    answer.judgement = judge(&all);
    Ok(answer)
}

/// A kind as it is tried.
struct OfKind {
    /// Its plural.
    plural: String,
    /// What is believed of it before its records speak.
    prior: KindPrior,
    /// Its stated life: median and shape.
    life: (f64, f64),
}

/// A kind, and its units with what they lived through.
type OnRecord = (OfKind, Vec<(UnitCard, UnitHistory)>);

/// Today, and every kind there is a history of.
fn on_record(tx: &mut Tx<'_>) -> Result<(NaiveDate, Vec<OnRecord>), Error> {
    let (shares, today) = (tx.part_shares()?, super::today(tx));
    let mut facts: BTreeMap<String, Vec<Facts>> = BTreeMap::new();
    for one in load(tx, Which::All)? {
        facts.entry(one.card.kind.clone()).or_default().push(one);
    }
    let mut found = Vec::new();
    for kind in tx.kinds()? {
        let own = facts.remove(&kind.code).unwrap_or_default();
        let prior = prior_of(&kind, &shares, &own);
        let units: Vec<(UnitCard, UnitHistory)> = own
            .into_iter()
            .filter_map(|facts| {
                let ready = facts.ready(today, &prior.covariates).ok()?;
                Some((facts.card, ready.history))
            })
            .collect();
        if !units.is_empty() {
            let life = (kind.life_median_years, kind.life_shape);
            let of = OfKind {
                plural: kind.plural,
                prior,
                life,
            };
            found.push((of, units));
        }
    }
    Ok((today, found))
}

/// Log score of one way of reckoning less the other's, of the forecasts both made, grouped by what `group` says.
fn beside(
    one: &[Rolled],
    other: &[Rolled],
    group: impl Fn(&Rolled) -> Option<String>,
) -> Option<Against> {
    let theirs: BTreeMap<(usize, usize), f64> = other
        .iter()
        .map(|r| ((r.unit, r.origin), r.scored.ours.ln_count()))
        .collect();
    let differences: Vec<(String, f64)> = one
        .iter()
        .filter_map(|r| {
            let theirs = theirs.get(&(r.unit, r.origin))?;
            Some((group(r)?, r.scored.ours.ln_count() - theirs))
        })
        .collect();
    let named: Vec<(&str, f64)> = differences.iter().map(|(g, d)| (g.as_str(), *d)).collect();
    compared(&named)
}

fn case(
    card: &UnitCard,
    scored: dependability::baselines::Said<dependability::score::Scored>,
) -> Case {
    Case {
        group: card.building.to_string(),
        unit: card.id.to_string(),
        scored,
    }
}
