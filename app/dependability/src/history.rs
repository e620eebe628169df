//! One unit's history as the model reads it, and the exposures that follow from it.
//!
//! Every time is in years on one axis common to all (days since any epoch / 365.25); ages follow from the installation.
use numerics::quadrature::gauss_legendre;
use serde::{Deserialize, Serialize};

use crate::exposure::exposure;
use crate::prior::{Clock, InputError, KindPrior, SoonerLaw, T0, within};
use crate::record::{Exposed, Leaving, Record, Span, Subject};

/// Half a day: the least age at which a clock can fail, so that its logarithm is finite.
pub const HALF_DAY: f64 = 0.5 / 365.25;
/// Quadrature nodes for a doubtful installation date.
const NODES: usize = 16;
/// No time on the axis lies further out than this many years.
const FARTHEST: f64 = 1e4;

/// When a unit was installed; equal ends: known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Installed {
    /// Earliest possible.
    pub earliest: f64,
    /// Latest possible.
    pub latest: f64,
}

/// A stretch in which every failure would have been recorded.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// Start.
    pub from: f64,
    /// End.
    pub until: f64,
    /// Covariates, constant inside; in the order of the kind's.
    pub x: Vec<f64>,
}

/// A part put in new.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Renewal {
    /// Code of the part.
    pub part: String,
    /// When; the clock restarts after a failure of the same moment.
    pub at: f64,
}

/// A failure, repeat visits already merged.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Failure {
    /// Code of the part; `None` or a code the kind does not have: the remainder.
    pub part: Option<String>,
    /// When; the middle of what is known of it, where that is a span.
    pub at: f64,
    /// First and last moment, where the day is not known to within a month or so: its intensity is then that of the whole
    /// span, ln ∫h (FORECAST §1, interval counts).
    #[serde(default)]
    pub between: Option<(f64, f64)>,
}

/// One unit's history. A failure outside every window contributes nothing; renewals count wherever they lie.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct UnitHistory {
    /// Installation.
    pub installed: Installed,
    /// Windows, not overlapping, in any order; gaps are legal.
    pub windows: Vec<Window>,
    /// Parts put in new. After a gap a clock runs on from the last renewal known ("assumed original").
    pub renewals: Vec<Renewal>,
    /// Failures.
    pub failures: Vec<Failure>,
    /// Covariates from now on.
    pub present: Vec<f64>,
    /// Visits merged into these failures as repeats, to be shown.
    pub merged: u32,
    /// It was written off at the end of its last window.
    #[serde(default)]
    pub written_off: bool,
}

impl UnitHistory {
    /// Refuses a history that cannot be.
    ///
    /// # Errors
    /// What is wrong, in words.
    pub fn check(&self, covariates: usize) -> Result<(), InputError> {
        let installed = self.installed;
        within("installation", installed.earliest, -FARTHEST, FARTHEST)?;
        within(
            "installation",
            installed.latest,
            installed.earliest,
            FARTHEST,
        )?;
        for x in self.windows.iter().map(|w| &w.x).chain([&self.present]) {
            if x.len() != covariates {
                return Err(InputError::Covariates {
                    got: x.len(),
                    wanted: covariates,
                });
            }
            for value in x {
                within("covariate", *value, -50.0, 50.0)?;
            }
        }
        let mut order: Vec<usize> = (0..self.windows.len()).collect();
        order.sort_by(|&a, &b| self.windows[a].from.total_cmp(&self.windows[b].from));
        let mut end = f64::NEG_INFINITY;
        for i in order {
            let window = &self.windows[i];
            within("window", window.from, -FARTHEST, FARTHEST)?;
            within("window", window.until, -FARTHEST, FARTHEST)?;
            if window.until < window.from || window.from < end {
                return Err(InputError::Window(i));
            }
            if window.until < installed.earliest {
                return Err(InputError::InstalledAfter("the end of a window".to_owned()));
            }
            end = window.until;
        }
        for at in self.failures.iter().map(|f| f.at) {
            within("failure", at, -FARTHEST, FARTHEST)?;
            if at < installed.earliest {
                return Err(InputError::InstalledAfter("a failure".to_owned()));
            }
        }
        for (from, until) in self.failures.iter().filter_map(|f| f.between) {
            within("first moment of a failure", from, -FARTHEST, FARTHEST)?;
            within("last moment of a failure", until, from, FARTHEST)?;
        }
        for at in self.renewals.iter().map(|r| r.at) {
            within("renewal", at, -FARTHEST, FARTHEST)?;
            if at < installed.earliest {
                return Err(InputError::InstalledAfter("a renewal".to_owned()));
            }
        }
        Ok(())
    }

    /// Years watched, from the earliest installation on.
    pub fn watched(&self) -> f64 {
        self.windows
            .iter()
            .map(|w| (w.until - w.from.max(self.installed.earliest)).max(0.0))
            .sum()
    }

    /// End of the last window.
    pub fn seen_until(&self) -> f64 {
        self.windows
            .iter()
            .map(|w| w.until)
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// Failures inside a window.
    pub fn counted(&self) -> impl Iterator<Item = &Failure> {
        self.failures
            .iter()
            .filter(|f| self.window_of(f.at).is_some())
    }

    /// The earliest window that holds the moment.
    fn window_of(&self, at: f64) -> Option<&Window> {
        self.windows
            .iter()
            .filter(|w| (w.from..=w.until).contains(&at))
            .min_by(|a, b| a.from.total_cmp(&b.from))
    }

    /// (weight, installation) at the quadrature nodes: uniform over the range, cut at the first failure, the first
    /// renewal and, where the unit was seen from a moment inside the range, at that moment (FORECAST §1).
    pub(crate) fn installations(&self) -> Vec<(f64, f64)> {
        let early = self.installed.earliest;
        let opened = self
            .windows
            .iter()
            .map(|w| w.from)
            .fold(f64::INFINITY, f64::min);
        let first = self
            .failures
            .iter()
            .map(|f| f.at)
            .chain(self.renewals.iter().map(|r| r.at))
            .chain((opened > early).then_some(opened))
            .fold(self.installed.latest, f64::min);
        if first - early < HALF_DAY {
            return vec![(1.0, early)];
        }
        gauss_legendre(NODES)
            .into_iter()
            .map(|(x, w)| (w / 2.0, early + (first - early) * 0.5 * (1.0 + x)))
            .collect()
    }

    /// Moment at which a clock stood at 0, seen just before `at`; `restarts` names the part whose renewals restart it.
    pub(crate) fn clock_start(&self, restarts: Option<&str>, installed: f64, at: f64) -> f64 {
        let renewed = self
            .renewals
            .iter()
            .filter(|r| Some(r.part.as_str()) == restarts && r.at < at);
        renewed.map(|r| r.at).fold(installed, f64::max)
    }

    /// Ages through which a clock ran over a span of time, cut wherever it restarts.
    pub(crate) fn stretches(
        &self,
        restarts: Option<&str>,
        installed: f64,
        span: (f64, f64),
    ) -> Vec<(f64, f64)> {
        let (from, until) = (span.0.max(installed), span.1.max(installed));
        let mut cuts = vec![from, until];
        let inside = self
            .renewals
            .iter()
            .filter(|r| Some(r.part.as_str()) == restarts);
        cuts.extend(inside.map(|r| r.at).filter(|at| *at > from && *at < until));
        cuts.sort_by(f64::total_cmp);
        cuts.windows(2)
            .map(|c| {
                // A restart at the very start of the stretch has happened: look just after it.
                let start = self.clock_start(restarts, installed, c[0].next_up());
                (c[0] - start, c[1] - start)
            })
            .collect()
    }

    /// Base exposure (weight 1) of one clock over a span of time.
    pub(crate) fn spell(
        &self,
        prior: &KindPrior,
        clock: (usize, Clock),
        installed: f64,
        span: (f64, f64),
    ) -> f64 {
        let ages = self.stretches(prior.restarting(clock.0), installed, span);
        ages.into_iter()
            .map(|(a, b)| exposure(a, b, clock.1.shape, T0).value)
            .sum()
    }

    /// Base exposures of every clock in every window, at one installation.
    pub(crate) fn spells(&self, prior: &KindPrior, installed: f64) -> Vec<Vec<f64>> {
        let clocks = prior.clocks(None);
        self.windows
            .iter()
            .map(|w| {
                clocks
                    .iter()
                    .enumerate()
                    .map(|(i, c)| self.spell(prior, (i, *c), installed, (w.from, w.until)))
                    .collect()
            })
            .collect()
    }

    /// The record of model M1 (one clock) at one installation.
    pub(crate) fn one_clock(&self, installed: f64) -> Record {
        let mut record = self.counts();
        record.windows = self
            .windows
            .iter()
            .map(|w| Exposed {
                span: Span::Clock {
                    from: (w.from - installed).max(0.0),
                    until: (w.until - installed).max(0.0),
                },
                x: w.x.clone(),
            })
            .collect();
        for failure in self.counted() {
            match self.span_of(failure, installed) {
                Some((from, until)) => record.spans.push((from - installed, until - installed)),
                None => record.sum_ln_age += ((failure.at - installed).max(HALF_DAY) / T0).ln(),
            }
        }
        record
    }

    /// The record of the part clocks at one installation, for given shares.
    fn part_clocks(&self, prior: &KindPrior, shares: &[f64], node: &Node) -> Record {
        let clocks = prior.clocks(Some(shares));
        let mut record = self.counts();
        record.windows = self
            .windows
            .iter()
            .zip(&node.spells)
            .map(|(w, spells)| Exposed {
                span: Span::Fixed(clocks.iter().zip(spells).map(|(c, e)| c.weight * e).sum()),
                x: w.x.clone(),
            })
            .collect();
        record.ln_base = self
            .counted()
            .map(|f| {
                let place = prior.clock_of(f.part.as_deref());
                // A part with no share can still fail; the floor keeps the logarithm finite.
                let share = clocks[place].weight.max(1e-9).ln();
                if let Some(span) = self.span_of(f, node.installed) {
                    let spent = self.spell(prior, (place, clocks[place]), node.installed, span);
                    return share + (spent / (span.1 - span.0)).max(f64::MIN_POSITIVE).ln();
                }
                let start = self.clock_start(prior.restarting(place), node.installed, f.at);
                let age = (f.at - start).max(HALF_DAY);
                share + (clocks[place].shape - 1.0) * (age / T0).ln()
            })
            .sum();
        record
    }

    /// The record with what the unit's being written off, or not yet, says of its z (FORECAST §5, α_T = 1). It is known to
    /// have stood from its first window to its last, across gaps too. As it was without a law, or without a window.
    fn leaving(&self, record: Record, law: Option<SoonerLaw>, installed: f64) -> Record {
        let first = self
            .windows
            .iter()
            .map(|w| w.from)
            .fold(f64::INFINITY, f64::min);
        let (entry, exit) = (first - installed, self.seen_until() - installed);
        let Some(law) = law.filter(|_| exit.is_finite() && entry.is_finite()) else {
            return record;
        };
        let ln_hazard = if self.written_off {
            law.ln_hazard(exit.max(HALF_DAY))
        } else {
            0.0
        };
        Record {
            ln_base: record.ln_base + ln_hazard,
            leaving: Leaving {
                entry: law.cumulative(entry),
                exit: law.cumulative(exit),
                ended: u32::from(self.written_off),
            },
            ..record
        }
    }

    /// Where a failure whose day is not known fell: its span as far as its window was watched and the unit stood there;
    /// `None` for one whose day is known, or of which too little is left to be a span.
    fn span_of(&self, failure: &Failure, installed: f64) -> Option<(f64, f64)> {
        let (first, last) = failure.between?;
        // Windows that meet differ in their covariates alone: all of them were watched.
        let mut watched = self.window_of(failure.at).map(|w| (w.from, w.until))?;
        loop {
            let meet = |w: &&Window| {
                (w.until == watched.0 && w.from < watched.0)
                    || (w.from == watched.1 && w.until > watched.1)
            };
            let Some(next) = self.windows.iter().find(meet) else {
                break;
            };
            watched = (watched.0.min(next.from), watched.1.max(next.until));
        }
        let span = (first.max(watched.0).max(installed), last.min(watched.1));
        (span.1 - span.0 > HALF_DAY).then_some(span)
    }

    fn counts(&self) -> Record {
        let mut record = Record {
            sum_x: vec![0.0; self.present.len()],
            ..Record::default()
        };
        for window in self.counted().filter_map(|f| self.window_of(f.at)) {
            record.failures += 1;
            record
                .sum_x
                .iter_mut()
                .zip(&window.x)
                .for_each(|(sum, x)| *sum += x);
        }
        record
    }
}

/// A history at one possible installation.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub weight: f64,
    pub installed: f64,
    /// Base exposure per window and clock.
    pub spells: Vec<Vec<f64>>,
}

/// The nodes of a history.
pub(crate) fn nodes(history: &UnitHistory, prior: &KindPrior) -> Vec<Node> {
    history
        .installations()
        .into_iter()
        .map(|(weight, installed)| Node {
            weight,
            installed,
            spells: if prior.parts.is_empty() {
                Vec::new()
            } else {
                history.spells(prior, installed)
            },
        })
        .collect()
}

/// What the likelihood needs of a history, at given shares.
pub(crate) fn subject(
    history: &UnitHistory,
    prior: &KindPrior,
    shares: &[f64],
    nodes: &[Node],
) -> Subject {
    Subject {
        nodes: nodes
            .iter()
            .map(|node| {
                let record = if prior.parts.is_empty() {
                    history.one_clock(node.installed)
                } else {
                    history.part_clocks(prior, shares, node)
                };
                let record = history.leaving(record, prior.sooner, node.installed);
                (node.weight, record)
            })
            .collect(),
    }
}
