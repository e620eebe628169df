//! How good the plan is: its gap and bound in words, what binds it, the plain ways beside it, what £1,000 more
//! would buy.
use terms::Pence;
use usecases::plan::{Beside, BuildingProgramme, LeftOut, MoreMoney, PlainWay, PlanCard, Verdict};
use wording::sentences::{capital, counted, dates, list, money, plural};
use wording::{Row, Why};

use super::words::{ESTIMATE, FLOOR, called_by_place, replacements};
use super::year::kept_and_expected;
use crate::when;

/// Names said one by one in a sentence.
const SAID: usize = 4;

/// The rows; none while there is no plan, or none that keeps what is asked.
pub(super) fn rows(found: &BuildingProgramme) -> Vec<Row> {
    let Some(plan) = found.plan.as_ref().filter(|p| p.made.proven.stands()) else {
        return Vec::new();
    };
    let mut rows = Vec::new();
    if plan.made.optimised {
        rows.push(total(found, plan));
        rows.push(gap(found, plan));
        rows.extend(binds(found, plan));
        rows.extend(plan.made.beside.iter().map(|b| beside(plan, b)));
        rows.extend(plan.made.more.as_ref().map(|more| more_money(found, more)));
    }
    rows
}

/// "£412", and "less than £1" for what is more than nothing.
fn about(amount: Pence) -> String {
    if amount.0 > 0 && amount.0 < 100 {
        "less than £1".to_owned()
    } else {
        money::whole(amount)
    }
}

/// What it comes to in all.
fn total(found: &BuildingProgramme, plan: &PlanCard) -> Row {
    let made = &plan.made;
    let lines = &made.proven.programme.years;
    let aside: i64 = lines.iter().map(|l| l.set_aside.0).sum();
    Row::plain(
        "total",
        format!(
            "In all: {} for {} and what is paid besides, and {} set aside for failures, in {}.{}",
            money::whole(made.figures.spent),
            plural(
                u64::from(made.figures.replaced),
                "replacement",
                "replacements"
            ),
            money::whole(Pence(aside)),
            plural(lines.len() as u64, "year", "years"),
            kept_and_expected(found).unwrap_or_default()
        ),
    )
    .figure(money::whole(Pence(made.figures.spent.0 + aside)), "in all")
}

fn gap(found: &BuildingProgramme, plan: &PlanCard) -> Row {
    let proven = &plan.made.proven;
    let left = proven.could_save();
    let limits = Pence((proven.cost.0 - proven.unbound.0).max(0));
    let sentence = match proven.verdict {
        _ if replacements(found) == 0 && limits.0 < 100 => {
            "Every unit is kept beyond these years, and no plan costs less: that is proven."
                .to_owned()
        }
        Verdict::Optimal => format!(
            "No plan that keeps what is stated costs less than this one: that is proven. {} and the other limits cost \
             {} over the years beside every unit having its best one.",
            capital(FLOOR),
            about(limits)
        ),
        _ => format!(
            "No plan could save more than about {} on this: that is proven. {} and the other limits cost {} over the \
             years beside every unit having its best one; no plan brings that under {}.",
            about(left),
            capital(FLOOR),
            about(limits),
            about(Pence((proven.bound.0 - proven.unbound.0).max(0)))
        ),
    };
    let (figure, small) = match proven.verdict {
        Verdict::Optimal => ("nothing".to_owned(), "left to find"),
        _ => (about(left), "left to find, at most"),
    };
    let made = when::local(plan.made_at);
    Row::plain("how-good", sentence)
        .figure(figure, small)
        .why(Why::this(vec![
            format!(
                "All plans are weighed at once: each unit’s expected cost in each year, the purse year by year with the reserve that is \
                 carried over and its floor, setting-up shared by building and stair, the most replacements in a year, consultation, and \
                 what people tied. What no plan can cost less than is certified beside the plan itself; it is not a guess. \
                 Made on {}, {} by {}, in {:.1} seconds.",
                dates::weekday_day(made.date()),
                made.format("%H:%M"),
                plan.by,
                plan.made.seconds
            ),
            "A unit kept beyond these years is reckoned as replaced in the first year after them, or in its own best one \
             then, as far as its course is known."
                .to_owned(),
            ESTIMATE.to_owned(),
        ]))
}

/// What is proven to bind, and what is reached or asked for besides, which need not cost anything.
fn binds(found: &BuildingProgramme, plan: &PlanCard) -> Option<Row> {
    let limits = &plan.asked.limits;
    let floor = if plan.made.more.as_ref().is_some_and(|m| m.saves.0 >= 100) {
        format!("{} binds this plan{}. ", capital(FLOOR), to_spare(found))
    } else {
        String::new()
    };
    let mut reached: Vec<String> = Vec::new();
    let full = |most: u32| {
        let years = found.programme.years.iter();
        years
            .filter(|l| l.replacements.len() >= most as usize)
            .map(|l| l.year.to_string())
            .collect::<Vec<_>>()
    };
    if let Some(most) = limits.homes_a_year {
        let years = full(most);
        if !years.is_empty() {
            reached.push(format!(
                "the {} a year, reached in {}",
                counted(u64::from(most), "replacement", "replacements"),
                list(&years)
            ));
        }
    }
    if let Some(most) = limits.hours_a_year {
        let hours = plan.made.figures.most_hours;
        reached.push(format!(
            "the {} without heating a year, of which the fullest year has {hours}",
            counted(u64::from(most), "home-hour", "home-hours")
        ));
    }
    let tied = limits.pinned.len() + limits.forbidden.len() + limits.together.len();
    if tied > 0 {
        reached.push(format!(
            "{} of people’s",
            counted(tied as u64, "wish", "wishes")
        ));
    }
    let kept = if reached.is_empty() {
        String::new()
    } else {
        format!(
            "It keeps to {}; each unit’s page says which limit it waits for.",
            list(&reached)
        )
    };
    let sentence = format!("{floor}{kept}");
    (!sentence.is_empty()).then(|| Row::plain("binds", sentence.trim_end()))
}

/// What the lowest reserve leaves over its floor, where it is less than the cheapest of those costs that are left out for want of
/// money: it is there and yet buys none of them.
fn to_spare(found: &BuildingProgramme) -> String {
    let lowest = found.programme.years.iter().map(|l| l.reserve.0).min();
    let out = found.programme.left_out.iter();
    let least = out
        .filter_map(|(_, why)| match why {
            LeftOut::NoMoney { cash, .. } | LeftOut::WorthLess { cash, .. } => Some(cash.0),
            _ => None,
        })
        .min();
    match (lowest, least) {
        (Some(lowest), Some(least))
            if lowest > found.input.floor.0 && lowest - found.input.floor.0 < least =>
        {
            format!(
                ", though {} are to spare at its lowest: the cheapest of those left out costs {}",
                money::whole(Pence(lowest - found.input.floor.0)),
                money::whole(Pence(least))
            )
        }
        _ => String::new(),
    }
}

fn beside(plan: &PlanCard, beside: &Beside) -> Row {
    let saved = Pence(beside.figures.cost.0 - plan.made.figures.cost.0);
    let (id, name) = match beside.way {
        PlainWay::OldestFirst => ("oldest", "Oldest first, from fifteen years on"),
        PlainWay::OnFailure => ("on-failure", "Each unit when it is expected to fail"),
        PlainWay::Nothing => ("nothing", "Replacing nothing in these years"),
    };
    let undone = match beside.undone {
        0 => String::new(),
        n => format!(
            ", and leaves {} undone that people asked for",
            counted(u64::from(n), "unit", "units")
        ),
    };
    let sentence = if saved.0 < 100 {
        format!("{name} would cost as much as this plan{undone}.")
    } else {
        format!(
            "{name} would cost about {} more over the years than this plan: {}about {} failures{undone}.",
            money::whole(saved),
            spent(beside),
            beside.figures.failures.round()
        )
    };
    Row::plain(format!("beside-{id}"), sentence)
        .figure(about(Pence(saved.0.max(0))), "saved by planning")
        .why(Why::this(vec![
            "The same building, the same purse and limits. Expected costs are discounted and count repairs, running costs, \
             new units and what comes after them; a unit’s age alone says nothing in the plan, only in this way of \
             doing it."
                .to_owned(),
        ]))
}

/// "4 replacements, £10,350 spent, "; nothing where nothing is replaced.
fn spent(beside: &Beside) -> String {
    if beside.figures.replaced == 0 {
        return String::new();
    }
    format!(
        "{}, {} spent, ",
        plural(
            u64::from(beside.figures.replaced),
            "replacement",
            "replacements"
        ),
        money::whole(beside.figures.spent)
    )
}

fn more_money(found: &BuildingProgramme, more: &MoreMoney) -> Row {
    let first = found.input.first_year;
    let what = money::whole(more.pence);
    if more.saves.0 < 100 {
        return Row::plain(
            "more-money",
            format!("{what} more in the purse before {first} would change nothing: solved again with it."),
        )
        .figure("nothing", format!("what {what} buys"));
    }
    let mut names: Vec<String> = more
        .sooner
        .iter()
        .take(SAID)
        .map(|(unit, was, is)| {
            let name = called_by_place(found, *unit);
            match was {
                Some(was) => format!("{name} in {is}, not {was}"),
                None => format!("{name} in {is}, which has no year now"),
            }
        })
        .collect();
    if more.sooner.len() > SAID {
        names.push(format!(
            "{} more",
            plural((more.sooner.len() - SAID) as u64, "unit", "units")
        ));
    }
    let sooner = if names.is_empty() {
        String::new()
    } else {
        format!(" Sooner then: {}.", list(&names))
    };
    Row::plain(
        "more-money",
        format!(
            "{what} more in the purse before {first} would make the plan about {} cheaper over the years.{sooner}",
            money::whole(more.saves)
        ),
    )
    .figure(money::whole(more.saves), format!("what {what} buys"))
    .why(Why::this(vec![
        "Found by making the whole plan again with that money, not by a rule of thumb. What the pounds after those would \
         buy is another question."
            .to_owned(),
    ]))
}
