//! Time, memory and growth of the fits: `cargo bench -p dependability --bench scale [-- FOLDER --million]`. The fleets up to
//! 100,000 units, and with `--million` that of a million too, are written to the folder (else to one of its own) and fitted by general packages of Python and R too (`beside.py`,
//! `beside.R`), where they are installed; where they are not, that is said.
mod fleets;
mod limits;
mod part_fleets;

use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use dependability::columns::Columns;
use dependability::part_clocks::PartModel;
use dependability::{
    Failure, Housed, Normal, Renewal, UnitHistory, fit_kind_in_buildings, recording,
};
use fleets::{Draws, Size, Truth};
use limits::{M1_MEMORY, M1_SECONDS, M4_SECONDS, MOST_GROWTH, Measured, at_most};

const THREADS: usize = 2;
/// The shared simulator's headline.
const RATE: f64 = 0.35;
const BETA: f64 = 1.6;
const THETA: f64 = 0.6;

/// A line of /proc/self/status in MiB; 0 where there is none.
fn memory(line: &str) -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let found = status.lines().find(|l| l.starts_with(line));
    let kib = found.and_then(|l| l.split_whitespace().nth(1)?.parse::<f64>().ok());
    kib.unwrap_or(0.0) / 1024.0
}

/// The file a fleet is written to for the general packages; `None` without a folder, beyond 100,000 units unless
/// `--million` is asked, or where it cannot be opened, which is said. Line by line, so that no text counts as memory.
fn file_for(folder: Option<&Path>, units: usize) -> Option<BufWriter<File>> {
    let asked = units <= 100_000 || std::env::args().any(|a| a == "--million");
    let path = folder.filter(|_| asked)?.join(format!("fleet_{units}.csv"));
    let mut file = match File::create(&path) {
        Ok(file) => BufWriter::new(file),
        Err(why) => {
            println!("{}: {why}", path.display());
            return None;
        }
    };
    let _ = writeln!(file, "unit,from,until,failures,sum_ln_age");
    Some(file)
}

/// Slope of ln seconds against ln units.
fn growth(points: &[(f64, f64)]) -> f64 {
    let n = points.len() as f64;
    let (mx, my) = points
        .iter()
        .fold((0.0, 0.0), |(x, y), p| (x + p.0.ln() / n, y + p.1.ln() / n));
    let (top, bottom) = points.iter().fold((0.0, 0.0), |(t, b), p| {
        let dx = p.0.ln() - mx;
        (t + dx * (p.1.ln() - my), b + dx * dx)
    });
    top / bottom
}

/// One model at one size in a process of its own, so that its most memory is its own: `--only m4 100000`.
fn only() -> Option<()> {
    let all: Vec<String> = std::env::args().collect();
    let at = all.iter().position(|a| a == "--only")?;
    let units: usize = all.get(at + 2)?.parse().ok()?;
    let seconds = match all.get(at + 1)?.as_str() {
        "m1" => m1(units, None),
        "m4" => m4(units),
        "production" => production(units),
        _ => return None,
    };
    println!("{MEMORY}{:.0} MiB", memory("VmHWM"));
    println!("{SECONDS}{seconds}");
    Some(())
}

/// Before the seconds, and the most memory in MiB, that a process of its own hands back.
const SECONDS: &str = "seconds: ";
const MEMORY: &str = "most memory of the process: ";

/// Runs [`only`] for a model at each size and prints what each says; the growth is that of the seconds each measured, without
/// the drawing of its fleet.
fn apart(model: &str, sizes: &[usize]) -> Measured {
    println!("\n{model}, each size in a process of its own");
    let (mut points, mut most) = (Vec::new(), f64::NAN);
    for units in sizes {
        let Ok(program) = std::env::current_exe() else {
            continue;
        };
        let run = Command::new(program)
            .args(["--only", model, &units.to_string()])
            .output();
        let told = match run {
            Ok(run) => String::from_utf8_lossy(&run.stdout).into_owned(),
            Err(why) => format!("{units}: {why}\n"),
        };
        for line in told.lines() {
            if let Some(Ok(mib)) = line
                .strip_prefix(MEMORY)
                .and_then(|rest| rest.strip_suffix(" MiB"))
                .map(str::parse)
            {
                most = mib;
            }
            match line.strip_prefix(SECONDS).map(str::parse) {
                Some(Ok(seconds)) => points.push((*units as f64, seconds)),
                _ => println!("{line}"),
            }
        }
    }
    let growth = if points.len() == sizes.len() {
        growth(&points)
    } else {
        f64::NAN
    };
    if growth.is_nan() {
        println!("growth exponent: not known, a size did not end");
        // What a smaller size took says nothing of the last one.
        (points, most) = (Vec::new(), f64::NAN);
    } else {
        println!("growth exponent: {growth:.2}");
    }
    Measured {
        points,
        memory: most,
        growth,
    }
}

/// The same fleets fitted by general packages, in lines of their own.
fn beside(folder: &Path) {
    let scripts = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches");
    for (language, there, program, script) in [
        (
            "Python, statsmodels and scipy",
            "import scipy, statsmodels",
            "python3",
            "beside.py",
        ),
        ("R, MASS and optim", "library(MASS)", "Rscript", "beside.R"),
    ] {
        let asked = if program == "python3" { "-c" } else { "-e" };
        let installed = Command::new(program).args([asked, there]).output();
        if installed.is_ok_and(|run| run.status.success()) {
            println!("\n{language}, on the same fleets");
            let ended = Command::new(program)
                .arg(scripts.join(script))
                .arg(folder)
                .status();
            if !ended.is_ok_and(|status| status.success()) {
                println!("{script} did not end well");
            }
        } else {
            println!("\n{language}: not installed here, so nothing is put beside ours");
        }
    }
}

fn main() {
    if only().is_some() {
        return;
    }
    let given = std::env::args().skip(1).find(|a| !a.starts_with("--"));
    let own = Path::new(env!("CARGO_TARGET_TMPDIR")).join("fleets");
    let folder = given.map_or(own, PathBuf::from);
    if let Err(why) = std::fs::create_dir_all(&folder) {
        println!("{}: {why}", folder.display());
    }
    println!(
        "Asked: M1 over a million units as columns, fit and forecast, at most {M1_SECONDS} s and {M1_MEMORY} MiB on two cores; M4 at 100,000 units at most {M4_SECONDS} s; growth exponents at most {MOST_GROWTH}. Each has a line with its verdict at the end."
    );
    println!(
        "M1 as columns, {THREADS} threads; fit: maximum likelihood; forecast: 12 months of every unit over 64 draws"
    );
    println!(
        "| units | failures | loading, s | fit, s | forecast, s | memory of the fleet, fit and forecast, MiB | beta, theta (true {BETA}, {THETA}) | forecast over true rate |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    let mut points = Vec::new();
    for units in [1_000, 10_000, 100_000, 1_000_000] {
        points.push((f64::from(units), m1(units as usize, Some(&folder))));
    }
    let from_10k = growth(&points[1..]);
    println!(
        "growth exponent of fit and forecast: {:.2} (all), {from_10k:.2} (10k to 1M)",
        growth(&points),
    );
    println!("peak memory of the process: {:.0} MiB", memory("VmHWM"));
    beside(&folder);
    let sizes = [1_000, 10_000, 100_000];
    println!(
        "\nM4 by itself (not what production fits): five part clocks and a remainder, shapes and levels fitted, no buildings: model, units, failures, fit in s, end"
    );
    let m4 = apart("m4", &sizes);
    println!(
        "\nThe production model (M4 with M2 over it: part clocks with shares, an effect of each building of 40, drift of recording): model, units, failures, fit in s, verdict"
    );
    let production = apart("production", &sizes);
    println!("\nM1 as above, its most memory its own");
    let m1 = apart("m1", &[100_000, 1_000_000]);
    held_against((&m1, from_10k, growth(&points)), (&m4, &production));
}

/// A line for each limit. Below ten thousand units starting the threads is most of M1, so its growth is told from there too.
fn held_against(
    (m1, from_10k, from_1k): (&Measured, f64, f64),
    (m4, production): (&Measured, &Measured),
) {
    println!("\nHeld against what issue 5 asks, on this machine");
    let million = "M1 over 1,000,000 units";
    let seconds = m1.seconds_at_last();
    at_most(
        &format!("{million}, fit and forecast"),
        seconds,
        M1_SECONDS,
        " s",
    );
    at_most(
        &format!("{million}, most memory"),
        m1.memory,
        M1_MEMORY,
        " MiB",
    );
    at_most("M1, growth exponent 10k to 1M", from_10k, MOST_GROWTH, "");
    at_most("M1, growth exponent 1k to 1M", from_1k, MOST_GROWTH, "");
    for (name, measured) in [
        ("M4 by itself", m4),
        ("M4 as production fits it", production),
    ] {
        let seconds = measured.seconds_at_last();
        at_most(
            &format!("{name}, 100,000 units, fit"),
            seconds,
            M4_SECONDS,
            " s",
        );
        let growth = measured.growth;
        at_most(&format!("{name}, growth exponent"), growth, MOST_GROWTH, "");
    }
}

/// The fit as production makes it: part clocks with shares, an effect of each building, the year of recording; eight years
/// on record, a kind's units forty to a building.
fn production(units: usize) -> f64 {
    let mut draws = Draws::new(5);
    let mut prior = part_fleets::prior();
    prior.covariates.push(recording::covariate());
    let size = Size { units, years: 8.0 };
    let shares = part_fleets::shares(&mut draws);
    let histories: Vec<UnitHistory> = part_fleets::fleet(&mut draws, (0.18, 0.5), &shares, size)
        .into_iter()
        .map(|(mut history, _)| {
            history.windows[0].x = vec![0.0];
            history.present = vec![0.0];
            recording::by_year(&history, size.years, 0)
        })
        .collect();
    let names: Vec<String> = (0..units).map(|i| format!("{:06}", i / 40)).collect();
    let housed: Vec<Housed<'_>> = histories
        .iter()
        .zip(&names)
        .map(|(history, building)| Housed { history, building })
        .collect();
    let begun = Instant::now();
    let fit = fit_kind_in_buildings(&prior, &housed);
    let seconds = begun.elapsed().as_secs_f64();
    match fit {
        Ok(fit) => println!(
            "| production, M4 + M2 | {units} | {} | {seconds:.2} | {:?} |",
            fit.n_failures, fit.verdict
        ),
        Err(why) => println!("| production, M4 + M2 | {units} | {why} |"),
    }
    seconds
}

fn m1(units: usize, folder: Option<&Path>) -> f64 {
    let truth = Truth {
        alpha: RATE.ln(),
        ln_beta: BETA.ln(),
        ln_theta: THETA.ln(),
    };
    let (before, mut happens) = (memory("VmRSS"), 0.0);
    let mut draws = Draws::new(units as u64);
    let (mut columns, mut loading) = (Columns::new(0, 10.0), 0.0);
    let mut file = file_for(folder, units);
    // In batches, so that the fleet as records is never whole in memory: only the columns are.
    for batch in 0..units / 1_000 {
        let fleet = draws.fleet(
            truth,
            Size {
                units: 1_000,
                years: 5.0,
            },
            0.0,
        );
        happens += fleet.rates.iter().sum::<f64>();
        let begun = Instant::now();
        for h in &fleet.histories {
            let ages: Vec<f64> = h.failures.iter().map(|f| f.at).collect();
            if let Err(why) = columns.push(&[(h.windows[0].from, h.windows[0].until, &[])], &ages) {
                println!("left out: {why}");
            }
        }
        loading += begun.elapsed().as_secs_f64();
        for (i, h) in fleet.histories.iter().enumerate() {
            let Some(file) = &mut file else {
                break;
            };
            let ln_age: f64 = h.failures.iter().map(|f| (f.at / 10.0).ln()).sum();
            let w = &h.windows[0];
            let (unit, n) = (batch * 1_000 + i, h.failures.len());
            let _ = writeln!(file, "{unit},{},{},{n},{ln_age}", w.from, w.until);
        }
    }
    if let Some(Err(why)) = file.map(|mut file| file.flush()) {
        println!("the fleet of {units} was not written whole: {why}");
    }
    let begun = Instant::now();
    let fit = columns.fit(None, THREADS);
    let fitted = begun.elapsed().as_secs_f64();
    let ahead = columns.ahead(&fit, 1.0, THREADS);
    let told = begun.elapsed().as_secs_f64() - fitted;
    let expected: f64 = ahead.iter().map(|a| a.expected).sum();
    println!(
        "| {units} | {} | {loading:.3} | {fitted:.3} | {told:.3} | {:.0} | {:.4}, {:.4} ({:?}, ll {:.3}) | {:.4} |",
        columns.count(),
        memory("VmRSS") - before,
        fit.at[1].exp(),
        fit.at[2].exp(),
        fit.end,
        columns.log_likelihood(&fit.at, THREADS).value,
        expected / happens,
    );
    fitted + told
}

const PARTS: [(&str, f64, f64); 5] = [
    ("pump", 2.5, 9.0),
    ("valve", 2.0, 8.0),
    ("exchanger", 2.5, 10.0),
    ("board", 1.3, 12.0),
    ("fan", 2.2, 11.0),
];

/// Units watched from new for 6 years; a part that fails is renewed (item 10 of the shared simulator's page).
fn m4(units: usize) -> f64 {
    let truth = Truth {
        alpha: 0.08_f64.ln(),
        ln_beta: 0.0,
        ln_theta: 0.4_f64.ln(),
    };
    let mut draws = Draws::new(4);
    let fleet = draws.fleet(truth, Size { units, years: 6.0 }, 0.0);
    let histories: Vec<UnitHistory> = fleet
        .histories
        .into_iter()
        .map(|h| with_parts(h, &mut draws))
        .collect();
    let failures: usize = histories.iter().map(|h| h.failures.len()).sum();
    let mut prior = vec![
        Normal {
            mean: 0.08_f64.ln(),
            sd: 1.0,
        },
        Normal {
            mean: 1.4_f64.ln(),
            sd: 0.3,
        },
    ];
    for (_, _, eta) in PARTS {
        prior.extend([
            Normal {
                mean: eta.ln(),
                sd: 0.4,
            },
            Normal {
                mean: 2.0_f64.ln(),
                sd: 0.35,
            },
        ]);
    }
    prior.push(Normal {
        mean: 0.5_f64.ln(),
        sd: 0.8,
    });
    let model = PartModel {
        parts: PARTS.map(|p| p.0.to_owned()).to_vec(),
        covariates: 0,
        t0: 10.0,
        prior,
    };
    let begun = Instant::now();
    let fit = model.fit(&histories);
    let seconds = begun.elapsed().as_secs_f64();
    println!(
        "| M4 alone | {units} | {failures} | {seconds:.2} | {:?} |",
        fit.end
    );
    seconds
}

/// Part failures over the unit's window, each clock a renewal process from the unit's birth.
fn with_parts(mut history: UnitHistory, draws: &mut Draws) -> UnitHistory {
    let (from, until) = (history.windows[0].from, history.windows[0].until);
    for (code, shape, eta) in PARTS {
        let mut at = 0.0;
        loop {
            at += eta * (-draws.even().ln()).powf(1.0 / shape);
            if at > until {
                break;
            }
            history.renewals.push(Renewal {
                part: code.to_owned(),
                at,
            });
            if at > from {
                history.failures.push(Failure {
                    part: Some(code.to_owned()),
                    at,
                    between: None,
                });
            }
        }
    }
    history
}
