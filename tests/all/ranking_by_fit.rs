//! The likely parts of a job follow the forecast's fit of the kind where there is one.
use std::collections::BTreeMap;

use chrono::TimeDelta;
use store::forecasts::FitRow;
use terms::JobId;
use usecases::forecast;
use usecases::work;

use crate::likely_parts;
use crate::work_estate::Loop;

fn chances(estate: &Loop, job: JobId) -> BTreeMap<String, f64> {
    let view = work::job_view(estate.world(), &estate.seat, job).unwrap();
    view.ranking
        .expect("a complaint that says something")
        .posterior
}

#[test]
fn a_fit_that_says_a_part_fails_thrice_as_often_makes_its_weight_three_times() {
    let estate = Loop::start();
    let job = likely_parts::called(&estate);
    let without = chances(&estate, job);
    forecast::refit(estate.world(), &estate.seat).unwrap();

    // The stored fit of the kind, said anew with one part three times as frequent against every other.
    estate.app.database.clock.advance(TimeDelta::minutes(1));
    let part = "diverter_valve";
    estate
        .world()
        .acting(&estate.seat, |tx| {
            let row = tx.last_fit("CB")?.expect("a fit is kept");
            let mut kept: forecast::KeptFit = serde_json::from_value(row.body.clone()).unwrap();
            kept.fit.shares = kept.prior.shares();
            let place = kept
                .prior
                .parts
                .iter()
                .position(|p| p.code == part)
                .unwrap();
            kept.fit.shares[place] *= 3.0;
            let sum: f64 = kept.fit.shares.iter().sum();
            kept.fit.shares.iter_mut().for_each(|share| *share /= sum);
            let anew = FitRow {
                body: serde_json::to_value(&kept).unwrap(),
                made_at: tx.at(),
                known_at: tx.at(),
                verdict: "converged".to_owned(),
                ..row
            };
            tx.add_fit(&anew)?;
            Ok(())
        })
        .unwrap();
    let with = chances(&estate, job);
    // Parts the forecast knows by name; one it does not know keeps the table's own figure.
    let known: Vec<String> = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.part_shares()?))
        .unwrap()
        .into_iter()
        .filter(|share| share.kind == "CB" && share.code != part)
        .map(|share| share.code)
        .filter(|code| without.contains_key(code))
        .collect();
    assert!(known.len() >= 5, "{known:?}");
    for other in &known {
        let ratio = (with[part] / with[other]) / (without[part] / without[other]);
        assert!((ratio - 3.0).abs() < 1e-9, "{other}: {ratio}");
    }
    assert!(with[part] > without[part]);
}
