//! Milliseconds for a decision pack: the first, and the median of those after it, each with figures and a heading of its own.
use std::time::Instant;

use papers::Papers;
use wording::paper::Paper;

/// A paper is thousands of small pieces, made and let go.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// Papers after the first.
const WARM: usize = 200;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let paper: Paper = serde_json::from_str(include_str!("../tests/packs/flat-22.json"))?;
    let begun = Instant::now();
    let mut papers = Papers::new()?;
    let pdf = papers.set(&paper)?;
    let first = begun.elapsed().as_secs_f64() * 1e3;
    let mut times = Vec::with_capacity(WARM);
    for n in 0..WARM {
        let warm = other(&paper, n)?;
        let begun = Instant::now();
        papers.set(&warm)?;
        times.push(begun.elapsed().as_secs_f64() * 1e3);
    }
    times.sort_by(f64::total_cmp);
    let (median, slowest) = (times[WARM / 2], times[WARM - 1]);
    println!(
        "decision pack, {} bytes: the first {first:.1} ms, {WARM} more {median:.1} ms each (median; slowest {slowest:.1} ms)",
        pdf.len()
    );
    Ok(())
}

/// The same paper with other figures and another heading: what hangs on neither may be remembered from the one before.
fn other(paper: &Paper, n: usize) -> Result<Paper, serde_json::Error> {
    let text = serde_json::to_string(paper)?.replace("£3", &format!("£{}", 4 + n));
    let mut other: Paper = serde_json::from_str(&text)?;
    other.heading = format!("{} Case {n}.", other.heading);
    Ok(other)
}
