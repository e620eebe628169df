//! The words of the trade as types: typed ids, money, dates, clock, and the short code lists.
//!
//! Floor 0: no I/O, no ambient clock, no ambient randomness.
pub mod clock;
pub mod codes;
pub mod counting;
pub mod hex;
pub mod ids;
pub mod maker;
pub mod money;
pub mod papers;
pub mod people;
pub mod place;
pub mod today;
pub mod trade;
pub mod unit;
pub mod water;
pub mod work;

pub use clock::{Clock, FixedClock};
pub use counting::counting_order;
pub use hex::hex;
pub use ids::*;
pub use maker::{FigureSource, MakerFigure};
pub use money::{ExpectedPounds, Pence};
pub use papers::{LetterKind, RecordKind, SentHow};
pub use people::{
    Covers, Engineer, Firm, FirmPaper, FirmPaperSort, Grant, Instrument, Person, Qualification,
    Role,
};
pub use water::{OutletCard, OutletPlace, Temperature, TemperatureRound};
pub use work::{
    Choice, Country, Fate, FunctionLost, HeatingSystem, JobKind, JobState, Level, LikeIn, Tenure,
    UsedAs,
};
