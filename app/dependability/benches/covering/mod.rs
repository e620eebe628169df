//! How often 80 % intervals hold what is true, over many fleets whose truth is drawn from the prior.
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};

use dependability::buildings::LN_TAU;
use dependability::{
    Horizon, Housed, InputError, KindFit, KindPrior, Normal, Standing, UnitHistory, Verdict,
    fit_kind, fit_kind_in_buildings, forecast, forecast_standing,
};
use numerics::special::normal_quantile;

use crate::fleets::{Draws, Size, Truth};
use crate::part_fleets;

/// 90 % point of the standard normal.
const Z80: f64 = 1.281_551_565_544_600_4;
/// Units looked at in each fleet: enough, and the fleets count alike.
const UNITS: usize = 40;

/// What one fleet came to: which intervals held the truth.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// alpha, ln β, ln θ held.
    pub parameters: [bool; 3],
    /// ln τ held; false where it is not asked.
    pub tau: bool,
    /// Units whose own rate was held.
    pub held: u32,
    /// Units looked at.
    pub units: u32,
    /// Failures of the fleet.
    pub failures: u32,
    /// Its fit did not converge.
    pub failed: bool,
}

/// Shares held: alpha, ln β, ln θ, ln τ, the units' own rates; and fleets whose fit did not converge.
#[derive(Clone, Copy, Debug, Default)]
pub struct Held {
    pub parameters: [f64; 3],
    pub tau: f64,
    pub rates: f64,
    pub failures: f64,
    pub not_converged: usize,
}

/// Fleets with seeds 1 to `fleets`, two at a time.
pub struct Run<'a> {
    pub fleets: u64,
    /// Fleets done before, by seed.
    pub known: BTreeMap<u64, Tally>,
    /// Told of each fleet that was done now.
    pub told: &'a (dyn Fn(u64, &Tally) + Sync),
}

impl Run<'_> {
    /// All of them, told to nobody.
    pub fn of(fleets: u64) -> Self {
        Self {
            fleets,
            known: BTreeMap::new(),
            told: &|_, _| (),
        }
    }

    fn over(
        &self,
        one: impl Fn(u64) -> Result<Tally, InputError> + Sync,
    ) -> Result<Held, InputError> {
        let next = AtomicU64::new(1);
        let work = || -> Result<Vec<Tally>, InputError> {
            let mut done = Vec::new();
            loop {
                let seed = next.fetch_add(1, Ordering::Relaxed);
                if seed > self.fleets {
                    return Ok(done);
                }
                if let Some(known) = self.known.get(&seed) {
                    done.push(*known);
                    continue;
                }
                let tally = one(seed)?;
                (self.told)(seed, &tally);
                done.push(tally);
            }
        };
        let both: Vec<Result<Vec<Tally>, InputError>> = std::thread::scope(|scope| {
            let other = scope.spawn(work);
            let mine = work();
            match other.join() {
                Ok(theirs) => vec![mine, theirs],
                Err(broken) => std::panic::resume_unwind(broken),
            }
        });
        let mut all = Vec::new();
        for half in both {
            all.extend(half?);
        }
        Ok(Held::of(&all))
    }
}

impl Held {
    /// Whole numbers are added up, so that the order in which fleets were done changes nothing.
    fn of(all: &[Tally]) -> Self {
        let share = |held: &dyn Fn(&Tally) -> bool| {
            all.iter().filter(|t| held(t)).count() as f64 / all.len() as f64
        };
        let sum = |of: fn(&Tally) -> u32| all.iter().map(|t| u64::from(of(t))).sum::<u64>() as f64;
        Self {
            parameters: [0, 1, 2].map(|i| share(&|t: &Tally| t.parameters[i])),
            tau: share(&|t: &Tally| t.tau),
            rates: sum(|t| t.held) / sum(|t| t.units),
            failures: sum(|t| t.failures) / all.len() as f64,
            not_converged: all.iter().filter(|t| t.failed).count(),
        }
    }
}

/// One clock a unit, truth drawn from the prior.
pub fn held(size: Size, run: &Run<'_>) -> Result<Held, InputError> {
    let prior = KindPrior::around(0.18, 0.7, Vec::new());
    run.over(|seed| {
        let mut draws = Draws::new(seed);
        let truth = truth(&mut draws, &prior);
        let fleet = draws.fleet(truth, size, 0.0);
        let fit = fit_kind(&prior, &fleet.histories)?;
        let known = [(0, truth.alpha), (1, truth.ln_beta), (2, truth.ln_theta)];
        let mut tally = Tally::of(&fit, &known);
        for (history, rate) in fleet.histories.iter().zip(&fleet.rates).take(UNITS) {
            let end = history.seen_until();
            let told = forecast(&prior, &fit, history, &[Horizon::next(end, 1.0)])?;
            tally.unit(told.horizons[0].chance80, *rate);
        }
        Ok(tally)
    })
}

/// The same with part clocks, shares drawn from their prior too; ln β is not fitted there and its share stays 0.
pub fn held_parts(size: Size, run: &Run<'_>) -> Result<Held, InputError> {
    let prior = part_fleets::prior();
    run.over(|seed| {
        let mut draws = Draws::new(seed);
        let truth = truth(&mut draws, &prior);
        let shares = part_fleets::shares(&mut draws);
        let at = (truth.alpha.exp(), truth.ln_theta.exp());
        let fleet = part_fleets::fleet(&mut draws, at, &shares, size);
        let histories: Vec<UnitHistory> = fleet.iter().map(|f| f.0.clone()).collect();
        let fit = fit_kind(&prior, &histories)?;
        let mut tally = Tally::of(&fit, &[(0, truth.alpha), (2, truth.ln_theta)]);
        for (history, rate) in fleet.iter().take(UNITS) {
            let told = forecast(&prior, &fit, history, &[Horizon::next(size.years, 1.0)])?;
            tally.unit(told.horizons[0].chance80, *rate);
        }
        Ok(tally)
    })
}

/// Units of a building in [`held_in_buildings`].
const HOUSED: usize = 10;

/// The same with an effect of each building of ten units, as production fits it: ln τ is drawn from its prior, each
/// building's effect from N(0, τ²), and the units' own rates are told where they stand. The calendar year, whose effect
/// production asks for too, is not in it; ln β is not fitted.
pub fn held_in_buildings(size: Size, run: &Run<'_>) -> Result<Held, InputError> {
    let prior = part_fleets::prior();
    run.over(|seed| in_buildings(&prior, size, seed))
}

fn in_buildings(prior: &KindPrior, size: Size, seed: u64) -> Result<Tally, InputError> {
    let mut draws = Draws::new(seed);
    let truth = truth(&mut draws, prior);
    let shares = part_fleets::shares(&mut draws);
    let ln_tau = LN_TAU.mean + LN_TAU.sd * normal_quantile(draws.even());
    let buildings: Vec<(String, Vec<(UnitHistory, f64)>)> = (0..size.units.div_ceil(HOUSED))
        .map(|place| {
            let effect = ln_tau.exp() * normal_quantile(draws.even());
            let at = ((truth.alpha + effect).exp(), truth.ln_theta.exp());
            let own = Size {
                units: HOUSED,
                ..size
            };
            let fleet = part_fleets::fleet(&mut draws, at, &shares, own);
            (format!("{place:04}"), fleet)
        })
        .collect();
    let housed: Vec<Housed<'_>> = buildings
        .iter()
        .flat_map(|(building, fleet)| {
            fleet.iter().map(move |(history, _)| Housed {
                history,
                building: building.as_str(),
            })
        })
        .collect();
    let fit = fit_kind_in_buildings(prior, &housed)?;
    let mut tally = Tally::of(&fit, &[(0, truth.alpha), (2, truth.ln_theta)]);
    if let Some(spread) = fit.buildings.as_ref().and_then(|b| b.spread.as_ref()) {
        let last = spread.covariance.len() - 1;
        let reach = Z80 * spread.covariance[last][last].sqrt();
        tally.tau = (ln_tau - spread.ln_tau).abs() <= reach;
    }
    for (building, fleet) in buildings.iter().take(UNITS / HOUSED) {
        let there: Vec<&UnitHistory> = fleet.iter().map(|f| &f.0).collect();
        let standing = Standing::of(prior, &fit, building, &there)?;
        for (history, rate) in fleet {
            let year = [Horizon::next(size.years, 1.0)];
            let told = forecast_standing(prior, &fit, (history, &standing), &year)?;
            tally.unit(told.horizons[0].chance80, *rate);
        }
    }
    Ok(tally)
}

/// Whether an interval of the chance holds that of a true rate.
fn holds((low, high): (f64, f64), rate: f64) -> bool {
    (low..=high).contains(&-(-rate).exp_m1())
}

impl Tally {
    /// A fit's verdict, and the parameters whose interval holds the truth.
    fn of(fit: &KindFit, truth: &[(usize, f64)]) -> Self {
        let ended = matches!(fit.verdict, Verdict::Converged | Verdict::NotEnough { .. });
        let mut tally = Self {
            failures: fit.n_failures,
            failed: !ended,
            ..Self::default()
        };
        for (place, value) in truth {
            let reach = Z80 * fit.covariance[*place][*place].sqrt();
            tally.parameters[*place] = (value - fit.parameters[*place]).abs() <= reach;
        }
        tally
    }

    fn unit(&mut self, interval: (f64, f64), rate: f64) {
        self.held += u32::from(holds(interval, rate));
        self.units += 1;
    }
}

/// A truth drawn from the prior.
fn truth(draws: &mut Draws, prior: &KindPrior) -> Truth {
    let mut drawn = |law: Normal| law.mean + law.sd * normal_quantile(draws.even());
    Truth {
        alpha: drawn(Normal {
            mean: prior.rate_10y.ln(),
            sd: prior.rate_sd_log,
        }),
        ln_beta: drawn(prior.ln_beta),
        ln_theta: drawn(prior.ln_theta),
    }
}
