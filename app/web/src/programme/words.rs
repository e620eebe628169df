//! The programme in sentences: what was found, what follows, what clashes.
use terms::{Pence, UnitId};
use usecases::advice::Candidate;
use usecases::plan::{
    BuildingProgramme, Change, Clashing, LeftOut, ProgrammeInput, ProgrammeVerdict, Proven,
    Verdict, WhatIf,
};
use wording::sentences::{capital, counted, list, money, plural};
use wording::{Link, Row, Verb};

use crate::form::fresh_once;

/// What an estimate is, said wherever the programme stands (trade page on safety, verbatim).
pub(super) const ESTIMATE: &str =
    "Estimate from this building's records and stated assumptions. Get a survey before ordering.";

/// The one limit of money, as it is called wherever it is named.
pub(super) const FLOOR: &str = "the floor of the reserve";
/// The same of a purse several buildings pay from.
pub(super) const SHARED_FLOOR: &str = "the floor of the shared reserve";

/// What purse, reserve and floor are; said once, where the purse is drawn.
pub(super) fn what_they_are(found: &BuildingProgramme) -> String {
    format!(
        "The purse is what comes in and what is paid, year by year. The reserve is what is left in it at the end of a year. Its \
         floor, {}, is what it may not end a year under: where money keeps a unit waiting, it is that limit.",
        money::whole(found.input.floor)
    )
}

/// The heading: what was found.
pub(super) fn finding(found: &BuildingProgramme) -> String {
    let programme = &found.programme;
    let named = &found.building.name;
    let Some(plan) = &found.plan else {
        return format!("No plan is made of {named} yet");
    };
    if !plan.made.proven.stands() {
        return if plan.made.proven.clash.is_empty() {
            format!("No plan of {named} was found in the time there was")
        } else {
            format!("What is asked of {named} cannot all be kept")
        };
    }
    let count = replacements(found);
    let late = programme
        .years
        .iter()
        .flat_map(|y| &y.replacements)
        .filter(|r| r.years_late > 0)
        .count() as u64;
    let none = worth_it_and_out(found);
    let text = match programme.verdict {
        ProgrammeVerdict::NothingToReplace => format!(
            "Nothing in {named} is worth replacing before {}",
            last_year(found) + 1
        ),
        ProgrammeVerdict::EveryBestYear => format!(
            "{} a year, {}",
            counted(count, "replacement has", "replacements have"),
            if count == 1 {
                "the one its advice names"
            } else {
                "each the one its advice names"
            }
        ),
        _ if late == 0 && none == 0 => format!(
            "{} a year; what binds the plan moves some of them",
            counted(count, "replacement has", "replacements have")
        ),
        ProgrammeVerdict::SomeWait => format!(
            "{} a year; {}",
            counted(count, "replacement has", "replacements have"),
            counted(late, "of them waits", "of them wait")
        ),
        ProgrammeVerdict::MoneyShort if count == 0 => {
            format!(
                "{} left out that would be worth replacing",
                counted(none, "unit is", "units are")
            )
        }
        ProgrammeVerdict::MoneyShort => format!(
            "{} a year; {} left out that would be worth it",
            counted(count, "replacement has", "replacements have"),
            counted(none, "unit is", "units are")
        ),
    };
    capital(&text)
}

/// The sentence under it: what follows.
pub(super) fn standing(found: &BuildingProgramme) -> String {
    let Some(plan) = &found.plan else {
        return if found.may_state {
            "Make the plan, and every unit’s best year is weighed against the purse. What stands below is only \
             what going year by year would give."
                .to_owned()
        } else {
            "Your managing agent makes it. What stands below is only what going year by year would give.".to_owned()
        };
    };
    if !plan.made.proven.stands() {
        return clash(found, &plan.made.proven);
    }
    if let WhatIf::Shared { buildings, .. } = plan.what_if {
        let others = u64::from(buildings.saturating_sub(1));
        return format!(
            "It pays from one purse with {}: {} for this one in all years. What that purse holds stands on the page of \
             several buildings.",
            counted(others, "other building", "other buildings"),
            money::whole(plan.made.figures.spent)
        );
    }
    if found.unlimited {
        let whom = if found.may_state {
            "Say below what comes in a year."
        } else {
            "Your managing agent enters it."
        };
        return format!(
            "Nothing is stated of the purse of {} yet, so every unit stands in the year its advice names, whatever it costs: {} in all. \
             {whom}",
            found.building.name,
            money::whole(plan.made.figures.spent)
        );
    }
    let end = found.programme.years.last().map_or(Pence(0), |y| y.reserve);
    format!(
        "The purse opens with {}, pays {} for replacements and leaves a reserve of {} at the end of {}. At its lowest the reserve \
         stands at {}; its floor is {}.",
        money::whole(found.input.opening),
        money::whole(plan.made.figures.spent),
        money::whole(end),
        last_year(found),
        money::whole(plan.made.figures.lowest),
        money::whole(found.input.floor)
    )
}

/// What clashes, as one sentence and what to do.
pub(super) fn clash(found: &BuildingProgramme, proven: &Proven) -> String {
    if let [Clashing::Reserve { dry }] = proven.clash.as_slice()
        && !dry.is_empty()
    {
        let years: Vec<String> = dry
            .iter()
            .map(|t| (found.input.first_year + *t as i32).to_string())
            .collect();
        let (a_year, in_all) = short_of_floor(&found.input);
        let floor = if in_all <= found.input.floor {
            format!(", or a floor {} lower", money::whole(in_all))
        } else {
            String::new()
        };
        return format!(
            "What is set aside for failures alone takes the reserve under its floor in {}, whatever is replaced. It would take {} \
             more a year{floor}.",
            list(&years),
            money::whole(a_year)
        );
    }
    let words: Vec<String> = proven.clash.iter().map(|c| limit(found, c)).collect();
    cannot_be_kept(&words, proven.fewest).unwrap_or_else(|| unsettled(proven.verdict).to_owned())
}

/// What is said where no limits can be named: that there is none may be proven all the same.
fn unsettled(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Infeasible => {
            "That is proven; which limits clash was not settled in the time there was."
        }
        _ => {
            "It may still exist: the time there was did not settle it. Make the plan again, or ask for less."
        }
    }
}

/// What the reserve lacks to keep its floor while nothing is replaced, in whole pounds: so much more a year from the first year
/// on, or so much at once.
fn short_of_floor(input: &ProgrammeInput) -> (Pence, Pence) {
    let whole = |pence: i64| Pence((pence + 99) / 100 * 100);
    let (mut reserve, mut a_year, mut in_all) = (input.opening.0, 0, 0);
    for (years, money) in (1i64..).zip(&input.years) {
        reserve += money.comes_in.0 - money.set_aside.0;
        let short = input.floor.0 - reserve;
        if short > 0 {
            a_year = a_year.max((short + years - 1) / years);
            in_all = in_all.max(short);
        }
    }
    (whole(a_year), whole(in_all))
}

/// The limits that clash in one sentence, and what follows; `fewest` = proven that no smaller set does. That there is a plan once
/// one of them is let go is not said: others may clash beside.
pub(super) fn cannot_be_kept(words: &[String], fewest: bool) -> Option<String> {
    match (words, fewest) {
        ([], _) => None,
        ([only], _) => Some(format!(
            "This alone cannot be kept, whatever else is let go: {only}."
        )),
        (_, true) => Some(format!(
            "These cannot all be kept: {}. No smaller set of what is asked clashes: without any one of them the others can be \
             kept.",
            list(words)
        )),
        (_, false) => Some(format!(
            "These cannot all be kept: {}. That is a set that clashes; a smaller one may exist: the time there was did not \
             settle it.",
            list(words)
        )),
    }
}

/// A limit of a clash, in words.
pub(super) fn limit(found: &BuildingProgramme, clashing: &Clashing) -> String {
    let year = |t: u32| found.input.first_year + t as i32;
    match clashing {
        Clashing::MustBy {
            unit,
            year: t,
            pinned,
        } => match (pinned, t) {
            (true, Some(t)) => format!("{} pinned to {}", called_by_place(found, *unit), year(*t)),
            (_, Some(t)) => format!(
                "{} by {} at the latest",
                called_by_place(found, *unit),
                year(*t)
            ),
            (_, None) => format!("{} within these years", called_by_place(found, *unit)),
        },
        Clashing::Reserve { .. } => format!("{FLOOR}, {}", money::whole(found.input.floor)),
        Clashing::Cap => "the most that may be paid in a year".to_owned(),
        Clashing::Homes => "the most replacements in a year".to_owned(),
        Clashing::Hours => "the most home-hours without heating in a year".to_owned(),
        Clashing::Consultation => {
            "the first year in which works that need consultation can happen".to_owned()
        }
        Clashing::Together(units) => {
            let names: Vec<String> = units.iter().map(|u| called_by_place(found, *u)).collect();
            format!("{} bound together", list(&names))
        }
        Clashing::Apart(place) => {
            let limits = found.plan.as_ref().map(|p| &p.asked.limits.apart);
            let name = limits.and_then(|sets| sets.get(*place));
            let name = name.map_or("plant", |set| set.name.as_str());
            format!("the units that feed {name}, of which only so many may be out at once")
        }
    }
}

/// "flat 3 (EL-003)"
pub(super) fn called_by_place(found: &BuildingProgramme, unit: UnitId) -> String {
    found.units.get(&unit).map_or_else(
        || "a unit that is gone".to_owned(),
        |u| format!("{} ({})", u.space_name, u.number),
    )
}

/// The last calendar year of the programme.
pub(super) fn last_year(found: &BuildingProgramme) -> i32 {
    found
        .programme
        .years
        .last()
        .map_or(found.input.first_year, |y| y.year)
}

/// Replacements in all years.
pub(super) fn replacements(found: &BuildingProgramme) -> u64 {
    found
        .programme
        .years
        .iter()
        .map(|y| y.replacements.len() as u64)
        .sum()
}

fn worth_it_and_out(found: &BuildingProgramme) -> u64 {
    let short = |why: &LeftOut| matches!(why, LeftOut::NoMoney { .. } | LeftOut::WorthLess { .. });
    found
        .programme
        .left_out
        .iter()
        .filter(|(_, why)| short(why))
        .count() as u64
}

/// Where a unit stands, leading to its place in the programme, or to the unit while there is no plan.
pub(super) fn place(unit: &Candidate, found: &BuildingProgramme) -> Link {
    let text = format!("{}, {}", unit.space_name, found.building.name);
    Link::new(text, format!("/units/{}", unit.unit))
}

/// What an option or a kind is called.
pub(super) fn called<'a>(found: &'a BuildingProgramme, code: &'a str) -> &'a str {
    found.option_names.get(code).map_or(code, String::as_str)
}

/// Where it is answered why a unit has its year in the plan shown, and what another would cost; `None` where it cannot be.
pub(super) fn asks_of(found: &BuildingProgramme, unit: UnitId) -> Option<String> {
    let plan = found.plan.as_ref()?;
    if !found.apart {
        return Some(format!("/programme/{}/units/{unit}", found.building.id));
    }
    found
        .may_ask
        .then(|| format!("/programme/plans/{}/units/{unit}", plan.id))
}

/// What has changed since the plan was made, and that it can be made anew.
pub(super) fn since(found: &BuildingProgramme) -> Vec<Row> {
    let mut rows = Vec::new();
    if let Some(words) = &found.under_way {
        let where_ = if words.is_empty() {
            "It waits for its turn."
        } else {
            words.as_str()
        };
        rows.push(
            Row::plain(
                "under-way",
                format!("A plan is being made. {where_} You can leave this page; the last finished plan stands below."),
            )
            .verb(Verb::link(
                "See how far it is",
                format!("/programme?building={}", found.building.id),
            )),
        );
    }
    let make = |label: &str| {
        Verb::post(
            label,
            format!("/programme/{}/plan", found.building.id),
            vec![("once".to_owned(), fresh_once())],
        )
    };
    if found.plan.is_none() {
        if found.may_state && found.under_way.is_none() {
            rows.push(
                Row::plain(
                    "make",
                    "Nothing is decided by it: it proposes, a person decides.",
                )
                .verb(make("Make the plan")),
            );
        }
        return rows;
    }
    if found.changes.is_empty() {
        return rows;
    }
    let words: Vec<String> = found.changes.iter().map(change).collect();
    let mut row = Row::plain(
        "since",
        format!("Since this plan was made {}.", list(&words)),
    );
    if found.may_state && !found.apart {
        row = row.verb(make("Make the plan anew"));
    }
    rows.push(row);
    rows
}

fn change(change: &Change) -> String {
    match change {
        Change::FirstYear => "another year has begun".to_owned(),
        Change::Money => "the purse was stated anew".to_owned(),
        Change::Limits => "what else binds was stated anew".to_owned(),
        Change::Ties => "units were tied or let go".to_owned(),
        Change::Came(n) => counted(*n, "unit came", "units came"),
        Change::Went(n) => counted(*n, "unit went", "units went"),
        Change::Courses(units) => format!(
            "{} another course of cost",
            match units.len() as u64 {
                1 => format!("{} has", plural(1, "unit", "units")),
                n => format!("{} have", plural(n, "unit", "units")),
            }
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::{Verdict, cannot_be_kept, unsettled};

    #[test]
    fn a_plan_may_still_exist_only_where_it_is_not_proven_that_none_does() {
        assert!(unsettled(Verdict::NothingFound).starts_with("It may still exist"));
        let proven = unsettled(Verdict::Infeasible);
        assert!(proven.starts_with("That is proven") && !proven.contains("may"));
    }

    #[test]
    fn a_smallest_set_is_claimed_only_where_it_is_proven() {
        let words = |n: usize| -> Vec<String> { (0..n).map(|i| format!("limit {i}")).collect() };
        assert_eq!(cannot_be_kept(&[], true), None);
        let two = |fewest| cannot_be_kept(&words(2), fewest).unwrap();
        assert!(two(true).contains("No smaller set of what is asked clashes"));
        assert!(!two(false).contains("No smaller set"));
        assert!(two(false).contains("a set that clashes; a smaller one may exist"));
        assert!(two(false).contains("limit 0 and limit 1"));
        let one = cannot_be_kept(&words(1), false).unwrap();
        assert!(one.contains("This alone cannot be kept") && one.contains("limit 0"));
    }
}
