//! `cargo bench -p costing --bench advice -- UNITS`: of so many units on two threads the courses, as the programme and the
//! list of advice need them, and the whole advice with its chance, its doubts and what would turn it; then the whole advice
//! of one alone with its drawings, as a page needs it. The aims are 30 s for 100,000 units on two cores, and 20 ms for one.
use std::error::Error;
use std::time::Instant;

use costing::advice::Closeness;
use costing::weigh::{Levers, weigh};
use costing::{
    CaseError, DecisionCase, Failures, FaultCost, FaultInHand, OldUnit, RateSchedule,
    ReplacementOption, Yearly, advise, advise_undrawn,
};
use terms::Pence;

/// The `n`th of units that differ in how often they fail, in their doubt, price and quote; like a combi boiler with a
/// like-for-like option and two others.
fn unit(n: usize) -> DecisionCase {
    let part = |every: usize| (n % every) as f64 / every as f64;
    let fault_cost = FaultCost {
        repair_mean: 180.0 + 200.0 * part(17),
        repair_cv: 0.35,
        emergency_share: 0.15,
        emergency_premium: 110.0,
        disruption: 20.0,
    };
    let option = |code: &str, capex: f64, level: f64| ReplacementOption {
        code: code.to_owned(),
        capex,
        install_disruption: 50.0,
        life_max: 18,
        failures: Failures::PowerLaw {
            theta: level,
            beta: 1.45,
        },
        warranty_years: 7,
        warranty_excess: 0.0,
        service: Yearly::Same(105.0),
        energy: Yearly::default(),
        disposal: 0.0,
        fault_cost,
        grant: 0.0,
        grant_to: None,
        unplanned_premium: 0.0,
        from: 0,
        to: None,
        stays: 0.0,
        leaves_fault: false,
    };
    let first = 0.05 + 0.9 * part(101);
    let (rate, later) = RateSchedule::default()
        .first_and_later()
        .unwrap_or((0.035, Vec::new()));
    DecisionCase {
        rate,
        later,
        horizon: 10,
        old: OldUnit {
            faults: Yearly::Each((0..10).map(|i| first * 1.05_f64.powi(i)).collect()),
            service: Yearly::Same(105.0),
            energy: Yearly::default(),
            other: Yearly::default(),
            frailty_var: 0.05 + part(13),
            fault_cost,
            write_off_share: 0.03,
            write_off_range: Some((0.003, 0.069)),
            write_off_premium: 350.0,
            warranty_years: 0.0,
            warranty_excess: 0.0,
            stays: Yearly::default(),
        },
        options: vec![
            option("like", 2_400.0 + 900.0 * part(29), 8.6),
            option("electric", 2_650.0, 11.0),
            option("store", 4_350.0, 9.5),
        ],
        fault_in_hand: n
            .is_multiple_of(3)
            .then(|| FaultInHand::new(Pence(9_000 + (n % 601) as i64 * 100), 15.0, 40.0)),
    }
}

/// Courses of units `from`, `from + step`, … below `units`: how many are better replaced now.
fn share(from: usize, step: usize, units: usize) -> Result<usize, CaseError> {
    let mut replaced = 0;
    for n in (from..units).step_by(step) {
        let weighed = weigh(&unit(n).checked()?, &Levers::default());
        replaced += usize::from(weighed.advantage().is_some_and(|pounds| pounds > 0.0));
    }
    Ok(replaced)
}

/// Seconds for the whole advice of one unit, with its chance and its doubts, its drawings where they are asked for.
fn whole(n: usize, drawn: bool) -> Result<f64, CaseError> {
    let checked = unit(n).checked()?;
    let begun = Instant::now();
    let advice = if drawn {
        advise(&checked)
    } else {
        advise_undrawn(&checked, &Closeness::default())
    };
    let took = begun.elapsed().as_secs_f64();
    Ok(if advice.best_keep.is_some() {
        took
    } else {
        f64::INFINITY
    })
}

/// Whole advices of units `from`, `from + step`, … below `units`: seconds each took.
fn wholes(from: usize, step: usize, units: usize) -> Result<Vec<f64>, CaseError> {
    let every = (from..units).step_by(step);
    every.map(|n| whole(n, false)).collect()
}

/// Does `work` on [`THREADS`] threads, each from its own unit on.
fn on_threads<T: Send>(
    work: impl Fn(usize) -> Result<T, CaseError> + Sync,
) -> Result<(f64, Vec<T>), Box<dyn Error>> {
    let begun = Instant::now();
    let told: Vec<_> = std::thread::scope(|scope| {
        let work = &work;
        let working: Vec<_> = (0..THREADS)
            .map(|from| scope.spawn(move || work(from)))
            .collect();
        working
            .into_iter()
            .map(std::thread::ScopedJoinHandle::join)
            .collect()
    });
    let took = begun.elapsed().as_secs_f64();
    let mut all = Vec::new();
    for one in told {
        all.push(one.map_err(|broken| format!("a thread broke off: {broken:?}"))??);
    }
    Ok((took, all))
}

/// What the aims are stated for.
const THREADS: usize = 2;

fn main() -> Result<(), Box<dyn Error>> {
    let units: usize = std::env::args()
        .skip(1)
        .find_map(|word| word.parse().ok())
        .unwrap_or(100_000);
    let (took, replaced) = on_threads(|from| share(from, THREADS, units))?;
    println!(
        "courses, limits and best years of {units} units on {THREADS} threads: {took:.2} s, {:.1} µs each; {} better \
         replaced now",
        took * 1e6 / units as f64,
        replaced.iter().sum::<usize>()
    );
    let (took, seconds) = on_threads(|from| wholes(from, THREADS, units))?;
    let mut seconds: Vec<f64> = seconds.into_iter().flatten().collect();
    seconds.sort_by(f64::total_cmp);
    let median = seconds.get(seconds.len() / 2).copied().unwrap_or_default();
    println!(
        "the whole advice of {units} units on {THREADS} threads, undrawn: {took:.1} s; half within {:.3} ms, the slowest {:.1} ms",
        median * 1e3,
        seconds.last().copied().unwrap_or_default() * 1e3
    );
    let mut alone: Vec<f64> = (0..50).map(|n| whole(n, true)).collect::<Result<_, _>>()?;
    alone.sort_by(f64::total_cmp);
    let at = |share: usize| {
        alone
            .get(alone.len() * share / 100)
            .copied()
            .unwrap_or_default()
            * 1e3
    };
    println!(
        "the whole advice of one unit with its drawings, 50 tried: half within {:.2} ms, 9 in 10 within {:.2} ms, the slowest {:.2} ms",
        at(50),
        at(90),
        at(99)
    );
    Ok(())
}
