//! A stored fit read by a program that may ask about more than the one which stored it.
use std::collections::BTreeSet;

use store::forecasts::FitRow;

use super::kept::KeptFit;
use super::priors::is_known;

impl KeptFit {
    /// The fit as kept. It keeps what it was asked about, and histories are made to its own list ([`super::histories`]), so
    /// that it answers exactly as it did when it was made, whatever is asked about today.
    ///
    /// `None`, with a line in the log: it was asked about something this program knows nothing of, or is not whole. It counts
    /// as none until the next refit; no page and no record of an event may fail for it.
    pub(crate) fn read(row: &FitRow) -> Option<Self> {
        let why = match serde_json::from_value::<Self>(row.body.clone()) {
            Err(why) => why.to_string(),
            Ok(kept) if kept.can_be_asked() => return Some(kept),
            Ok(_) => "its covariates or parts are not those of this program".to_owned(),
        };
        tracing::warn!(kind = %row.kind, made_at = %row.made_at, %why, "a stored fit cannot be used");
        None
    }

    fn can_be_asked(&self) -> bool {
        let mut seen = BTreeSet::new();
        let mut codes = self.prior.covariates.iter().map(|c| c.code.as_str());
        self.fit.fits(&self.prior).is_ok() && codes.all(|code| is_known(code) && seen.insert(code))
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
    use crate::forecast::priors::covariates;
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
            covariates: covariates(&[])[..2].to_vec(),
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

    /// As it was before it was stored, to the bit; and it says nothing of a drift that it never asked about.
    #[test]
    fn a_fit_of_two_covariates_answers_as_it_did() {
        let record = record();
        let old = old_fit(&record);
        assert!(old.asks_for_neighbours(), "it tells buildings apart");
        let read = KeptFit::read(&row(&old)).unwrap();
        assert_eq!(read.prior.covariates.len(), 2);
        for n in 0..record.len() {
            let ((was, there), (is, here)) = (told(&old, &record, n), told(&read, &record, n));
            assert_eq!(was, is);
            assert_eq!(there.factor(), here.factor());
        }
        let said = FitSaid::of(&row(&read), &read);
        assert_eq!((said.drift, said.drift_weight), (None, 0.0));
        let asked: Vec<&str> = said.effects90.iter().map(|e| e.0.as_str()).collect();
        assert_eq!(asked, [super::super::HARD_WATER, super::super::NO_FILTER]);
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
        // More asked than answered, and one thing asked twice.
        let mut more = old.clone();
        more.prior.covariates.push(recording::covariate());
        assert_eq!(KeptFit::read(&row(&more)), None);
        let mut twice = old.clone();
        twice.prior.covariates[1] = twice.prior.covariates[0].clone();
        assert_eq!(KeptFit::read(&row(&twice)), None);
        let mut torn = old.clone();
        torn.fit.parameters.pop();
        assert_eq!(KeptFit::read(&row(&torn)), None);
        let mut gone = row(&old);
        gone.body = serde_json::json!({ "fit": 1 });
        assert_eq!(KeptFit::read(&gone), None);
    }
}
