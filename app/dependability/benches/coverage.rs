//! 80 % intervals over 1,000 fleets (seeds 1 to 1000) at three sizes, printed: `cargo bench -p dependability --bench
//! coverage [-- FLEETS] [--buildings]`, with another number of fleets if one is given, the model with effects of buildings
//! alone if that is asked. Truth is drawn from the prior; a right interval holds it 80 times in 100.
mod covering;
mod fleets;
mod part_fleets;

use covering::{held, held_in_buildings, held_parts};
use fleets::Size;

const SIZES: [(usize, f64); 3] = [(40, 3.0), (200, 5.0), (600, 5.0)];

fn main() -> Result<(), dependability::InputError> {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    let fleets = asked.iter().find_map(|a| a.parse().ok()).unwrap_or(1000);
    if !asked.iter().any(|a| a == "--buildings") {
        one_kind(fleets)?;
        parts(fleets)?;
    }
    buildings(fleets)
}

fn one_kind(fleets: u64) -> Result<(), dependability::InputError> {
    println!(
        "| units x years | failures, mean | alpha | ln beta | ln theta | units' own rates | fits not converged |"
    );
    println!("|---|---|---|---|---|---|---|");
    for (units, years) in SIZES {
        let one = held(Size { units, years }, fleets)?;
        let [alpha, beta, theta] = one.parameters.map(|p| 100.0 * p);
        println!(
            "| {units} x {years} | {:.0} | {alpha:.1} % | {beta:.1} % | {theta:.1} % | {:.1} % | {} |",
            one.failures,
            100.0 * one.rates,
            one.not_converged
        );
    }
    Ok(())
}

fn parts(fleets: u64) -> Result<(), dependability::InputError> {
    println!("\nWith part clocks, as in production; shares drawn from their prior as well");
    println!(
        "| units x years | failures, mean | alpha | ln theta | units' own rates | fits not converged |"
    );
    println!("|---|---|---|---|---|---|");
    for (units, years) in SIZES {
        let one = held_parts(Size { units, years }, fleets)?;
        let [alpha, _, theta] = one.parameters.map(|p| 100.0 * p);
        println!(
            "| {units} x {years} | {:.0} | {alpha:.1} % | {theta:.1} % | {:.1} % | {} |",
            one.failures,
            100.0 * one.rates,
            one.not_converged
        );
    }
    Ok(())
}

fn buildings(fleets: u64) -> Result<(), dependability::InputError> {
    println!(
        "\nWith part clocks and an effect of each building of ten units (M4 with M2 over it), as production fits them but for the calendar year; {fleets} fleets, seeds 1 to {fleets}"
    );
    println!(
        "| units x years | failures, mean | alpha | ln theta | ln tau | units' own rates, where they stand | fits not converged |"
    );
    println!("|---|---|---|---|---|---|---|");
    for (units, years) in SIZES {
        let (one, tau) = held_in_buildings(Size { units, years }, fleets)?;
        let [alpha, _, theta] = one.parameters.map(|p| 100.0 * p);
        println!(
            "| {units} x {years} | {:.0} | {alpha:.1} % | {theta:.1} % | {:.1} % | {:.1} % | {} |",
            one.failures,
            100.0 * tau,
            100.0 * one.rates,
            one.not_converged
        );
    }
    Ok(())
}
