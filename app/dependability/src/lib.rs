//! Room `dependability`: what is likely to fail, from each unit's own history and its kind's.
//!
//! A unit fails at a rate that grows with the age of its parts, times a hidden number z of its own. Given n failures
//! where μ were expected, z has a gamma law in closed form, so that a new failure moves the forecast at once. A kind is
//! fitted by maximum a posteriori ([`fit_kind`]); a unit is forecast from the stored fit ([`forecast()`]); units are
//! added up by [`total`]. Nothing here orders anything on age alone; a forecast is a chance, never a diagnosis.
//!
//! Floor 1, pure: no I/O, no clock, no randomness.
pub mod age_bands;
pub mod bag;
pub mod baselines;
pub mod beyond_repair;
pub mod block;
mod block_term;
pub mod buildings;
pub mod causes;
pub mod columns;
pub mod curves;
mod dice;
mod draws;
pub mod drill;
mod drivers;
pub mod exposure;
pub mod forecast;
pub mod frailty;
pub mod goodness;
pub mod history;
pub mod judgement;
pub mod kind_fit;
pub mod kind_life;
pub mod lives;
pub mod mcf;
pub mod merge;
pub mod observed;
pub mod part_clocks;
pub mod power_law;
pub mod predictive;
mod prepared;
pub mod prior;
pub mod profiled;
pub mod published;
pub mod record;
pub mod recording;
pub mod recurrent;
pub mod redundancy;
mod renewing;
mod rests_on;
pub mod rolling;
pub mod score;
pub mod season;
pub mod shared_feeders;
mod shares;
mod shares_doubt;
pub mod standing;
pub mod stands_out;
pub mod total;
pub mod track_record;
pub mod trend;
pub mod verdict;
pub mod virtual_age;
mod watched;
mod within;
pub mod written_off;

pub use beyond_repair::BeyondRepair;
pub use buildings::Buildings;
pub use drivers::Driver;
pub use forecast::{
    Horizon, HorizonForecast, PartChance, UnitForecast, forecast, forecast_standing, years_until,
};
pub use history::{Failure, Installed, Renewal, UnitHistory, Window};
pub use kind_fit::{DataWeight, Housed, KindFit, ThinData, fit_kind, fit_kind_in_buildings};
pub use kind_life::{KindLife, LifeAhead};
pub use merge::{MergedReports, REPEAT_DAYS, Report, merge_repeat_visits};
pub use numerics::CountLaw;
pub use prior::{CovariatePrior, InputError, KindPrior, PartClock, PartPrior, SoonerLaw};
pub use profiled::Profiled;
pub use standing::{Factor, Standing};
pub use total::{Member, Total, total, total_in_building};
pub use verdict::{Normal, Verdict};
pub use watched::watched;
