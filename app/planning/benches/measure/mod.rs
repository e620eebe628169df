//! What every bench measures: a case read from its file, seconds, the peak of memory, how time grows with size.
use std::error::Error;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Instant;

/// The arguments a person gave: seconds (where the bench wants them) and files; what cargo adds is left out.
pub fn arguments() -> Vec<String> {
    std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with("--"))
        .collect()
}

/// The cases that are measured where no file is named: those of the repository whose names begin so, by name.
pub fn shipped(begins: &[&str]) -> Result<Vec<String>, Box<dyn Error>> {
    let folder =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/planning/instances");
    let mut files = Vec::new();
    for entry in std::fs::read_dir(&folder)? {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        if begins.iter().any(|start| name.starts_with(start)) {
            files.push(path.display().to_string());
        }
    }
    files.sort();
    if files.is_empty() {
        return Err(format!("no case {begins:?} in {}", folder.display()).into());
    }
    Ok(files)
}

/// Where the plans are to be written, for the scorers beside the cases: `--plans=FOLDER`.
pub fn plans_folder() -> Option<PathBuf> {
    let named = std::env::args().find_map(|a| a.strip_prefix("--plans=").map(PathBuf::from));
    named.filter(|folder| folder.is_dir())
}

/// Writes a plan under its case's name, if a folder was given.
pub fn keep_plan(case: &str, plan: &serde_json::Value) -> Result<(), Box<dyn Error>> {
    let name = Path::new(case).file_name().unwrap_or_default();
    let name = name.to_string_lossy();
    if let Some(folder) = plans_folder() {
        std::fs::write(folder.join(name.trim_end_matches(".gz")), plan.to_string())?;
    }
    Ok(())
}

/// A file's text, unpacked where it ends in .gz.
pub fn text_of(path: &str) -> Result<String, Box<dyn Error>> {
    let mut text = String::new();
    let file = std::fs::File::open(path)?;
    if Path::new(path).extension().is_some_and(|end| end == "gz") {
        flate2::read::GzDecoder::new(file).read_to_string(&mut text)?;
    } else {
        std::io::BufReader::new(file).read_to_string(&mut text)?;
    }
    Ok(text)
}

/// Begins the measuring of memory anew for the next case: what the process holds then is where it starts. Whether the system
/// lets it; where it does not, the peak is that of the whole process so far.
pub fn memory_anew() -> bool {
    std::fs::write("/proc/self/clear_refs", "5").is_ok()
}

/// The most memory this process has held since [`memory_anew`], MB; 0 where the system does not tell.
pub fn peak_mb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM:"));
    line.and_then(|l| l.split_whitespace().nth(1)?.parse::<u64>().ok())
        .unwrap_or(0)
        / 1024
}

/// Seconds since it was made: of the wall, and of the processor (all threads; 0 where the system does not tell).
pub struct Clock {
    begun: Instant,
    used: f64,
    threads: usize,
    by_processor: bool,
}

impl Clock {
    /// Now. With `--cpu` the allowance is counted in seconds of `threads` processors, for a machine shared with
    /// others.
    pub fn now(threads: usize) -> Self {
        Self {
            begun: Instant::now(),
            used: processor_seconds(),
            threads,
            by_processor: std::env::args().any(|a| a == "--cpu"),
        }
    }

    /// Of the wall.
    pub fn wall(&self) -> f64 {
        self.begun.elapsed().as_secs_f64()
    }

    /// Of the processor.
    pub fn processor(&self) -> f64 {
        processor_seconds() - self.used
    }

    /// What counts against the allowance.
    pub fn gone(&self) -> f64 {
        if self.by_processor {
            self.processor() / self.threads as f64
        } else {
            self.wall()
        }
    }
}

/// Seconds of the processor this process has used, in hundredths.
fn processor_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields = stat.rsplit(')').next().unwrap_or_default();
    let ticks: u64 = fields
        .split_whitespace()
        .skip(11)
        .take(2)
        .filter_map(|n| n.parse::<u64>().ok())
        .sum();
    ticks as f64 / 100.0
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

/// Prints the exponent, if there is one, and what it is of.
pub fn say_growth(what: &str, points: &[(f64, f64)]) {
    if let Some(exponent) = growth(points) {
        println!(
            "{what} grows like size to the power of {exponent:.2}, over {} cases",
            points.len()
        );
    }
}
