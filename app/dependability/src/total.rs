//! The number of failures to expect of many units together: a building, a firm's patch.
use numerics::count::{chances_until, convolve, table_quantile};
use serde::{Deserialize, Serialize};

use crate::forecast::Horizon;
use crate::history::UnitHistory;
use crate::kind_fit::KindFit;
use crate::prepared::Prepared;
use crate::prior::{InputError, KindPrior};
use crate::standing::Standing;

/// Mass left out at the far tail of each convolution.
const TAIL: f64 = 1e-9;

/// The units of one kind in the total.
#[derive(Clone, Copy, Debug)]
pub struct Member<'a> {
    /// Prior of the kind.
    pub prior: &'a KindPrior,
    /// Its stored fit.
    pub fit: &'a KindFit,
    /// Its units.
    pub units: &'a [&'a UnitHistory],
}

/// Expected number of failures with its ranges.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Total {
    /// Expected number.
    pub expected: f64,
    /// 50 % range.
    pub count50: (u64, u64),
    /// 80 % range.
    pub count80: (u64, u64),
    /// Chance of none at all.
    pub none: f64,
}

/// Adds units up: for each parameter draw the units' counts are independent and convolve; a kind's law is the equal
/// mixture over its draws; kinds are independent of one another. Exact but for the cut tails. No effect of a building:
/// for units of one building [`total_in_building`] is the one to ask.
///
/// # Errors
/// As [`crate::forecast()`].
pub fn total(members: &[Member<'_>], horizon: &Horizon) -> Result<Total, InputError> {
    let placed: Vec<(Member<'_>, Standing)> = members
        .iter()
        .map(|m| (*m, Standing::anywhere(m.fit)))
        .collect();
    let all: Vec<_> = placed.iter().map(|(m, s)| (*m, s, horizon)).collect();
    total_in_building(&all)
}

/// The same for units of one building: each draw has its own effect of the building, drawn once for all of a kind's
/// units there. Kinds have effects of their own, and each may weigh the months in its own way.
///
/// # Errors
/// As [`crate::forecast()`].
pub fn total_in_building(
    members: &[(Member<'_>, &Standing, &Horizon)],
) -> Result<Total, InputError> {
    let mut law = vec![1.0];
    let mut expected = 0.0;
    for (member, standing, horizon) in members.iter().filter(|m| !m.0.units.is_empty()) {
        let (own, mean) = kind_law(member, standing, horizon)?;
        law = convolve(&law, &own, TAIL);
        expected += mean;
    }
    Ok(Total {
        expected,
        count50: (table_quantile(&law, 0.25), table_quantile(&law, 0.75)),
        count80: (table_quantile(&law, 0.1), table_quantile(&law, 0.9)),
        none: law.first().copied().unwrap_or(1.0),
    })
}

fn kind_law(
    member: &Member<'_>,
    standing: &Standing,
    horizon: &Horizon,
) -> Result<(Vec<f64>, f64), InputError> {
    let draws = &standing.draws;
    let even = 1.0 / draws.len() as f64;
    let prepared: Result<Vec<Prepared<'_>>, InputError> = member
        .units
        .iter()
        .map(|h| Prepared::new(member.prior, member.fit, h))
        .collect();
    let ready: Vec<(Prepared<'_>, Vec<Vec<f64>>)> = prepared?
        .into_iter()
        .map(|unit| {
            let base = unit.ahead(horizon);
            (unit, base)
        })
        .collect();
    let mut mixture: Vec<f64> = Vec::new();
    let mut mean = 0.0;
    for p in draws {
        let mut law = vec![1.0];
        for (unit, base) in &ready {
            let own = unit_law((unit, base), horizon, p, &mut mean);
            law = convolve(&law, &own, TAIL);
        }
        mixture.resize(mixture.len().max(law.len()), 0.0);
        mixture
            .iter_mut()
            .zip(&law)
            .for_each(|(sum, chance)| *sum += even * chance);
    }
    Ok((mixture, mean * even))
}

fn unit_law(
    (unit, base): (&Prepared<'_>, &[Vec<f64>]),
    horizon: &Horizon,
    p: &[f64],
    mean: &mut f64,
) -> Vec<f64> {
    let mut law: Vec<f64> = Vec::new();
    for element in unit.elements_with(horizon, base, p) {
        let next = element.posterior.next(element.ahead);
        *mean += element.weight * next.mean;
        let own = chances_until(&next, TAIL);
        law.resize(law.len().max(own.len()), 0.0);
        law.iter_mut()
            .zip(&own)
            .for_each(|(sum, chance)| *sum += element.weight * chance);
    }
    law
}
