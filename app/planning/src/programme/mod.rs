//! Programme: which units to replace in which year, inside the money there is.
//!
//! Years are counted 0, 1, … from `first_year`. Money is whole pence in real (today's) money; what a
//! year later or earlier costs in expectation is [`ExpectedPounds`] from the unit's own advice, so
//! nothing is put in the list on age alone.
mod audit;
mod audit_swap;
mod limits;
#[cfg(feature = "solver")]
pub mod optimal;
mod plain;

use costing::{Advice, Decision};
use serde::{Deserialize, Serialize};
use terms::{BuildingId, ExpectedPounds, Pence, UnitId};

pub use audit::{ProgrammeBreach, audit, audit_limits, audit_proven, cost_by_the_rules};
pub use audit_swap::{Swapped, swapped};
pub use limits::{Apart, Consultation, ProgrammeLimits};
pub use plain::PlainProgramme;

/// A unit with its advice's view of every year.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ProgrammeUnit {
    /// The unit.
    pub unit: UnitId,
    /// Its building.
    pub building: BuildingId,
    /// Stair or riser whose setting-up it shares; empty = none.
    pub stair: String,
    /// Whole years old: for the way "oldest first" alone, nothing is planned by it.
    pub age: u32,
    /// Code of the option it would be replaced with.
    pub option: String,
    /// Pounds to pay when replaced.
    pub cash: Pence,
    /// W[k] of its advice: expected cost if replaced after k more years; `None` = not open then.
    pub by_year: Vec<Option<ExpectedPounds>>,
    /// The year its advice would have it replaced; `None` = not inside the advice's horizon.
    pub best_year: Option<u32>,
    /// Last year allowed, for another reason than cost; `None` = none.
    pub latest: Option<u32>,
    /// Year by whose end one failure is expected, if nothing is done before; `None` = not within its course. For the
    /// way "when it fails" alone.
    #[serde(default)]
    pub fails: Option<u32>,
    /// Everything it can be replaced with, the option above first; empty = that alone.
    #[serde(default)]
    pub options: Vec<ProgrammeOption>,
    /// Home-hours of disruption with the option above, as [`ProgrammeOption::home_hours`].
    #[serde(default = "one")]
    pub home_hours: u32,
}

/// One thing a unit can be replaced with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ProgrammeOption {
    /// Its code.
    pub option: String,
    /// Pounds to pay.
    pub cash: Pence,
    /// Home-hours of disruption while it is fitted: hours of the work times the homes without heat for it, at least its own
    /// hours once.
    #[serde(default = "one")]
    pub home_hours: u32,
    /// Expected cost if the unit is replaced with it after k more years; `None` = not open then.
    pub by_year: Vec<Option<ExpectedPounds>>,
}

/// What was kept before the hours were known counts each replacement as one.
const fn one() -> u32 {
    1
}

impl ProgrammeUnit {
    /// From the unit's advice: replaced in year 0 when that is the advice, else after the best number
    /// of years of keeping. A best year at the end of the advice's horizon says only "not within it",
    /// so it is not listed. `cash` is the option's price.
    pub fn from_advice(unit: UnitId, building: BuildingId, advice: &Advice, cash: Pence) -> Self {
        let horizon = advice.keep.len().saturating_sub(1) as u32;
        let now = advice.decision == Decision::Replace;
        let best_year = if now { Some(0) } else { advice.best_keep };
        let option = if now {
            &advice.replace_with
        } else {
            &advice.keep_then
        };
        Self {
            unit,
            building,
            stair: String::new(),
            age: 0,
            option: option.clone().unwrap_or_default(),
            cash,
            by_year: advice.keep.iter().map(|w| w.map(ExpectedPounds)).collect(),
            best_year: best_year.filter(|year| now || *year < horizon),
            latest: None,
            fails: None,
            home_hours: one(),
            options: Vec::new(),
        }
    }

    /// What it can be replaced with.
    pub fn choices(&self) -> Vec<ProgrammeOption> {
        if self.options.is_empty() {
            return vec![ProgrammeOption {
                option: self.option.clone(),
                cash: self.cash,
                home_hours: self.home_hours,
                by_year: self.by_year.clone(),
            }];
        }
        self.options.clone()
    }

    /// Expected pounds that replacing in `year` costs beyond the best year; `None` when unknown.
    pub fn extra(&self, year: u32) -> Option<f64> {
        let at = |y: u32| self.by_year.get(y as usize).copied().flatten().map(|w| w.0);
        Some(at(year)? - at(self.best_year?)?)
    }
}

/// What comes in and what is set aside in one year.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct YearMoney {
    /// Comes in.
    pub comes_in: Pence,
    /// Set aside for likely failures.
    pub set_aside: Pence,
    /// Most that may be spent on replacements in the year; `None` = what there is.
    pub cap: Option<Pence>,
}

/// Everything a programme is planned from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ProgrammeInput {
    /// The calendar (or accounting) year of year 0.
    pub first_year: i32,
    /// In the purse at the start.
    pub opening: Pence,
    /// The reserve may not end a year below this.
    pub floor: Pence,
    /// One entry a year of the programme.
    pub years: Vec<YearMoney>,
    /// Units, each once.
    pub units: Vec<ProgrammeUnit>,
}

/// A replacement in its year.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Replacement {
    /// The unit.
    pub unit: UnitId,
    /// With which option.
    pub option: String,
    /// Paid.
    pub cash: Pence,
    /// Years later than its advice would have it.
    pub years_late: u32,
    /// Expected cost of that delay, pounds; `None` beyond the advice's horizon.
    pub delay_costs: Option<ExpectedPounds>,
}

/// One year of the programme: opening + comes in − set aside − spent − set up = reserve.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct YearLine {
    /// The calendar year.
    pub year: i32,
    /// In the purse at the start.
    pub opening: Pence,
    /// Comes in.
    pub comes_in: Pence,
    /// Set aside for likely failures.
    pub set_aside: Pence,
    /// Replacements, the dearest to put off first.
    pub replacements: Vec<Replacement>,
    /// Spent on them.
    pub spent: Pence,
    /// Paid beside them: coming to the building, setting up at a stair, consulting.
    pub set_up: Pence,
    /// Units put off to the next year for want of money.
    pub carried: Vec<UnitId>,
    /// Left at the end.
    pub reserve: Pence,
}

/// Why a unit is not in the programme.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LeftOut {
    /// Its advice keeps it beyond the programme's (or its own) last year.
    KeptBeyond {
        /// The year its advice names, if it names one.
        best_year: Option<u32>,
    },
    /// The money never sufficed from its year on.
    NoMoney {
        /// What it costs.
        cash: Pence,
        /// The most there was for it in any of those years.
        most: Pence,
        /// Whether it had a last year that has gone by.
        past_latest: bool,
    },
    /// It would be worth replacing, but what the limits leave is worth more elsewhere.
    WorthLess {
        /// What it costs.
        cash: Pence,
        /// Expected pounds, whole, lost by keeping it beyond the programme rather than in its best year.
        loses: i64,
    },
    /// A person put it outside the programme: every year is forbidden, or it is bound to a unit that stays.
    KeptByHand,
    /// Its price is negative.
    Unusable,
}

/// The programme and its report.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Programme {
    /// Year by year.
    pub years: Vec<YearLine>,
    /// Units without a year.
    pub left_out: Vec<(UnitId, LeftOut)>,
    /// Spent on replacements.
    pub spent: Pence,
    /// Expected cost, of the units that have a year, of not having their best one, pounds.
    pub delays_cost: ExpectedPounds,
    /// No programme can have delays that cost less than this. The plain method knows only the bound
    /// without money: every unit in its best year, nothing lost.
    pub delays_cost_at_least: ExpectedPounds,
    /// Years (place in `years`) whose reserve ends under the floor: what is set aside there is more
    /// than the purse holds; nothing is replaced in such a year.
    pub under_floor: Vec<u32>,
    /// How it ended.
    pub verdict: ProgrammeVerdict,
}

/// How the planning ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProgrammeVerdict {
    /// No unit wants replacing inside the programme.
    NothingToReplace,
    /// Every unit has the year its advice names: no programme is better.
    EveryBestYear,
    /// Some units wait for money.
    SomeWait,
    /// Some units find no money at all.
    MoneyShort,
}

/// The seam: whatever makes programmes.
pub trait ProgrammePlanner {
    /// Puts units in years.
    fn plan(&self, input: &ProgrammeInput) -> Programme;
}
