//! `cargo bench -p planning --bench programme -- SECONDS FILE… [--plans=FOLDER] [--cpu]`: the programme's optimiser on cases, each with at most so
//! many seconds. A case is an instance of the reference folder, or one made by its recipe.
mod measure;

use std::error::Error;

use measure::{Clock, arguments, keep_plan, peak_mb, say_growth, text_of};
use planning::programme::optimal::audit::audit;
use planning::programme::optimal::model::{Plan, Problem};
use planning::programme::optimal::solve::solve;
use planning::programme::optimal::{Settings, Verdict};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = arguments();
    let Some((seconds, files)) = arguments.split_first() else {
        println!("programme: give the seconds for each case and its files; nothing was measured");
        return Ok(());
    };
    let seconds: f64 = seconds.parse()?;
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let mut points = Vec::new();
    for file in files {
        let problem: Problem = serde_json::from_str(&text_of(file)?)?;
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
             {:.2} %, {took:.1} s ({used:.1} s of the processor), {} MB at the peak",
            problem.units.len(),
            answer.verdict,
            answer.cost,
            breaches.len(),
            answer.bound,
            answer.gap() * 100.0,
            answer.avoidable_gap() * 100.0,
            peak_mb()
        );
    }
    say_growth(&points);
    Ok(())
}
