//! One year of the programme, and what has none, in sentences.
use terms::{ExpectedPounds, Pence};
use usecases::advice::Candidate;
use usecases::plan::{BuildingProgramme, Replacement, WhatIf, YearLine};
use wording::sentences::{list, money, plural};
use wording::{Link, Row, Verb, Why};

use super::order;
use super::words::{ESTIMATE, asks_of, called, place};
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
                    "Their own best year has come; they wait for a later one: {}.",
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
            ": {} {}, with {}.{late}{}",
            called(found, &unit.kind),
            unit.number,
            called(found, &r.option),
            tied(found, unit)
        ),
    )
    .figure(money::whole(r.cash), "including VAT")
    .why(why_here(found, unit));
    let said = [
        short_of(found, (r, year)),
        order::sentence(found, unit.unit),
        by_itself(found, (r, year)),
    ];
    row.more.extend(said.into_iter().flatten());
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
fn short_of(found: &BuildingProgramme, (r, year): (&Replacement, i32)) -> Option<String> {
    let shown = found.plan.as_ref();
    let of_shared_purse = shown.is_some_and(|p| matches!(p.what_if, WhatIf::Shared { .. }));
    if r.years_late == 0 || found.unlimited || of_shared_purse {
        return None;
    }
    let before = found.programme.years.iter().find(|l| l.year == year - 1);
    let left = before.map(|l| Pence(l.reserve.0 - r.cash.0))?;
    let floor = found.input.floor;
    (left < floor).then(|| {
        format!(
            "A year sooner, the others where they are, the reserve would end {} at {}, {} under its floor.",
            year - 1,
            money::whole(left),
            money::whole(Pence(floor.0 - left.0))
        )
    })
}

/// What the years beside its own would cost it by itself: why it does not stand sooner where it has its best year, and why not
/// later.
fn by_itself(found: &BuildingProgramme, (r, year): (&Replacement, i32)) -> Option<String> {
    let unit = found.input.units.iter().find(|u| u.unit == r.unit)?;
    let place = usize::try_from(year - found.input.first_year).ok()?;
    if unit.option != r.option {
        return None;
    }
    let at = |place: usize| unit.by_year.get(place).copied().flatten().map(|w| w.0);
    let here = at(place)?;
    let more = |there: f64| Pence(((there - here) * 100.0).round() as i64);
    let later = at(place + 1)
        .map(more)
        .filter(|_| place + 1 < found.input.years.len());
    let sooner = place.checked_sub(1).and_then(at).map(more);
    // "Least" is said of the whole of its years, not of its neighbours alone.
    let years = found.input.years.len();
    let least = unit
        .by_year
        .iter()
        .take(years)
        .flatten()
        .all(|w| w.0 + 0.005 >= here);
    let waits_before = found.orders.get(&r.unit).is_some_and(|o| o.before);
    match (sooner, later) {
        (Some(sooner), Some(later)) if least && sooner.0 >= 0 && later.0 >= 0 => Some(format!(
            "By itself it costs least in this year: {} more a year sooner, {} more a year later.",
            pence_or_less(sooner),
            pence_or_less(later)
        )),
        // What the wait on costs is said where it stands before another.
        (_, Some(later)) if later.0 > 0 && !waits_before => Some(format!(
            "By itself a year later would cost {} more.",
            pence_or_less(later)
        )),
        _ => None,
    }
}

/// "£4", "less than £1".
fn pence_or_less(amount: Pence) -> String {
    if amount.0 < 50 {
        "less than £1".to_owned()
    } else {
        money::whole(amount)
    }
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
pub(super) fn why(unit: &Candidate, first_year: i32) -> Why {
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
            "Keeping it {} more and replacing it then, in {}, is expected to be the cheapest; replacing it now would cost {} more.",
            plural(u64::from(unit.best_keep), "year", "years"),
            first_year + unit.best_keep as i32,
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

/// The same of one that is replaced, with what each pound of its wait costs where it waits.
fn why_here(found: &BuildingProgramme, unit: &Candidate) -> Why {
    let mut why = why(unit, found.input.first_year);
    if let Some(line) = order::by_the_pound(found, unit.unit) {
        why.paragraphs.insert(1, line);
    }
    why
}

/// What is kept for failures in a year: those that are expected of what stands there now, one year older each year.
fn set_aside(found: &BuildingProgramme, line: &YearLine) -> Row {
    let place = usize::try_from(line.year - found.input.first_year).unwrap_or(0);
    let failures = found.failures.get(place).copied();
    let sentence = failures.map_or_else(
        || "Kept for failures through the year.".to_owned(),
        |n| {
            format!(
                "Kept for failures through the year, were nothing replaced: about {} at each kind’s likely repair price.",
                plural(n.round().max(0.0) as u64, "repair", "repairs")
            )
        },
    );
    let row = Row::plain(format!("aside-{}", line.year), sentence)
        .figure(money::whole(line.set_aside), "set aside");
    let Some(failures) = failures else {
        return row;
    };
    row.why(Why::this(vec![
        format!(
            "The failures expected in {}, {failures:.1} over all units as they stand, each year one year older, each at its kind’s \
             general price for a repair whose part is not known yet.{}",
            line.year,
            kept_and_expected(found).unwrap_or_default()
        ),
        ESTIMATE.to_owned(),
    ]))
}

/// " Over its 10 years that is about 372 failures kept for; with its replacements about 367 are expected …": both come from the
/// same courses, and it is said why they differ.
pub(super) fn kept_and_expected(found: &BuildingProgramme) -> Option<String> {
    let plan = found.plan.as_ref().filter(|p| p.made.proven.stands())?;
    if found.failures.is_empty() {
        return None;
    }
    let kept = found.failures.iter().sum::<f64>().round();
    let expected = plan.made.figures.failures.round();
    let years = plural(found.failures.len() as u64, "year", "years");
    Some(if expected < kept {
        format!(
            " Over {years} that is about {kept} failures kept for; with the plan’s replacements about {expected} are expected. \
             What the new units save is not taken off what is kept."
        )
    } else if expected > kept {
        format!(
            " Over {years} that is about {kept} failures kept for; with the plan’s replacements about {expected} are expected, \
             for the new units fail more often than what they replace."
        )
    } else {
        format!(" Over {years} that is about {kept} failures, kept for and expected.")
    })
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
