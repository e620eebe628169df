//! One unit told again at once, in closed form from its kind's last fit.
use chrono::NaiveDate;
use dependability::{Standing, UnitHistory};
use store::Tx;
use store::forecasts::FitRow;
use store::units::Which;
use terms::UnitId;

use super::histories::Facts;
use super::kept::{KeptFit, KindFacts, forecast_digest, in_service, load};
use super::priors::prior_of;
use crate::Error;

/// Renews one unit's forecast from the kind's last fit by the closed-form posterior, inside the caller's transaction.
///
/// A unit out of service, of a kind the estate has no figures for, or whose record cannot be, is left without a
/// forecast ([`super::why_none`] says why). Where the last fit cannot be read, what was said last stands until the next
/// refit. The caller notes what it did; the forecast follows from it.
pub fn renew_unit(tx: &mut Tx<'_>, unit: UnitId) -> Result<(), Error> {
    tx.hold_forecasts()?;
    renew(tx, unit)
}

/// The same, where the forecasts are already held.
pub(crate) fn renew(tx: &mut Tx<'_>, unit: UnitId) -> Result<(), Error> {
    let facts = load(tx, Which::Unit(unit))?
        .pop()
        .ok_or(Error::NotFound("unit"))?;
    let today = super::today(tx);
    let fit = if in_service(&facts) {
        fit_for(tx, &facts)?
    } else {
        LastFit::None
    };
    let made = match fit {
        LastFit::None => None,
        LastFit::Unreadable => return Ok(()),
        LastFit::Read(fit) => {
            let (row, kept) = *fit;
            let digest = forecast_digest(&facts, &row.digest, today);
            let at = tx.at();
            let present = tx.forecast_known(unit, at)?;
            if present.is_some_and(|p| p.facts_digest == digest) {
                return Ok(());
            }
            let standing = standing_of(tx, &kept, &facts, today)?;
            let told = facts
                .ready(today, &kept.prior.covariates)
                .and_then(|ready| kept.forecast((&ready, &standing), today));
            match told {
                Ok(told) => Some(told.row(tx, (unit, row.id), today, digest)?),
                Err(why) => {
                    tracing::warn!(%unit, %why, "a unit's record cannot be forecast");
                    None
                }
            }
        }
    };
    tx.supersede_forecasts(&[unit])?;
    if let Some(row) = made {
        tx.add_forecasts(&[row])?;
    }
    Ok(())
}

/// What the fit says of the building a unit stands in, from what is on record there now.
pub(crate) fn standing_of(
    tx: &mut Tx<'_>,
    kept: &KeptFit,
    facts: &Facts,
    today: NaiveDate,
) -> Result<Standing, Error> {
    let building = facts.card.building;
    let mut histories = Vec::new();
    if kept.asks_for_neighbours() {
        let (near, asked) = (load(tx, Which::Building(building))?, &kept.prior.covariates);
        let same = near.iter().filter(|f| f.card.kind == facts.card.kind);
        histories.extend(
            same.filter_map(|f| f.ready(today, asked).ok())
                .map(|r| r.history),
        );
    }
    let all: Vec<&UnitHistory> = histories.iter().collect();
    kept.standing(building, &all)
        .map_err(|why| Error::Internal(why.to_string()))
}

/// The last fit of a unit's kind.
enum LastFit {
    /// The estate has no figures for the kind.
    None,
    /// One of another version of the program.
    Unreadable,
    /// As kept.
    Read(Box<(FitRow, KeptFit)>),
}

/// The kind's last fit; before the first refit one from published figures alone is kept and used.
fn fit_for(tx: &mut Tx<'_>, facts: &Facts) -> Result<LastFit, Error> {
    if let Some(row) = tx.last_fit(&facts.card.kind)? {
        return Ok(match KeptFit::read(&row) {
            Some(kept) => LastFit::Read(Box::new((row, kept))),
            None => LastFit::Unreadable,
        });
    }
    let kinds = tx.kinds()?;
    let Some(kind) = kinds.into_iter().find(|k| k.code == facts.card.kind) else {
        return Ok(LastFit::None);
    };
    let empty = KindFacts {
        prior: prior_of(&kind, &tx.part_shares()?, &[]),
        facts: Vec::new(),
        kind,
    };
    let today = super::today(tx);
    let Ok((kept, _)) = empty.fit(today) else {
        return Ok(LastFit::None);
    };
    let row = kept.row(tx, &empty.kind.code, empty.digest(today))?;
    let id = tx.add_fit(&row)?;
    let row = FitRow { id, ..row };
    Ok(LastFit::Read(Box::new((row, kept))))
}
