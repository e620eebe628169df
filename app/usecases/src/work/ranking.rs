//! Likely parts of a job before anybody went there: what the caller said, and the unit's own history.
use inspection::RuleBook;
use inspection::suspects::{PartHistory, RankQuery, Ranking, rank};
use store::Tx;
use store::history::History;
use terms::FunctionLost;
use terms::unit::UnitCard;

use crate::Error;

/// The complaint a caller's words amount to, if the kind's table knows it.
pub(crate) fn complaint_of(
    book: &RuleBook,
    kind: &str,
    lost: Option<FunctionLost>,
) -> Option<String> {
    let codes: &[&str] = match lost? {
        FunctionLost::Heating => &["no_heat_hw_ok", "no_heat"],
        FunctionLost::HotWater => &["no_hw_heat_ok", "no_hot"],
        FunctionLost::HeatingAndHotWater => &["neither", "no_heat", "no_hot"],
        FunctionLost::Leak | FunctionLost::Noise | FunctionLost::GasOrCo | FunctionLost::Other => {
            &[]
        }
    };
    let table = book.table(kind).ok()?;
    codes
        .iter()
        .find(|code| table.observation(code).is_some())
        .map(|code| (*code).to_owned())
}

/// Parts of this unit that were replaced, for the ranking.
pub(crate) fn history_of_parts(history: &History) -> Vec<PartHistory> {
    history
        .parts
        .iter()
        .map(|fitted| PartHistory {
            part: fitted.part.clone(),
            replaced_on: Some(fitted.fitted_on),
            ..PartHistory::default()
        })
        .collect()
}

/// The ranking before a visit; `None` for kinds without a table, or when nothing was said.
pub(super) fn before_visit(
    tx: &Tx<'_>,
    unit: &UnitCard,
    history: &History,
    lost: Option<FunctionLost>,
) -> Result<Option<Ranking>, Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    let Some(complaint) = complaint_of(book, &unit.kind, lost) else {
        return Ok(None);
    };
    let query = RankQuery {
        unit_kind: unit.kind.clone(),
        seen: vec![complaint],
        today: Some(super::wall::day(tx.at())),
        history: history_of_parts(history),
        hardness_mg_l: unit.hardness_mg_l,
        reducer_fitted: unit.reducer_fitted == Some(true),
        ..RankQuery::default()
    };
    rank(book, &query)
        .map(Some)
        .map_err(|e| Error::Internal(e.to_string()))
}
