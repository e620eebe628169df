//! Limits of single readings: plain bands, or rules tried in order.
use serde::Deserialize;
use std::collections::BTreeMap;

use crate::coded::coded;
use crate::expr::Expr;

coded! {
    /// How grave a finding is.
    Level {
        /// Inside the limit.
        Pass = "pass",
        /// Worth knowing.
        Info = "info",
        /// Trend, or near the limit.
        Watch = "watch",
        /// A job is raised.
        Act = "act",
        /// Unsafe: isolate, tell, do not complete as normal.
        Stop = "stop",
    }
}

/// One limit of the trade file.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// Its row, `A1` to `M3`.
    pub row: String,
    /// What is measured.
    pub title: String,
    /// The limit in words.
    pub limit: String,
    /// Unit of measure, may be empty.
    pub unit: String,
    /// How it is known.
    pub status: String,
    /// The source in words.
    pub source: String,
    /// Values without which it cannot be judged.
    pub needs: Vec<String>,
    /// The value the bands are laid over.
    #[serde(default)]
    pub value: Option<String>,
    /// Decimals the value is rounded half up to first (judge what is shown).
    #[serde(default)]
    pub round_half_up: Option<u32>,
    /// Named in-between values, in order.
    #[serde(default)]
    pub lets: Vec<(String, Expr)>,
    /// Rules, the first that holds.
    #[serde(default)]
    pub rules: Vec<Rule>,
    /// Bands from low to high, after the rules.
    #[serde(default)]
    pub bands: Vec<Band>,
    /// The sentence of each code, `{name}` or `{name:decimals}` for values.
    pub say: BTreeMap<String, String>,
}

impl Limit {
    /// The gravest level of the bands.
    pub fn gravest(&self) -> Level {
        self.bands
            .iter()
            .map(|b| b.level)
            .max()
            .unwrap_or(Level::Act)
    }

    /// The figures a maker may state for it: what its sums ask of `maker.…`, and both ends of a limit of bands.
    pub fn maker_names(&self) -> Vec<String> {
        let sums = self.lets.iter().map(|(_, sum)| sum);
        let tried = self.rules.iter().filter_map(|rule| rule.when.as_ref());
        let asked = sums.chain(tried).flat_map(Expr::names);
        let mut names: Vec<String> = Vec::new();
        let ends: &[&str] = if self.bands.is_empty() {
            &[]
        } else {
            &["pass_min", "pass_max"]
        };
        let all = asked
            .filter_map(|name| name.strip_prefix("maker."))
            .chain(ends.iter().copied());
        for name in all {
            if !names.iter().any(|known| known == name) {
                names.push(name.to_owned());
            }
        }
        names
    }
}

/// One rule.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// When it holds; always, if none.
    #[serde(rename = "if", default)]
    pub when: Option<Expr>,
    /// Its level.
    pub level: Level,
    /// Its code; none when passed.
    #[serde(default)]
    pub code: Option<String>,
}

/// One band.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Band {
    /// Upper end; none for the last band.
    #[serde(default)]
    pub to: Option<f64>,
    /// Whether the end belongs to this band.
    #[serde(default)]
    pub closed: bool,
    /// Its level.
    pub level: Level,
    /// Its code; none when passed.
    #[serde(default)]
    pub code: Option<String>,
}

impl Band {
    /// Whether a value not caught by the bands below lies in this one.
    pub fn holds(&self, value: f64) -> bool {
        self.to.is_none_or(|end| {
            if self.closed {
                value <= end
            } else {
                value < end
            }
        })
    }
}
