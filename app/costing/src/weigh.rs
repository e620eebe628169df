//! The comparison itself: for every k, repair now, keep k more years and then replace, against
//! replacing now, over an endless chain of replacements.
//!
//! With c the mean cost of a failure (excess + disruption in warranty), for option o:
//! R_i = service_i + energy_i + failures_i c_i, K = capex + install_disruption,
//! PV(n) = K + Σ_{i≤n} v^(i−½) R_i + v^n disposal, A(n) = PV(n)/annuity(n), n* the first n within
//! 1e-12 of the least. A* is the least A(n*) of all options. Starting o at the end of year k costs,
//! relative to a chain at A*: x_o(k) = (A_o − A*)/r − grant (k ≤ grant_to) + premium (k = 0).
//! A share of failures beyond repair is reckoned with in `keep_costs`. v^k, v^(i−½), annuity(k) and 1/r are those of one
//! rate; with rates of later years [`crate::rates`] says what stands in their place.
//!
//! The old unit's own warranty, w years from now: with f_i = min(1, max(0, w − (i − 1))) the share of year i inside it and
//! d the disruption of a failure (pounds), one failure of year i costs c_i = f_i min(c, excess + d) + (1 − f_i) c, so that
//! R_i^old = service_i + energy_i + other_i + failures_i c_i. w = 0 is the definition without it. A failure beyond repair ends
//! the unit in warranty, too (ours, no source: few makers fit a whole new unit).
//!
//! Parts that stay. Of the m_i failures of year i the old unit is expected to have, S_i = q_i m_i lie in parts that stay in the
//! home whatever takes its place. They come in the same years and at the same cost c (pounds, no warranty pays for them)
//! whether it is kept or replaced, so they are taken out of both sides, and `staying_cost` says what they come to:
//! in R_i^old G_i = m_i − S_i stands for the failures. Parts that stay beside option o only bring
//! σ_o = q_o Σ_(i≤H) m_i/H failures a year (level, for the case has no year beyond H) to that option:
//! R_i = service_i + energy_i + failures_i c_i + σ_o c, in every year of its life. Where the fault in hand lies in one, x_o(0) has the quote in it: fitted now, the new unit would not put it right.
//! What ends the unit goes on by all m_i, for φ is a share of all failures as its kind's record counts them. q = 0 is the
//! definition without it.
use crate::amounts::FaultCost;
use crate::case::{CheckedCase, OldUnit};
pub use crate::chain::Chain;
use crate::chain::{best_chain, start_cost, start_of};
use crate::rates::Discounts;

/// Multipliers on groups of inputs, 1 = as given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levers {
    /// The yearly rate; every one of them where later years have their own.
    pub rate: f64,
    /// The quote.
    pub quote: f64,
    /// Expected failures of the old unit.
    pub faults_old: f64,
    /// Expected failures of every option.
    pub faults_new: f64,
    /// Price of every option, fitting disruption not included.
    pub capex: f64,
    /// Energy, old and new.
    pub energy: f64,
    /// Service of the old unit.
    pub service_old: f64,
    /// Mean price of a repair, old and new.
    pub repair_price: f64,
    /// Disruption, of a failure and of fitting, old and new.
    pub disruption: f64,
    /// Premium out of hours, old and new.
    pub emergency_premium: f64,
    /// Share of the old unit's failures that are beyond repair.
    pub write_off: f64,
}

impl Default for Levers {
    fn default() -> Self {
        Self {
            rate: 1.0,
            quote: 1.0,
            faults_old: 1.0,
            faults_new: 1.0,
            capex: 1.0,
            energy: 1.0,
            service_old: 1.0,
            repair_price: 1.0,
            disruption: 1.0,
            emergency_premium: 1.0,
            write_off: 1.0,
        }
    }
}

impl Levers {
    /// c under the levers.
    pub(crate) fn failure(&self, cost: &FaultCost) -> f64 {
        FaultCost {
            repair_mean: cost.repair_mean * self.repair_price,
            emergency_premium: cost.emergency_premium * self.emergency_premium,
            disruption: cost.disruption * self.disruption,
            ..*cost
        }
        .mean()
    }
}

/// The outcome of one comparison.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Weighed {
    /// Options in the order of the case.
    pub chains: Vec<Chain>,
    /// A*; `None` without options.
    pub least_annual: Option<f64>,
    /// x(k) and the option behind it, k = 0..H.
    pub start: Vec<Option<(f64, usize)>>,
    /// W[k], k = 0..H.
    pub keep: Vec<Option<f64>>,
    /// k ≥ 1 with the least W[k], the smallest on a tie.
    pub best_keep: Option<usize>,
    /// The quote as weighed (0 without a fault in hand).
    pub quote: f64,
    /// The cost of waiting for a repair as weighed.
    pub wait_repair: f64,
    /// The quote where it is in x(0), since what would be fitted now does not put the fault right; else 0.
    pub paid_anyway: f64,
}

impl Weighed {
    /// W[best_keep] − W[0].
    pub fn advantage(&self) -> Option<f64> {
        let now = self.keep.first().copied().flatten()?;
        Some(self.keep[self.best_keep?]? - now)
    }

    /// W[0] − (W[best_keep] − quote).
    pub fn repair_limit(&self) -> Option<f64> {
        let now = self.keep.first().copied().flatten()?;
        Some(now - (self.keep[self.best_keep?]? - self.quote))
    }

    /// The first k ≥ 1 with b_k − b_(k−1) > 1e-9, where b_0 = x(0), b_k = W[k] − quote − wait_cost_repair.
    pub fn break_even_year(&self) -> Option<u32> {
        let paid = self.quote + self.wait_repair;
        let first = self.start.first()?.map(|(x, _)| x - self.paid_anyway);
        first?;
        let mut before = first;
        for (k, kept) in (0u32..).zip(&self.keep).skip(1) {
            let here = kept.map(|w| w - paid);
            if let (Some(a), Some(b)) = (before, here)
                && b - a > 1e-9
            {
                return Some(k);
            }
            before = here;
        }
        None
    }
}

/// Compares every course under the levers.
pub fn weigh(checked: &CheckedCase, levers: &Levers) -> Weighed {
    let table = Discounts::for_case(checked, levers.rate);
    weigh_at(checked, levers, &table)
}

/// The same with the discounts of the levers' rate made before.
pub(crate) fn weigh_at(checked: &CheckedCase, levers: &Levers, table: &Discounts) -> Weighed {
    let mut weigher = Weigher::new(checked);
    weigher.weigh(levers, table);
    weigher.seen
}

/// Weighs one case again and again under other levers, its lists kept from one time to the next.
pub(crate) struct Weigher<'a> {
    checked: &'a CheckedCase,
    seen: Weighed,
    /// A(n) and PV(n) of the option in hand.
    series: Vec<(f64, f64)>,
}

impl<'a> Weigher<'a> {
    pub fn new(checked: &'a CheckedCase) -> Self {
        Self {
            checked,
            seen: Weighed::default(),
            series: Vec::new(),
        }
    }

    /// Everything.
    pub fn weigh(&mut self, levers: &Levers, table: &Discounts) -> &Weighed {
        let case = &self.checked.case;
        let hand = case.fault_in_hand;
        let seen = &mut self.seen;
        seen.quote = hand.map_or(0.0, |f| f.quote * levers.quote);
        seen.wait_repair = hand.map_or(0.0, |f| f.wait_cost_repair);
        seen.chains.clear();
        for o in 0..case.options.len() {
            let chain = best_chain(self.checked, o, (levers, table), &mut self.series);
            seen.chains.push(chain);
        }
        seen.least_annual = seen.chains.iter().map(|c| c.annual).reduce(f64::min);
        seen.start.clear();
        for k in 0..=case.horizon {
            let found = seen.least_annual.and_then(|least| {
                let asked = (least, table, seen.quote);
                start_cost(self.checked, &seen.chains, asked, k)
            });
            seen.start.push(found);
        }
        let now = seen.start.first().copied().flatten();
        let still = now.is_some_and(|(_, o)| case.options[o].leaves_fault);
        seen.paid_anyway = if still { seen.quote } else { 0.0 };
        self.keep(levers, table)
    }

    /// W[k] alone, for levers that leave every option and every x(k) as they were weighed last.
    pub fn keep(&mut self, levers: &Levers, table: &Discounts) -> &Weighed {
        let hand = self.checked.case.fault_in_hand;
        let seen = &mut self.seen;
        seen.quote = hand.map_or(0.0, |f| f.quote * levers.quote);
        let wait_replace = hand.map_or(0.0, |f| f.wait_cost_replace);
        let paid = seen.quote + seen.wait_repair;
        let (start, least) = (&seen.start, seen.least_annual.unwrap_or(0.0));
        let own = |k: usize| start.get(k).copied().flatten().map(|(x, _)| x);
        keep_costs(
            self.checked,
            (levers, table, least),
            start,
            own,
            &mut seen.keep,
        );
        let mut best: Option<(usize, f64)> = None;
        for (k, kept) in seen.keep.iter_mut().enumerate() {
            let Some(w) = kept else { continue };
            *w += if k == 0 { wait_replace } else { paid };
            if k > 0 && best.is_none_or(|(_, least)| *w < least) {
                best = Some((k, *w));
            }
        }
        seen.best_keep = best.map(|(k, _)| k);
        seen
    }
}

/// Σ_(i≤H) v^(i−½) (S_i + σ_o) c: pounds in today's money that failures in parts which stay beside option `o` come to over the
/// horizon, whether the unit is kept or replaced with it. They are in no W[k].
pub(crate) fn staying_cost(checked: &CheckedCase, table: &Discounts, o: usize) -> f64 {
    let cost = checked.case.old.fault_cost.mean();
    let years = 0..checked.staying.len();
    years
        .map(|i| table.middle[i] * checked.staying_beside(o, i) * cost)
        .sum()
}

/// W_o[k] of every option alone: the unit kept k more years and then replaced with o, once; what comes after it, and what
/// takes its place if it is lost sooner, as in W[k]. For those who must mind what an option costs on the day. Without the
/// quote and both waits.
pub fn by_option(checked: &CheckedCase, levers: &Levers) -> Vec<Vec<Option<f64>>> {
    let table = Discounts::for_case(checked, levers.rate);
    let (case, weighed) = (&checked.case, weigh_at(checked, levers, &table));
    let least = weighed.least_annual.unwrap_or(0.0);
    let asked = (least, &table, weighed.quote);
    let of = |o: usize| {
        let own = |k: usize| start_of(checked, &weighed.chains, asked, (o, k as u32));
        let mut keep = Vec::new();
        keep_costs(
            checked,
            (levers, &table, least),
            &weighed.start,
            own,
            &mut keep,
        );
        keep
    };
    (0..case.options.len()).map(of).collect()
}

/// W[k] without the quote and both waits, k = 0..H; `own` is x(k) of what replaces it by plan, `start` of what does when
/// it is lost.
///
/// With a share φ > 0 of failures beyond repair, the unit is lost in year i with chance p_i = 1 − e^(−φ m_i), having
/// stood till then with chance S_(i−1) = Π_(j<i) (1 − p_j); it is then replaced at the end of that year at x(i) and the
/// premium e: W[k] = Σ_(i≤k) S_(i−1) (v^(i−½) R_i − A* (annuity(i) − annuity(i−1))) + Σ_(i<k) S_(i−1) p_i v^i (x(i) + e)
/// + S_(k−1) v^k (x(k) + p_k e). φ = 0 gives the definition without it.
fn keep_costs(
    checked: &CheckedCase,
    (levers, table, least): (&Levers, &Discounts, f64),
    start: &[Option<(f64, usize)>],
    own: impl Fn(usize) -> Option<f64>,
    keep: &mut Vec<Option<f64>>,
) {
    let old = &checked.case.old;
    let share = old.write_off_share * levers.write_off;
    let premium = old.write_off_premium;
    let (beyond, inside) = (
        levers.failure(&old.fault_cost),
        old_in_warranty(old, levers),
    );
    let (mut running, mut held, mut stands, mut barred) = (0.0, 0.0, 1.0, false);
    keep.clear();
    keep.push(own(0));
    for (k, open) in start.iter().enumerate().skip(1) {
        let i = k - 1;
        let (fails, going) = (
            checked.faults[i] * levers.faults_old,
            checked.going[i] * levers.faults_old,
        );
        let covered = old.covered(i);
        running += stands
            * table.middle[i]
            * (checked.service[i] * levers.service_old
                + checked.energy[i] * levers.energy
                + checked.other[i]
                + going * (covered * inside + (1.0 - covered) * beyond));
        let lost = if share > 0.0 {
            -(-share * fails).exp_m1()
        } else {
            0.0
        };
        let chain = if share > 0.0 {
            held += stands * (table.annuity[k] - table.annuity[i]);
            held
        } else {
            table.annuity[k]
        };
        let x = open.map(|(x, _)| x).filter(|_| !barred);
        keep.push(
            own(k)
                .filter(|_| !barred)
                .map(|x| running - least * chain + stands * table.end[k] * (x + lost * premium)),
        );
        match x {
            Some(x) => running += stands * lost * table.end[k] * (x + premium),
            // Lost in a year in which nothing can be had: no cost can be named from there on.
            None => barred |= lost > 0.0,
        }
        stands *= 1.0 - lost;
    }
}

/// c_i: what a failure of the old unit costs in year i = `year` + 1.
pub(crate) fn old_failure(old: &OldUnit, year: usize, levers: &Levers) -> f64 {
    let covered = old.covered(year);
    covered * old_in_warranty(old, levers) + (1.0 - covered) * levers.failure(&old.fault_cost)
}

/// What a failure of the old unit costs inside its warranty.
pub(crate) fn old_in_warranty(old: &OldUnit, levers: &Levers) -> f64 {
    let paid = old.warranty_excess + old.fault_cost.disruption * levers.disruption;
    paid.min(levers.failure(&old.fault_cost))
}
