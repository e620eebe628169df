//! 80 % intervals over 1,000 fleets (seeds 1 to 1000) at three sizes, printed: `cargo bench -p dependability --bench
//! coverage`. Truth is drawn from the prior; a right interval holds it 80 times in 100.
mod covering;
mod fleets;
mod part_fleets;

use covering::{held, held_parts};
use fleets::Size;

fn main() -> Result<(), dependability::InputError> {
    println!(
        "| units x years | failures, mean | alpha | ln beta | ln theta | units' own rates | fits not converged |"
    );
    println!("|---|---|---|---|---|---|---|");
    for (units, years) in [(40, 3.0), (200, 5.0), (600, 5.0)] {
        let one = held(Size { units, years }, 1000)?;
        let [alpha, beta, theta] = one.parameters.map(|p| 100.0 * p);
        println!(
            "| {units} x {years} | {:.0} | {alpha:.1} % | {beta:.1} % | {theta:.1} % | {:.1} % | {} |",
            one.failures,
            100.0 * one.rates,
            one.not_converged
        );
    }
    println!("\nWith part clocks, as in production; shares drawn from their prior as well");
    println!(
        "| units x years | failures, mean | alpha | ln theta | units' own rates | fits not converged |"
    );
    println!("|---|---|---|---|---|---|");
    for (units, years) in [(40, 3.0), (200, 5.0), (600, 5.0)] {
        let one = held_parts(Size { units, years }, 1000)?;
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
