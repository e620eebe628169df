//! The programme in sentences.
use terms::{ExpectedPounds, Pence, UnitId};
use usecases::advice::Candidate;
use usecases::plan::BuildingProgramme;
use usecases::plan::{LeftOut, ProgrammeVerdict, Replacement, YearLine};
use wording::sentences::{capital, counted, list, money, plural};
use wording::{Link, Row, Why};

/// What an estimate is, said wherever the programme stands (trade page on safety, verbatim).
pub(super) const ESTIMATE: &str =
    "Estimate from this building's records and stated assumptions. Get a survey before ordering.";

/// The heading: what was found.
pub(super) fn finding(found: &BuildingProgramme) -> String {
    let programme = &found.programme;
    let named = &found.building.name;
    let count = replacements(found);
    let late = programme
        .years
        .iter()
        .flat_map(|y| &y.replacements)
        .filter(|r| r.years_late > 0)
        .count() as u64;
    let none = without_money(found).len() as u64;
    let text = match programme.verdict {
        ProgrammeVerdict::NothingToReplace => format!(
            "Nothing in {named} is worth replacing before {}",
            last_year(found) + 1
        ),
        ProgrammeVerdict::EveryBestYear => format!(
            "{} a year, each the one its advice names",
            counted(count, "replacement has", "replacements have")
        ),
        ProgrammeVerdict::SomeWait => format!(
            "{} a year; {} for money",
            counted(count, "replacement has", "replacements have"),
            counted(late, "of them waits", "of them wait")
        ),
        ProgrammeVerdict::MoneyShort if count == 0 => {
            format!(
                "{} no money",
                counted(none, "replacement finds", "replacements find")
            )
        }
        ProgrammeVerdict::MoneyShort => format!(
            "{} a year; {} no money",
            counted(count, "replacement has", "replacements have"),
            counted(none, "unit finds", "units find")
        ),
    };
    capital(&text)
}

/// The sentence under it: what follows.
pub(super) fn standing(found: &BuildingProgramme) -> String {
    if found.unlimited {
        let whom = if found.may_state {
            "Say below what comes in a year."
        } else {
            "Your managing agent enters it."
        };
        return format!(
            "No money is stated for {} yet, so every unit stands in the year its advice names, whatever it costs: {} in all. \
             {whom}",
            found.building.name,
            money::whole(found.programme.spent)
        );
    }
    let programme = &found.programme;
    let under: Vec<String> = programme
        .under_floor
        .iter()
        .filter_map(|place| programme.years.get(*place as usize))
        .map(|line| line.year.to_string())
        .collect();
    let end = programme.years.last().map_or(Pence(0), |y| y.reserve);
    let floor = if under.is_empty() {
        String::new()
    } else {
        format!(" In {} the reserve ends under its floor.", list(&under))
    };
    format!(
        "It opens at {}, spends {} on replacements and ends {} with {}.{floor}",
        money::whole(found.input.opening),
        money::whole(programme.spent),
        last_year(found),
        money::whole(end)
    )
}

fn last_year(found: &BuildingProgramme) -> i32 {
    found
        .programme
        .years
        .last()
        .map_or(found.input.first_year, |y| y.year)
}

fn replacements(found: &BuildingProgramme) -> u64 {
    found
        .programme
        .years
        .iter()
        .map(|y| y.replacements.len() as u64)
        .sum()
}

fn without_money(found: &BuildingProgramme) -> Vec<(&UnitId, &LeftOut)> {
    found
        .programme
        .left_out
        .iter()
        .filter(|(_, why)| matches!(why, LeftOut::NoMoney { .. }))
        .map(|(unit, why)| (unit, why))
        .collect()
}

fn place(unit: &Candidate, found: &BuildingProgramme) -> Link {
    Link::new(
        format!("{}, {}", unit.space_name, found.building.name),
        format!("/units/{}", unit.unit),
    )
}

fn called<'a>(found: &'a BuildingProgramme, code: &'a str) -> &'a str {
    found.option_names.get(code).map_or(code, String::as_str)
}

/// One year: replacements, what is kept for failures, what was put off.
pub(super) fn year(found: &BuildingProgramme, line: &YearLine) -> Vec<Row> {
    let mut rows: Vec<Row> = line
        .replacements
        .iter()
        .filter_map(|r| Some(replacement(found, found.units.get(&r.unit)?, r)))
        .collect();
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
                    "Put off to the next year for want of money: {}.",
                    short_list(&names)
                ),
            )
            .figure(
                plural(line.carried.len() as u64, "unit", "units"),
                "put off",
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

fn replacement(found: &BuildingProgramme, unit: &Candidate, r: &Replacement) -> Row {
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
    Row::about(
        format!("r-{}", unit.unit),
        place(unit, found),
        format!(
            ": {} {}, with {}.{late}",
            called(found, &unit.kind),
            unit.number,
            called(found, &r.option)
        ),
    )
    .figure(money::whole(r.cash), "including VAT")
    .why(why(unit))
}

fn pounds(cost: ExpectedPounds) -> String {
    money::whole(cost.to_pence())
}

/// Why a unit has its year: its own cost course, never its age alone.
fn why(unit: &Candidate) -> Why {
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
    if found.unlimited {
        return format!(
            "{} set aside + {} for replacements = {} in {}.",
            money::whole(line.set_aside),
            money::whole(line.spent),
            money::whole(Pence(line.set_aside.0 + line.spent.0)),
            line.year
        );
    }
    format!(
        "{} at the start + {} in − {} set aside − {} for replacements = {} at the end of {}.",
        money::whole(line.opening),
        money::whole(line.comes_in),
        money::whole(line.set_aside),
        money::whole(line.spent),
        money::whole(line.reserve),
        line.year
    )
}

/// What is left out, and why.
pub(super) fn left_out(found: &BuildingProgramme) -> Vec<Row> {
    let mut rows: Vec<Row> = without_money(found)
        .into_iter()
        .filter_map(|(unit, why)| {
            let LeftOut::NoMoney { cash, most, .. } = why else {
                return None;
            };
            let unit = found.units.get(unit)?;
            Some(
                Row::about(
                    format!("out-{}", unit.unit),
                    place(unit, found),
                    format!(
                        ": {} {} finds no money. The most there was in any of its years is {}.",
                        called(found, &unit.kind),
                        unit.number,
                        money::whole(*most)
                    ),
                )
                .figure(money::whole(*cash), "including VAT")
                .why(self::why(unit)),
            )
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

/// How good the programme is: what it loses by waiting, and what no programme could better.
pub(super) fn how_good(found: &BuildingProgramme) -> Vec<Row> {
    if replacements(found) == 0 || found.unlimited {
        return Vec::new();
    }
    let lost = found.programme.delays_cost;
    let sentence = if lost.0 < 0.5 {
        "No replacement with a year waits for money, so nothing is lost by waiting: no programme can do better for them."
            .to_owned()
    } else {
        format!(
            "Waiting for money is expected to cost about {} over the years. With money enough it would be nothing; how much \
             of it another order could save is not known.",
            pounds(lost)
        )
    };
    vec![
        Row::plain("how-good", sentence)
            .figure(pounds(lost), "lost by waiting")
            .why(Why::this(vec![
                "Year by year, the units whose year has come are taken in the order of what one more year of waiting costs \
                 per pound they take, as long as the purse holds; the rest wait. It is a plain method: it proposes, a \
                 person decides."
                    .to_owned(),
                ESTIMATE.to_owned(),
            ])),
    ]
}
