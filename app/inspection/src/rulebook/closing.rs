//! Completion blocks, and the rows that rule a replacement out.
use serde::Deserialize;

use crate::coded::coded;
use crate::expr::Expr;

/// A hard block.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BlockRule {
    /// Its number in the trade file on safety.
    pub block: u8,
    /// Its words.
    pub words: String,
    /// A named supervisor may override it.
    pub overridable: bool,
    /// How it is known.
    pub status: String,
    /// When it stands, over the values of the sheet.
    pub when: Expr,
}

/// A soft block: completion needs a typed reason.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SoftBlockRule {
    /// Its key.
    pub key: String,
    /// Its words.
    pub words: String,
    /// The limits it speaks of, where it stands on a reading.
    #[serde(default)]
    pub rows: Vec<String>,
}

coded! {
    /// What fitting a part is, whatever was ticked.
    PartClass {
        /// It carries gas or combustion, or needs the case off.
        Gas = "gas",
        /// It is under mains voltage.
        Electrical = "electrical",
        /// It opens the wet side.
        Wet = "wet",
    }
}

/// Parts of some kinds of unit that belong to one class.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PartClassRow {
    /// The class.
    pub class: PartClass,
    /// The kinds of unit.
    pub kinds: Vec<String>,
    /// The parts' codes.
    pub parts: Vec<String>,
    /// How it is known.
    pub status: String,
}

coded! {
    /// What a site says to an option.
    FeasibilityVerdict {
        /// Nothing speaks against it; a survey by a licensed person decides.
        Fits = "fits",
        /// Works or a survey first.
        FitsAfterWorks = "fits_after_works",
        /// Not possible here.
        RuledOut = "ruled_out",
    }
}

/// A row of the feasibility table.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FeasibilityRule {
    /// Its code.
    pub reason: String,
    /// The options it concerns.
    pub options: Vec<String>,
    /// What it says.
    pub verdict: FeasibilityVerdict,
    /// Its words.
    pub words: String,
    /// When it fires, over the values of the site.
    pub when: Expr,
}
