//! The track record on real histories, printed: `cargo bench -p dependability --bench rolled -- FOLDER`, FOLDER holding
//! NAME_windows.csv and NAME_events.csv. The rule stands in `histories`.
mod histories;

use std::path::Path;

use histories::{SETS, judged, read};

fn main() {
    let folder = std::env::args()
        .skip(1)
        .find(|a| !a.starts_with("--"))
        .unwrap_or_default();
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
