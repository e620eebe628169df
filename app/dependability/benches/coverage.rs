//! 80 % intervals over 1,000 fleets (seeds 1 to 1000) at three sizes, printed, two fleets at a time: `cargo bench
//! -p dependability --bench coverage [-- FLEETS] [--buildings] [--keep FILE]`, with another number of fleets if one is given,
//! the model with effects of buildings alone if that is asked. With `--keep` each fleet is written down as it is done, and a
//! run that was broken off goes on from there; the lines are those of one program on one day, so keep none over a change.
//! How far it is stands on the error stream. Truth is drawn from the prior; a right interval holds it 80 times in 100.
mod covering;
mod fleets;
mod part_fleets;

use std::collections::BTreeMap;
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use covering::{Held, Run, Tally, held, held_in_buildings, held_parts};
use dependability::InputError;
use fleets::Size;

const SIZES: [(usize, f64); 3] = [(40, 3.0), (200, 5.0), (600, 5.0)];
/// Shares in which 80 % intervals may hold the truth (issue 5).
const COVERS: (f64, f64) = (0.76, 0.84);
/// How often it is said how far it is: each time so many fleets are done.
const TOLD_EVERY: u64 = 25;

type Outcome = Result<(), Box<dyn std::error::Error>>;

fn main() -> Outcome {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    let keep = asked.iter().position(|a| a == "--keep");
    let file = keep.and_then(|at| asked.get(at + 1)).cloned();
    let mut numbers = asked.iter().filter(|a| Some(*a) != file.as_ref());
    let fleets = numbers.find_map(|a| a.parse().ok());
    let bench = Bench {
        fleets: fleets.unwrap_or(1000),
        file,
    };
    let began = Instant::now();
    if !asked.iter().any(|a| a == "--buildings") {
        bench.one_kind()?;
        bench.parts()?;
    }
    bench.buildings()?;
    println!("\ntook {:.0} s", began.elapsed().as_secs_f64());
    Ok(())
}

struct Bench {
    fleets: u64,
    file: Option<String>,
}

impl Bench {
    /// One model at one size, with what was done before and told as it goes.
    fn held(
        &self,
        model: &str,
        size: Size,
        of: fn(Size, &Run<'_>) -> Result<Held, InputError>,
    ) -> Result<Held, Box<dyn std::error::Error>> {
        let name = format!("{model}-{}x{}", size.units, size.years);
        let known = match &self.file {
            Some(file) => before(file, &name)?,
            None => BTreeMap::new(),
        };
        let out: Option<Mutex<File>> = match &self.file {
            Some(file) => Some(Mutex::new(
                OpenOptions::new().create(true).append(true).open(file)?,
            )),
            None => None,
        };
        let (done, began, first) = (
            AtomicU64::new(known.len() as u64),
            Instant::now(),
            known.len() as u64,
        );
        if first > 0 {
            eprintln!("{name}: {first} fleets were done before");
        }
        let told = |seed: u64, tally: &Tally| {
            if let Some(Ok(mut out)) = out.as_ref().map(Mutex::lock) {
                // A line that cannot be kept is done again by the next run.
                if let Err(why) = writeln!(out, "{name} {seed} {}", line(tally)) {
                    eprintln!("{name}: fleet {seed} could not be kept: {why}");
                }
            }
            let now = done.fetch_add(1, Ordering::Relaxed) + 1;
            if now.is_multiple_of(TOLD_EVERY) || now == self.fleets {
                let each = began.elapsed().as_secs_f64() / (now - first).max(1) as f64;
                let left = each * self.fleets.saturating_sub(now) as f64;
                eprintln!("{name}: {now} of {} fleets, {left:.0} s left", self.fleets);
            }
        };
        let run = Run {
            known,
            told: &told,
            ..Run::of(self.fleets)
        };
        Ok(of(size, &run)?)
    }

    fn one_kind(&self) -> Outcome {
        println!(
            "| units x years | failures, mean | alpha | ln beta | ln theta | units' own rates | fits not converged |"
        );
        println!("|---|---|---|---|---|---|---|");
        let mut verdicts = Vec::new();
        for (units, years) in SIZES {
            let one = self.held("one-clock", Size { units, years }, held)?;
            let [alpha, beta, theta] = one.parameters.map(|p| 100.0 * p);
            println!(
                "| {units} x {years} | {:.0} | {alpha:.1} % | {beta:.1} % | {theta:.1} % | {:.1} % | {} |",
                one.failures,
                100.0 * one.rates,
                one.not_converged
            );
            let parameters = [("alpha", 0), ("ln beta", 1), ("ln theta", 2)];
            verdicts.extend(self.judged(("one clock", units, years), &one, &parameters));
        }
        for line in &verdicts {
            println!("{line}");
        }
        Ok(())
    }

    /// A line for each 80 % interval of a model at a size, held against 76 to 84 %; fewer than the 1,000 fleets that are
    /// asked for say so.
    fn judged(
        &self,
        (model, units, years): (&str, usize, f64),
        one: &Held,
        parameters: &[(&str, usize)],
    ) -> Vec<String> {
        let at = format!("{model}, {units} x {years}, {} fleets", self.fleets);
        let of = parameters
            .iter()
            .map(|(name, place)| covers(&format!("{at}, {name}"), one.parameters[*place]));
        of.chain([covers(&format!("{at}, units' own rates"), one.rates)])
            .collect()
    }

    fn parts(&self) -> Outcome {
        println!("\nWith part clocks, as in production; shares drawn from their prior as well");
        println!(
            "| units x years | failures, mean | alpha | ln theta | units' own rates | fits not converged |"
        );
        println!("|---|---|---|---|---|---|");
        let mut verdicts = Vec::new();
        for (units, years) in SIZES {
            let one = self.held("parts", Size { units, years }, held_parts)?;
            let [alpha, _, theta] = one.parameters.map(|p| 100.0 * p);
            println!(
                "| {units} x {years} | {:.0} | {alpha:.1} % | {theta:.1} % | {:.1} % | {} |",
                one.failures,
                100.0 * one.rates,
                one.not_converged
            );
            let parameters = [("alpha", 0), ("ln theta", 2)];
            verdicts.extend(self.judged(("part clocks", units, years), &one, &parameters));
        }
        for line in &verdicts {
            println!("{line}");
        }
        Ok(())
    }

    fn buildings(&self) -> Outcome {
        let fleets = self.fleets;
        println!(
            "\nWith part clocks and an effect of each building of ten units (M4 with M2 over it), as production fits them but for the calendar year; {fleets} fleets, seeds 1 to {fleets}"
        );
        println!(
            "| units x years | failures, mean | alpha | ln theta | ln tau | units' own rates, where they stand | fits not converged |"
        );
        println!("|---|---|---|---|---|---|---|");
        let mut verdicts = Vec::new();
        for (units, years) in SIZES {
            let one = self.held("buildings", Size { units, years }, held_in_buildings)?;
            let [alpha, _, theta] = one.parameters.map(|p| 100.0 * p);
            println!(
                "| {units} x {years} | {:.0} | {alpha:.1} % | {theta:.1} % | {:.1} % | {:.1} % | {} |",
                one.failures,
                100.0 * one.tau,
                100.0 * one.rates,
                one.not_converged
            );
            let parameters = [("alpha", 0), ("ln theta", 2)];
            let model = "part clocks in buildings";
            verdicts.extend(self.judged((model, units, years), &one, &parameters));
            let tau = format!("{model}, {units} x {years}, {fleets} fleets, ln tau");
            verdicts.push(covers(&tau, one.tau));
        }
        for line in &verdicts {
            println!("{line}");
        }
        Ok(())
    }
}

/// Whether a share of intervals that hold the truth lies where it should, as a line.
fn covers(what: &str, share: f64) -> String {
    let (least, most) = COVERS;
    let kept = (least..=most).contains(&share);
    format!(
        "verdict: {what}: {:.1} %, {:.0} to {:.0} % asked: {}",
        100.0 * share,
        100.0 * least,
        100.0 * most,
        if kept { "kept" } else { "NOT KEPT" }
    )
}

/// A fleet as one line: α, β, θ, τ held, units held and looked at, failures, whether its fit failed.
fn line(tally: &Tally) -> String {
    let flag = |yes: bool| u32::from(yes);
    let [alpha, beta, theta] = tally.parameters.map(flag);
    format!(
        "{alpha} {beta} {theta} {} {} {} {} {}",
        flag(tally.tau),
        tally.held,
        tally.units,
        tally.failures,
        flag(tally.failed)
    )
}

fn read(words: &[&str]) -> Option<Tally> {
    let numbers: Option<Vec<u32>> = words.iter().map(|w| w.parse().ok()).collect();
    let [alpha, beta, theta, tau, held, units, failures, failed] = numbers?.try_into().ok()?;
    Some(Tally {
        parameters: [alpha, beta, theta].map(|flag| flag == 1),
        tau: tau == 1,
        held,
        units,
        failures,
        failed: failed == 1,
    })
}

/// The fleets kept of one model and size; a last line that was torn off is none.
fn before(file: &str, name: &str) -> Result<BTreeMap<u64, Tally>, std::io::Error> {
    let text = match std::fs::read_to_string(file) {
        Ok(text) => text,
        Err(why) if why.kind() == std::io::ErrorKind::NotFound => return Ok(BTreeMap::new()),
        Err(why) => return Err(why),
    };
    let one = |text: &str| {
        let words: Vec<&str> = text.split_whitespace().collect();
        let (own, rest) = words.split_first()?;
        let (seed, rest) = rest.split_first()?;
        (*own == name).then_some(())?;
        Some((seed.parse().ok()?, read(rest)?))
    };
    // What follows the last line's end was being written.
    let whole = text.rfind('\n').map_or("", |end| &text[..end]);
    Ok(whole.lines().filter_map(one).collect())
}
