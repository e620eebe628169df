use planning::programme::optimal::{clash::*, model::*};
fn main() {
    for path in std::env::args().skip(1).filter(|a| a != "--bench") {
        let problem: Problem = serde_json::from_str(&std::fs::read_to_string(&path).unwrap()).unwrap();
        for coarse in [false, true] {
            let t = std::time::Instant::now();
            println!("{path} {coarse} {:?} {:.1}", clash(&problem, coarse, &planning::Unhurried), t.elapsed().as_secs_f64());
        }
    }
}
