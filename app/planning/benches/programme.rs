use std::io::Read;
use planning::programme::optimal::{estate::Estate, model::*, outcome::*, whole::*};
use planning::solver::Effort;
use std::time::Instant;
fn main() {
    let args: Vec<String> = std::env::args().skip(1).filter(|a| a != "--bench").collect();
    let secs: f64 = args[0].parse().unwrap();
    for path in &args[1..] {
        let mut text = String::new();
        let file = std::fs::File::open(path).unwrap();
        if path.ends_with(".gz") { flate2::read::GzDecoder::new(file).read_to_string(&mut text).unwrap(); }
        else { std::io::BufReader::new(file).read_to_string(&mut text).unwrap(); }
        let problem: Problem = serde_json::from_str(&text).unwrap();
        let estate = Estate::of(&problem);
        let begun = Instant::now();
        let mut plan: Plan = vec![None; problem.units.len()];
        let mut bound = 0.0;
        for part in estate.components() {
            let b = solve_whole(&estate, &part, Effort::exact(secs), false, &mut plan);
            bound += b.bound;
            if std::env::var("V").is_ok() { println!("  part {part:?} {b:?} {:.1}", begun.elapsed().as_secs_f64()); }
        }
        let all: Vec<usize> = (0..problem.buildings.len()).collect();
        let out = outcome(&estate, &all, &plan);
        let paid = |b: usize, t: usize| out.paid[b].1[t];
        let funds: Vec<usize> = (0..problem.funds.len()).collect();
        println!("{path} cost {} bound {:.0} breaches {} funds {} {:.1}s", out.cost, bound * 100.0, out.breaches, funds_hold(&estate, &funds, &paid), begun.elapsed().as_secs_f64());
    }
}
