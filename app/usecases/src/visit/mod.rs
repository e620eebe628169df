//! Visits: arriving, the job sheet with its readings and findings, and how it ends.
//!
//! A sheet is kept as it was typed, step by step; every judgement on it is made here, on the server, each
//! time anew. It ends only in a way the completion blocks leave open, whichever way it comes in.
mod arriving;
mod as_left;
mod assess;
mod blocks;
mod closing;
mod facts;
mod handed;
mod money;
mod paper;
mod phone;
mod recording;
mod replacing;
mod sheet;
mod unsafe_flow;
mod values;

pub(crate) use arriving::sheet_of;
pub use arriving::{arrive, keep_draft, open_sheet};
pub use assess::{Assessment, assess};
pub use closing::{Closed, submit_sheet};
pub use facts::{Facts, SheetView};
pub use inspection::RuleBook;
pub use inspection::findings::Finding;
pub use inspection::rulebook::{Answer, FieldSpec, Observation, ReadingSpec};
pub use inspection::suspects::{Ranked, Ranking, chance_words};
pub use inspection::{Level as FindingLevel, standing};
pub use money::{QuoteSum, quote_of};
pub(crate) use paper::paper_visit_in;
pub use paper::{PaperSource, PaperVisit, paper_visit};
pub use phone::for_phone;
pub use sheet::{ENDS, Sheet};
pub(crate) use unsafe_flow::{HEAT, TOLD, class_of};
pub use values::{PartChoice, kinds_of, parts_of_kind};
