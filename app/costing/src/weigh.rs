//! The comparison itself: for every k, repair now, keep k more years and then replace, against
//! replacing now, over an endless chain of replacements.
//!
//! With c the mean cost of a failure (excess + disruption in warranty), for option o:
//! R_i = service_i + energy_i + failures_i c_i, K = capex + install_disruption,
//! PV(n) = K + Σ_{i≤n} v^(i−½) R_i + v^n disposal, A(n) = PV(n)/annuity(n), n* the first n within
//! 1e-12 of the least. A* is the least A(n*) of all options. Starting o at the end of year k costs,
//! relative to a chain at A*: x_o(k) = (A_o − A*)/r − grant (k ≤ grant_to) + premium (k = 0).
//! A share of failures beyond repair is reckoned with in [`keep_costs`]. v^k, v^(i−½), annuity(k) and 1/r are those of one
//! rate; with rates of later years [`crate::rates`] says what stands in their place.
//!
//! The old unit's own warranty, w years from now: with f_i = min(1, max(0, w − (i − 1))) the share of year i inside it and
//! d the disruption of a failure (pounds), one failure of year i costs c_i = f_i min(c, excess + d) + (1 − f_i) c, so that
//! R_i^old = service_i + energy_i + other_i + failures_i c_i. w = 0 is the definition without it. A failure beyond repair ends
//! the unit in warranty, too (ours, no source: few makers fit a whole new unit).
use crate::case::{CheckedCase, FaultCost, OldUnit, ReplacementOption};
use crate::rates::Discounts;

/// Within this two amounts count as equal (pounds).
const TIE: f64 = 1e-12;

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
    fn failure(&self, cost: &FaultCost) -> f64 {
        FaultCost {
            repair_mean: cost.repair_mean * self.repair_price,
            emergency_premium: cost.emergency_premium * self.emergency_premium,
            disruption: cost.disruption * self.disruption,
            ..*cost
        }
        .mean()
    }
}

/// An option kept for its best life, again and again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chain {
    /// n*, years.
    pub life: u32,
    /// A(n*), pounds a year.
    pub annual: f64,
    /// PV(n*), pounds.
    pub present: f64,
}

/// The outcome of one comparison.
#[derive(Clone, Debug, PartialEq)]
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
        let first = self.start.first()?.map(|(x, _)| x);
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
    let case = &checked.case;
    let h = case.horizon;
    let chains: Vec<Chain> = (0..case.options.len())
        .map(|o| best_chain(checked, o, levers, table))
        .collect();
    let least_annual = chains.iter().map(|c| c.annual).reduce(f64::min);
    let start: Vec<Option<(f64, usize)>> = (0..=h)
        .map(|k| least_annual.and_then(|least| start_cost(checked, &chains, (least, table), k)))
        .collect();
    let hand = case.fault_in_hand;
    let quote = hand.map_or(0.0, |f| f.quote * levers.quote);
    let wait_repair = hand.map_or(0.0, |f| f.wait_cost_repair);
    let wait_replace = hand.map_or(0.0, |f| f.wait_cost_replace);
    let paid = quote + wait_repair;
    let keep = keep_costs(
        checked,
        levers,
        (table, least_annual.unwrap_or(0.0)),
        &start,
        &start.iter().map(|s| s.map(|(x, _)| x)).collect::<Vec<_>>(),
    );
    let keep: Vec<Option<f64>> = (0..)
        .zip(keep)
        .map(|(k, w)| w.map(|w| w + if k == 0 { wait_replace } else { paid }))
        .collect();
    let mut best: Option<(usize, f64)> = None;
    for (k, kept) in keep.iter().enumerate().skip(1) {
        if let Some(w) = *kept
            && best.is_none_or(|(_, least)| w < least)
        {
            best = Some((k, w));
        }
    }
    Weighed {
        chains,
        least_annual,
        start,
        keep,
        best_keep: best.map(|(k, _)| k),
        quote,
        wait_repair,
    }
}

/// W_o[k] of every option alone: the unit kept k more years and then replaced with o, once; what comes after it, and what
/// takes its place if it is lost sooner, as in W[k]. For those who must mind what an option costs on the day. Without the
/// quote and both waits.
pub fn by_option(checked: &CheckedCase, levers: &Levers) -> Vec<Vec<Option<f64>>> {
    let table = Discounts::for_case(checked, levers.rate);
    let (case, weighed) = (&checked.case, weigh_at(checked, levers, &table));
    let least = weighed.least_annual.unwrap_or(0.0);
    let of = |o: usize| {
        let own: Vec<Option<f64>> = (0..=case.horizon)
            .map(|k| start_of(checked, &weighed.chains, (least, &table), (o, k)))
            .collect();
        keep_costs(checked, levers, (&table, least), &weighed.start, &own)
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
    levers: &Levers,
    (table, least): (&Discounts, f64),
    start: &[Option<(f64, usize)>],
    own: &[Option<f64>],
) -> Vec<Option<f64>> {
    let old = &checked.case.old;
    let share = old.write_off_share * levers.write_off;
    let premium = old.write_off_premium;
    let (mut running, mut held, mut stands, mut barred) = (0.0, 0.0, 1.0, false);
    let mut keep = vec![own.first().copied().flatten()];
    for (k, open) in start.iter().enumerate().skip(1) {
        let i = k - 1;
        let fails = checked.faults[i] * levers.faults_old;
        running += stands
            * table.middle[i]
            * (checked.service[i] * levers.service_old
                + checked.energy[i] * levers.energy
                + checked.other[i]
                + fails * old_failure(old, i, levers));
        let lost = -(-share * fails).exp_m1();
        let chain = if share > 0.0 {
            held += stands * (table.annuity[k] - table.annuity[i]);
            held
        } else {
            table.annuity[k]
        };
        let x = open.map(|(x, _)| x).filter(|_| !barred);
        keep.push(
            own.get(k)
                .copied()
                .flatten()
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
    keep
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

/// R_i of option `o` for i = 1..life_max, under the levers.
pub(crate) fn running_of(checked: &CheckedCase, o: usize, levers: &Levers) -> Vec<f64> {
    let (option, spread) = (&checked.case.options[o], &checked.options[o]);
    let beyond = levers.failure(&option.fault_cost);
    let inside = in_warranty(option, levers);
    (0..option.life_max as usize)
        .map(|i| {
            let covered = i < option.warranty_years as usize;
            let failure = if covered { inside } else { beyond };
            spread.service[i]
                + spread.energy[i] * levers.energy
                + spread.faults[i] * levers.faults_new * failure
        })
        .collect()
}

/// What a failure in warranty costs.
pub(crate) fn in_warranty(option: &ReplacementOption, levers: &Levers) -> f64 {
    option.warranty_excess + option.fault_cost.disruption * levers.disruption
}

/// K = capex + install_disruption.
pub(crate) fn first_cost(option: &ReplacementOption, levers: &Levers) -> f64 {
    option.capex * levers.capex + option.install_disruption * levers.disruption
}

fn best_chain(checked: &CheckedCase, o: usize, levers: &Levers, table: &Discounts) -> Chain {
    let option = &checked.case.options[o];
    let mut spent = first_cost(option, levers);
    let mut all = Vec::with_capacity(option.life_max as usize);
    for (i, running) in running_of(checked, o, levers).into_iter().enumerate() {
        spent += table.middle[i] * running;
        let present = spent + table.end[i + 1] * option.disposal;
        all.push((present / table.annuity[i + 1], present));
    }
    let least = all.iter().map(|(a, _)| *a).fold(f64::INFINITY, f64::min);
    let first = all.iter().position(|(a, _)| *a <= least + TIE).unwrap_or(0);
    let (annual, present) = all.get(first).copied().unwrap_or((0.0, 0.0));
    let life = first as u32 + 1;
    Chain {
        life,
        annual,
        present,
    }
}

/// x(k): the least x_o(k) and its option, the first listed on a tie.
fn start_cost(
    checked: &CheckedCase,
    chains: &[Chain],
    (least, table): (f64, &Discounts),
    k: u32,
) -> Option<(f64, usize)> {
    let mut best: Option<(f64, usize)> = None;
    for o in 0..chains.len() {
        if let Some(x) = start_of(checked, chains, (least, table), (o, k))
            && best.is_none_or(|(least_x, _)| x < least_x - TIE)
        {
            best = Some((x, o));
        }
    }
    best
}

/// x_o(k) of option `o`; `None` where it cannot be had.
pub(crate) fn start_of(
    checked: &CheckedCase,
    chains: &[Chain],
    (least, table): (f64, &Discounts),
    (o, k): (usize, u32),
) -> Option<f64> {
    let (option, chain) = (checked.case.options.get(o)?, chains.get(o)?);
    let dearer = chain.annual - least;
    let late = option.to.is_some_and(|last| k > last);
    if k < option.from || late {
        return None;
    }
    let mut x = match table.for_ever(dearer, k as usize) {
        Some(x) => x,
        None if dearer > TIE => return None,
        None => 0.0,
    };
    if option.grant_to.is_none_or(|last| k <= last) {
        x -= option.grant;
    }
    if k == 0 {
        x += option.unplanned_premium;
    }
    Some(x)
}
