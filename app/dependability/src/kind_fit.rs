//! The fit of one kind: level, frailty, covariates and shares of its parts, by maximum a posteriori.
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

use crate::buildings::{Buildings, Grouped, absorbed, before, fit_effects};
use crate::draws::parameter_draws;
use crate::frailty::Posterior;
use crate::history::{Node, UnitHistory, nodes, subject};
use crate::prior::{InputError, KindPrior, T0};
use crate::record::{self, ALPHA, GAMMA, LN_BETA, LN_THETA, Subject};
use crate::recording::one_age;
use crate::recurrent::{Settings, bounds, fit_frailty};
use crate::rests_on::{mean_age, prior_only, priors};
use crate::shares::update_shares;
use crate::shares_doubt::widened;
use crate::verdict::Verdict;

pub use crate::rests_on::{DataWeight, Rejected, ThinData};

/// Alternations between level and shares; each is a contraction, 5 to 15 are used.
const ROUNDS: usize = 60;

/// The fit of a kind, to be stored whole as JSON.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KindFit {
    /// How it ended.
    pub verdict: Verdict,
    /// alpha = ln rate at 10 years, ln β (one clock only, else 0), ln θ, then the covariates' effects.
    pub parameters: Vec<f64>,
    /// Their covariance, rows in the same order; zero for ln β where it is not fitted.
    pub covariance: Vec<Vec<f64>>,
    /// Shares of the parts in the prior's order, after the records; summing to 1.
    pub shares: Vec<f64>,
    /// How much rests on own records.
    pub data_weight: DataWeight,
    /// Log-likelihood at the fit, without the prior.
    pub loglik: f64,
    /// Units used.
    pub n_units: usize,
    /// Failures used.
    pub n_failures: u32,
    /// Repeat visits merged away before.
    pub n_merged: u32,
    /// Unit-years watched.
    pub unit_years: f64,
    /// Mean unit age at the end of its windows.
    pub mean_age: f64,
    /// Thinness of the record.
    pub thin: ThinData,
    /// All units watched are of one age: a record grown fuller and units grown older cannot be told apart.
    #[serde(default)]
    pub one_age: bool,
    /// Histories left out.
    pub rejected: Vec<Rejected>,
    /// What it says of buildings; `None` where it was not told which building a unit stands in.
    #[serde(default)]
    pub buildings: Option<Buildings>,
}

impl KindFit {
    /// θ, the variance of z.
    pub fn theta(&self) -> f64 {
        self.parameters[LN_THETA].exp()
    }

    /// Failures per unit-year at 10 years.
    pub fn rate_10y(&self) -> f64 {
        self.parameters[ALPHA].exp()
    }

    /// exp of a working parameter with its interval `z` standard deviations either side on the log scale: Laplace's, by the
    /// curvature at the fit with the priors in it. The profile's, which needs every history, is made beside the fit
    /// ([`crate::profiled`]). `None` for a parameter that is not there or was not fitted.
    pub fn around(&self, place: usize, z: f64) -> Option<(f64, f64, f64)> {
        let (mean, variance) = (
            *self.parameters.get(place)?,
            *self.covariance.get(place)?.get(place)?,
        );
        let reach = z * (variance > 0.0).then(|| variance.sqrt())?;
        let told = [mean, mean - reach, mean + reach].map(f64::exp);
        told.iter().all(|v| v.is_finite()).then(|| told.into())
    }

    /// The 64 fixed parameter draws around the fit.
    pub(crate) fn draws(&self) -> Vec<Vec<f64>> {
        let d = self.parameters.len();
        let covariance = DMatrix::from_fn(d, d, |i, j| self.covariance[i][j]);
        parameter_draws(&self.parameters, &covariance, &bounds(d - GAMMA))
    }

    /// Whether it was made for this set of parts and covariates.
    ///
    /// # Errors
    /// [`InputError::OtherKind`].
    pub fn fits(&self, prior: &KindPrior) -> Result<(), InputError> {
        let d = GAMMA + prior.covariates.len();
        let whole = self.parameters.len() == d
            && self.shares.len() == prior.parts.len()
            && self.covariance.len() == d
            && self.covariance.iter().all(|row| row.len() == d)
            && self
                .parameters
                .iter()
                .chain(self.covariance.iter().flatten())
                .all(|v| v.is_finite());
        let buildings = self.buildings.as_ref().and_then(|b| b.spread.as_ref());
        let spread = buildings.is_none_or(|s| {
            s.ln_tau.is_finite()
                && s.covariance.len() == d + 1
                && s.covariance.iter().all(|row| row.len() == d + 1)
                && s.covariance.iter().flatten().all(|v| v.is_finite())
        });
        if whole && spread {
            Ok(())
        } else {
            Err(InputError::OtherKind)
        }
    }
}

/// A unit's history and the building it stands in.
#[derive(Clone, Copy, Debug)]
pub struct Housed<'a> {
    /// The history.
    pub history: &'a UnitHistory,
    /// The caller's name of the building.
    pub building: &'a str,
}

/// Fits a kind from its units' histories.
///
/// Maximises Σ unit terms + log priors over (alpha, ln θ, γ…, and ln β without parts) by damped Newton with the exact
/// Hessian, in turn with the shares of the parts, which have a Dirichlet prior of weight 20 around the trade's. The
/// covariance is that of the first group with the shares' doubt in it. A kind without failures, or of one unit, returns the
/// prior (verdict `NotEnough`), and so does a fit that fails. Histories that cannot be are left out and named.
///
/// # Errors
/// A prior with numbers that cannot be meant.
pub fn fit_kind(prior: &KindPrior, histories: &[UnitHistory]) -> Result<KindFit, InputError> {
    let all: Vec<&UnitHistory> = histories.iter().collect();
    fit_plain(prior, &all).map(|(_, answer)| answer)
}

/// The same with an effect of each building outside the unit frailty (model M2), fitted from two buildings up; with one
/// its effect is in the level. The verdict of that step stands in [`KindFit::buildings`]; where it fails the fit without
/// effects is answered.
///
/// # Errors
/// As [`fit_kind`].
pub fn fit_kind_in_buildings(
    prior: &KindPrior,
    units: &[Housed<'_>],
) -> Result<KindFit, InputError> {
    let all: Vec<&UnitHistory> = units.iter().map(|u| u.history).collect();
    let ((used, places), mut answer) = fit_plain(prior, &all)?;
    let (watched, building): (Vec<_>, Vec<&str>) = used
        .into_iter()
        .zip(places)
        .filter(|((history, _), _)| history.watched() > 0.0)
        .map(|(unit, place)| (unit, units[place].building))
        .unzip();
    let grouped = Grouped::new(&watched, &building);
    match (grouped.names.len(), &answer.verdict) {
        (0, _) => {}
        (1, _) => absorbed(&grouped, answer.n_failures, &mut answer),
        (_, Verdict::NotEnough { .. }) => before(&grouped, &mut answer),
        _ => fit_effects(prior, &grouped, &mut answer),
    }
    Ok(answer)
}

/// The units a fit can use, with their places in the list given.
type Used<'a> = (Vec<(&'a UnitHistory, Vec<Node>)>, Vec<usize>);

fn fit_plain<'a>(
    prior: &KindPrior,
    histories: &[&'a UnitHistory],
) -> Result<(Used<'a>, KindFit), InputError> {
    prior.check()?;
    let mut rejected = Vec::new();
    let (mut used, mut places): Used<'a> = (Vec::new(), Vec::new());
    for (place, history) in histories.iter().enumerate() {
        match history.check(prior.covariates.len()) {
            Ok(()) => {
                used.push((*history, nodes(history, prior)));
                places.push(place);
            }
            Err(why) => rejected.push(Rejected { place, why }),
        }
    }
    let failures = used.iter().map(|(h, _)| h.counted().count() as u32).sum();
    let mut answer = prior_only(prior, failures);
    answer.n_units = used.len();
    answer.n_merged = used.iter().map(|(h, _)| h.merged).sum();
    answer.unit_years = used.iter().map(|(h, _)| h.watched()).sum();
    answer.mean_age = mean_age(&used);
    answer.one_age = one_age(used.iter().map(|(h, _)| *h));
    answer.rejected = rejected;
    // One unit tells nothing of its kind: the kind's figures stay as believed, and its record moves its own z (FORECAST §11).
    if failures > 0 && used.len() > 1 {
        alternate(prior, &used, &mut answer);
    }
    Ok(((used, places), answer))
}

fn alternate(prior: &KindPrior, used: &[(&UnitHistory, Vec<Node>)], answer: &mut KindFit) {
    let normals = priors(prior);
    let settings = Settings {
        t0: T0,
        prior: Some(normals.clone()),
        covariates: prior.covariates.len(),
        beta_free: prior.parts.is_empty(),
    };
    let everywhere = vec![0; used.len()];
    let mut shares = prior.shares();
    let mut fit = fit_frailty(&subjects(prior, used, &shares), &settings);
    for _ in 0..ROUNDS {
        let one = [vec![(1.0, fit.at.clone())]];
        let next = update_shares(prior, (used, &everywhere), &shares, &one);
        let moved = next
            .iter()
            .zip(&shares)
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max);
        shares = next;
        if moved < 1e-10 {
            break;
        }
        fit = fit_frailty(&subjects(prior, used, &shares), &settings);
    }
    let verdict = Verdict::of(&fit.end, &["rate", "ageing", "difference between units"]);
    if let Verdict::Failed(_) = verdict {
        answer.verdict = verdict;
        return;
    }
    answer.data_weight = DataWeight {
        rate: fit.data_weight(ALPHA, normals[ALPHA]),
        theta: fit.data_weight(LN_THETA, normals[LN_THETA]),
        ageing: settings
            .beta_free
            .then(|| fit.data_weight(LN_BETA, normals[LN_BETA])),
        covariates: (GAMMA..normals.len())
            .map(|i| fit.data_weight(i, normals[i]))
            .collect(),
    };
    answer.verdict = verdict;
    answer.covariance = rows(&widened(prior, used, &shares, &fit.at, &fit.covariance));
    answer.parameters = fit.at;
    answer.loglik = fit.loglik;
    answer.shares = shares;
}

pub(crate) fn rows(matrix: &DMatrix<f64>) -> Vec<Vec<f64>> {
    matrix
        .row_iter()
        .map(|row| row.iter().copied().collect())
        .collect()
}

pub(crate) fn subjects(
    prior: &KindPrior,
    used: &[(&UnitHistory, Vec<Node>)],
    shares: &[f64],
) -> Vec<Subject> {
    used.iter()
        .map(|(h, nodes)| subject(h, prior, shares, nodes))
        .collect()
}

/// The posterior of z of one record under a stored fit's parameters.
pub(crate) fn posterior(record: &record::Record, p: &[f64]) -> Posterior {
    record.posterior(p, T0)
}
