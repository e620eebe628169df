//! What moves a unit's forecast away from its kind's, as factors that multiply.
use serde::{Deserialize, Serialize};

use crate::exposure::exposure;
use crate::forecast::Horizon;
use crate::history::UnitHistory;
use crate::prepared::Prepared;
use crate::prior::T0;
use crate::record::{ALPHA, GAMMA, LN_BETA, dot};
use crate::standing::Standing;

/// What moves a unit's forecast away from its kind's; the factors multiply.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Driver {
    /// Its own failures against those expected: the mean of z.
    OwnHistory(f64),
    /// Its age against the mean age of the units the fit saw.
    Age(f64),
    /// Parts renewed: its clocks against a unit of its age with all first parts.
    RenewedParts(f64),
    /// A covariate that is not zero: code and exp(γ x).
    Covariate(String, f64),
    /// The time of year against an even spread.
    Season(f64),
    /// Its building's units against those of the median building: water, installer and controls they share.
    Building(f64),
}

/// What moves the expected number, at the fit's own parameters: each factor is one exposure over another.
pub(crate) fn drivers(unit: &Prepared<'_>, horizon: &Horizon, standing: &Standing) -> Vec<Driver> {
    let (prior, fit) = (unit.prior, unit.fit);
    let p = &standing.centre;
    let elements = unit.elements(horizon, p);
    let mut all = vec![Driver::OwnHistory(
        elements.iter().map(|e| e.weight * e.posterior.mean()).sum(),
    )];
    let even = Horizon {
        pieces: horizon
            .pieces
            .iter()
            .map(|(a, b, _)| (*a, *b, 1.0))
            .collect(),
    };
    let first_parts = UnitHistory {
        renewals: Vec::new(),
        ..unit.history.clone()
    };
    let plain = Prepared {
        prior,
        fit,
        history: &first_parts,
        nodes: unit.nodes.clone(),
        subject: unit.subject.clone(),
    };
    let expected = |u: &Prepared<'_>, h: &Horizon| -> f64 {
        u.elements(h, p).iter().map(|e| e.weight * e.ahead).sum()
    };
    let (own, flat, original) = (
        expected(unit, horizon),
        expected(unit, &even),
        expected(&plain, &even),
    );
    let usual = usual_ahead(unit, horizon.years());
    let ratio = |a: f64, b: f64| if a > 0.0 && b > 0.0 { a / b } else { 1.0 };
    let building = (p[ALPHA] - fit.parameters[ALPHA]).exp();
    let scale = building * dot(&p[GAMMA..], &unit.history.present).exp();
    all.push(Driver::Age(ratio(original, usual * scale)));
    if standing.factor().is_some() {
        all.push(Driver::Building(building));
    }
    if !unit.history.renewals.is_empty() && !prior.parts.is_empty() {
        all.push(Driver::RenewedParts(ratio(flat, original)));
    }
    for ((covariate, effect), x) in prior
        .covariates
        .iter()
        .zip(&p[GAMMA..])
        .zip(&unit.history.present)
    {
        if *x != 0.0 {
            all.push(Driver::Covariate(
                covariate.code.clone(),
                (effect * x).exp(),
            ));
        }
    }
    if horizon.pieces.iter().any(|(_, _, weight)| *weight != 1.0) {
        all.push(Driver::Season(ratio(own, flat)));
    }
    all
}

/// Failures expected over `years` of a unit of the fit's mean age with all first parts, z = 1, x = 0.
fn usual_ahead(unit: &Prepared<'_>, years: f64) -> f64 {
    let (age, p) = (unit.fit.mean_age, &unit.fit.parameters);
    let area: f64 = if unit.prior.parts.is_empty() {
        exposure(age, age + years, p[LN_BETA].exp(), T0).value
    } else {
        unit.prior
            .clocks(Some(&unit.fit.shares))
            .iter()
            .map(|c| c.weight * exposure(age, age + years, c.shape, T0).value)
            .sum()
    };
    p[ALPHA].exp() * area
}
