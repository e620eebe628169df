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

/// The complaint of a caller who lost heat, hot water or both, as an observation of the table;
/// none if the kind's table has none for it.
///
/// # Errors
/// A kind without a table.
pub fn complaint_for<'a>(
    book: &'a RuleBook,
    kind: &str,
    heat_lost: bool,
    hot_water_lost: bool,
) -> Result<Option<&'a Observation>, InspectionError> {
    let has = |o: &Observation, function: &str| o.lost.iter().any(|l| l == function);
    let listed = observations_for(book, kind)?;
    let exact = listed.iter().find(|o| {
        !o.lost.is_empty() && has(o, "heat") == heat_lost && has(o, "hot_water") == hot_water_lost
    });
    // A unit that serves one function only says what it can of a caller who lost both.
    let both = heat_lost && hot_water_lost;
    Ok(exact.or_else(|| listed.iter().find(|o| both && !o.lost.is_empty())))
}
