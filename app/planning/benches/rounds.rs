//! `cargo bench -p planning --bench rounds`: the cases of the repository, ten seconds each; or
//! `cargo bench -p planning --bench rounds -- SECONDS FILE… [--plans=FOLDER] [--cpu]`: the rounds' optimiser on cases, each with at most so many
//! seconds.
mod measure;

use std::error::Error;

use measure::{Clock, arguments, keep_plan, memory_anew, peak_mb, say_growth, shipped, text_of};
use planning::rounds::optimal::audit::audit;
use planning::rounds::optimal::model::Problem;
use planning::rounds::optimal::solve::{Settings, solve};

/// Seconds for each case where none are named.
const SECONDS: f64 = 10.0;

fn main() -> Result<(), Box<dyn Error>> {
    let mut files = arguments();
    let seconds = if files.is_empty() {
        files = shipped(&["rt", "rs", "published-tour"])?;
        SECONDS
    } else {
        files.remove(0).parse()?
    };
    let mut points = Vec::new();
    for file in &files {
        let problem: Problem = serde_json::from_str(&text_of(file)?)?;
        let own = memory_anew();
        let clock = Clock::now(1);
        let left = || seconds - clock.gone();
        let answer = solve(&problem, Settings::default(), &left, &mut |_, _| ());
        let (took, used) = (clock.wall(), clock.processor());
        keep_plan(
            file,
            &serde_json::json!({"schema": "rounds-solution-1", "visits": answer.visits}),
        )?;
        let (parts, breaches) = audit(&problem, &answer.visits);
        points.push((
            problem.jobs.len() as f64,
            used / answer.iterations.max(1) as f64,
        ));
        println!(
            "{file}: {} jobs, {:?}, cost {} (audit {}, {} breaches), bound {}, gap {:.3} %, of the avoidable part {:.1} %, \
             {} left out, {} iterations, {took:.1} s ({used:.1} s of the processor), {} MB at the peak{}",
            problem.jobs.len(),
            answer.verdict,
            answer.cost,
            parts.objective(),
            breaches.len(),
            answer.bound,
            answer.gap() * 100.0,
            answer.avoidable_gap() * 100.0,
            answer.left_out.len(),
            answer.iterations,
            peak_mb(),
            if own { "" } else { " of all so far" }
        );
    }
    // Of one iteration: the whole takes the seconds it is given.
    say_growth("processor time of one iteration", &points);
    Ok(())
}
