//! Which limits a maker's own figure for a unit may come before, and what each figure is called.
use std::collections::BTreeMap;

use crate::expr::Values;
use crate::findings::show_number;
use crate::rulebook::{Limit, RuleBook};

/// Limits that speak of the unit itself. Those of the water, the supply and people's safety are not a maker's to move.
const ROWS: [&str; 10] = [
    "A1", "A6", "A8", "A9", "A11", "A14", "A15", "B6", "C2", "C6",
];

/// One figure a maker may state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FigureSpec {
    /// The limit's row.
    pub row: String,
    /// Its name in that row.
    pub name: String,
    /// "greatest CO over CO₂"
    pub words: String,
    /// Unit of measure, may be empty.
    pub unit: String,
}

/// The figures a maker may state for units of a kind: those its readings are judged by, in that order.
pub fn figures_for(book: &RuleBook, kind: &str) -> Vec<FigureSpec> {
    let Some(set) = book.set(kind) else {
        return Vec::new();
    };
    set.judge
        .iter()
        .filter(|rule| ROWS.contains(&rule.row.as_str()))
        .filter_map(|rule| book.limit(&rule.row).ok())
        .flat_map(|limit| {
            limit
                .maker_names()
                .into_iter()
                .map(|name| spec(limit, name))
        })
        .collect()
}

fn spec(limit: &Limit, name: String) -> FigureSpec {
    let title = lower(&limit.title);
    let (words, unit) = match name.as_str() {
        "rise_min_k" => ("least rise of the water".to_owned(), "K"),
        "rated_flow_lpm" => ("rated flow of hot water".to_owned(), "l/min"),
        "ratio_max" => ("greatest CO over CO₂".to_owned(), ""),
        "co_max_ppm" => ("greatest CO".to_owned(), "ppm"),
        "charge_bar" => ("charge of the vessel".to_owned(), "bar"),
        "pass_min" => (format!("least, {title}"), limit.unit.as_str()),
        "pass_max" => (format!("greatest, {title}"), limit.unit.as_str()),
        other => (other.replace('_', " "), limit.unit.as_str()),
    };
    FigureSpec {
        row: limit.row.clone(),
        name,
        words,
        unit: unit.to_owned(),
    }
}

fn lower(title: &str) -> String {
    let mut letters = title.chars();
    match (letters.next(), letters.next()) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_lowercase().chain(title.chars().skip(1)).collect()
        }
        _ => title.to_owned(),
    }
}

/// "0.003 (greatest CO over CO₂)": the figures of one limit in words; empty without any.
pub fn in_words(limit: &Limit, figures: &Values) -> String {
    let said: Vec<String> = limit
        .maker_names()
        .into_iter()
        .filter_map(|name| {
            let value = figures.number(&name)?;
            let spec = spec(limit, name);
            // A ratio such as CO over CO₂ lives in the fourth decimal.
            let mut shown = if value < 0.1 {
                let text = format!("{value:.4}");
                text.trim_end_matches('0').to_owned()
            } else {
                show_number(value, None)
            };
            if !spec.unit.is_empty() {
                shown = format!("{shown} {}", spec.unit);
            }
            Some(format!("{shown} ({})", spec.words))
        })
        .collect();
    said.join(" and ")
}

/// The figures of a unit by row, as [`crate::findings::VisitInput::makers`] takes them.
pub fn by_row<'a>(
    figures: impl IntoIterator<Item = (&'a str, &'a str, f64)>,
) -> BTreeMap<String, Values> {
    let mut rows: BTreeMap<String, Values> = BTreeMap::new();
    for (row, name, value) in figures {
        rows.entry(row.to_owned()).or_default().set(name, value);
    }
    rows
}
