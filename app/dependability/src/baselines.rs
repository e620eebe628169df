//! What is said of a unit's next period four ways: ours, and the three a forecast has to beat (FORECAST §10).
//!
//! All are laws of the same count, fitted on the same record with the same priors, so that a difference between their
//! scores is a difference in what they use: ours the unit's own history and part clocks; the kind's average neither its
//! age nor its history; age alone its age; the prior alone no record at all. The three are not handicapped: the average
//! and the age carry the spread θ they were fitted with.
use numerics::CountLaw;
use serde::{Deserialize, Serialize};

use crate::exposure::exposure;
use crate::forecast::Horizon;
use crate::history::{UnitHistory, nodes, subject};
use crate::kind_fit::{KindFit, fit_kind};
use crate::prepared::Prepared;
use crate::prior::{InputError, KindPrior, T0};
use crate::record::{ALPHA, LN_BETA, Subject, theta_of};
use crate::recurrent::{Settings, fit_frailty};
use crate::rests_on::priors;
use crate::standing::Standing;

/// The next count of one unit, four ways.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Said<T = CountLaw> {
    /// By this model.
    pub ours: T,
    /// By the kind's average rate.
    pub average: T,
    /// By the unit's age alone.
    pub age: T,
    /// By the published figures alone, without any record.
    pub prior: T,
}

impl<T> Said<T> {
    /// Each of the four, changed alike.
    pub fn map<U>(self, f: impl Fn(T) -> U) -> Said<U> {
        Said {
            ours: f(self.ours),
            average: f(self.average),
            age: f(self.age),
            prior: f(self.prior),
        }
    }
}

/// The three to beat, fitted on a kind's record.
#[derive(Clone, Debug)]
pub struct Baselines {
    average: Vec<f64>,
    age: Vec<f64>,
    one_clock: KindPrior,
    prior: KindPrior,
    published: KindFit,
}

impl Baselines {
    /// Fits them on the units' histories as known.
    ///
    /// # Errors
    /// A prior with numbers that cannot be meant.
    pub fn fit(prior: &KindPrior, known: &[UnitHistory]) -> Result<Self, InputError> {
        let one_clock = KindPrior {
            parts: Vec::new(),
            covariates: Vec::new(),
            sooner: None,
            ..prior.clone()
        };
        let plain = KindPrior {
            sooner: None,
            ..prior.clone()
        };
        let published = fit_kind(&plain, &[])?;
        let subjects: Vec<Subject> = known
            .iter()
            .filter(|h| h.check(prior.covariates.len()).is_ok())
            .map(bare)
            .map(|h| subject(&h, &one_clock, &[], &nodes(&h, &one_clock)))
            .collect();
        let fitted = |beta_free: bool| {
            let settings = Settings {
                t0: T0,
                prior: Some(priors(&one_clock)),
                covariates: 0,
                beta_free,
            };
            fit_frailty(&subjects, &settings).at
        };
        Ok(Self {
            average: fitted(false),
            age: fitted(true),
            prior: plain,
            one_clock,
            published,
        })
    }

    /// What each says of a unit's time ahead, beside what we say.
    ///
    /// # Errors
    /// As [`crate::forecast()`].
    pub fn beside(
        &self,
        ours: CountLaw,
        history: &UnitHistory,
        horizon: &Horizon,
    ) -> Result<Said, InputError> {
        let blank = UnitHistory {
            windows: Vec::new(),
            failures: Vec::new(),
            ..history.clone()
        };
        let own = nodes(&bare(history), &self.one_clock);
        let by = |p: &[f64]| {
            let ages = own.iter().map(|node| {
                let pieces = horizon.pieces.iter().map(|(from, until, weight)| {
                    let (a, b) = (from - node.installed, until - node.installed);
                    weight * exposure(a, b, p[LN_BETA].exp(), T0).value
                });
                node.weight * pieces.sum::<f64>()
            });
            CountLaw {
                mean: p[ALPHA].exp() * ages.sum::<f64>(),
                inv_size: theta_of(p),
            }
        };
        Ok(Said {
            ours,
            average: by(&self.average),
            age: by(&self.age),
            prior: next_count(
                &self.prior,
                &self.published,
                (&blank, &Standing::anywhere(&self.published)),
                horizon,
            )?,
        })
    }
}

/// The history without covariates, for a model without them.
fn bare(history: &UnitHistory) -> UnitHistory {
    let mut bare = history.clone();
    bare.present = Vec::new();
    for window in &mut bare.windows {
        window.x = Vec::new();
    }
    bare
}

/// The unit's next count where it stands, with all doubts mixed, as the negative binomial law of the mixture's mean and its chance of at
/// least one: the two numbers a page shows.
///
/// # Errors
/// As [`crate::forecast()`].
pub fn next_count(
    prior: &KindPrior,
    fit: &KindFit,
    (history, standing): (&UnitHistory, &Standing),
    horizon: &Horizon,
) -> Result<CountLaw, InputError> {
    let unit = Prepared::new(prior, fit, history)?;
    let base = unit.ahead(horizon);
    let draws = &standing.draws;
    let even = 1.0 / draws.len() as f64;
    let (mut mean, mut chance) = (0.0, 0.0);
    for element in draws
        .iter()
        .flat_map(|p| unit.elements_with(horizon, &base, p))
    {
        let law = element.posterior.next(element.ahead);
        mean += even * element.weight * law.mean;
        chance += even * element.weight * law.at_least_one();
    }
    Ok(CountLaw::meeting(mean, chance))
}
