//! The advice: every answer a page, a paper or a decision record needs, ready to be frozen as JSON.
use serde::{Deserialize, Serialize};
use terms::ExpectedPounds;

use crate::case::CheckedCase;
use crate::chance::chance_above_nought;
use crate::further::{FurtherFailures, fewer_failures, further_failures};
use crate::paths::{Fork, forks, new_failures, stopped_failures};
use crate::rates::Discounts;
use crate::tornado::{TornadoRow, tornado};
use crate::weigh::{Levers, Weighed, staying_cost, weigh_at};

/// What the expected costs say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Decision {
    /// Replace now.
    Replace,
    /// Repair and keep `best_keep` more years.
    Repair,
    /// No fault in hand: keep `best_keep` more years.
    Keep,
}

/// One option kept for its best life.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct OptionAnswer {
    /// Code of the option.
    pub code: String,
    /// n*, years.
    pub n: u32,
    /// A(n*), pounds a year.
    pub annual_cost: f64,
    /// PV(n*), pounds.
    pub pv_cycle: f64,
    /// Pounds a year above the cheapest option.
    pub dearer_a_year: f64,
    /// Whether it could be fitted now (`from` = 0 and `to` not passed).
    pub open_now: bool,
}

/// When an answer is called close. Ours, no source: the bounds say only that the page must not sound
/// sure. The narrow advantage is a share of the price of the replacement, never a sum of money: a price is known to so
/// many per cent, so what its doubt can swallow grows with it, and an advice must not turn when all money is counted in
/// another unit or inflated.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Closeness {
    /// From this chance that replacing now turns out cheaper …
    pub chance_low: f64,
    /// … to this one the answer is close.
    pub chance_high: f64,
    /// So is an advantage nearer nought than this share of the price of what would be fitted now. Two in a hundred is less
    /// than the width of any price list we know (ours, no source).
    pub share_of_price: f64,
}

impl Default for Closeness {
    fn default() -> Self {
        Self {
            chance_low: 0.2,
            chance_high: 0.8,
            share_of_price: 0.02,
        }
    }
}

/// How firmly the answer may be said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Said plainly.
    Clear,
    /// Said as close: chance or advantage lies inside [`Closeness`].
    Close,
    /// Replacing now or keeping is not open; nothing was compared.
    NothingToCompare,
}

/// An input whose stated range holds a value at which the answer turns.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Turn {
    /// Which input.
    pub param: crate::tornado::Param,
    /// The multiplier at which it turns.
    pub multiplier: f64,
    /// The value at which it turns, where one figure says it.
    pub value: Option<f64>,
}

/// Everything the comparison answers. Amounts are expected real pounds, never prices; use
/// [`crate::shown`] beside a quote.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Advice {
    /// Whether a fault was in hand.
    pub fault_in_hand: bool,
    /// W[k], k = 0..H: cost of (repairing and) keeping k more years and then replacing, relative to an
    /// endless chain at A*; W[0] replaces now. `None` where no option is open then.
    pub keep: Vec<Option<f64>>,
    /// k ≥ 1 with the least W[k].
    pub best_keep: Option<u32>,
    /// Code of the option behind replacing now.
    pub replace_with: Option<String>,
    /// Code of the option behind replacing after `best_keep` years.
    pub keep_then: Option<String>,
    /// W[best_keep] − W[0]: positive = replacing now is cheaper.
    pub advantage_replace_now: Option<f64>,
    /// W[0] − (W[best_keep] − quote): the highest repair price at which repairing is still the cheaper
    /// course; negative: replace even if the repair were free.
    pub repair_limit: Option<f64>,
    /// What the expected costs say.
    pub decision: Decision,
    /// First year k of keeping that costs more than it saves.
    pub break_even_year: Option<u32>,
    /// P(X > 0), see [`crate::chance`].
    pub probability_replace_cheaper: Option<f64>,
    /// Mean of X, the advantage.
    pub mean_x: Option<f64>,
    /// Standard deviation of X, pounds.
    pub sd_x: Option<f64>,
    /// A*, pounds a year.
    pub least_annual: Option<f64>,
    /// The options side by side, in the order of the case.
    pub options: Vec<OptionAnswer>,
    /// One bar an input, the longest first; empty when replacing now is not open.
    pub tornado: Vec<TornadoRow>,
    /// Those bars whose range holds a turn, the nearest first.
    pub turns: Vec<Turn>,
    /// How firmly it may be said.
    pub standing: Standing,
    /// The fewest failures more at which it would turn to replacing; `None` in an advice made before this was kept,
    /// too.
    #[serde(default)]
    pub further: Option<FurtherFailures>,
    /// The fewest failures less at which it would turn to keeping; `None` in an advice made before this was kept, too.
    #[serde(default)]
    pub fewer: Option<FurtherFailures>,
    /// Chance that a failure beyond repair ends the unit within `best_keep` years; nought where no share of failures
    /// was taken to be beyond repair.
    #[serde(default)]
    pub lost_while_kept: f64,
    /// What failures beyond repair add to W[k], k = 0..H, pounds; empty where no share of failures is beyond repair, and in
    /// advice made before this was kept.
    #[serde(default)]
    pub lost_adds: Vec<f64>,
    /// Pounds in today's money that failures in parts which stay beside what would be fitted now come to over the horizon:
    /// in both courses alike, so in neither W. Nought where none stays, and in advice made before this was kept.
    #[serde(default)]
    pub staying_cost: f64,
    /// Cost so far in today's money at the case's rate; without years where no drawing was asked for.
    pub fork: Fork,
    /// Cost so far in plain real money, nothing discounted; the same.
    pub fork_undiscounted: Fork,
}

impl Advice {
    /// What keeping `years` more years and then replacing costs beyond replacing now.
    pub fn dearer_if_kept(&self, years: u32) -> Option<ExpectedPounds> {
        let now = self.keep.first().copied().flatten()?;
        let kept = self.keep.get(years as usize).copied().flatten()?;
        Some(ExpectedPounds(kept - now))
    }
}

/// Weighs the case with the usual [`Closeness`].
pub fn advise(checked: &CheckedCase) -> Advice {
    advise_within(checked, &Closeness::default())
}

/// Weighs the case and says how firmly the answer may be said.
pub fn advise_within(checked: &CheckedCase, closeness: &Closeness) -> Advice {
    let (weighed, mut advice) = undrawn(checked, closeness);
    (advice.fork, advice.fork_undiscounted) = forks(checked, &weighed);
    advice
}

/// The same answers without the two drawings of cost so far, which only a page needs and which take longer than all the rest.
pub fn advise_undrawn(checked: &CheckedCase, closeness: &Closeness) -> Advice {
    undrawn(checked, closeness).1
}

fn undrawn(checked: &CheckedCase, closeness: &Closeness) -> (Weighed, Advice) {
    let case = checked.case();
    let table = Discounts::for_case(checked, 1.0);
    let weighed = weigh_at(checked, &Levers::default(), &table);
    let code = |k: Option<usize>| {
        let (_, o) = weighed.start.get(k?).copied().flatten()?;
        Some(case.options[o].code.clone())
    };
    let advantage = weighed.advantage();
    let (chance, deviation) = match advantage {
        Some(advantage) => chance_of(checked, &weighed, &table, advantage),
        None => (None, None),
    };
    let replaced = weighed.start.first().copied().flatten().map(|(_, o)| o);
    let bars = if advantage.is_some() {
        tornado(checked, (&weighed, &table), replaced)
    } else {
        Vec::new()
    };
    let in_hand = case.fault_in_hand.is_some();
    let price = replaced.map_or(0.0, |o| case.options[o].capex);
    let advice = Advice {
        fault_in_hand: in_hand,
        best_keep: weighed.best_keep.map(|k| k as u32),
        replace_with: code(Some(0)),
        keep_then: code(weighed.best_keep),
        advantage_replace_now: advantage,
        repair_limit: weighed.repair_limit(),
        decision: match advantage {
            Some(advantage) if advantage > 0.0 => Decision::Replace,
            _ if in_hand => Decision::Repair,
            _ => Decision::Keep,
        },
        break_even_year: weighed.break_even_year(),
        probability_replace_cheaper: chance,
        mean_x: advantage,
        sd_x: deviation,
        least_annual: weighed.least_annual,
        options: answers(checked, &weighed),
        turns: turns(&bars),
        tornado: bars,
        standing: standing(advantage, chance, closeness, price),
        further: further_failures(checked, &table, advantage),
        fewer: fewer_failures(checked, &table, advantage),
        lost_while_kept: lost_within(checked, weighed.best_keep.unwrap_or(0)),
        lost_adds: lost_adds(checked, &weighed, &table),
        staying_cost: replaced.map_or(0.0, |o| staying_cost(checked, &table, o)),
        fork: Fork::default(),
        fork_undiscounted: Fork::default(),
        keep: weighed.keep.clone(),
    };
    (weighed, advice)
}

/// P(X > 0) and sd(X): the old unit to best_keep against the option behind x(0), new today, over the
/// same years but only to its life_max. What fails in parts that stay does so in both courses and is no part of X.
fn chance_of(
    checked: &CheckedCase,
    weighed: &Weighed,
    table: &Discounts,
    advantage: f64,
) -> (Option<f64>, Option<f64>) {
    let (Some(k), Some(Some((_, o)))) = (weighed.best_keep, weighed.start.first()) else {
        return (None, None);
    };
    let case = checked.case();
    let life = case.options[*o].life_max as usize;
    let old = stopped_failures(checked, *o, table, k);
    let new = new_failures(checked, *o, table, k.min(life), life);
    let chance = chance_above_nought(advantage, &old, &new);
    let deviation = (old.variance() + new.variance()).sqrt();
    (Some(chance), Some(deviation))
}

/// 1 − e^(−φ Σ_(i≤k) m_i).
fn lost_within(checked: &CheckedCase, k: usize) -> f64 {
    let share = checked.case().old.write_off_share;
    let expected: f64 = checked.faults_old().iter().take(k).sum();
    -(-share * expected).exp_m1()
}

/// W[k] less what it would be if every failure could be repaired.
fn lost_adds(checked: &CheckedCase, weighed: &Weighed, table: &Discounts) -> Vec<f64> {
    if checked.case().old.write_off_share <= 0.0 {
        return Vec::new();
    }
    let levers = Levers {
        write_off: 0.0,
        ..Levers::default()
    };
    let mended = weigh_at(checked, &levers, table);
    let pairs = weighed.keep.iter().zip(&mended.keep);
    pairs
        .map(|(with, without)| with.zip(*without).map_or(0.0, |(a, b)| a - b))
        .collect()
}

fn answers(checked: &CheckedCase, weighed: &Weighed) -> Vec<OptionAnswer> {
    let least = weighed.least_annual.unwrap_or(0.0);
    checked
        .case()
        .options
        .iter()
        .zip(&weighed.chains)
        .map(|(option, chain)| OptionAnswer {
            code: option.code.clone(),
            n: chain.life,
            annual_cost: chain.annual,
            pv_cycle: chain.present,
            dearer_a_year: chain.annual - least,
            open_now: option.from == 0,
        })
        .collect()
}

fn turns(bars: &[TornadoRow]) -> Vec<Turn> {
    let mut turns: Vec<Turn> = bars
        .iter()
        .filter(|bar| bar.turns_inside())
        .filter_map(|bar| {
            let multiplier = bar.switch_multiplier?;
            let value = bar.base.map(|base| base * multiplier);
            let param = bar.param;
            Some(Turn {
                param,
                multiplier,
                value,
            })
        })
        .collect();
    turns.sort_by(|a, b| {
        let far = |turn: &Turn| turn.multiplier.ln().abs();
        far(a).total_cmp(&far(b))
    });
    turns
}

fn standing(
    advantage: Option<f64>,
    chance: Option<f64>,
    closeness: &Closeness,
    price: f64,
) -> Standing {
    let Some(advantage) = advantage else {
        return Standing::NothingToCompare;
    };
    let unsure =
        chance.is_some_and(|p| (closeness.chance_low..=closeness.chance_high).contains(&p));
    if unsure || advantage.abs() < closeness.share_of_price * price {
        Standing::Close
    } else {
        Standing::Clear
    }
}
