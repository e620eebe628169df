//! Repair or replace: what each course is expected to cost, and how sure that is.
//!
//! [`DecisionCase`] → [`DecisionCase::checked`] → [`advise`] → [`Advice`]; [`shown`] rounds it for a
//! page so that *advantage = quote − repair limit* holds to the penny.
//!
//! Floor 1, pure: no I/O, no clock, no randomness. Inside the model money is `f64` pounds in real
//! (today's) money; at the border it is [`terms::Pence`] and [`terms::ExpectedPounds`].
//!
//! Notation used by every formula here: r real yearly rate, v = 1/(1+r), annuity(k) = (1 − v^k)/r
//! (k when r = 0), H horizon in years, running costs at mid-year (v^(i−½)), purchases at the start,
//! disposal at the end.
pub mod advice;
pub mod amounts;
pub mod annual;
mod between;
mod bounds;
pub mod case;
mod chain;
pub mod chance;
pub mod cover;
pub mod discount;
pub mod energy;
pub mod further;
pub mod invoice;
pub mod lattice;
pub mod limits;
pub mod minimal_repair;
pub mod paths;
mod psi;
mod rates;
pub mod reserve;
mod switch;
pub mod tornado;
pub mod values;
mod walk;
mod waves;
pub mod weigh;
pub mod winter;
pub mod worth_knowing;

pub use advice::{
    Advice, Closeness, Decision, OptionAnswer, Standing, Turn, advise, advise_undrawn,
    advise_within,
};
pub use amounts::{Failures, FaultCost, Yearly};
pub use case::{CaseError, CheckedCase, DecisionCase, FaultInHand, OldUnit, ReplacementOption};
pub use discount::{RateSchedule, annuity, factor};
pub use further::{FurtherFailures, fewer_tried};
pub use limits::{QuoteOutcome, ShownAdvice, shown, two_limits};
pub use paths::{CostPath, Fork, PathYear};
pub use rates::worth_for_ever;
pub use tornado::{Param, TornadoRow};
pub use worth_knowing::{Course, Way, WorthKnowing, worth_knowing};
