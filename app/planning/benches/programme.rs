//! `cargo bench -p planning --bench programme`: the cases of the repository, ten seconds each; or
//! `cargo bench -p planning --bench programme -- SECONDS FILE… [--plans=FOLDER] [--cpu]`: the programme's optimiser on cases, each with at most so
//! many seconds. A case is an instance of the reference folder, or one made by its recipe.
mod measure;

use std::error::Error;

use measure::{Clock, arguments, keep_plan, memory_anew, peak_mb, say_growth, shipped, text_of};
use planning::programme::optimal::audit::audit;
use planning::programme::optimal::model::{Plan, Problem};
use planning::programme::optimal::solve::solve;
use planning::programme::optimal::{Settings, Verdict};

/// Seconds for each case where none are named.
const SECONDS: f64 = 10.0;

fn main() -> Result<(), Box<dyn Error>> {
    let mut files = arguments();
    let seconds = if files.is_empty() {
        files = shipped(&["pt", "ps", "published-knapsack"])?;
        SECONDS
    } else {
        files.remove(0).parse()?
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let mut points = Vec::new();
    for file in &files {
        let problem: Problem = serde_json::from_str(&text_of(file)?)?;
        let own = memory_anew();
        let clock = Clock::now(threads);
        let left = || seconds - clock.gone();
        let settings = Settings {
            threads,
            ..Settings::default()
        };
        let answer = solve(&problem, settings, &left);
        let (took, used) = (clock.wall(), clock.processor());
        keep_plan(
            file,
            &serde_json::json!({"schema": "programme-solution-1", "plan": answer.plan}),
        )?;
        let (cost, breaches) = audit(&problem, answer.plan.as_ref().unwrap_or(&Plan::new()));
        if answer.verdict == Verdict::Optimal {
            points.push((problem.units.len() as f64, used));
        }
        println!(
            "{file}: {} units, {:?}, cost {} (audit {cost}, {} breaches), bound {}, gap {:.4} %, of the avoidable part \
             {:.2} %, {took:.1} s ({used:.1} s of the processor), {} MB at the peak{}",
            problem.units.len(),
            answer.verdict,
            answer.cost,
            breaches.len(),
            answer.bound,
            answer.gap() * 100.0,
            answer.avoidable_gap() * 100.0,
            peak_mb(),
            if own { "" } else { " of all so far" }
        );
    }
    say_growth("processor time to a proven plan", &points);
    Ok(())
}
