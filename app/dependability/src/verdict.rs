//! How a fit ended. Never "the last iterate".
use numerics::End;
use serde::{Deserialize, Serialize};

/// Verdict of a fit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The maximum was reached inside the box (Newton decrement below 1e-12).
    Converged,
    /// Reached with these parameters held at the edge of their range; their prior is what is shown.
    Boundary(Vec<String>),
    /// Too few failures to fit anything; the prior is returned.
    NotEnough {
        /// Failures seen.
        failures: u32,
    },
    /// No maximum was reached, with the reason; the prior is returned.
    Failed(String),
}

impl Verdict {
    pub(crate) fn of(end: &End, names: &[&str]) -> Self {
        match end {
            End::Converged => Self::Converged,
            End::Boundary(held) => Self::Boundary(
                held.iter()
                    .map(|&i| {
                        names
                            .get(i)
                            .map_or_else(|| format!("covariate {i}"), |n| (*n).to_owned())
                    })
                    .collect(),
            ),
            End::Failed(why) => Self::Failed(why.clone()),
        }
    }
}

/// A normal law on a parameter's working scale.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Normal {
    /// Centre.
    pub mean: f64,
    /// Standard deviation, > 0.
    pub sd: f64,
}
