//! Forecasts: each kind refitted at night, each unit told again at once after a failure.
//!
//! A forecast is a row with its day, its facts' digest and its whole body; another one takes its place, nothing is
//! changed. So "what did we say then" is a read. Nothing here orders anything on age alone, and a chance is never a
//! diagnosis.
mod alike;
mod book;
mod branch_loss;
mod histories;
pub(crate) mod kept;
mod kind_record;
mod lapse;
mod outlook;
mod priors;
mod published;
mod reading;
mod refit;
mod renew;
pub(crate) mod season;
mod stored_fit;
mod track;
mod track_file;
mod tried;
mod whole_building;

use chrono::NaiveDate;
use serde::Serialize;
use sha2::{Digest, Sha256};
use store::Tx;
use terms::hex;

pub(crate) use alike::{Alike, AllAlike, PEOPLE_FACT, key as family_key};
pub use book::{KeptRecord, keep_record};
pub use branch_loss::{BranchOutlook, COMMON_SHARE, REPAIR_DAYS};
pub use dependability::age_bands::AgeBand;
pub use dependability::buildings::{Buildings, Effect};
pub use dependability::goodness::{DRAWS as GOODNESS_DRAWS, Goodness};
pub use dependability::judgement::{Against, Group, Judgement, Scores};
pub use dependability::kind_life::{KindLife, LifeAhead, WaysOut};
pub use dependability::profiled::{Ends, MOST_FAILURES, Profiled};
pub use dependability::redundancy::Loss;
pub use dependability::shared_feeders::AnyLoss;
pub use dependability::{
    DataWeight, Driver, Factor, HorizonForecast, PartChance, ThinData, Total, UnitForecast, Verdict,
};
pub use histories::{Basis, InstalledFrom};
pub(crate) use histories::{failures_among, possible_span};
pub use kept::{KeptFit, KeptForecast};
pub use kind_record::{KindRecord, LEAST_FOR_TREND, Trend, kind_record};
pub use outlook::{Around, FitSaid, UnitOutlook, unit_outlook};
pub use priors::{
    FAMILY, HARD_MG_L, HARD_WATER, LEAST_IN_LAPSE, LEAST_OF_FAMILY, MOST_FAMILIES, NO_FILTER,
    OPEN_SYSTEM, PEOPLE, SERVICE_LAPSED,
};
pub(crate) use priors::{MakeUp, family_places};
pub use published::{PublishedHistory, published};
pub use reading::{
    KindTotal, LEAST_CHANCE, LEAST_FAILURES, Likeliest, Told, likeliest, of_building, of_unit,
    of_unit_known, of_units, totals_of_building, why_none,
};
pub use refit::{KindReport, Outcome, RefitReport, ask_for_refit, refit};
pub use renew::renew_unit;
pub use season::{MONTH_SHARES, MONTH_SHARES_STATUS, Season};
pub(crate) use track::said_so_far;
pub use track::{MetBook, PastBook, SoFar, Surprise, TrackLine, TrackRecord, track_record};
pub use track_file::track_file;
pub use tried::{Tried, TriedKind, tried};
pub use whole_building::{BuildingOutlook, KindOutlook, PlantOutlook, Totals, building_outlook};

/// The building's own day: forecasts begin with it, not with the day in UTC.
pub(crate) fn today(tx: &Tx<'_>) -> NaiveDate {
    crate::work::wall::day(tx.at())
}

/// SHA-256 of a value's JSON, in hexadecimal.
fn digest<T: Serialize>(value: &T) -> String {
    let bytes = serde_json::to_vec(value).unwrap_or_default();
    hex(&Sha256::digest(&bytes))
}
