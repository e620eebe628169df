//! Facts about money and lives: prices, the rate, authorities; what a forecast starts from.
use terms::trade::Kind;
use usecases::facts::Facts;
use wording::Table;
use wording::sentences::{capital, dates, money};

use super::{Group, group};

/// Prices by kind, the discount rate, and who may agree what.
pub(super) fn money(facts: &Facts) -> Vec<Group> {
    let rate = &facts.rate;
    let mut groups = vec![Group {
        id: "rate".to_owned(),
        heading: "The rate".to_owned(),
        note: "Real, a year".to_owned(),
        words: vec![format!(
            "Money of later years is brought to today’s at {}: {}, as at {}.",
            usecases::prices::rates_in_words(rate),
            rate.status,
            dates::day(rate.as_at)
        )],
        table: None,
    }];
    let rows = facts
        .authorities
        .iter()
        .map(|a| {
            vec![
                capital(a.role.words()),
                money::exact(a.limit),
                money::exact(a.emergency),
                dates::day(a.from_on),
            ]
        })
        .collect();
    let table = Table::new(&["Who", "May agree", "In an emergency", "Since"], rows);
    let mut authority = group("authority", "Authority", "Set by the landlord", table);
    authority
        .words
        .push("Starting figures: common practice, no source.".to_owned());
    groups.push(authority);
    for kind in &facts.kinds {
        let rows: Vec<Vec<String>> = facts
            .prices
            .iter()
            .filter(|p| p.kind == kind.code)
            .map(|p| {
                let whose = if p.firm.is_some() {
                    ", agreed with a firm"
                } else {
                    ""
                };
                vec![
                    format!("{}{whose}", p.name),
                    money::exact(p.low),
                    money::exact(p.likely),
                    money::exact(p.high),
                    p.status.clone(),
                    dates::day(p.as_at),
                ]
            })
            .collect();
        if rows.is_empty() {
            continue;
        }
        let table = Table::new(
            &["What", "Low", "Likely", "High", "How it is known", "As at"],
            rows,
        )
        .numbers(&[1, 2, 3]);
        groups.push(group(
            &format!("prices-{}", kind.code),
            &capital(&kind.name),
            "With VAT, fitted, by day",
            table,
        ));
    }
    groups
}

fn percent(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

/// Kinds with their lives and fault rates, and the shares of their parts.
pub(super) fn lives(facts: &Facts) -> Vec<Group> {
    let mut groups = vec![kinds(facts)];
    groups.extend(facts.kinds.iter().filter_map(|kind| parts(facts, kind)));
    groups
}

fn kinds(facts: &Facts) -> Group {
    let rows = facts
        .kinds
        .iter()
        .map(|k| {
            vec![
                capital(&k.name),
                format!("{} years", percent(k.life_median_years)),
                rate(k.rate_3y),
                rate(k.rate_10y),
                rate(k.rate_15y),
                k.status.clone(),
                dates::day(k.as_at),
            ]
        })
        .collect();
    let table = Table::new(
        &[
            "Kind",
            "Half are replaced by",
            "Faults a year at 3",
            "At 10",
            "At 15",
            "How it is known",
            "As at",
        ],
        rows,
    );
    let mut found = group("kinds", "Kinds", "Starting values", table);
    found.words.push(
        "The estate’s own history replaces these as it grows. Nothing is advised on age alone."
            .to_owned(),
    );
    found
}

fn parts(facts: &Facts, kind: &Kind) -> Option<Group> {
    let rows: Vec<Vec<String>> = facts
        .parts
        .iter()
        .filter(|p| p.kind == kind.code)
        .map(|p| {
            let clock = match p.clock.as_str() {
                "part" => "its own, from when it was fitted",
                "unit" => "the unit’s",
                _ => "none: it just happens",
            };
            vec![
                p.name.clone(),
                format!("{} in 100", percent(p.share * 100.0)),
                p.shape.to_string(),
                clock.to_owned(),
                p.status.clone(),
                dates::day(p.as_at),
            ]
        })
        .collect();
    if rows.is_empty() {
        return None;
    }
    let table = Table::new(
        &[
            "Part",
            "Of all faults",
            "Ageing",
            "Its clock",
            "How it is known",
            "As at",
        ],
        rows,
    );
    let id = format!("parts-{}", kind.code);
    Some(group(&id, &capital(&kind.name), "Parts", table))
}

/// "8 in 100 units" or "1.2 each".
fn rate(rate: f64) -> String {
    if rate < 1.0 {
        format!("{} in 100", percent(rate * 100.0))
    } else {
        format!("{} each", percent(rate))
    }
}
