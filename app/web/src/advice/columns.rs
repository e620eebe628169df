//! The courses side by side, each in its column.
use chrono::Datelike;
use terms::ExpectedPounds;
use usecases::advice::{AdvicePage, Listed, OptionAnswer, OptionSeen, PathYear, Standing};
use wording::Fact;

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
    std::iter::once(keep_column(seen))
        .chain(options.filter_map(|answer| replace_column(seen, answer, full)))
        .collect()
}

fn replace_column(seen: &AdvicePage, answer: &OptionAnswer, full: bool) -> Option<Column> {
    let a = &seen.listed;
    let option = a.answer.options.iter().find(|o| o.code == answer.code)?;
    let path = drawings::path_of(a, &answer.code)?;
    let mut facts = vec![Fact::new(
        "Money now",
        option.price.map(|p| p.to_string()).unwrap_or_default(),
    )];
    if !option.buys.is_empty() {
        facts.push(Fact::new("For it", option.buys.clone()));
    }
    if full {
        facts.push(fits_fact(option));
        if !option.sizing.is_empty() {
            facts.push(Fact::new("Size", option.sizing.join(" ")));
        }
    }
    facts.extend(path_facts(seen, &path.years));
    if let Some(fails) = a.answer.fails_new.get(&option.code) {
        facts.push(fails_fact(*fails));
    }
    facts.push(Fact::new("Warranty", warranty_of(seen, &option.code)));
    facts.push(Fact::new(
        "Cost a year, kept its best life",
        format!(
            "{} over {} years",
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

/// Whether it fits here: as it is, or after works that are in its price.
fn fits_fact(option: &OptionSeen) -> Fact {
    let here = match option.standing {
        Standing::LikeForLike => "as the old one did".to_owned(),
        _ if option.works.is_empty() => "as it is".to_owned(),
        _ => format!("after these works: {}", named_works(&option.works)),
    };
    Fact::new("Fits here", here)
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
        _ => "Dearer than keeping it".to_owned(),
    }
}

fn warranty_of(seen: &AdvicePage, option: &str) -> String {
    let years = seen
        .lines
        .iter()
        .find(|l| l.code == "warranty" && l.option == option)
        .map_or(0.0, |l| l.value);
    if years >= 1.0 {
        format!("{years:.0} years, reckoned")
    } else {
        "none reckoned".to_owned()
    }
}

fn keep_column(seen: &AdvicePage) -> Column {
    let a = &seen.listed;
    let (title, now) = match a.quote {
        Some(quote) => ("Repair and keep", quote.to_string()),
        None => ("Keep", "nothing".to_owned()),
    };
    let verdict = match a.course.as_str() {
        "repair" | "keep" if a.close_call => "Slightly the cheaper course",
        "repair" | "keep" => "The advice",
        _ => "Dearer, however long it is kept",
    };
    let mut facts = vec![Fact::new("Money now", now)];
    facts.extend(path_facts(seen, &a.answer.advice.fork.keep.years));
    facts.push(fails_fact(a.answer.fails_old));
    facts.push(Fact::new("Warranty", "none reckoned"));
    Column {
        title: title.to_owned(),
        verdict: verdict.to_owned(),
        facts,
    }
}

fn path_facts(seen: &AdvicePage, years: &[PathYear]) -> Vec<Fact> {
    let first = seen.known_on.year();
    let pounds = ExpectedPounds;
    let mut facts = Vec::new();
    if let Some(half) = years.get(years.len() / 2).filter(|_| years.len() > 4) {
        facts.push(Fact::new(
            format!("Cost by {}", first + half.year as i32),
            pounds(half.expected).to_string(),
        ));
    }
    if let Some(last) = years.last() {
        let year = first + last.year as i32;
        facts.push(Fact::new(
            format!("Cost by {year}"),
            pounds(last.expected).to_string(),
        ));
        facts.push(Fact::new(
            "8 in 10 within",
            format!("{} to {}", pounds(last.low), pounds(last.high)),
        ));
        let still = match last.still_in {
            Some(worth) if worth >= 0.5 => pounds(worth).to_string(),
            _ => "nothing".to_owned(),
        };
        facts.push(Fact::new(format!("Still in it in {year}"), still));
    }
    facts
}

fn fails_fact((p, low, high): (f64, f64, f64)) -> Fact {
    Fact::new(
        "Fails within a year",
        wording::sentences::chances::with_range(p, low, high),
    )
}
