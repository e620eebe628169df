//! The only room that speaks SQL. It loads and saves values of `terms`; it decides nothing.
//!
//! * [`Pool::acting`] is the only way to the schema `estate`: one transaction, one estate, one account.
//! * [`Pool::at_door`] is the only way to the schema `door`.
//! * Every write notes itself with [`Tx::note`]; the notes are chained by the last statement before commit.
pub mod advices;
pub mod audit;
mod authorities;
pub mod branches;
pub mod budgets;
pub mod calls;
mod deadlines;
pub mod door;
mod door_schema;
pub mod duties;
pub mod enclosures;
mod error;
mod estate_schema;
pub mod event_duties;
pub mod forecasts;
pub mod history;
mod ids;
pub mod imports;
pub mod invoices;
pub mod issued;
pub mod jobs;
pub mod keeping;
pub mod known;
pub mod letters;
pub mod makers;
mod migrate;
mod once;
pub mod pauses;
mod plan_ties;
pub mod plans;
mod pool;
pub mod quotes;
pub mod register;
pub mod residents;
mod round_asks;
pub mod rounds;
pub mod search;
pub mod standing;
mod stays;
pub mod tasks;
pub mod tellings;
pub mod today;
pub mod trade;
mod tx;
pub mod units;
pub mod visits;
pub mod water;

pub use deadlines::Deadline;
pub use error::Error;
pub use ids::Db;
pub use migrate::{migrate, refuse_unsafe_role, revert_all};
pub use plan_ties::Tie;
pub use pool::{Acting, Pool, connect};
pub use round_asks::{NewRoundAsk, RoundAsk};
pub use tx::Tx;
