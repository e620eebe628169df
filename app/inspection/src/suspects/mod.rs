//! Likely parts by past faults and readings, and the test that best splits them. Never a diagnosis:
//! the engineer's finding wins and is recorded.
mod many;
mod model;
mod rank;
mod words;

pub use many::{Group, GroupAnswer, ManyAnswer, ManyQuery, ManyVerdict, many};
pub use rank::{Learned, ObservationCount, PartHistory, RankQuery, Ranked, Ranking, rank};
pub use words::{CAUTION, chance_words};

use crate::InspectionError;
use crate::rulebook::{Observation, RuleBook};

/// What may be seen on a unit of this kind, in the order of its table; `complaint` marks what is
/// asked on the call, everything else is a test.
///
/// # Errors
/// A kind without a table.
pub fn observations_for<'a>(
    book: &'a RuleBook,
    kind: &str,
) -> Result<&'a [Observation], InspectionError> {
    Ok(&book.table(kind)?.observations)
}
