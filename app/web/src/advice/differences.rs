//! The courses over the same years, each with its difference to replacing now, so that every figure of the page can be had
//! from another.
use chrono::Datelike;
use terms::{ExpectedPounds, Pence};
use usecases::advice::{AdvicePage, Listed, PathYear};
use wording::Table;
use wording::sentences::{counted, plural};

use super::{drawings, words};

/// What both paths come to at the end of the years: (spent so far, still in it) of replacing now.
fn replacing(a: &Listed) -> Option<(Pence, Pence)> {
    let (code, _, _) = a.instead()?;
    let last = drawings::path_of(a, code)?.years.last()?;
    let still = ExpectedPounds(last.still_in?).to_pence();
    Some((ExpectedPounds(last.expected).to_pence(), still))
}

fn net(a: &Listed) -> Option<Pence> {
    let (spent, still) = replacing(a)?;
    spent.checked_sub(still)
}

/// What keeping it so many years and then replacing it costs over the same years, less what is left: apart from replacing now by
/// the very difference that is said elsewhere.
pub(super) fn kept_net(a: &Listed, years: u32) -> Option<Pence> {
    net(a)?.checked_add(drawings::dearer(a, years)?)
}

/// "£314.14 more"
fn beside(dearer: Pence) -> String {
    match dearer.0 {
        0 => "the same".to_owned(),
        d if d > 0 => format!("{dearer} more"),
        d => format!("{} less", Pence(-d)),
    }
}

/// The courses with what each costs over the years compared; `None` when nothing was compared.
pub(super) fn table(seen: &AdvicePage) -> Option<Table> {
    let a = &seen.listed;
    let base = net(a)?;
    let (_, _, price) = a.instead()?;
    let best = a.answer.advice.best_keep?;
    let last = drawings::horizon(a);
    let mut rows = vec![vec![
        "Replace now".to_owned(),
        price.to_string(),
        base.to_string(),
        "–".to_owned(),
    ]];
    let (verb, now) = match a.quote {
        Some(quote) => ("Repair, keep", quote.to_string()),
        None => ("Keep", "nothing".to_owned()),
    };
    let mut add = |years: u32, best: bool| {
        let dearer = drawings::dearer(a, years)?;
        let length = if best {
            words::more_years(a)
        } else {
            counted(u64::from(years), "more year", "more years")
        };
        rows.push(vec![
            format!("{verb} {length}, then replace"),
            now.clone(),
            base.checked_add(dearer)?.to_string(),
            beside(dearer),
        ]);
        Some(())
    };
    add(best, true)?;
    if last != best {
        add(last, false);
    }
    let head = format!(
        "Cost over {}, less what is left",
        plural(u64::from(last), "year", "years")
    );
    let heads = ["Course", "Money now", head.as_str(), "Beside replacing now"];
    let mut table = Table::new(&heads, rows).numbers(&[1, 2, 3]);
    "Expected, in today’s money, VAT, waiting and disruption in it".clone_into(&mut table.caption);
    Some(table)
}

/// How the table, the fork and the limit hang together, one sentence each.
pub(super) fn bridge(seen: &AdvicePage) -> Vec<String> {
    let a = &seen.listed;
    let (Some((spent, still)), Some(base)) = (replacing(a), net(a)) else {
        return Vec::new();
    };
    let last = drawings::horizon(a);
    let year = seen.known_on.year() + last as i32;
    let mut said = vec![format!(
        "Replacing now costs {spent} by {year}; {still} of it is still in the new unit then: {spent} − {still} = {base}."
    )];
    said.extend(kept(a, base, last, year));
    said.extend(beyond_repair(a, last));
    said.extend(begins(seen));
    said
}

/// The end of the fork's other path, and how it leads to the table's last row.
fn kept(a: &Listed, base: Pence, last: u32, year: i32) -> Option<String> {
    let dearer = drawings::dearer(a, last)?;
    let all = base.checked_add(dearer)?;
    let end = a.answer.advice.fork.keep.years.last()?;
    let left = ExpectedPounds(end.still_in?).to_pence();
    let years = plural(u64::from(last), "year", "years");
    if left.0 == 0 {
        return Some(format!(
            "Kept {years}, it costs {all} by {year}: the end of the fork. {}",
            subtract(all, base, dearer)
        ));
    }
    let spent = all.checked_add(left)?;
    let (word, size) = if left.0 > 0 {
        ("less", left)
    } else {
        ("and", Pence(-left.0))
    };
    Some(format!(
        "Kept {years}, it costs {spent} by {year}, the end of the fork, {word} {size} for what the later start saves or costs: {all}. {}",
        subtract(all, base, dearer)
    ))
}

fn subtract(all: Pence, base: Pence, dearer: Pence) -> String {
    if dearer.0 >= 0 {
        format!("Beside replacing now: {all} − {base} = {dearer}.")
    } else {
        format!(
            "Beside replacing now: {base} − {all} = {}.",
            Pence(-dearer.0)
        )
    }
}

/// What failures beyond repair add to keeping it.
fn beyond_repair(a: &Listed, last: u32) -> Option<String> {
    let best = a.answer.advice.best_keep?;
    let adds = |k: u32| {
        let pounds = a.answer.advice.lost_adds.get(k as usize).copied()?;
        Some(ExpectedPounds(pounds).to_pence())
    };
    let (short, long) = (adds(best)?, adds(last)?);
    let over = |p: Pence| {
        if p.0 >= 0 {
            format!("adds {p}")
        } else {
            format!("takes {} off", Pence(-p.0))
        }
    };
    let then = if best == last {
        String::new()
    } else {
        format!(
            ", and {} over {}",
            over(long),
            plural(u64::from(last), "year", "years")
        )
    };
    Some(format!(
        "That a failure beyond repair may end it before its time {} over {}{then}; its successor is then counted by the year.",
        over(short),
        plural(u64::from(best), "year", "years")
    ))
}

/// Where the fork begins, and why that is more than the money now: the days of doing without, and the disruption of fitting.
fn begins(seen: &AdvicePage) -> Option<String> {
    let a = &seen.listed;
    let (code, _, price) = a.instead()?;
    let first = |years: &[PathYear]| Some(ExpectedPounds(years.first()?.expected).to_pence());
    let fit = first(&drawings::path_of(a, code)?.years)?;
    let value = |name: &str, option: &str| {
        let mut lines = seen.lines.iter();
        let found = lines.find(|l| l.code == name && l.option == option);
        found.map_or(0.0, |l| l.value)
    };
    let day = value("waiting_a_day", "");
    let wait = |name: &str| {
        let days = value(name, "").round() as u64;
        let cost = ExpectedPounds(value(name, "") * day).to_pence();
        (cost, format!("{} of waiting", plural(days, "day", "days")))
    };
    let pounds = |name: &str| ExpectedPounds(value(name, "")).to_pence();
    let mut beside = vec![
        (pounds("disruption_fitting"), "disruption".to_owned()),
        (pounds("removal"), "taking the old one away".to_owned()),
    ];
    let mut keeping = String::new();
    if let Some(quote) = a.quote {
        beside.insert(0, wait("waiting_replace"));
        let (cost, words) = wait("waiting_repair");
        let mend = first(&a.answer.advice.fork.keep.years)?;
        keeping = format!("; keeping it at {mend}: {quote} for the repair, {cost} for {words}");
    }
    if fit == price && keeping.is_empty() {
        return None;
    }
    let grant = ExpectedPounds(value("grant", code)).to_pence();
    let parts: Vec<String> = beside
        .iter()
        .filter(|(cost, _)| cost.0 != 0)
        .map(|(cost, words)| format!(", {cost} for {words}"))
        .collect();
    let less = if grant.0 > 0 {
        format!(", less a grant of {grant}")
    } else {
        String::new()
    };
    Some(format!(
        "The fork begins above the money now. Replacing begins at {fit}: {price} for the new one{}{less}{keeping}.",
        parts.concat()
    ))
}
