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
    /// No failure, or but one unit: nothing to fit; the prior is returned.
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

#[cfg(test)]
mod tests {
    use numerics::{Local, maximise};

    use super::*;

    const NAMES: [&str; 2] = ["rate", "ageing"];

    #[test]
    fn what_runs_to_the_edge_is_named_and_what_has_no_maximum_says_why() {
        let edges = [(-1.0, 1.0), (-1.0, 1.0)];
        let both = [true, true];
        // Highest at the middle of the first and beyond the edge of the second.
        let found = maximise(&[0.5, 0.0], &both, &edges, |p| {
            let mut local = Local::zero(2);
            local.add_normal(0, p[0], 0.0, 1.0);
            local.add_normal(1, p[1], 9.0, 1.0);
            Some(local)
        });
        let verdict = Verdict::of(&found.end, &NAMES);
        assert_eq!(verdict, Verdict::Boundary(vec!["ageing".to_owned()]));
        assert_eq!(
            Verdict::of(&End::Boundary(vec![5]), &NAMES),
            Verdict::Boundary(vec!["covariate 5".to_owned()])
        );
        let found = maximise(&[0.0, 0.0], &both, &edges, |_| None);
        assert_eq!(
            Verdict::of(&found.end, &NAMES),
            Verdict::Failed("the target is undefined at the start".to_owned())
        );
    }
}
