//! What can be wrong with what this room is asked.
use thiserror::Error;

/// Every refusal of this room; each reads as a plain sentence.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum InspectionError {
    /// The rule book cannot be used.
    #[error("the rule book cannot be read: {0}")]
    RuleBook(String),
    /// A code that no list holds.
    #[error("{list} has no entry '{code}'")]
    Unknown {
        /// The list searched.
        list: String,
        /// The code asked for.
        code: String,
    },
    /// A value that is needed was not given.
    #[error("{0} is missing")]
    Missing(String),
    /// A value is of the wrong sort, or outside what can be.
    #[error("{what}: {why}")]
    Impossible {
        /// The value.
        what: String,
        /// Why it cannot be.
        why: String,
    },
    /// No rules are held for that country; nothing is guessed.
    #[error("no rule set is held for '{0}'")]
    NoRuleSet(String),
}

impl InspectionError {
    pub(crate) fn unknown(list: &str, code: &str) -> Self {
        Self::Unknown {
            list: list.to_owned(),
            code: code.to_owned(),
        }
    }

    pub(crate) fn impossible(what: &str, why: &str) -> Self {
        Self::Impossible {
            what: what.to_owned(),
            why: why.to_owned(),
        }
    }
}
