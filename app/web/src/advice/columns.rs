//! The courses side by side, each in its column.
use terms::ExpectedPounds;
use usecases::advice::{AdvicePage, Listed, OptionAnswer, OptionSeen, Standing};
use wording::Fact;
use wording::sentences::dates;

use super::paths::{keep_path_facts, keep_title, path_facts};
use super::sources::named_works;
use super::{drawings, words};

/// One course in its column.
pub(super) struct Column {
    pub title: String,
    pub verdict: String,
    pub facts: Vec<Fact>,
}

/// Keeping first, then every option that was compared; `full` adds how it fits and whether its size would do.
pub(super) fn columns(seen: &AdvicePage, full: bool) -> Vec<Column> {
    let options = seen.listed.answer.advice.options.iter();
    std::iter::once(keep_column(seen, full))
        .chain(options.filter_map(|answer| replace_column(seen, answer, full)))
        .collect()
}

/// The same for the two printed pages, where there is room for less: VAT stands in the quote and the price list, what a
/// warranty hangs on in its papers.
pub(super) fn brief_columns(seen: &AdvicePage) -> Vec<Column> {
    let mut columns = columns(seen, false);
    for column in &mut columns {
        column.facts.retain(|fact| fact.name != VAT);
        for fact in &mut column.facts {
            if let Some((years, _)) = fact.value.split_once(HANGS) {
                fact.value = years.to_owned();
            }
        }
    }
    columns
}

/// What is said of the other course where either is defensible.
const SLIGHTLY_DEARER: &str = "Slightly the dearer course; either is defensible";

/// What the VAT is called.
const VAT: &str = "VAT in it";
/// What stands between the years of a warranty and what they hang on.
const HANGS: &str = "; mostly kept";

fn replace_column(seen: &AdvicePage, answer: &OptionAnswer, full: bool) -> Option<Column> {
    let a = &seen.listed;
    let option = a.answer.options.iter().find(|o| o.code == answer.code)?;
    let path = drawings::path_of(a, &answer.code)?;
    let mut facts = vec![Fact::new(
        "Money now",
        option.price.map(|p| p.to_string()).unwrap_or_default(),
    )];
    if let Some(vat) = option.vat {
        facts.push(Fact::new(VAT, vat.to_string()));
    }
    if let Some(grant) = line_of(seen, "grant", &option.code) {
        facts.push(Fact::new(
            "Grant, not taken off above",
            ExpectedPounds(grant).to_string(),
        ));
    }
    if !option.buys.is_empty() {
        facts.push(Fact::new("For it", option.buys.clone()));
    }
    // A paper that is short of room still says that the listed size would not do.
    if full || option.too_little.is_some() || option.size_unknown {
        facts.push(fits_fact(option));
    }
    if full && !option.sizing.is_empty() {
        facts.push(Fact::new("Size", option.sizing.join(" ")));
    }
    facts.extend(path_facts(seen, &path.years, None, full));
    if let Some(fails) = a.answer.fails_new.get(&option.code) {
        facts.push(fails_fact(*fails));
    }
    facts.push(Fact::new("Warranty", warranty_of(seen, &option.code)));
    facts.extend(share_facts(seen, &option.code));
    facts.extend(disruption(seen, "waiting_replace"));
    facts.push(Fact::new(
        "Cost a year, if kept as long as it pays",
        format!(
            "{} over {}\u{a0}years",
            ExpectedPounds(answer.annual_cost),
            answer.n
        ),
    ));
    let title = if option.code == a.unit.kind {
        "Replace, like for like".to_owned()
    } else {
        format!("Replace with {}", words::an(&option.name))
    };
    Some(Column {
        title,
        verdict: verdict_on(a, answer),
        facts,
    })
}

/// Whether it fits here: at the size that would do, as it is or after works that are in its price. A size on the list that
/// is too little never fits as it is.
fn fits_fact(option: &OptionSeen) -> Fact {
    let works = (!option.works.is_empty())
        .then(|| format!("after these works: {}", named_works(&option.works)));
    let here = match (option.standing, option.too_little) {
        (Standing::LikeForLike, _) => "as the old one did".to_owned(),
        (_, Some(more)) => {
            let size = words::at_size(more);
            let works = works.map_or_else(String::new, |works| format!("; {works}"));
            format!("{size}: a quote says what that size costs{works}")
        }
        (_, None) => works.unwrap_or_else(|| "as it is".to_owned()),
    };
    let doubt = if option.size_unknown {
        "; whether its size would do is not known"
    } else {
        ""
    };
    Fact::new("Fits here", format!("{here}{doubt}"))
}

fn verdict_on(a: &Listed, answer: &OptionAnswer) -> String {
    if a.answer.advice.replace_with.as_deref() != Some(&answer.code) {
        return format!(
            "Possible; {} a year dearer than the cheapest",
            ExpectedPounds(answer.dearer_a_year)
        );
    }
    match a.course.as_str() {
        "replace" if a.close_call => "Slightly the cheaper course".to_owned(),
        "replace" => "The advice".to_owned(),
        _ if a.close_call => SLIGHTLY_DEARER.to_owned(),
        _ => "Dearer than keeping it".to_owned(),
    }
}

fn line_of(seen: &AdvicePage, code: &str, option: &str) -> Option<f64> {
    let line = seen
        .lines
        .iter()
        .find(|l| l.code == code && l.option == option)?;
    Some(line.value)
}

/// The years reckoned with, and what they usually hang on (common practice, no source).
fn warranty_of(seen: &AdvicePage, option: &str) -> String {
    let years = line_of(seen, "warranty", option).unwrap_or(0.0);
    if years >= 1.0 {
        format!(
            "{years:.0}\u{a0}years, reckoned{HANGS} only while it is registered in time, serviced every year and its water treated"
        )
    } else {
        "none reckoned".to_owned()
    }
}

fn keep_column(seen: &AdvicePage, full: bool) -> Column {
    let a = &seen.listed;
    let now = a
        .quote
        .map_or_else(|| "nothing".to_owned(), |quote| quote.to_string());
    let verdict = match a.course.as_str() {
        "repair" | "keep" if a.close_call => "Slightly the cheaper course",
        "repair" | "keep" => "The advice",
        _ if a.close_call => SLIGHTLY_DEARER,
        _ => "Dearer, however long it is kept",
    };
    let mut facts = vec![Fact::new("Money now", now)];
    if let Some(quote) = &a.quoted {
        facts.push(Fact::new(VAT, quote.vat.to_string()));
    }
    facts.extend(keep_path_facts(seen, full));
    let mut fails = fails_fact(a.answer.fails_old);
    if full && a.quote.is_some() {
        fails.value.push_str("; as it stands, before this repair");
    }
    facts.push(fails);
    let warranty = match a.unit.warranty_until.filter(|day| *day >= seen.known_on) {
        Some(day) => format!("until {}; ask its maker first", dates::day(day)),
        None => "none known".to_owned(),
    };
    facts.push(Fact::new("Warranty", warranty));
    facts.extend(disruption(seen, "waiting_repair").filter(|_| a.quote.is_some()));
    Column {
        title: keep_title(a),
        verdict: verdict.to_owned(),
        facts,
    }
}

/// What falls on one flat through the service charge, and whether leaseholders are asked first.
fn share_facts(seen: &AdvicePage, option: &str) -> Vec<Fact> {
    let Some(test) = seen.shares.get(option) else {
        return Vec::new();
    };
    let whose = if test.stated {
        "On the largest share"
    } else {
        "On each flat, shared alike"
    };
    let consent = match test.steps {
        None => format!("no consultation: no share over {}", test.above),
        Some(_) => format!("leaseholders are consulted: a share over {}", test.above),
    };
    vec![
        Fact::new(whose, test.largest.to_string()),
        Fact::new("Consent", consent),
    ]
}

/// Days of doing without until the course is done; nothing is waited for without a fault in hand.
fn disruption(seen: &AdvicePage, code: &str) -> Option<Fact> {
    let days = seen.lines.iter().find(|l| l.code == code)?.value.round() as u64;
    Some(Fact::new(
        "Without it",
        format!("about {}", wording::sentences::plural(days, "day", "days")),
    ))
}

fn fails_fact((p, low, high): (f64, f64, f64)) -> Fact {
    Fact::new(
        "Fails within a year",
        wording::sentences::chances::with_range(p, low, high),
    )
}
