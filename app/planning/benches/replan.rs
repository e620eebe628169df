//! `cargo bench -p planning --bench replan -- FILE…`: mending a round after a change.
mod measure;

use std::error::Error;
use std::time::Instant;

use measure::{arguments, peak_mb, say_growth, text_of};
use planning::rounds::optimal::audit::audit_moves;
use planning::rounds::optimal::model::Disruption;
use planning::rounds::optimal::replan::replan;

/// Seconds a re-plan may take here; the aim is 2 at 1,000 jobs.
const SECONDS: f64 = 10.0;

fn main() -> Result<(), Box<dyn Error>> {
    let files = arguments();
    if files.is_empty() {
        println!("replan: give the files of the cases; nothing was measured");
    }
    let mut points = Vec::new();
    for file in &files {
        let case: Disruption = serde_json::from_str(&text_of(file)?)?;
        let begun = Instant::now();
        let left = || SECONDS - begun.elapsed().as_secs_f64();
        let mended = replan(&case, 1, &left);
        let took = begun.elapsed().as_secs_f64();
        let (moves, breaches) = audit_moves(&case, &mended.visits);
        points.push((case.instance.jobs.len() as f64, took));
        println!(
            "{file}: {} jobs, {} points (audit {}, {} breaches), at least {}, {} moved, {} swapped, {} left out, {} trials, \
             {took:.2} s, {} MB at the peak",
            case.instance.jobs.len(),
            mended.points,
            moves.points,
            breaches.len(),
            mended.at_least,
            moves.moved.len(),
            moves.swapped.len(),
            moves.left_out,
            mended.trials,
            peak_mb()
        );
    }
    say_growth(&points);
    Ok(())
}
