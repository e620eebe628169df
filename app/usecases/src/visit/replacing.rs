//! A replacement carried out: the old unit keeps its history, the new one begins its own.
use store::Tx;
use terms::Fate;
use terms::unit::UnitCard;

use super::facts::Facts;
use super::sheet::Sheet;
use crate::register::{Replacement, UnitFacts, replace_in};
use crate::{Error, FieldError};

/// Takes the old unit out and enters the one that came, as the sheet says; answers the new one.
pub(super) fn replace(
    tx: &mut Tx<'_>,
    facts: &Facts,
    old: &UnitCard,
    sheet: &Sheet,
) -> Result<UnitCard, Error> {
    let mut wrongs = Vec::new();
    let mut number = |key: &str| {
        let typed = sheet.get(key).replace(',', ".");
        let read: Option<f64> = typed
            .parse()
            .ok()
            .filter(|n: &f64| n.is_finite() && *n > 0.0);
        if read.is_none() && !typed.is_empty() {
            wrongs.push(FieldError::at(
                key,
                format!("“{typed}” is not a number above 0."),
            ));
        }
        read
    };
    let (rated_kw, litres) = (number("new.rated_kw"), number("new.litres"));
    let warranty = sheet.get("new.warranty");
    let warranty_until = warranty.parse().ok();
    if warranty_until.is_none() && !warranty.is_empty() {
        wrongs.push(FieldError::at(
            "new.warranty",
            format!("“{warranty}” is not a date such as 2033-11-25."),
        ));
    }
    Error::unless_empty(wrongs)?;
    let kind = match sheet.get("new.kind") {
        "" => old.kind.clone(),
        kind => kind.to_owned(),
    };
    let form = Replacement {
        old: old.id,
        facts: UnitFacts {
            kind,
            serial: sheet.get("new.serial").to_owned(),
            installed: Some((facts.day, facts.day)),
            rated_kw,
            litres,
            filter_fitted: sheet.yes_no("new.filter"),
            reducer_fitted: sheet.yes_no("new.reducer"),
            warranty_until,
            note: String::new(),
        },
        on: facts.day,
        fate: match sheet.get("old_fate") {
            "removed" => Fate::Removed,
            _ => Fate::WrittenOff,
        },
    };
    let new = replace_in(tx, old, &form).map_err(at_the_sheet)?;
    Ok(tx.unit(new)?)
}

/// The register's sentences, at the fields of the sheet.
fn at_the_sheet(error: Error) -> Error {
    match error {
        Error::Invalid(wrongs) => Error::Invalid(
            wrongs
                .into_iter()
                .map(|w| FieldError::at(format!("new.{}", w.field), w.sentence))
                .collect(),
        ),
        other => other,
    }
}
