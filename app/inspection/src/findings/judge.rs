//! One limit against one set of values.
use serde::Serialize;

use crate::InspectionError;
use crate::expr::{Expr, Value, Values, round6};
use crate::findings::words::{fill, show_number};
use crate::rulebook::{Level, Limit, RuleBook};

/// The outcome of one limit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Judged {
    /// How grave.
    pub level: Level,
    /// Its code, `OK` when passed.
    pub code: String,
    /// One plain sentence; the limit itself when passed.
    pub sentence: String,
}

/// Judges `row` of the rule book. `makers` are the maker's own limits for the unit, which come
/// before the general ones: `pass_min` and `pass_max` for banded limits, else as the row names.
///
/// # Errors
/// A row the book does not hold; a value that is missing or of the wrong sort.
pub fn judge(
    book: &RuleBook,
    row: &str,
    values: &Values,
    makers: Option<&Values>,
) -> Result<Judged, InspectionError> {
    let limit = book.limit(row)?;
    if let Some(need) = limit.needs.iter().find(|n| !values.has(n)) {
        return Err(InspectionError::Missing(need.clone()));
    }
    let mut known = book.constants();
    known.take_over("", values);
    if let Some(makers) = makers {
        known.take_over("maker.", makers);
    }
    for (name, expr) in &limit.lets {
        match expr.value(&known) {
            Ok(value) => known.set(name, value),
            // What cannot be worked out stays unknown, a ratio over a figure typed as 0 too; a rule that needs it says so.
            Err(InspectionError::Missing(_) | InspectionError::Impossible { .. }) => {
                known.set(name, Value::Unknown);
            }
            Err(other) => return Err(other),
        }
    }
    let (level, code) = decide(limit, &mut known)?;
    let sentence = match limit.say.get(&code) {
        _ if level == Level::Pass => format!("{}: {}.", limit.title, limit.limit),
        Some(template) => fill(template, &known),
        None => outside_maker(limit, &known),
    };
    Ok(Judged {
        level,
        code,
        sentence,
    })
}

fn decide(limit: &Limit, known: &mut Values) -> Result<(Level, String), InspectionError> {
    for rule in &limit.rules {
        let holds = rule
            .when
            .as_ref()
            .map_or(Ok(true), |when| when.truth(known))?;
        if holds {
            return Ok((rule.level, code_or_ok(rule.code.as_ref())));
        }
    }
    let name = limit.value.clone().unwrap_or_default();
    let mut value = Expr::Name(name.clone()).number(known)?;
    if let Some(decimals) = limit.round_half_up {
        let scale = 10_f64.powi(i32::try_from(decimals).unwrap_or(0));
        value = (round6(value * scale) + 0.5).floor() / scale;
        known.set(&name, value);
    }
    let value = round6(value);
    let (low, high) = (
        known.number("maker.pass_min"),
        known.number("maker.pass_max"),
    );
    if low.is_some() || high.is_some() {
        let inside =
            low.is_none_or(|l| value >= round6(l)) && high.is_none_or(|h| value <= round6(h));
        return Ok(if inside {
            (Level::Pass, code_or_ok(None))
        } else {
            (limit.gravest(), format!("{}_MAKER", limit.row))
        });
    }
    let band = limit.bands.iter().find(|b| b.holds(value));
    band.map(|b| (b.level, code_or_ok(b.code.as_ref())))
        .ok_or_else(|| InspectionError::impossible(&name, "meets no band"))
}

fn code_or_ok(code: Option<&String>) -> String {
    code.cloned().unwrap_or_else(|| "OK".to_owned())
}

fn outside_maker(limit: &Limit, known: &Values) -> String {
    let name = limit.value.as_deref().unwrap_or_default();
    let number = |n: &str| known.number(n).map(|v| show_number(v, None));
    let value = number(name).unwrap_or_default();
    let band = match (number("maker.pass_min"), number("maker.pass_max")) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (Some(low), None) => format!("at least {low}"),
        (None, Some(high)) => format!("at most {high}"),
        (None, None) => String::new(),
    };
    format!(
        "{}: {value}, outside the maker's limits for this unit ({band}).",
        limit.title
    )
}
