//! What the law starts by itself: who holds a home and the right to repair, hazards, the eighteen months of a cost, reports
//! with a time of their own, duties of a home or a building, rounds that come every week.
mod costs;
mod hazards;
mod places;
mod reports;
mod tenure;
mod weeks;

use terms::{FunctionLost, JobId, SpaceId};
use usecases::Error;
use usecases::work::{self, FaultCall};

use crate::duties::Estate;
use crate::work_estate::{Loop, fresh};

/// As a reader sees it.
fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ").replace("&#39;", "'")
}

/// A call about one cold radiator: ten working days by the landlord's own time.
fn radiator(estate: &Loop, space: SpaceId) -> JobId {
    let form = FaultCall {
        space,
        function_lost: FunctionLost::Other,
        leak: None,
        since: None,
        unit: None,
        words: "one radiator stays cold".to_owned(),
    };
    work::log_call(estate.world(), &estate.seat, form, &fresh())
        .unwrap()
        .job
}

/// The home of the cylinder.
fn other_flat(estate: &Loop) -> SpaceId {
    estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.unit(estate.cylinder)?.space)
        })
        .unwrap()
}

/// Another estate in the same database.
fn strangers(estate: &Loop) -> Estate {
    Estate::over(estate.world(), "Other Estate")
}
