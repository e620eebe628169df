//! How often 80 % intervals hold what is true, over many fleets whose truth is drawn from the prior.
use dependability::{Horizon, InputError, KindPrior, Normal, Verdict, fit_kind, forecast};
use numerics::special::normal_quantile;

use crate::fleets::{Draws, Size, Truth};

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
        held.not_converged += usize::from(!matches!(
            fit.verdict,
            Verdict::Converged | Verdict::NotEnough { .. }
        ));
        let true_at = [truth.alpha, truth.ln_beta, truth.ln_theta];
        for (i, value) in true_at.into_iter().enumerate() {
            let reach = Z80 * fit.covariance[i][i].sqrt();
            held.parameters[i] +=
                f64::from(u8::from((value - fit.parameters[i]).abs() <= reach)) / fleets as f64;
        }
        for (history, rate) in fleet.histories.iter().zip(&fleet.rates).take(UNITS) {
            let end = history.seen_until();
            let told = forecast(&prior, &fit, history, &[Horizon::next(end, 1.0)])?;
            let chance = -(-rate).exp_m1();
            let (low, high) = told.horizons[0].chance80;
            held.rates += f64::from(u8::from((low..=high).contains(&chance)));
            units += 1.0;
        }
    }
    held.rates /= units;
    Ok(held)
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
