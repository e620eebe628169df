//! "What went in": every figure of an advice with its source and how it is known; and what is not known.
use terms::ExpectedPounds;
use usecases::advice::{AdvicePage, InputLine, Measure, OptionSeen, Standing, WorkSeen};
use wording::{Row, Table, Verb};

/// The table of inputs.
pub(crate) fn table(page: &AdvicePage) -> Table {
    let rows = page
        .lines
        .iter()
        .map(|line| {
            vec![
                named(line, page),
                value(line),
                line.source.clone(),
                line.status.clone(),
            ]
        })
        .collect();
    let heads = ["Input", "Value", "Where it comes from", "How it is known"];
    let day = wording::sentences::dates::day(page.known_on);
    let bare = page.lines.iter().filter(|line| unsourced(line)).count();
    Table {
        caption: format!(
            "Inputs of this advice, as known on {day}. Those that say “no source” or “guess” in the last column have no published source: {bare} of {}.",
            page.lines.len()
        ),
        ..Table::new(&heads, rows)
    }
}

/// Whether nothing published stands behind a figure.
pub(super) fn unsourced(line: &InputLine) -> bool {
    line.status.contains("no source") || line.status.contains("guess")
}

/// What a figure is called.
pub(crate) fn input_words(code: &str) -> &str {
    match code {
        "rate" => "Real rate a year",
        "rate_later" => "The next step of that rate",
        "quote" => "Quote, with VAT",
        "waiting_a_day" => "Doing without, a day",
        "waiting_repair" => "Waiting for a repair",
        "waiting_replace" => "Waiting for a new one",
        "failures_first" => "Failures expected, first year, as it stands",
        "failures_repaired" => "Failures expected, first year, once repaired",
        "failures_last" => "Failures expected, last year",
        "variance" => "How unsure that rate is",
        "service" => "Service a year",
        "repair" => "A repair",
        "repair_spread" => "Spread of repair prices",
        "emergency_share" => "Share of failures out of hours",
        "emergency_premium" => "Out of hours, more by",
        "disruption_failure" => "Disruption of a failure",
        "disruption_fitting" => "Disruption of fitting",
        "capex" => "Fitted, with VAT",
        "failures_new" => "Failures a year at 10 years of age",
        "life" => "Longest life reckoned with",
        "warranty" => "Warranty",
        "warranty_left" => "Its own warranty, still to run",
        "failures_staying" => "Of them in parts that stay beside it, first year",
        "write_off_share" => "Share of single failures beyond repair",
        "write_off_premium" => "Replacing at once, out of plan, more by",
        "removal" => "Taking the old one away, if not in the price",
        "grant" => "Grant towards the first",
        "grant_years" => "The grant can be had for",
        "energy_share" => "Share of the energy that is paid here",
        "heat_kwh" => "Heat of a home",
        "gas_pence" => "Gas",
        "power_pence" => "Electricity",
        "network_pence" => "Heat from the network",
        "efficiency" => "Seasonal efficiency, new",
        "efficiency_lost" => "Efficiency lost with each year of age",
        "energy_first" => "Energy, first year",
        "energy_last" => "Energy, last year",
        "horizon" => "Years it may be kept, at most",
        other => other,
    }
}

fn named(line: &InputLine, page: &AdvicePage) -> String {
    let plain = input_words(&line.code);
    if line.option.is_empty() {
        return plain.to_owned();
    }
    let options = &page.listed.answer.options;
    let name = options
        .iter()
        .find(|o| o.code == line.option)
        .map_or(line.option.as_str(), |o| o.name.as_str());
    format!("{plain}: new {name}")
}

fn value(line: &InputLine) -> String {
    let v = line.value;
    match line.measure {
        Measure::Pounds => ExpectedPounds(v).to_pence().to_string(),
        Measure::PoundsAYear => format!("{} a year", ExpectedPounds(v)),
        Measure::FailuresAYear => format!("{v:.2} a year"),
        Measure::Rate => format!("{:.2}\u{a0}%", v * 100.0),
        Measure::Share if (0.0..0.1).contains(&v) && v > 0.0 => format!("{:.1} in 100", v * 100.0),
        Measure::Share => format!("{:.0} in 100", v * 100.0),
        Measure::Years if v.fract() > 1e-9 => format!("{v:.1}\u{a0}years"),
        Measure::Years => format!("{v:.0}\u{a0}years"),
        Measure::Days => format!("{v:.0}\u{a0}days"),
        Measure::Variance => either_way(v.max(0.0).sqrt()),
        Measure::Spread => either_way(v),
        Measure::KwhAYear => format!("{v:.0}\u{a0}kWh a year"),
        Measure::PenceAKwh => format!("{v:.1}\u{a0}p a kWh"),
    }
}

/// A standard deviation as a share of the mean, in words.
fn either_way(share: f64) -> String {
    if share < 1.0 {
        format!("usually within {:.0}\u{a0}% either way", share * 100.0)
    } else {
        "so unsure that it may be several times as much".to_owned()
    }
}

/// Options that were not compared, and why: those ruled out, then those that need works or a survey.
pub(crate) fn not_compared(page: &AdvicePage) -> (Vec<Row>, Vec<Row>) {
    let options = &page.listed.answer.options;
    let rows = |wanted: &[Standing]| {
        options
            .iter()
            .filter(|o| !o.compared && wanted.contains(&o.standing))
            .map(row)
            .collect()
    };
    let out = rows(&[Standing::RuledOut]);
    let later = rows(&[
        Standing::LikeForLike,
        Standing::Fits,
        Standing::AfterWorks,
        Standing::Survey,
    ]);
    (out, later)
}

fn row(option: &OptionSeen) -> Row {
    let name = wording::sentences::capital(&option.name);
    let mut words = option.reasons.join(" ");
    if words.is_empty() {
        words = match option.standing {
            Standing::Survey => "No rule of ours judges it: a survey decides.".to_owned(),
            _ => "No price is known.".to_owned(),
        };
    }
    let row = Row::about(
        format!("option-{}", option.code),
        wording::Link::new(format!("{name}:"), ""),
        format!(" {words}"),
    );
    match option
        .price
        .filter(|_| option.standing != Standing::RuledOut)
    {
        Some(price) => row.figure(wording::sentences::money::whole(price), "about, fitted"),
        None => row,
    }
}

/// "the cold main in 22 mm, about £420.00 (£250 to £700); a scale reducer, in its price"
pub(crate) fn named_works(works: &[WorkSeen]) -> String {
    let named: Vec<String> = works
        .iter()
        .map(|work| match (work.in_price, work.price) {
            (true, _) => format!("{}, in its price", work.what),
            (false, Some((low, likely, high))) => {
                let whole = wording::sentences::money::whole;
                format!(
                    "{}, about {likely} ({} to {})",
                    work.what,
                    whole(low),
                    whole(high)
                )
            }
            (false, None) if work.status.is_empty() => work.what.clone(),
            (false, None) => format!("{}, no price known", work.what),
        })
        .collect();
    named.join("; ")
}

/// The same rows with what each option's site asks for and whether its size would do; `acts` adds the way to settle it.
pub(crate) fn in_full(mut rows: Vec<Row>, page: &AdvicePage, acts: bool) -> Vec<Row> {
    let space = page.listed.unit.space;
    let options = &page.listed.answer.options;
    for row in &mut rows {
        let found = options
            .iter()
            .find(|o| format!("option-{}", o.code) == row.id);
        let Some(option) = found else { continue };
        if option.standing == Standing::RuledOut {
            // What is too small was asked about at another size than the list's: it says at which.
            let size = option
                .sizing
                .first()
                .filter(|_| option.too_little.is_some());
            row.more.extend(size.cloned());
            continue;
        }
        if !option.settles.is_empty() {
            row.more.push(format!(
                "What would settle it: {}.",
                named_works(&option.settles)
            ));
        }
        if !option.works.is_empty() {
            row.more
                .push(format!("Works first: {}.", named_works(&option.works)));
        }
        row.more.extend(option.sizing.iter().cloned());
        if acts && !option.settles.is_empty() {
            row.verbs.push(Verb::link(
                "State what is known",
                format!("/spaces/{space}/site"),
            ));
            row.verbs.push(Verb::link(
                "Open a survey",
                format!("/jobs/new?space={space}&kind=survey"),
            ));
        }
    }
    rows
}
