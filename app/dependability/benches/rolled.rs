//! The track record on real histories, printed: `cargo bench -p dependability --bench rolled -- FOLDER`, FOLDER holding
//! NAME_windows.csv and NAME_events.csv. The rule stands in `dependability::published`. With `--csv` the figures are printed
//! as `app/usecases/data/HISTORIES.csv` holds them.
mod histories;

use std::path::Path;

use dependability::judgement::Judgement;
use dependability::published::{SETS, judged};
use histories::read;

fn main() {
    let folder = std::env::args()
        .skip(1)
        .find(|a| !a.starts_with("--"))
        .unwrap_or_default();
    if std::env::args().any(|a| a == "--csv") {
        for (name, _) in SETS {
            if let Some(found) = read(Path::new(&folder), name).as_deref().and_then(judged) {
                println!("{name},{}", figures(&found));
            }
        }
        return;
    }
    println!(
        "| history | forecasts | failures said, happened | log score: ours, average, age, prior | ours − average (95 %) | ours − age (95 %) | ours − prior (95 %) |"
    );
    println!("|---|---|---|---|---|---|---|");
    for (name, words) in SETS {
        let Some(found) = read(Path::new(&folder), name).as_deref().and_then(judged) else {
            println!("| {words} | not in {folder} | | | | | |");
            continue;
        };
        let s = &found.scores;
        let against: Vec<String> = found
            .against
            .iter()
            .flatten()
            .map(|a| {
                format!(
                    "{:+.3} ({:+.3} to {:+.3}; resampled {:+.3} to {:+.3})",
                    a.mean, a.ci95.0, a.ci95.1, a.bootstrap95.0, a.bootstrap95.1
                )
            })
            .collect();
        println!(
            "| {words} | {} | {:.0}, {} (luck {} to {}) | {:.3}, {:.3}, {:.3}, {:.3} | {} |",
            found.forecasts,
            found.expected,
            found.happened,
            found.luck80.0,
            found.luck80.1,
            s.ours.ln_count,
            s.average.ln_count,
            s.age.ln_count,
            s.prior.ln_count,
            against.join(" | "),
        );
    }
}

/// Forecasts, failures said and happened, range of luck; then each way: mean, interval, resampled interval.
fn figures(found: &Judgement) -> String {
    let mut cells = vec![
        found.forecasts.to_string(),
        format!("{:.2}", found.expected),
        found.happened.to_string(),
        found.luck80.0.to_string(),
        found.luck80.1.to_string(),
    ];
    for a in found.against.iter().flatten() {
        let all = [a.mean, a.ci95.0, a.ci95.1, a.bootstrap95.0, a.bootstrap95.1];
        cells.extend(all.map(|v| format!("{v:.5}")));
    }
    cells.join(",")
}
