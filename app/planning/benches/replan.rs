//! `cargo bench -p planning --bench replan`: the cases of the repository; or
//! `cargo bench -p planning --bench replan -- FILE… [--plans=FOLDER] [--cpu]`: mending a round after a change.
mod measure;

use std::error::Error;

use measure::{Clock, arguments, keep_plan, memory_anew, peak_mb, say_growth, shipped, text_of};
use planning::rounds::optimal::audit_moves::audit_moves;
use planning::rounds::optimal::model::Disruption;
use planning::rounds::optimal::replan::replan;

/// Seconds a re-plan may take here; the aim is 2 at 1,000 jobs.
const SECONDS: f64 = 10.0;

fn main() -> Result<(), Box<dyn Error>> {
    let mut files = arguments();
    if files.is_empty() {
        files = shipped(&["rp"])?;
    }
    let mut points = Vec::new();
    for file in &files {
        let case: Disruption = serde_json::from_str(&text_of(file)?)?;
        let own = memory_anew();
        let clock = Clock::now(1);
        let left = || SECONDS - clock.gone();
        let mended = replan(&case, 1, &left);
        let (took, used) = (clock.wall(), clock.processor());
        keep_plan(
            file,
            &serde_json::json!({"schema": "rounds-solution-1", "visits": mended.visits}),
        )?;
        let (moves, breaches) = audit_moves(&case, &mended.visits);
        points.push((case.instance.jobs.len() as f64, used));
        println!(
            "{file}: {} jobs, {} points (audit {}, {} breaches), at least {}, {} moved, {} swapped, {} left out, {} trials, \
             {took:.2} s ({used:.2} s of the processor), {} MB at the peak{}",
            case.instance.jobs.len(),
            mended.points,
            moves.points,
            breaches.len(),
            mended.at_least,
            moves.moved.len(),
            moves.swapped.len(),
            moves.left_out,
            mended.trials,
            peak_mb(),
            if own { "" } else { " of all so far" }
        );
    }
    say_growth("processor time", &points);
    Ok(())
}
