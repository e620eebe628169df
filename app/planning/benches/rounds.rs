use std::io::Read;
use planning::rounds::optimal::{anneal::*, audit::*, diary::*, model::*, tables::*, recreate::*, least::*, prices::*};
use planning::dice::*;
use std::time::Instant;
fn main() {
    let args: Vec<String> = std::env::args().skip(1).filter(|a| a != "--bench").collect();
    let secs: f64 = args[0].parse().unwrap();
    let env = |n: &str, d: f64| std::env::var(n).ok().and_then(|v| v.parse().ok()).unwrap_or(d);
    for path in &args[1..] {
        let mut text = String::new();
        let file = std::fs::File::open(path).unwrap();
        if path.ends_with(".gz") { flate2::read::GzDecoder::new(file).read_to_string(&mut text).unwrap(); }
        else { std::io::BufReader::new(file).read_to_string(&mut text).unwrap(); }
        let problem: Problem = serde_json::from_str(&text).unwrap();
        let begun = Instant::now();
        let tables = Tables::of(&problem);
        let mut diary = Diary::empty(&tables);
        recreate(&mut diary, &mut Dice::new(1));
        println!("first {} {:.2}s", diary.cost, begun.elapsed().as_secs_f64());
        let cpu = || { let s = std::fs::read_to_string("/proc/self/stat").unwrap(); let f: Vec<&str> = s.split(' ').collect(); (f[13].parse::<f64>().unwrap()+f[14].parse::<f64>().unwrap())/100.0 };
        let c0 = cpu();
        let left = || secs - (cpu() - c0);
        let search = Search { temperature: (env("HOT", 3000.0), env("COLD", 30.0)), ruin: env("RUIN", 10.0) as usize, seed: env("SEED", 1.0) as u64, ..Search::default() };
        let t0 = cpu();
        let least = least(&tables);
        println!("LB0 {:.1} visits part {:.0} impossible {:?} bundles {} {:.2}s", least.value, least.visits_part, least.impossible, least.bundles.len(), cpu() - t0);
        let target = env("TARGET", diary.cost as f64) as i64;
        let steps = env("STEPS", 300.0) as u32;
        if steps > 0 { for n in [steps / 8, steps] {
            let t0 = cpu();
            let p = priced(&tables, &least, target, n, &planning::Unhurried);
            println!("LR {n} {:.1} steps {} {:.2}s", p.value, p.steps, cpu() - t0);
        } }
        let c0 = cpu();
        let left = || secs - (cpu() - c0);
        let verbose = std::env::var("V").is_ok();
        let mut next = 0.0;
        let made = anneal(&mut diary, &search, 0, &left, &mut |gone, best| if verbose && gone >= next { next += 0.1; println!("  {gone:.2} {best}"); });
        let (parts, breaches) = audit(&problem, &diary.visits());
        println!("{path} cost {} audit {} breaches {} {:?} its {made} {:.1}s cpu {:.1}", diary.cost, parts.objective(), breaches.len(), parts, begun.elapsed().as_secs_f64(), cpu()-c0);
    }
}
