//! What would turn the answer: the advantage with one input multiplied, everything re-optimised.
use serde::{Deserialize, Serialize};

use crate::case::{CheckedCase, OldUnit};
use crate::rates::Discounts;
use crate::weigh::{Levers, weigh, weigh_at};

/// Multipliers are searched inside these two.
const LEAST: f64 = 0.1;
/// See [`LEAST`].
const MOST: f64 = 5.0;
/// Step of the search in the logarithm of the multiplier.
const STEP: f64 = 0.01;

/// The inputs that are varied one at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Param {
    /// The real yearly rate; all of them where later years have their own.
    Rate,
    /// The quote; only with a fault in hand.
    Quote,
    /// Failures of the old unit.
    FaultsOld,
    /// Failures of every option.
    FaultsNew,
    /// Price of every option.
    Capex,
    /// Energy, old and new.
    Energy,
    /// Service of the old unit.
    ServiceOld,
    /// Mean price of a repair, old and new.
    RepairPrice,
    /// Disruption, of a failure and of fitting.
    Disruption,
    /// Premium out of hours.
    EmergencyPremium,
    /// Share of the old unit's failures that are beyond repair; only where it is in doubt.
    WriteOff,
}

impl Param {
    /// Every one, in a fixed order.
    pub const ALL: [Self; 11] = [
        Self::Rate,
        Self::Quote,
        Self::FaultsOld,
        Self::FaultsNew,
        Self::Capex,
        Self::Energy,
        Self::ServiceOld,
        Self::RepairPrice,
        Self::Disruption,
        Self::EmergencyPremium,
        Self::WriteOff,
    ];

    /// The two multipliers shown for it: stated ranges, ours; of the share beyond repair its own 80 % range, `None` where it
    /// has none.
    fn range(self, old: &OldUnit) -> Option<(f64, f64)> {
        Some(match self {
            Self::Rate | Self::EmergencyPremium => (0.5, 1.5),
            Self::Quote => (0.7, 1.3),
            Self::FaultsOld | Self::FaultsNew => (0.6, 1.6),
            Self::Capex => (0.85, 1.25),
            Self::Energy => (0.75, 1.5),
            Self::ServiceOld => (0.8, 1.2),
            Self::RepairPrice => (0.8, 1.3),
            Self::Disruption => (0.0, 2.0),
            Self::WriteOff => {
                let (low, high) = old.write_off_range?;
                let share = old.write_off_share;
                return (share > 0.0).then(|| (low / share, high / share));
            }
        })
    }

    fn lever(self, by: f64) -> Levers {
        let mut levers = Levers::default();
        let slot = match self {
            Self::Rate => &mut levers.rate,
            Self::Quote => &mut levers.quote,
            Self::FaultsOld => &mut levers.faults_old,
            Self::FaultsNew => &mut levers.faults_new,
            Self::Capex => &mut levers.capex,
            Self::Energy => &mut levers.energy,
            Self::ServiceOld => &mut levers.service_old,
            Self::RepairPrice => &mut levers.repair_price,
            Self::Disruption => &mut levers.disruption,
            Self::EmergencyPremium => &mut levers.emergency_premium,
            Self::WriteOff => &mut levers.write_off,
        };
        *slot = by;
        levers
    }

    /// The figure the multiplier stands on, where one figure says it: the rate a year, pounds, or
    /// failures in the coming year.
    fn base(self, checked: &CheckedCase, replace_with: Option<usize>) -> Option<f64> {
        let case = checked.case();
        match self {
            Self::Rate => Some(case.rate),
            Self::Quote => case.fault_in_hand.map(|f| f.quote),
            Self::FaultsOld => checked.faults.first().copied(),
            Self::FaultsNew => None,
            Self::Capex => replace_with.map(|o| case.options[o].capex),
            Self::Energy => checked.energy.first().copied(),
            Self::ServiceOld => checked.service.first().copied(),
            Self::RepairPrice => Some(case.old.fault_cost.repair_mean),
            Self::Disruption => Some(case.old.fault_cost.disruption),
            Self::EmergencyPremium => Some(case.old.fault_cost.emergency_premium),
            Self::WriteOff => Some(case.old.write_off_share),
        }
    }
}

/// One bar: the advantage of replacing now (pounds) at both ends of the range.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TornadoRow {
    /// Which input.
    pub param: Param,
    /// Lower multiplier.
    pub low: f64,
    /// Upper multiplier.
    pub high: f64,
    /// Advantage at `low`, pounds; `None` when replacing now or keeping is not open there.
    pub adv_low: Option<f64>,
    /// Advantage at `high`, pounds.
    pub adv_high: Option<f64>,
    /// |adv_high − adv_low|.
    pub swing: Option<f64>,
    /// Of all multipliers in [0.1, 5] at which the answer turns, the one nearest 1 in logarithm.
    pub switch_multiplier: Option<f64>,
    /// The input as given, where one figure says it; times `switch_multiplier` is the value at
    /// which the answer turns.
    pub base: Option<f64>,
}

impl TornadoRow {
    /// Whether the answer turns inside the range shown.
    pub fn turns_inside(&self) -> bool {
        self.switch_multiplier
            .is_some_and(|m| (self.low..=self.high).contains(&m))
    }
}

/// All bars, the longest first.
pub fn tornado(checked: &CheckedCase, replace_with: Option<usize>) -> Vec<TornadoRow> {
    let case = checked.case();
    let in_hand = case.fault_in_hand.is_some();
    let table = Discounts::for_case(checked, 1.0);
    let mut rows: Vec<TornadoRow> = Param::ALL
        .into_iter()
        .filter(|param| in_hand || *param != Param::Quote)
        .filter_map(|param| Some((param, param.range(&case.old)?)))
        .map(|(param, (low, high))| {
            let at = |by: f64| match param {
                Param::Rate => weigh(checked, &param.lever(by)).advantage(),
                _ => weigh_at(checked, &param.lever(by), &table).advantage(),
            };
            let (adv_low, adv_high) = (at(low), at(high));
            TornadoRow {
                param,
                low,
                high,
                adv_low,
                adv_high,
                swing: adv_low.zip(adv_high).map(|(a, b)| (b - a).abs()),
                switch_multiplier: switch_multiplier(at),
                base: param.base(checked, replace_with),
            }
        })
        .collect();
    rows.sort_by(|a, b| {
        let size = |row: &TornadoRow| row.swing.unwrap_or(0.0);
        size(b).total_cmp(&size(a))
    });
    rows
}

/// The multiplier in [0.1, 5] nearest 1 in logarithm at which `advantage` changes sign: both sides
/// are walked outward together in small steps; between steps a dip towards nought is looked into, since
/// two changes can lie close together.
fn switch_multiplier(advantage: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    let at = |log: f64| advantage(log.exp());
    let middle = at(0.0)?;
    let mut sides = [
        Side::of(1.0, MOST.ln(), middle),
        Side::of(-1.0, -LEAST.ln(), middle),
    ];
    let mut found: Option<f64> = None;
    while found.is_none() && sides.iter().any(|side| !side.ended) {
        for side in &mut sides {
            if let Some(log) = side.walk(&at)
                && found.is_none_or(|other: f64| log.abs() < other.abs())
            {
                found = Some(log);
            }
        }
    }
    found.map(f64::exp)
}

/// One direction of the walk; `before` and `here` are the last two points.
struct Side {
    sign: f64,
    reach: f64,
    before: Option<(f64, f64)>,
    here: (f64, f64),
    ended: bool,
}

impl Side {
    fn of(sign: f64, reach: f64, middle: f64) -> Self {
        Self {
            sign,
            reach,
            before: None,
            here: (0.0, middle),
            ended: false,
        }
    }

    /// One step outward; the signed logarithm of a change of sign when one is met.
    fn walk(&mut self, at: &impl Fn(f64) -> Option<f64>) -> Option<f64> {
        if self.ended {
            return None;
        }
        let next = (self.here.0 + STEP).min(self.reach);
        self.ended = next >= self.reach;
        let Some(value) = at(self.sign * next) else {
            self.ended = true;
            return None;
        };
        let side = |x: f64| at(self.sign * x);
        let met = if positive(value) == positive(self.here.1) {
            self.before.and_then(|(start, old)| {
                let (left, middle, right) = (old.abs(), self.here.1.abs(), value.abs());
                let lowest = middle <= left && middle <= right;
                // A dip that could reach nought: near it, by the slopes around.
                let near = middle < 4.0 * (left - middle).max(right - middle);
                let dips = lowest && near;
                dips.then(|| dip(&side, start, next)).flatten()
            })
        } else {
            Some(halve(&side, self.here.0, next))
        };
        self.before = Some(self.here);
        self.here = (next, value);
        met.map(|log| self.sign * log)
    }
}

fn positive(advantage: f64) -> bool {
    advantage > 0.0
}

/// Halves an interval whose ends differ in sign.
fn halve(at: &impl Fn(f64) -> Option<f64>, start: f64, end: f64) -> f64 {
    let (mut low, mut high) = (start, end);
    let first = at(low).is_some_and(positive);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if at(middle).is_some_and(positive) == first {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Looks for the bottom of a dip of |advantage| by golden section; a change of sign on the way is
/// halved down.
fn dip(at: &impl Fn(f64) -> Option<f64>, start: f64, end: f64) -> Option<f64> {
    const GOLD: f64 = 0.618_033_988_749_894_9;
    let first = at(start).is_some_and(positive);
    let (mut low, mut high) = (start, end);
    for _ in 0..40 {
        let (left, right) = (high - GOLD * (high - low), low + GOLD * (high - low));
        let (a, b) = (at(left)?, at(right)?);
        for (point, value) in [(left, a), (right, b)] {
            if positive(value) != first {
                return Some(halve(at, start, point));
            }
        }
        if a.abs() < b.abs() {
            high = right;
        } else {
            low = left;
        }
    }
    None
}
