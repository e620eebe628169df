use planning::rounds::optimal::{audit::*, model::*, replan::*};
use std::io::Read;
fn main() {
    for path in std::env::args().skip(1).filter(|a| a != "--bench") {
        let mut text = String::new();
        let file = std::fs::File::open(&path).unwrap();
        if path.ends_with(".gz") {
            flate2::read::GzDecoder::new(file)
                .read_to_string(&mut text)
                .unwrap();
        } else {
            std::io::BufReader::new(file)
                .read_to_string(&mut text)
                .unwrap();
        }
        let case: Disruption = serde_json::from_str(&text).unwrap();
        let t = std::time::Instant::now();
        let left = || 10.0 - t.elapsed().as_secs_f64();
        let mended = replan(&case, 1, &left);
        let (moves, breaches) = audit_moves(&case, &mended.visits);
        println!(
            "{path} points {} at least {} trials {} audit {} moved {} swapped {} out {} breaches {:?} {:.2}s",
            mended.points,
            mended.at_least,
            mended.trials,
            moves.points,
            moves.moved.len(),
            moves.swapped.len(),
            moves.left_out,
            breaches,
            t.elapsed().as_secs_f64()
        );
    }
}
