//! `cargo bench -p costing --bench advice -- UNITS`: advice for so many units on every core there is, and for one alone.
//! The aims are 30 s for 100,000 units on two cores, and 20 ms for one.
use std::error::Error;
use std::time::{Duration, Instant};

use costing::{
    DecisionCase, Failures, FaultCost, FaultInHand, OldUnit, ReplacementOption, Yearly, advise,
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
    };
    let first = 0.05 + 0.9 * part(101);
    DecisionCase {
        rate: 0.035,
        horizon: 10,
        old: OldUnit {
            faults: Yearly::Each((0..10).map(|i| first * 1.05_f64.powi(i)).collect()),
            service: Yearly::Same(105.0),
            energy: Yearly::default(),
            other: Yearly::default(),
            frailty_var: 0.05 + part(13),
            fault_cost,
            write_off_share: 0.03,
            write_off_premium: 350.0,
        },
        options: vec![
            option("like", 2_400.0 + 900.0 * part(29), 8.6),
            option("electric", 2_650.0, 11.0),
            option("store", 4_350.0, 9.5),
        ],
        fault_in_hand: (n % 3 == 0)
            .then(|| FaultInHand::new(Pence(9_000 + (n % 601) as i64 * 100), 15.0, 40.0)),
    }
}

/// Advice for units `from`, `from + step`, … below `units`; how many are advised to be replaced, and the slowest one.
fn share(from: usize, step: usize, units: usize) -> Result<(usize, Duration), costing::CaseError> {
    let (mut replaced, mut slowest) = (0, Duration::ZERO);
    for n in (from..units).step_by(step) {
        let begun = Instant::now();
        let advice = advise(&unit(n).checked()?);
        slowest = slowest.max(begun.elapsed());
        replaced += usize::from(advice.decision == costing::Decision::Replace);
    }
    Ok((replaced, slowest))
}

fn main() -> Result<(), Box<dyn Error>> {
    let units: usize = std::env::args()
        .skip(1)
        .find_map(|word| word.parse().ok())
        .unwrap_or(2_000);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let begun = Instant::now();
    let told = std::thread::scope(|scope| {
        let working: Vec<_> = (0..threads)
            .map(|from| scope.spawn(move || share(from, threads, units)))
            .collect();
        working
            .into_iter()
            .map(|one| one.join().map_err(|_| "a thread broke off".to_owned()))
            .collect::<Vec<_>>()
    });
    let took = begun.elapsed().as_secs_f64();
    let (mut replaced, mut slowest) = (0, Duration::ZERO);
    for one in told {
        let (count, slow) = one??;
        replaced += count;
        slowest = slowest.max(slow);
    }
    println!(
        "{units} units on {threads} threads: {took:.2} s, {:.2} ms each; the slowest {:.2} ms; {replaced} to replace; \
         100,000 would take {:.0} s",
        took * 1e3 / units as f64,
        slowest.as_secs_f64() * 1e3,
        took * 1e5 / units as f64
    );
    Ok(())
}
