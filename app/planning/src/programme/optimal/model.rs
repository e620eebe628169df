//! The parallel replacement problem under shared budgets: units, options, funds and limits.
//!
//! Sets: buildings b; groups g (risers, plant rooms), each in one building; units u, each in one group;
//! options o of a unit; funds f; F(b) the funds a building's spending is charged to, each pound in full in
//! *every* fund of F(b). Years t = 0..T−1. Money is whole pence in real terms; present values are inputs.
//!
//! Choose for each unit one (o, t), or never, at least
//! Σ pv(u,o,t) x(u,o,t) + Σ never(u) n(u) + Σ mobilise_pv(g,t) z(g,t) +
//! Σ (mobilise_pv(b,t) y(b,t) − rebate_pv(b,t) w(b,t) + consultation_pv(b,t) v(b,t)).
//! Source: `reference/planning/README.md` §1, whose JSON these types read.
use serde::{Deserialize, Serialize};

/// A purse: opening + Σ (add − spent) ≥ floor at the end of every year; money comes at its start.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fund {
    /// Pence at the start of year 0.
    pub opening: i64,
    /// Pence coming in, a year.
    pub add: Vec<i64>,
    /// Pence the balance may not end a year below.
    pub floor: i64,
    /// Most pence spent in a year; `None` inside = no cap that year.
    #[serde(default)]
    pub spend_cap: Option<Vec<Option<i64>>>,
}

impl Fund {
    /// opening − floor + Σ_{τ≤t} add(τ) for each year t: what may have been spent by its end, pence.
    pub fn headroom(&self) -> Vec<i64> {
        let mut sum = self.opening - self.floor;
        self.add
            .iter()
            .map(|add| {
                sum += add;
                sum
            })
            .collect()
    }

    /// The cap of year `t`, pence.
    pub fn cap(&self, t: usize) -> Option<i64> {
        self.spend_cap.as_ref()?.get(t).copied().flatten()
    }
}

/// A building with its fixed costs and yearly limits.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Building {
    /// Indices of the funds its spending is charged to.
    pub funds: Vec<usize>,
    /// Pence for coming to the building at all in a year.
    pub mobilise: i64,
    /// Present value of that, by year.
    pub mobilise_pv: Vec<i64>,
    /// Units in one year from which the rebate is given.
    pub bulk_min: usize,
    /// Pence rebated once in such a year; 0 = none.
    pub bulk_rebate: i64,
    /// Present value of that, by year.
    pub bulk_rebate_pv: Vec<i64>,
    /// Spend in a year above which leaseholders must be consulted (strictly above), pence.
    #[serde(rename = "s20_limit")]
    pub consultation_above: i64,
    /// Pence a consultation costs.
    #[serde(rename = "s20_cost")]
    pub consultation: i64,
    /// Present value of that, by year.
    #[serde(rename = "s20_cost_pv")]
    pub consultation_pv: Vec<i64>,
    /// First year in which works needing consultation can happen.
    #[serde(rename = "s20_from")]
    pub consultation_from: usize,
    /// Home-hours of disruption allowed in each year.
    pub hours_cap: i64,
}

/// A riser or plant room whose units share one set-up in a year.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Group {
    /// Index of its building.
    pub building: usize,
    /// Pence for setting up there in a year.
    pub mobilise: i64,
    /// Present value of that, by year.
    pub mobilise_pv: Vec<i64>,
}

/// What a unit may be replaced with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choice {
    /// Expected discounted cost of the unit over the horizon if done in year t; `None` = not on offer.
    pub pv: Vec<Option<i64>>,
    /// Pence paid if done in year t.
    pub cash: Vec<i64>,
    /// Home-hours of disruption.
    pub hours: i64,
}

/// A unit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unit {
    /// Index of its building.
    pub building: usize,
    /// Index of its group.
    pub group: usize,
    /// Years old, for the plain ways only.
    #[serde(default)]
    pub age: i64,
    /// Expected discounted cost if kept to the end; `None` = must be replaced.
    pub never: Option<i64>,
    /// Last year allowed.
    pub latest: Option<usize>,
    /// Options.
    pub options: Vec<Choice>,
}

/// At most `at_once` of these units out in any one year (n needed of N: at_once = N − n).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Redundancy {
    /// Indices of the units.
    pub units: Vec<usize>,
    /// Most in one year.
    pub at_once: usize,
}

/// The whole problem.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// T, the number of years.
    pub years: usize,
    /// Funds.
    pub funds: Vec<Fund>,
    /// Buildings.
    pub buildings: Vec<Building>,
    /// Groups.
    pub groups: Vec<Group>,
    /// Units.
    pub units: Vec<Unit>,
    /// Sets of units all done in the same year, or all never.
    #[serde(default)]
    pub together: Vec<Vec<usize>>,
    /// Plant that must not all be out at once.
    #[serde(default)]
    pub redundancy: Vec<Redundancy>,
}

/// One entry a unit: (option, year), or `None` = never.
pub type Plan = Vec<Option<(usize, usize)>>;

impl Problem {
    /// The (option, year) pairs open to a unit by rule 1: on offer, not after its latest year; of options
    /// alike in a year, only those that are not worse in value, cash and hours at once.
    pub fn open_choices(&self, unit: usize) -> Vec<(usize, usize)> {
        let unit = &self.units[unit];
        let mut open = Vec::new();
        for t in 0..self.years {
            if unit.latest.is_some_and(|latest| t > latest) {
                break;
            }
            let face = |o: usize| {
                let choice = &unit.options[o];
                choice.pv[t].map(|pv| (pv, choice.cash[t], choice.hours))
            };
            for o in 0..unit.options.len() {
                let Some(mine) = face(o) else { continue };
                let beaten = (0..unit.options.len()).filter(|p| *p != o).any(|p| {
                    face(p).is_some_and(|other| {
                        let no_worse = other.0 <= mine.0 && other.1 <= mine.1 && other.2 <= mine.2;
                        no_worse && (other != mine || p < o)
                    })
                });
                if !beaten {
                    open.push((o, t));
                }
            }
        }
        open
    }

    /// Σ over units of the least of never and every present value open to it: no plan can cost less than
    /// this (rebates apart), and no planner can do anything about it. Pence.
    pub fn unavoidable(&self) -> i64 {
        let least = |unit: &Unit| {
            let years = unit.latest.map_or(self.years, |latest| latest + 1);
            let offers = unit.options.iter().flat_map(|o| o.pv.iter().take(years));
            offers
                .flatten()
                .chain(&unit.never)
                .min()
                .copied()
                .unwrap_or(0)
        };
        self.units.iter().map(least).sum()
    }
}
