//! A kind's figures as its own records leave them: what the last fit says of a unit of the kind without a history.
//!
//! A forecast of a unit that stands there runs on the fit; so must the failures of a new one beside it, or two bases are
//! compared. With c = (1 at alpha, x at the covariates' effects), m the fit's parameters and V their covariance, the rate at
//! ten years is the posterior mean of a log-normal, e^(c·m + c·V·c/2); the parts' shares and, with one clock, the shape
//! are the fit's own.
use chrono::NaiveDate;
use dependability::KindPrior;
use dependability::buildings::LN_TAU;
use dependability::record::{ALPHA, GAMMA, LN_BETA, LN_THETA};
use store::forecasts::FitRow;

use crate::forecast::{KeptFit, MakeUp};

/// A fit that rests on records of the kind.
#[derive(Debug)]
pub(crate) struct AsFitted {
    kept: KeptFit,
    made_on: NaiveDate,
}

impl AsFitted {
    /// From a kept fit; `None` where no record went into it, it failed, or it is not whole: then the published figures
    /// stand alone.
    pub fn read(row: &FitRow) -> Option<Self> {
        if !["converged", "boundary"].contains(&row.verdict.as_str()) {
            return None;
        }
        let kept = KeptFit::read(row)?;
        let made_on = crate::work::wall::day(row.made_at);
        let found = Self { kept, made_on };
        found.prior(&MakeUp::default()).is_some().then_some(found)
    }

    /// The kind's figures for units of this make-up, in the form of a prior; `None` for a fit whose numbers cannot be meant.
    pub fn prior(&self, of: &MakeUp) -> Option<KindPrior> {
        let (fit, prior) = (&self.kept.fit, &self.kept.prior);
        let present = of.in_order(&prior.covariates);
        let weight = |i: usize| match i {
            ALPHA => 1.0,
            LN_BETA | LN_THETA => 0.0,
            i => present.get(i - GAMMA).copied().unwrap_or(0.0),
        };
        let mean: f64 = (0..).zip(&fit.parameters).map(|(i, m)| weight(i) * m).sum();
        let variance: f64 = (0..)
            .zip(&fit.covariance)
            .flat_map(|(i, row)| (0..).zip(row).map(move |(j, v)| (i, j, *v)))
            .map(|(i, j, v)| weight(i) * weight(j) * v)
            .sum();
        let whole = fit.parameters.len() == GAMMA + prior.covariates.len()
            && fit.shares.len() == prior.parts.len();
        let rate = (mean + variance / 2.0).exp();
        if !(whole && variance >= 0.0 && rate.is_finite() && rate > 0.0) {
            return None;
        }
        let mut found = prior.clone();
        found.rate_10y = rate;
        found.rate_sd_log = variance.sqrt();
        found.ln_theta.mean = *fit.parameters.get(LN_THETA)?;
        if found.parts.is_empty() {
            found.ln_beta.mean = *fit.parameters.get(LN_BETA)?;
        }
        for (part, share) in found.parts.iter_mut().zip(&fit.shares) {
            part.share = *share;
        }
        found.check().ok().map(|()| found)
    }

    /// The mean of e^e in a building where none of the kind was watched: e^(τ²/2), τ as fitted or, from one building only,
    /// as believed before.
    pub fn elsewhere(&self) -> f64 {
        let Some(buildings) = &self.kept.fit.buildings else {
            return 1.0;
        };
        let ln_tau = buildings.spread.as_ref().map_or(LN_TAU.mean, |s| s.ln_tau);
        ((2.0 * ln_tau).exp() / 2.0).exp()
    }

    /// "its kind’s own 31 failures beside its published figure, fit of 25 November 2026"; how much of each says the status.
    pub fn source(&self) -> String {
        let n = self.kept.fit.n_failures;
        format!(
            "its kind’s own {n} failure{} beside its published figure, fit of {}",
            if n == 1 { "" } else { "s" },
            self.made_on.format("%-d %B %Y")
        )
    }

    /// "own records 72 %, published 28 %"
    pub fn status(&self) -> String {
        let own = self.percent();
        format!("own records {own:.0} %, published {:.0} %", 100.0 - own)
    }

    /// How much of the level rests on own records.
    fn percent(&self) -> f64 {
        (self.kept.fit.data_weight.rate.clamp(0.0, 1.0) * 100.0).round()
    }
}

#[cfg(test)]
mod tests {
    use chrono::DateTime;
    use dependability::{
        Failure, Horizon, Housed, Installed, PartClock, PartPrior, UnitHistory, Window,
        fit_kind_in_buildings, forecast,
    };
    use terms::FitId;

    use super::super::outlook::new_unit;
    use super::*;

    fn history(installed: f64, until: f64, failures: Vec<f64>) -> UnitHistory {
        let windows = (until > installed).then(|| Window {
            from: installed,
            until,
            x: Vec::new(),
        });
        UnitHistory {
            installed: Installed {
                earliest: installed,
                latest: installed,
            },
            windows: windows.into_iter().collect(),
            renewals: Vec::new(),
            failures: failures
                .into_iter()
                .map(|at| Failure {
                    part: Some("pump".to_owned()),
                    at,
                    between: None,
                })
                .collect(),
            present: Vec::new(),
            merged: 0,
            written_off: false,
        }
    }

    fn published() -> KindPrior {
        let pump = PartPrior {
            code: "pump".to_owned(),
            share: 1.0,
            shape: 1.0,
            clock: PartClock::Event,
        };
        KindPrior {
            remainder_shape: 1.0,
            ..KindPrior::around(0.2, 0.7, vec![pump])
        }
    }

    /// The fit of forty units watched for ten years, `each` failures of every one.
    fn fitted(each: usize) -> AsFitted {
        let units: Vec<UnitHistory> = (0..40)
            .map(|n| {
                let at = |k: usize| 0.5 + 9.0 * k as f64 / each as f64 + 0.01 * f64::from(n);
                history(0.0, 10.0, (0..each).map(at).collect())
            })
            .collect();
        let housed: Vec<Housed<'_>> = units
            .iter()
            .map(|history| Housed {
                history,
                building: "here",
            })
            .collect();
        let prior = published();
        let fit = fit_kind_in_buildings(&prior, &housed).unwrap();
        let kept = KeptFit {
            prior,
            fit,
            month_shares: [1.0 / 12.0; 12],
            left_out: Vec::new(),
            life: None,
            profiled: None,
            in_lapse: 0,
        };
        let row = FitRow {
            id: FitId(uuid::Uuid::nil()),
            kind: "CB".to_owned(),
            made_at: DateTime::UNIX_EPOCH,
            known_at: DateTime::UNIX_EPOCH,
            verdict: crate::forecast::kept::verdict_code(&kept.fit.verdict).to_owned(),
            units: 40,
            failures: 0,
            merged_away: 0,
            body: serde_json::to_value(&kept).unwrap(),
            digest: String::new(),
        };
        AsFitted::read(&row).unwrap()
    }

    /// 40 units × 10 years × 4 failures each: 0.4 a year where 0.2 is published, so twice as often to within the prior's pull.
    #[test]
    fn a_kind_that_fails_twice_as_often_here_gives_a_new_unit_twice_the_failures() {
        let own = fitted(4);
        let (here, said) = (own.prior(&MakeUp::default()).unwrap(), published());
        for (a, b) in new_unit(&here, 10).iter().zip(new_unit(&said, 10)) {
            assert!((a / b - 2.0).abs() < 0.1, "{a} for {b}");
        }
        assert!(
            own.status().starts_with("own records 9"),
            "{}",
            own.status()
        );
        assert!(
            own.source().contains("own 160 failures"),
            "{}",
            own.source()
        );
    }

    /// A new unit's first year is what the forecast of such a unit without a history says, to the rounding of its draws.
    #[test]
    fn a_new_unit_is_reckoned_with_as_its_forecast_would_say() {
        let own = fitted(3);
        let fresh = UnitHistory {
            present: vec![0.0; own.kept.prior.covariates.len()],
            ..history(20.0, 20.0, Vec::new())
        };
        let told = forecast(
            &own.kept.prior,
            &own.kept.fit,
            &fresh,
            &[Horizon::next(20.0, 1.0)],
        )
        .unwrap();
        let expected = told.horizons[0].expected;
        let reckoned = new_unit(&own.prior(&MakeUp::default()).unwrap(), 1)[0];
        assert!(
            (reckoned / expected - 1.0).abs() < 0.02,
            "{reckoned} for {expected}"
        );
    }

    #[test]
    fn a_fit_without_records_leaves_the_published_figures_alone() {
        let mut row = FitRow {
            id: FitId(uuid::Uuid::nil()),
            kind: "CB".to_owned(),
            made_at: DateTime::UNIX_EPOCH,
            known_at: DateTime::UNIX_EPOCH,
            verdict: "not_enough".to_owned(),
            units: 0,
            failures: 0,
            merged_away: 0,
            body: serde_json::to_value(&fitted(1).kept).unwrap(),
            digest: String::new(),
        };
        assert!(AsFitted::read(&row).is_none());
        row.verdict = "converged".to_owned();
        assert!(AsFitted::read(&row).is_some());
        row.body = serde_json::json!({});
        assert!(AsFitted::read(&row).is_none());
    }
}
