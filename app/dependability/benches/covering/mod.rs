//! How often 80 % intervals hold what is true, over many fleets whose truth is drawn from the prior.
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

/// Shares held: alpha, ln β, ln θ, the units' own rates; and fleets whose fit did not converge.
#[derive(Clone, Copy, Debug, Default)]
pub struct Held {
    pub parameters: [f64; 3],
    pub rates: f64,
    pub failures: f64,
    pub not_converged: usize,
}

/// Fleets with seeds 1 to `fleets`.
pub fn held(size: Size, fleets: u64) -> Result<Held, InputError> {
    let prior = KindPrior::around(0.18, 0.7, Vec::new());
    let mut held = Held::default();
    let mut units = 0.0;
    for seed in 1..=fleets {
        let mut draws = Draws::new(seed);
        let truth = truth(&mut draws, &prior);
        let fleet = draws.fleet(truth, size, 0.0);
        let fit = fit_kind(&prior, &fleet.histories)?;
        held.failures += f64::from(fit.n_failures) / fleets as f64;
        let known = [(0, truth.alpha), (1, truth.ln_beta), (2, truth.ln_theta)];
        held.count(&fit, &known, fleets);
        for (history, rate) in fleet.histories.iter().zip(&fleet.rates).take(UNITS) {
            let end = history.seen_until();
            let told = forecast(&prior, &fit, history, &[Horizon::next(end, 1.0)])?;
            held.rates += f64::from(u8::from(holds(told.horizons[0].chance80, *rate)));
            units += 1.0;
        }
    }
    held.rates /= units;
    Ok(held)
}

/// The same with part clocks, shares drawn from their prior too; ln β is not fitted there and its share stays 0.
pub fn held_parts(size: Size, fleets: u64) -> Result<Held, InputError> {
    let prior = part_fleets::prior();
    let mut held = Held::default();
    let mut units = 0.0;
    for seed in 1..=fleets {
        let mut draws = Draws::new(seed);
        let truth = truth(&mut draws, &prior);
        let shares = part_fleets::shares(&mut draws);
        let at = (truth.alpha.exp(), truth.ln_theta.exp());
        let fleet = part_fleets::fleet(&mut draws, at, &shares, size);
        let histories: Vec<UnitHistory> = fleet.iter().map(|f| f.0.clone()).collect();
        let fit = fit_kind(&prior, &histories)?;
        held.failures += f64::from(fit.n_failures) / fleets as f64;
        held.count(&fit, &[(0, truth.alpha), (2, truth.ln_theta)], fleets);
        for (history, rate) in fleet.iter().take(UNITS) {
            let told = forecast(&prior, &fit, history, &[Horizon::next(size.years, 1.0)])?;
            held.rates += f64::from(u8::from(holds(told.horizons[0].chance80, *rate)));
            units += 1.0;
        }
    }
    held.rates /= units;
    Ok(held)
}

/// Units of a building in [`held_in_buildings`].
const HOUSED: usize = 10;

/// The same with an effect of each building of ten units, as production fits it: ln τ is drawn from its prior, each
/// building's effect from N(0, τ²), and the units' own rates are told where they stand. The calendar year, whose effect
/// production asks for too, is not in it. The last share is that of ln τ; ln β is not fitted.
pub fn held_in_buildings(size: Size, fleets: u64) -> Result<(Held, f64), InputError> {
    let prior = part_fleets::prior();
    let (mut held, mut spreads, mut units) = (Held::default(), 0.0, 0.0);
    for seed in 1..=fleets {
        let mut draws = Draws::new(seed);
        let truth = truth(&mut draws, &prior);
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
        let fit = fit_kind_in_buildings(&prior, &housed)?;
        held.failures += f64::from(fit.n_failures) / fleets as f64;
        held.count(&fit, &[(0, truth.alpha), (2, truth.ln_theta)], fleets);
        if let Some(spread) = fit.buildings.as_ref().and_then(|b| b.spread.as_ref()) {
            let last = spread.covariance.len() - 1;
            let reach = Z80 * spread.covariance[last][last].sqrt();
            let inside = (ln_tau - spread.ln_tau).abs() <= reach;
            spreads += f64::from(u8::from(inside)) / fleets as f64;
        }
        for (building, fleet) in buildings.iter().take(UNITS / HOUSED) {
            let there: Vec<&UnitHistory> = fleet.iter().map(|f| &f.0).collect();
            let standing = Standing::of(&prior, &fit, building, &there)?;
            for (history, rate) in fleet {
                let year = [Horizon::next(size.years, 1.0)];
                let told = forecast_standing(&prior, &fit, (history, &standing), &year)?;
                held.rates += f64::from(u8::from(holds(told.horizons[0].chance80, *rate)));
                units += 1.0;
            }
        }
    }
    held.rates /= units;
    Ok((held, spreads))
}

/// Whether an interval of the chance holds that of a true rate.
fn holds((low, high): (f64, f64), rate: f64) -> bool {
    (low..=high).contains(&-(-rate).exp_m1())
}

impl Held {
    /// Counts a fit's verdict and the parameters whose interval holds the truth.
    fn count(&mut self, fit: &KindFit, truth: &[(usize, f64)], fleets: u64) {
        let ended = matches!(fit.verdict, Verdict::Converged | Verdict::NotEnough { .. });
        self.not_converged += usize::from(!ended);
        for (place, value) in truth {
            let reach = Z80 * fit.covariance[*place][*place].sqrt();
            let inside = (value - fit.parameters[*place]).abs() <= reach;
            self.parameters[*place] += f64::from(u8::from(inside)) / fleets as f64;
        }
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
