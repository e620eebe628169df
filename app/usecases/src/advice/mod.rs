//! Repair or replace, one unit at a time: quote → advice → decision, each kept as it stood.
//!
//! [`book`] holds the trade's data an advice reckons with, [`outlook`] the failures to come, [`options`] what
//! could stand there instead; [`making`] puts them into a `costing::DecisionCase` and freezes the answer;
//! [`deciding`] records a person's decision and moves the job; [`reading`] and [`letter`] are what pages show.
mod book;
mod candidates;
mod carrying_out;
mod case;
mod deciding;
mod letter;
mod making;
mod options;
mod outlook;
mod quoting;
mod reading;
mod sizing;
mod works;

pub use ::costing::{
    CostPath, OptionAnswer, Param, PathYear, QuoteOutcome, Standing as Firmness, TornadoRow,
};
pub use book::{InputLine, Measure};
pub(crate) use candidates::candidates_under;
pub use candidates::{Candidate, programme_candidates};
pub use deciding::{DecideForm, Decided, decide, go_ahead};
pub use letter::{Exception, ForDecision, Letter, Money, letter};
pub use making::{Answer, Ladder, advise, make_advice};
pub use options::{OptionSeen, Standing};
pub use quoting::{NewQuote, Totals, quote, totals_of};
pub use reading::{
    AdvicePage, DecidedAs, Listed, Overview, QuoteSeen, Upon, Worth, advice_page, advice_upon,
    overview,
};
pub use works::WorkSeen;
