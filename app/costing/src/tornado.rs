//! What would turn the answer: the advantage with one input multiplied, everything re-optimised.
use serde::{Deserialize, Serialize};

use crate::case::{CheckedCase, OldUnit};
use crate::rates::Discounts;
use crate::switch::Asked;
use crate::walk::Marks;
use crate::weigh::{Levers, Weighed};

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

    /// Its multiplier at `by`, every other at 1.
    pub(crate) fn lever(self, by: f64) -> Levers {
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

/// All bars, the longest first. `weighed` is the case as given, `table` its discounts.
pub(crate) fn tornado(
    checked: &CheckedCase,
    (weighed, table): (&Weighed, &Discounts),
    replace_with: Option<usize>,
) -> Vec<TornadoRow> {
    let case = checked.case();
    let in_hand = case.fault_in_hand.is_some();
    let mut asked = Asked::new(checked, weighed, table);
    let marks = Marks::new();
    let mut rows: Vec<TornadoRow> = Param::ALL
        .into_iter()
        .filter(|param| in_hand || *param != Param::Quote)
        .filter_map(|param| Some((param, param.range(&case.old)?)))
        .map(|(param, (low, high))| {
            let (adv_low, adv_high) = (asked.advantage(param, low), asked.advantage(param, high));
            TornadoRow {
                param,
                low,
                high,
                adv_low,
                adv_high,
                swing: adv_low.zip(adv_high).map(|(a, b)| (b - a).abs()),
                switch_multiplier: asked.switch_multiplier(&marks, param),
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
