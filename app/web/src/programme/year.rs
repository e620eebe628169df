//! One year of the programme, and what has none, in sentences.
use terms::{ExpectedPounds, Pence};
use usecases::advice::Candidate;
use usecases::plan::{BuildingProgramme, LeftOut, Replacement, YearLine};
use wording::sentences::{capital, counted, list, money, plural};
use wording::{Link, Row, Verb, Why};

use super::words::{ESTIMATE, asks_of, called, last_year, place};
use crate::form::fresh_once;

/// One year: replacements, what is kept for failures, what was put off.
pub(super) fn year(found: &BuildingProgramme, line: &YearLine) -> Vec<Row> {
    let mut rows: Vec<Row> = line
        .replacements
        .iter()
        .filter_map(|r| {
            Some(replacement(
                found,
                found.units.get(&r.unit)?,
                (r, line.year),
            ))
        })
        .collect();
    if line.set_up.0 > 0 {
        rows.push(
            Row::plain(
                format!("setup-{}", line.year),
                "Coming to the building, setting up at its stairs and consulting, once for all of them.",
            )
            .figure(money::whole(line.set_up), "besides"),
        );
    }
    if line.set_aside.0 > 0 {
        rows.push(set_aside(found, line));
    }
    if !line.carried.is_empty() {
        let names: Vec<String> = line
            .carried
            .iter()
            .filter_map(|id| found.units.get(id))
            .map(|u| u.space_name.clone())
            .collect();
        rows.push(
            Row::plain(
                format!("carried-{}", line.year),
                format!(
                    "Their own best year has come, and they wait: {}.",
                    short_list(&names)
                ),
            )
            .figure(
                plural(line.carried.len() as u64, "unit", "units"),
                "waiting",
            ),
        );
    }
    rows
}

fn short_list(names: &[String]) -> String {
    const SAID: usize = 8;
    if names.len() <= SAID {
        return list(names);
    }
    format!(
        "{} and {} more",
        names[..SAID].join(", "),
        names.len() - SAID
    )
}

fn replacement(found: &BuildingProgramme, unit: &Candidate, (r, year): (&Replacement, i32)) -> Row {
    let late = match (r.years_late, r.delay_costs) {
        (0, _) => String::new(),
        (n, Some(cost)) => format!(
            " Its advice would have it {} earlier; the wait costs about {}.",
            plural(u64::from(n), "year", "years"),
            pounds(cost)
        ),
        (n, None) => format!(
            " Its advice would have it {} earlier; what the wait costs lies beyond its horizon.",
            plural(u64::from(n), "year", "years")
        ),
    };
    let mut row = Row::about(
        format!("r-{}", unit.unit),
        place(unit, found),
        format!(
            ": {} {}, with {}.{late}{}{}",
            called(found, &unit.kind),
            unit.number,
            called(found, &r.option),
            short_of(found, (r, year)),
            tied(found, unit)
        ),
    )
    .figure(money::whole(r.cash), "including VAT")
    .why(why(unit));
    if let Some(href) = asks_of(found, unit.unit) {
        row = row.verb(Verb::link(
            "Why then, and what would another year cost?",
            href,
        ));
    }
    match follow(found, unit) {
        Some(verb) => row.verb(verb),
        None => row,
    }
}

/// How much the reserve would be short a year sooner, with all others in their years: why it stands where it stands, where
/// money is the reason. What coming there and setting up would cost besides is not counted, so it is short by as much at least.
fn short_of(found: &BuildingProgramme, (r, year): (&Replacement, i32)) -> String {
    let of_shared_purse = found.adopted.as_ref().is_some_and(|a| a.shared);
    if r.years_late == 0 || found.unlimited || of_shared_purse {
        return String::new();
    }
    let before = found.programme.years.iter().find(|l| l.year == year - 1);
    let Some(left) = before.map(|l| Pence(l.reserve.0 - r.cash.0)) else {
        return String::new();
    };
    let floor = found.input.floor;
    if left >= floor {
        return String::new();
    }
    format!(
        " A year sooner, the others where they are, the reserve would end {} at {}, {} under its floor.",
        year - 1,
        money::whole(left),
        money::whole(Pence(floor.0 - left.0))
    )
}

/// What a person tied of it.
fn tied(found: &BuildingProgramme, unit: &Candidate) -> String {
    let mine = found
        .ties
        .iter()
        .find(|card| card.tie.what != "forbid" && card.tie.units.contains(&unit.unit));
    match mine {
        Some(card) if card.tie.what == "pin" => format!(
            " Pinned here by {}: {}.",
            card.by,
            card.tie.why.trim_end_matches('.')
        ),
        Some(card) if card.tie.what == "by" => format!(
            " It must go by {}, says {}: {}.",
            card.tie.year.unwrap_or_default(),
            card.by,
            card.tie.why.trim_end_matches('.')
        ),
        Some(card) => format!(
            " Bound together with others by {}: {}.",
            card.by,
            card.tie.why.trim_end_matches('.')
        ),
        None => String::new(),
    }
}

/// Of the adopted plan: its job, or the verb that opens it.
fn follow(found: &BuildingProgramme, unit: &Candidate) -> Option<Verb> {
    let adopted = found.adopted.as_ref()?;
    let shown = found.plan.as_ref().filter(|p| p.id == adopted.plan)?;
    if let Some((_, job)) = adopted.jobs.iter().find(|(u, _)| *u == unit.unit) {
        return found
            .may_state
            .then(|| Verb::link("See its job", format!("/jobs/{job}")));
    }
    found.may_state.then(|| {
        Verb::post(
            "Open its job",
            format!("/programme/plans/{}/jobs/{}", shown.id, unit.unit),
            vec![("once".to_owned(), fresh_once())],
        )
    })
}

pub(super) fn pounds(cost: ExpectedPounds) -> String {
    money::whole(cost.to_pence())
}

/// Why a unit has its year: its own cost course, never its age alone.
pub(super) fn why(unit: &Candidate) -> Why {
    let source = if unit.own_forecast {
        "from its own forecast"
    } else {
        "from its kind alone: it has no forecast of its own yet"
    };
    let course = if unit.advantage.0 > 0.0 {
        format!(
            "Replacing it now is expected to cost {} less than keeping it as long as is best.",
            pounds(unit.advantage)
        )
    } else {
        format!(
            "Keeping it {} more and replacing it then is expected to be the cheapest; replacing it now would cost {} more.",
            plural(u64::from(unit.best_keep), "year", "years"),
            pounds(ExpectedPounds(-unit.advantage.0))
        )
    };
    Why {
        more: Some(Link::new("The unit and its advice", format!("/units/{}", unit.unit))),
        ..Why::this(vec![
            course,
            format!(
                "About {:.2} failures are expected in the next 12 months, {source}.",
                unit.expected_12m
            ),
            "Every year is weighed by repairs, service, energy, the price of a new unit and what comes after it; age alone \
             decides nothing."
                .to_owned(),
            ESTIMATE.to_owned(),
        ])
    }
}

fn set_aside(found: &BuildingProgramme, line: &YearLine) -> Row {
    Row::plain(
        format!("aside-{}", line.year),
        format!(
            "Kept for failures through the year: about {} at each kind’s likely repair price.",
            plural(found.failures_a_year.round().max(0.0) as u64, "repair", "repairs")
        ),
    )
    .figure(money::whole(line.set_aside), "set aside")
    .why(Why::this(vec![
        format!(
            "The expected failures of the next 12 months, {:.1} over all units, each at its kind’s general price for a \
             repair whose part is not known yet. The same sum is kept every year: what replacements save is not taken \
             off, so the purse is a little fuller than shown.",
            found.failures_a_year
        ),
        ESTIMATE.to_owned(),
    ]))
}

/// What the year comes to, in one line that adds up.
pub(super) fn sum(found: &BuildingProgramme, line: &YearLine) -> String {
    let paid = Pence(line.spent.0 + line.set_up.0);
    if found.unlimited {
        return format!(
            "{} set aside + {} for replacements = {} in {}.",
            money::whole(line.set_aside),
            money::whole(paid),
            money::whole(Pence(line.set_aside.0 + paid.0)),
            line.year
        );
    }
    format!(
        "{} at the start + {} in − {} set aside − {} for replacements = {} at the end of {}.",
        money::whole(line.opening),
        money::whole(line.comes_in),
        money::whole(line.set_aside),
        money::whole(paid),
        money::whole(line.reserve),
        line.year
    )
}

/// Why a unit is left out, with its price; `None` for those that are only counted.
fn why_out(why: &LeftOut, last: i32) -> Option<(Option<Pence>, String)> {
    match why {
        LeftOut::NoMoney { cash, most, .. } => Some((
            Some(*cash),
            format!(
                "finds no money. The most there was in any of its years is {}.",
                money::whole(*most)
            ),
        )),
        LeftOut::WorthLess { cash, loses } => Some((
            Some(*cash),
            format!(
                "is kept beyond {last}: that costs about {} more than its best year would, less than what would have to give \
                 way for it.",
                money::whole(Pence(loses * 100))
            ),
        )),
        LeftOut::KeptByHand => Some((
            None,
            "is kept out of every year by what people asked.".to_owned(),
        )),
        LeftOut::KeptBeyond { .. } | LeftOut::Unusable => None,
    }
}

/// What is left out, and why.
pub(super) fn left_out(found: &BuildingProgramme) -> Vec<Row> {
    let mut rows: Vec<Row> = found
        .programme
        .left_out
        .iter()
        .filter_map(|(id, why)| {
            let unit = found.units.get(id)?;
            let (cash, sentence) =
                why_out(why, found.programme.years.last().map_or(0, |y| y.year))?;
            let row = Row::about(
                format!("out-{}", unit.unit),
                place(unit, found),
                format!(": {} {} {sentence}", called(found, &unit.kind), unit.number),
            )
            .figure(money::whole(cash.unwrap_or(unit.capex)), "including VAT")
            .why(self::why(unit));
            Some(match asks_of(found, unit.unit) {
                Some(href) => row.verb(Verb::link("What would a year cost?", href)),
                None => row,
            })
        })
        .collect();
    let kept = found
        .programme
        .left_out
        .iter()
        .filter(|(_, why)| matches!(why, LeftOut::KeptBeyond { .. }))
        .count() as u64;
    if kept > 0 {
        rows.push(
            Row::plain(
                "kept-beyond",
                format!(
                    "{} kept beyond {}: repairing stays the cheaper course for all that is known today.",
                    capital(&counted(kept, "unit is", "units are")),
                    last_year(found)
                ),
            )
            .figure(plural(kept, "unit", "units"), "kept"),
        );
    }
    rows
}

/// Units kept beyond the programme, each with the way to ask what a year would cost.
pub(super) fn kept(found: &BuildingProgramme) -> Vec<Row> {
    let left = found.programme.left_out.iter();
    let mut units: Vec<&Candidate> = left
        .filter(|(_, why)| matches!(why, LeftOut::KeptBeyond { .. }))
        .filter_map(|(id, _)| found.units.get(id))
        .collect();
    units.sort_by(|a, b| (&a.space_name, &a.number).cmp(&(&b.space_name, &b.number)));
    let row = |unit: &Candidate| {
        let href = asks_of(found, unit.unit)?;
        let row = Row::about(
            format!("kept-{}", unit.unit),
            place(unit, found),
            format!(": {} {} is kept.", called(found, &unit.kind), unit.number),
        );
        Some(row.verb(Verb::link("What would a year cost?", href)))
    };
    units.into_iter().filter_map(row).collect()
}
