use planning::rounds::optimal::{audit::*, model::*, solve::*};
use std::io::Read;
use std::time::Instant;
fn main() {
    let args: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| a != "--bench")
        .collect();
    let secs: f64 = args[0].parse().unwrap();
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
        let a = solve(&problem, Settings::default(), &left, &mut |_, _| ());
        let (parts, breaches) = audit(&problem, &a.visits);
        println!(
            "{path} {:?} cost {} audit {} bound {} gap {:.3}% avoidable {:.1}% breaches {} its {} left out {:?} {:.1}s cpu {:.1}",
            a.verdict,
            a.cost,
            parts.objective(),
            a.bound,
            a.gap() * 100.0,
            a.avoidable_gap() * 100.0,
            breaches.len(),
            a.iterations,
            a.left_out,
            begun.elapsed().as_secs_f64(),
            cpu() - c0
        );
    }
}
