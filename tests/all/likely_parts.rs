//! What the phone's tests share of a ranking: a boiler called to, a part new this spring, and the words a ranking is told in.
use terms::unit::PartFitted;
use terms::{FunctionLost, JobId};
use usecases::Error;
use usecases::visit::{Ranking, chance_words};
use usecases::work::{self, FaultCall};
use wording::sentences::list;

use crate::work_estate::{ANNA, Loop, day, fresh};

/// A call about hot water at the boiler.
pub fn called(estate: &Loop) -> JobId {
    let call = FaultCall {
        space: estate.flat,
        function_lost: FunctionLost::HotWater,
        leak: None,
        since: None,
        unit: Some(estate.boiler),
        words: "lukewarm".to_owned(),
    };
    let logged = work::log_call(estate.world(), &estate.seat, call, &fresh());
    logged.unwrap().job
}

/// The same, taken by Anna.
pub fn taken(estate: &Loop) -> JobId {
    let job = called(estate);
    estate.offer(job, estate.firm_a);
    let anna = estate.seat_of(ANNA);
    work::take(estate.world(), &anna, job, None, &fresh()).unwrap();
    job
}

/// A part of the boiler that is new this spring: it is the less likely now, whatever the table says.
pub fn fitted_this_spring(estate: &Loop, part: &str) {
    let fitted = PartFitted {
        unit: estate.boiler,
        part: part.to_owned(),
        fitted_on: day("2026-03-02"),
        planned: false,
        job: None,
    };
    estate
        .world()
        .acting(&estate.seat, |tx| {
            tx.add_part_fitted(&fitted, "", None)?;
            Ok::<_, Error>(())
        })
        .unwrap();
}

/// A ranking in the words of the sheet's pages.
pub struct Said {
    /// "Pump, 1 in 2; fan, 1 in 5"
    pub likely: String,
    /// "pump and fan"; empty where nothing is worth taking along.
    pub bring: String,
    /// The test that splits them best.
    pub test: String,
}

impl Said {
    pub fn of(ranking: &Ranking) -> Self {
        let top = ranking.top.iter();
        let likely: Vec<String> = top
            .clone()
            .map(|p| format!("{}, {}", p.part, chance_words(p.chance)))
            .collect();
        let bring: Vec<&str> = top
            .filter(|p| ranking.take.contains(&p.code))
            .map(|p| p.part.as_str())
            .collect();
        Self {
            likely: likely.join("; "),
            bring: list(&bring).to_lowercase(),
            test: ranking.best_test_words.clone().unwrap_or_default(),
        }
    }
}
