//! Options, each kept for its best life again and again; what starting one in a later year costs.
use crate::case::{CheckedCase, ReplacementOption};
use crate::rates::Discounts;
use crate::weigh::Levers;

/// Within this two amounts count as equal (pounds).
const TIE: f64 = 1e-12;

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

/// R_i of option `o` for i = 1..life_max, under the levers.
pub(crate) fn running_of<'a>(
    checked: &'a CheckedCase,
    o: usize,
    levers: &'a Levers,
) -> impl Iterator<Item = f64> + 'a {
    let (option, spread) = (&checked.case.options[o], &checked.options[o]);
    let beyond = levers.failure(&option.fault_cost);
    let inside = in_warranty(option, levers);
    let staying = spread.stays * levers.faults_old * levers.failure(&checked.case.old.fault_cost);
    (0..option.life_max as usize).map(move |i| {
        let covered = i < option.warranty_years as usize;
        let failure = if covered { inside } else { beyond };
        spread.service[i]
            + spread.energy[i] * levers.energy
            + spread.faults[i] * levers.faults_new * failure
            + staying
    })
}

/// What a failure in warranty costs.
pub(crate) fn in_warranty(option: &ReplacementOption, levers: &Levers) -> f64 {
    option.warranty_excess + option.fault_cost.disruption * levers.disruption
}

/// K = capex + install_disruption.
pub(crate) fn first_cost(option: &ReplacementOption, levers: &Levers) -> f64 {
    option.capex * levers.capex + option.install_disruption * levers.disruption
}

/// The first n within [`TIE`] of the least A(n); `series` is room to count in.
pub(crate) fn best_chain(
    checked: &CheckedCase,
    o: usize,
    (levers, table): (&Levers, &Discounts),
    series: &mut Vec<(f64, f64)>,
) -> Chain {
    let option = &checked.case.options[o];
    let mut spent = first_cost(option, levers);
    series.clear();
    for (i, running) in running_of(checked, o, levers).enumerate() {
        spent += table.middle[i] * running;
        let present = spent + table.end[i + 1] * option.disposal;
        series.push((present / table.annuity[i + 1], present));
    }
    let least = series.iter().map(|(a, _)| *a).fold(f64::INFINITY, f64::min);
    let first = series
        .iter()
        .position(|(a, _)| *a <= least + TIE)
        .unwrap_or(0);
    let (annual, present) = series.get(first).copied().unwrap_or((0.0, 0.0));
    let life = first as u32 + 1;
    Chain {
        life,
        annual,
        present,
    }
}

/// x(k): the least x_o(k) and its option, the first listed on a tie.
pub(crate) fn start_cost(
    checked: &CheckedCase,
    chains: &[Chain],
    asked: (f64, &Discounts, f64),
    k: u32,
) -> Option<(f64, usize)> {
    let mut best: Option<(f64, usize)> = None;
    for o in 0..chains.len() {
        if let Some(x) = start_of(checked, chains, asked, (o, k))
            && best.is_none_or(|(least_x, _)| x < least_x - TIE)
        {
            best = Some((x, o));
        }
    }
    best
}

/// x_o(k) of option `o` beside a chain at `least`; `quote` is the repair as weighed. `None` where it cannot be had.
pub(crate) fn start_of(
    checked: &CheckedCase,
    chains: &[Chain],
    (least, table, quote): (f64, &Discounts, f64),
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
        if option.leaves_fault {
            x += quote;
        }
    }
    Some(x)
}
