use planning::programme::optimal::{Settings, audit::*, model::*, solve::*};
use std::io::Read;
use std::time::Instant;
fn main() {
    let args: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| a != "--bench")
        .collect();
    let secs: f64 = args[0].parse().unwrap();
    let threads = std::env::var("THREADS")
        .ok()
        .and_then(|v| v.parse().ok())
        .unwrap_or(1);
    for path in &args[1..] {
        let mut text = String::new();
        let file = std::fs::File::open(path).unwrap();
        if path.ends_with(".gz") {
            flate2::read::GzDecoder::new(file)
                .read_to_string(&mut text)
                .unwrap();
        } else {
            std::io::BufReader::new(file)
                .read_to_string(&mut text)
                .unwrap();
        }
        let problem: Problem = serde_json::from_str(&text).unwrap();
        let begun = Instant::now();
        let cpu = || {
            let s = std::fs::read_to_string("/proc/self/stat").unwrap();
            let f: Vec<&str> = s.split(' ').collect();
            (f[13].parse::<f64>().unwrap() + f[14].parse::<f64>().unwrap()) / 100.0
        };
        let c0 = cpu();
        let left = || secs - begun.elapsed().as_secs_f64();
        let answer = solve(
            &problem,
            Settings {
                threads,
                ..Settings::default()
            },
            &left,
        );
        let (cost, breaches) = audit(&problem, answer.plan.as_ref().unwrap_or(&Plan::new()));
        println!(
            "{path} {:?} cost {} audit {cost} bound {} gap {:.4}% avoidable {:.2}% breaches {} {:.1}s cpu {:.1}",
            answer.verdict,
            answer.cost,
            answer.bound,
            answer.gap() * 100.0,
            answer.avoidable_gap() * 100.0,
            breaches.len(),
            begun.elapsed().as_secs_f64(),
            cpu() - c0
        );
    }
}
