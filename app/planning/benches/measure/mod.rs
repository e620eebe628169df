//! What every bench measures: a case read from its file, seconds, the peak of memory, how time grows with size.
use std::error::Error;
use std::io::Read;

/// The arguments a person gave: seconds (where the bench wants them) and files; what cargo adds is left out.
pub fn arguments() -> Vec<String> {
    std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with("--"))
        .collect()
}

/// A file's text, unpacked where it ends in .gz.
pub fn text_of(path: &str) -> Result<String, Box<dyn Error>> {
    let mut text = String::new();
    let file = std::fs::File::open(path)?;
    if path.ends_with(".gz") {
        flate2::read::GzDecoder::new(file).read_to_string(&mut text)?;
    } else {
        std::io::BufReader::new(file).read_to_string(&mut text)?;
    }
    Ok(text)
}

/// The most memory this process has held, MB; 0 where the system does not tell.
pub fn peak_mb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM:"));
    line.and_then(|l| l.split_whitespace().nth(1)?.parse::<u64>().ok())
        .unwrap_or(0)
        / 1024
}

/// The exponent b of seconds = a · size^b that fits best; `None` for fewer than two sizes.
pub fn growth(points: &[(f64, f64)]) -> Option<f64> {
    let logs: Vec<(f64, f64)> = points
        .iter()
        .filter(|(size, seconds)| *size > 0.0 && *seconds > 0.0)
        .map(|(size, seconds)| (size.ln(), seconds.ln()))
        .collect();
    let n = logs.len() as f64;
    let (x, y) = logs
        .iter()
        .fold((0.0, 0.0), |sum, p| (sum.0 + p.0 / n, sum.1 + p.1 / n));
    let spread: f64 = logs.iter().map(|p| (p.0 - x).powi(2)).sum();
    let both: f64 = logs.iter().map(|p| (p.0 - x) * (p.1 - y)).sum();
    (logs.len() > 1 && spread > 0.0).then(|| both / spread)
}

/// Prints the exponent, if there is one.
pub fn say_growth(points: &[(f64, f64)]) {
    if let Some(exponent) = growth(points) {
        println!("time grows like size to the power of {exponent:.2}");
    }
}
