//! One strip a building, and the whole morning as plain text.
use chrono::TimeDelta;
use terms::today::{BuildingToday, Due, Expected, Today};

use super::{
    Local, advice, due, due_rest, finding, likely, outage, outage_subject, place, quote, standing,
    suspected, suspected_subject, too_thin, trouble, uncovered, undated, unit_at, unsafe_unit,
};
use crate::sentences::{counted, dates, list, number_word, plural};

/// ": one flat without heat, one unit isolated; one check late and three due in 14 days. …"
pub fn building(building: &BuildingToday, season: &str) -> String {
    let mut now = Vec::new();
    if building.troubled > 0 {
        let flats = counted(u64::from(building.troubled), "home", "homes");
        now.push(format!("{flats} without heat or hot water"));
    }
    if building.unsafe_units > 0 {
        let units = counted(u64::from(building.unsafe_units), "unit", "units");
        now.push(format!("{units} unsafe or isolated"));
    }
    let mut duties = Vec::new();
    if building.late > 0 {
        let late = counted(u64::from(building.late), "check", "checks");
        duties.push(format!("{late} late"));
    }
    if building.soon > 0 {
        duties.push(format!(
            "{} due in 14\u{a0}days",
            number_word(u64::from(building.soon))
        ));
    }
    if duties.is_empty() {
        duties.push(match building.next_deadline {
            Some(day) => format!("no check due before {}", dates::day(day)),
            None => "no check due in 60\u{a0}days".into(),
        });
    }
    if now.is_empty() {
        now.push("nothing is wrong there now".into());
    }
    let mut said = vec![format!(": {}; {}.", list(&now), list(&duties))];
    let several = building.expected.iter().filter(|e| e.units > 1);
    said.extend(several.map(|e| expected(e, season)));
    said.join(" ")
}

/// "About 5 failures among its 48 combi gas boilers are to be expected before April (2 to 8)."
pub fn expected(expected: &Expected, season: &str) -> String {
    let about = expected.failures.round().max(0.0) as u64;
    let failures = if about == 0 {
        "Less than one failure".to_owned()
    } else {
        format!("About {}", plural(about, "failure", "failures"))
    };
    let (low, high) = expected.range;
    let units = terms::money::thousands(u64::from(expected.units));
    format!(
        "{failures} among its {units}\u{a0}{} {} to be expected {season} ({low} to {high}).",
        expected.plural,
        if about == 1 || about == 0 {
            "is"
        } else {
            "are"
        },
    )
}

/// The morning brief: what Today says, as plain text. No resident's need stands in it.
pub fn brief(today: &Today, local: Local<'_>) -> String {
    let mut lines = vec![
        dates::day_full(today.day),
        format!("{}.", finding(today)),
        standing(today),
    ];
    let mut part = |heading: &str, rows: Vec<String>| {
        if !rows.is_empty() {
            lines.push(String::new());
            lines.push(heading.to_owned());
            lines.extend(rows.into_iter().map(|row| format!("- {row}")));
        }
    };
    part("No heat or hot water", without_heat(today, local));
    let danger = today.unsafe_units.iter().map(|u| {
        format!(
            "{}{}",
            unit_at(&u.kind_name, &u.place),
            unsafe_unit(u, local)
        )
    });
    part("Unsafe or isolated", danger.collect());
    let fortnight = today.day + TimeDelta::days(14);
    let (near, rest): (Vec<Due>, Vec<Due>) = today
        .due
        .iter()
        .cloned()
        .partition(|d| d.deadline <= fortnight);
    let duties = near
        .iter()
        .map(|d| format!("{}{}", place(&d.place), due(d, today.day, local)));
    part(
        "Due in 60 days",
        duties
            .chain(due_rest(&rest, today.day))
            .chain(undated(today.undated))
            .collect(),
    );
    let quotes = today
        .quotes
        .iter()
        .map(|q| format!("{}{}", place(&q.place), quote(q)));
    let advices = today
        .advices
        .iter()
        .map(|a| format!("{}{}", unit_at(&a.kind_name, &a.place), advice(a)));
    let alone = today
        .uncovered
        .iter()
        .map(|u| format!("{}{}", place(&u.place), uncovered(u)));
    part(
        "Waiting for you",
        alone.chain(quotes).chain(advices).collect(),
    );
    let chances = today.likely.iter().map(|u| {
        format!(
            "{}{}",
            unit_at(&u.kind_name, &u.place),
            likely(u, today.day)
        )
    });
    part(
        "Likely next",
        chances.chain(too_thin(&today.too_thin)).collect(),
    );
    lines.push(String::new());
    lines.join("\n")
}

/// Homes without heat or hot water, outages, and calls that may be one.
fn without_heat(today: &Today, local: Local<'_>) -> Vec<String> {
    let cold = today
        .troubles
        .iter()
        .map(|t| format!("{}{}", place(&t.place), trouble(t, today.at, local)));
    let pipes = today
        .outages
        .iter()
        .map(|o| format!("{}{}", outage_subject(o), outage(o, today.at)));
    let maybe = today
        .suspected
        .iter()
        .map(|s| format!("{}{}", suspected_subject(s), suspected(s)));
    cold.chain(pipes).chain(maybe).collect()
}
