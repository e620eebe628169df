//! What is likely to fail, with its reasons.
use chrono::NaiveDate;
use terms::today::{LikelyUnit, Reason};

use super::small;
use crate::sentences::{capital, chances, counted, dates, list, number_word, plural};

/// "before April", or "between October and March" for a season still to come.
pub fn season_words((from, until): (NaiveDate, NaiveDate), today: NaiveDate) -> String {
    if from > today {
        format!(
            "between {} and {}",
            dates::month(from),
            dates::month_year(until)
        )
    } else {
        let after = until.succ_opt().unwrap_or(until);
        format!("before {}", dates::month(after))
    }
}

/// " is likely to fail again: about 1 in 3 before April (1 in 5 to 1 in 2). Two failures in 14 months, hard water."
pub fn likely(unit: &LikelyUnit, today: NaiveDate) -> String {
    let may = if unit.season.chance >= 0.25 {
        "is likely to fail"
    } else {
        "may fail"
    };
    let again = if unit.failures > 0 { " again" } else { "" };
    let season = season_words(unit.season_days, today);
    let range = chances::range(unit.season.low, unit.season.high)
        .map(|range| format!(" ({range})"))
        .unwrap_or_default();
    let chance = chances::about(unit.season.chance);
    let reasons = reasons(&unit.reasons)
        .map(|words| format!(" {words}"))
        .unwrap_or_default();
    format!(" {may}{again}: {chance} {season}{range}.{reasons}")
}

/// "Two failures in 14 months, hard water, no scale reducer on record." `None` with no reason.
pub fn reasons(reasons: &[Reason]) -> Option<String> {
    let said: Vec<String> = reasons.iter().map(reason).collect();
    (!said.is_empty()).then(|| format!("{}.", capital(&said.join("; "))))
}

fn reason(reason: &Reason) -> String {
    let years = |y: f64| plural(y.round().max(0.0) as u64, "year", "years");
    match reason {
        Reason::FewFailures(0, usual, watched) => {
            format!(
                "no failure in {}, where {usual:.1} would be usual",
                years(*watched)
            )
        }
        Reason::FewFailures(own, usual, watched) => {
            let failures = counted(u64::from(*own), "failure", "failures");
            format!(
                "{failures} in {}, where {usual:.1} would be usual",
                years(*watched)
            )
        }
        Reason::Family(name) => format!("of the family “{name}”, which fails more here"),
        Reason::HardWater => "hard water and no scale reducer on record".into(),
        Reason::HomeSize => "how many people live there".into(),
        Reason::ManyFailures(own, months) => {
            let failures = counted(u64::from(*own), "failure", "failures");
            let span = plural(u64::from(*months), "month", "months");
            format!("{failures} in {span}")
        }
        Reason::NoFilter => "no filter fitted".into(),
        Reason::OpenSystem => "an open heating circuit, fed from a tank".into(),
        Reason::Older(age) => format!("at {}, older than most of its kind here", years(*age)),
        // Names of parts carry commas of their own: more than two would not read as a list.
        Reason::PartsRenewed(parts) if parts.len() > 2 => {
            format!("{} renewed", plural(parts.len() as u64, "part", "parts"))
        }
        Reason::PartsRenewed(parts) => {
            let parts: Vec<String> = parts.iter().map(|p| small(p)).collect();
            format!("renewed: {}", list(&parts))
        }
        Reason::Younger(age) => format!("at {}, younger than most of its kind here", years(*age)),
    }
}

/// Why a unit is called likely: what it rests on, in words.
pub fn likely_why(unit: &LikelyUnit) -> Vec<String> {
    let failures = plural(u64::from(unit.kind_failures), "failure", "failures");
    let year = chances::with_range(unit.year.chance, unit.year.low, unit.year.high);
    vec![
        format!("Over the next 12 months: {year}. The range holds 8 of 10 such units."),
        format!(
            "It rests on {failures} of its kind on record here, this unit’s own record, the age of its parts and the time of year; {} of the kind’s level comes from your own records, the rest from published or assumed figures.",
            chances::in_ten(unit.own_weight)
        ),
        format!(
            "Forecast of {}. A chance, not a diagnosis; nothing is advised on age alone.",
            dates::day(unit.made_on)
        ),
    ]
}

/// "For nine more kinds too few failures are on record to say which unit is likely to fail."
pub fn too_thin(kinds: &[(String, u32)]) -> Option<String> {
    (!kinds.is_empty()).then(|| {
        let more = counted(kinds.len() as u64, "more kind", "more kinds");
        format!("For {more} too few failures are on record to say which unit is likely to fail.")
    })
}

/// Which kinds those are, and how many failures each has.
pub fn too_thin_why(kinds: &[(String, u32)]) -> Vec<String> {
    let said: Vec<String> = kinds
        .iter()
        .map(|(plural, failures)| format!("{plural} ({})", number_word(u64::from(*failures))))
        .collect();
    vec![
        format!("On record here: {}.", list(&said)),
        "Fifteen failures of a kind are needed before its units are put in an order (our choice, no source).".to_owned(),
    ]
}
