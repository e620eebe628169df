//! What issue 5 asks of time, memory and growth, and one line a limit that says whether it is kept.

/// Seconds of M1 over a million units, fit and forecast.
pub const M1_SECONDS: f64 = 20.0;
/// Its most memory, MiB.
pub const M1_MEMORY: f64 = 2048.0;
/// Seconds of M4 at 100,000 units.
pub const M4_SECONDS: f64 = 60.0;
/// Growth exponent of each.
pub const MOST_GROWTH: f64 = 1.1;

/// What the processes of one model measured.
pub struct Measured {
    /// Units and seconds, by size; empty where a size did not end.
    pub points: Vec<(f64, f64)>,
    /// MiB of the last.
    pub memory: f64,
    /// Slope of ln seconds against ln units.
    pub growth: f64,
}

impl Measured {
    /// Seconds at the largest size.
    pub fn seconds_at_last(&self) -> f64 {
        self.points.last().map_or(f64::NAN, |p| p.1)
    }
}

/// Says whether a figure keeps its limit; one that could not be had keeps none.
pub fn at_most(what: &str, measured: f64, limit: f64, unit: &str) {
    let kept = measured > 0.0 && measured <= limit;
    println!(
        "verdict: {what}: {measured:.2}{unit}, at most {limit}{unit}: {}",
        if kept { "kept" } else { "NOT KEPT" }
    );
}
