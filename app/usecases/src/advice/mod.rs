//! Repair or replace, one unit at a time: quote → advice → decision, each kept as it stood.
//!
//! [`book`] holds the trade's data an advice reckons with, [`outlook`] the failures to come, [`options`] what
//! could stand there instead; [`making`] puts them into a `costing::DecisionCase` and freezes the answer;
//! [`deciding`] records a person's decision and moves the job; [`reading`] and [`letter`] are what pages show.
mod ages;
mod as_fitted;
mod assumptions;
mod before_money;
mod book;
mod candidates;
mod carrying_out;
mod case;
mod consultation;
mod deciding;
mod energy;
mod failures;
mod finding_out;
mod known;
mod letter;
mod listing;
mod making;
mod needs;
mod new_quote;
mod options;
mod outlook;
mod quoting;
mod reading;
mod sizing;
mod staying;
mod successor;
mod works;
mod write_offs;

pub use ::costing::{
    CostPath, FurtherFailures, OptionAnswer, Param, PathYear, QuoteOutcome, Standing as Firmness,
    TornadoRow, fewer_tried,
};
pub use ages::{Ages, AgesFrom};
pub(crate) use assumptions::{assumed_of, assumptions_in};
pub use before_money::{AtRisk, Before};
pub(crate) use before_money::{before_money, cover_at_risk};
pub(crate) use book::Book;
pub use book::{InputLine, Measure};
pub(crate) use candidates::candidates_under;
pub use candidates::{Candidate, CandidateOption, programme_candidates};
pub(crate) use case::{Subject, age_of, weighable};
pub(crate) use consultation::stated_share;
pub use consultation::{Consultation, Steps, state_largest_share, steps_from};
pub use deciding::{Beside, DecideForm, Decided, decide, decide_with, go_ahead};
pub use finding_out::{Unknown, WorthAsking, found_out, questions_for};
pub use known::{PastFailure, Trend, UnitFacts};
pub use letter::{Exception, ForDecision, Letter, Money, letter};
pub(crate) use listing::instead_price;
pub use making::{Answer, Ladder, advise, make_advice};
pub use new_quote::{NewUnitQuote, ask_new_quote};
pub use options::{OptionSeen, Standing};
pub(crate) use options::{options_for, site_of};
pub(crate) use outlook::longest_life;
pub use quoting::{NewQuote, Totals, quote, totals_of};
pub use reading::{
    AdvicePage, DecidedAs, Listed, Overview, QuoteSeen, Upon, Worth, advice_page, advice_upon,
    overview,
};
pub use sizing::TooLittle;
pub use works::WorkSeen;
