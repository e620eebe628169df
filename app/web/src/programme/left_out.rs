//! What has no year in the programme, and why; what would give way for it.
use terms::Pence;
use usecases::advice::Candidate;
use usecases::plan::{BuildingProgramme, GivesWay, LeftOut};
use wording::sentences::{capital, counted, list, money, plural};
use wording::{Row, Verb};

use super::words::{asks_of, called, called_by_place, last_year, limit, place};
use super::year::why;

/// Others that would move, said one by one.
const SAID: usize = 2;

/// Why a unit is left out, with its price; `None` for those that are only counted.
fn why_out(why: &LeftOut, last: i32) -> Option<(Option<Pence>, String)> {
    match why {
        LeftOut::NoMoney { cash, most, .. } => Some((
            Some(*cash),
            format!(
                "costs more than the floor of the reserve leaves: at most {} in any of its years.",
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
        .filter_map(|(id, out)| {
            let unit = found.units.get(id)?;
            let (cash, sentence) =
                why_out(out, found.programme.years.last().map_or(0, |y| y.year))?;
            let mut row = Row::about(
                format!("out-{}", unit.unit),
                place(unit, found),
                format!(": {} {} {sentence}", called(found, &unit.kind), unit.number),
            )
            .figure(money::whole(cash.unwrap_or(unit.capex)), "including VAT")
            .why(why(unit, found.input.first_year));
            row.more.extend(gives_way(found, unit));
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

/// What would give way for one that is left out, in short; its own page says it in full. `None` where the plan does not say.
fn gives_way(found: &BuildingProgramme, unit: &Candidate) -> Option<String> {
    let mut all = found.plan.iter().flat_map(|p| &p.made.gives_way);
    let there = all.find(|g| g.unit == unit.unit)?;
    let year = there.year;
    let Some(costs) = there.costs else {
        let words: Vec<String> = there.clash.iter().map(|c| limit(found, c)).collect();
        return match words.as_slice() {
            [] => None,
            [only] => Some(format!(
                "In {year} there is no plan for it: {only} does not let it."
            )),
            _ => Some(format!(
                "In {year} there is no plan for it: these cannot all be kept: {}.",
                list(&words)
            )),
        };
    };
    let costs = match costs.0 {
        -99..=99 => "the plan would cost as much".to_owned(),
        c if c < 0 => format!("the plan would cost about {} less", money::whole(Pence(-c))),
        _ => format!(
            "the plan would cost about {} more{}",
            money::whole(costs),
            apart(found, there, costs)
        ),
    };
    Some(format!("With it in {year} {costs}{}.", moves(found, there)))
}

/// ", £16 saved by it and £40 lost by what gives way and by coming and setting up": the two sides of what the plan would cost more.
fn apart(found: &BuildingProgramme, there: &GivesWay, costs: Pence) -> String {
    // Where nothing gives way the rest is its own coming and setting up.
    if there.others.is_empty() {
        return String::new();
    }
    let mut out = found.programme.left_out.iter();
    let saved = out.find_map(|(id, why)| match why {
        LeftOut::WorthLess { loses, .. } if *id == there.unit => Some(loses * 100),
        _ => None,
    });
    match saved {
        Some(saved) if saved >= 100 => format!(
            ", {} saved by it and {} lost by what gives way and by coming and setting up",
            money::whole(Pence(saved)),
            money::whole(Pence(costs.0 + saved))
        ),
        _ => String::new(),
    }
}

/// ": flat 3 (EL-003) would go from 2028 to 2029, and 2 others would move".
fn moves(found: &BuildingProgramme, there: &GivesWay) -> String {
    let beyond = |year: Option<i32>| {
        year.map_or_else(|| format!("beyond {}", last_year(found)), |y| y.to_string())
    };
    let mut words: Vec<String> = there
        .others
        .iter()
        .take(SAID)
        .map(|(unit, was, is)| {
            let name = called_by_place(found, *unit);
            format!("{name} from {} to {}", beyond(*was), beyond(*is))
        })
        .collect();
    let rest = there.others.len().saturating_sub(SAID) as u64;
    if rest > 0 {
        words.push(counted(rest, "other", "others"));
    }
    match words.as_slice() {
        [] => ", and nothing else would move".to_owned(),
        words => format!("; what else would move: {}", list(words)),
    }
}
