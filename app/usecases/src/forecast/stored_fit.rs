//! A stored fit read by a program that asks about more than the one which stored it.
use store::forecasts::FitRow;

use super::kept::KeptFit;
use super::priors::covariates;

impl KeptFit {
    /// The fit as kept, with every covariate that units state today. One it was not asked about gets an effect of nought
    /// without doubt, so that it answers exactly as it did when it was made.
    ///
    /// `None`, with a line in the log: it belongs to another version in any other way. It counts as none until the next
    /// refit; no page and no record of an event may fail for it.
    pub(crate) fn read(row: &FitRow) -> Option<Self> {
        let why = match serde_json::from_value::<Self>(row.body.clone()) {
            Err(why) => why.to_string(),
            Ok(kept) => match kept.brought_up() {
                Some(kept) => return Some(kept),
                None => "its covariates or parts are not those of this program".to_owned(),
            },
        };
        tracing::warn!(kind = %row.kind, made_at = %row.made_at, %why, "a stored fit cannot be used");
        None
    }

    fn brought_up(mut self) -> Option<Self> {
        self.fit.fits(&self.prior).ok()?;
        let present = covariates();
        let known = self.prior.covariates.len();
        let alike = |(a, b): (
            &dependability::CovariatePrior,
            &dependability::CovariatePrior,
        )| { a.code == b.code };
        let first = present.get(..known)?;
        if !first.iter().zip(&self.prior.covariates).all(alike) {
            return None;
        }
        for missing in present.into_iter().skip(known) {
            self.prior.covariates.push(missing);
            self.fit.add_still_covariate();
        }
        Some(self)
    }
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, NaiveDate};
    use dependability::{
        Failure, Housed, Installed, KindPrior, PartClock, PartPrior, Standing, UnitForecast,
        UnitHistory, Window, fit_kind_in_buildings, forecast_standing, recording,
    };
    use terms::{BuildingId, FitId};
    use uuid::Uuid;

    use super::*;
    use crate::forecast::outlook::FitSaid;
    use crate::forecast::priors::YEAR_PLACE;
    use crate::forecast::season::MONTH_SHARES;

    const NOW: f64 = 2026.9;

    /// Two covariates, as the program asked before it asked about the record itself.
    fn two_covariates() -> KindPrior {
        let part = |code: &str, share, clock| PartPrior {
            code: code.to_owned(),
            share,
            shape: 1.6,
            clock,
        };
        KindPrior {
            covariates: covariates()[..YEAR_PLACE].to_vec(),
            ..KindPrior::around(
                0.2,
                0.7,
                vec![
                    part("pump", 0.6, PartClock::Part),
                    part("board", 0.4, PartClock::Unit),
                ],
            )
        }
    }

    /// Thirty units in three buildings, watched for nine years; invented, the second building's fail more.
    fn record() -> Vec<(UnitHistory, BuildingId)> {
        (0_u32..30)
            .map(|n| {
                let building = n % 3;
                let x = vec![f64::from(n % 2), f64::from(u32::from(n.is_multiple_of(5)))];
                let failures = (0..(n * 7 % 4 + 2 * u32::from(building == 1))).map(|k| Failure {
                    part: k.is_multiple_of(2).then(|| "pump".to_owned()),
                    at: 2018.3 + f64::from(k) * 1.4 + f64::from(n) * 0.03,
                    between: None,
                });
                let installed = 2008.0 + f64::from(n % 9);
                let history = UnitHistory {
                    installed: Installed {
                        earliest: installed,
                        latest: installed + f64::from(n % 4),
                    },
                    windows: vec![Window {
                        from: 2018.0,
                        until: NOW,
                        x: x.clone(),
                    }],
                    renewals: Vec::new(),
                    failures: failures.collect(),
                    present: x,
                    merged: 0,
                    written_off: false,
                };
                (
                    history,
                    BuildingId(Uuid::from_u128(u128::from(building) + 1)),
                )
            })
            .collect()
    }

    /// The same unit as it is made ready today.
    fn as_today(history: &UnitHistory) -> UnitHistory {
        let mut today = history.clone();
        let wanted = covariates().len();
        for window in &mut today.windows {
            window.x.resize(wanted, 0.0);
        }
        today.present.resize(wanted, 0.0);
        recording::by_year(&today, NOW, YEAR_PLACE)
    }

    fn old_fit(record: &[(UnitHistory, BuildingId)]) -> KeptFit {
        let prior = two_covariates();
        let names: Vec<String> = record.iter().map(|(_, b)| b.to_string()).collect();
        let housed: Vec<Housed<'_>> = record
            .iter()
            .zip(&names)
            .map(|((history, _), building)| Housed { history, building })
            .collect();
        KeptFit {
            fit: fit_kind_in_buildings(&prior, &housed).unwrap(),
            prior,
            month_shares: MONTH_SHARES,
            left_out: Vec::new(),
            life: None,
            profiled: None,
            in_lapse: 0,
        }
    }

    fn row(kept: &KeptFit) -> FitRow {
        FitRow {
            id: FitId(Uuid::nil()),
            kind: "CB".to_owned(),
            made_at: DateTime::default(),
            known_at: DateTime::default(),
            verdict: "converged".to_owned(),
            units: 30,
            failures: 50,
            merged_away: 0,
            body: serde_json::to_value(kept).unwrap(),
            digest: String::new(),
        }
    }

    fn told(
        kept: &KeptFit,
        record: &[(UnitHistory, BuildingId)],
        n: usize,
    ) -> (UnitForecast, Standing) {
        let (history, building) = &record[n];
        let near: Vec<&UnitHistory> = record
            .iter()
            .filter(|(_, b)| b == building)
            .map(|(h, _)| h)
            .collect();
        let standing = kept.standing(*building, &near).unwrap();
        let today = NaiveDate::from_ymd_opt(2026, 11, 25).unwrap();
        let all = kept.horizons(today);
        let told = forecast_standing(&kept.prior, &kept.fit, (history, &standing), &all).unwrap();
        (told, standing)
    }

    fn near(a: f64, b: f64) {
        assert!((a - b).abs() <= 1e-9 * a.abs().max(1e-3), "{a} and {b}");
    }

    #[test]
    fn a_fit_of_two_covariates_answers_as_it_did() {
        let record = record();
        let old = old_fit(&record);
        assert!(old.asks_for_neighbours(), "it tells buildings apart");
        let read = KeptFit::read(&row(&old)).unwrap();
        assert_eq!(read.prior.covariates.len(), covariates().len());
        let today: Vec<(UnitHistory, BuildingId)> =
            record.iter().map(|(h, b)| (as_today(h), *b)).collect();
        for n in 0..record.len() {
            let ((was, there), (is, here)) = (told(&old, &record, n), told(&read, &today, n));
            for (a, b) in was.horizons.iter().zip(&is.horizons) {
                near(a.chance, b.chance);
                near(a.chance80.0, b.chance80.0);
                near(a.chance80.1, b.chance80.1);
                near(a.expected, b.expected);
                assert_eq!(a.drivers.len(), b.drivers.len());
            }
            near(was.z_mean, is.z_mean);
            let (there, here) = (there.factor().unwrap(), here.factor().unwrap());
            near(there.mean, here.mean);
            near(there.high, here.high);
        }
        // It says nothing of a drift that it never asked about.
        let said = FitSaid::of(&row(&read), &read);
        assert_eq!((said.drift, said.drift_weight), (None, 0.0));
        // Read again after it was written anew, it is the same.
        assert_eq!(KeptFit::read(&row(&read)), Some(read));
    }

    #[test]
    fn a_fit_of_another_version_counts_as_none() {
        let record = record();
        let old = old_fit(&record);
        let mut other = old.clone();
        other.prior.covariates[1].code = "sea_air".to_owned();
        assert_eq!(KeptFit::read(&row(&other)), None);
        let mut more = KeptFit::read(&row(&old)).unwrap();
        more.prior.covariates.push(recording::covariate());
        more.fit.add_still_covariate();
        assert_eq!(KeptFit::read(&row(&more)), None);
        let mut torn = old.clone();
        torn.fit.parameters.pop();
        assert_eq!(KeptFit::read(&row(&torn)), None);
        let mut gone = row(&old);
        gone.body = serde_json::json!({ "fit": 1 });
        assert_eq!(KeptFit::read(&gone), None);
    }
}
