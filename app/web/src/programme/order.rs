//! Why one unit that waits stands before another, in a sentence: what the wait costs either of them, and what swapping the two
//! would cost or break. What the figures do not bear out is not said.
use terms::{Pence, UnitId};
use usecases::plan::{BuildingProgramme, Order, ProgrammeBreach, Swapped};
use wording::sentences::{capital, list, money, plural};

use super::words::called_by_place;

/// Pence that count as nothing.
const NOTHING: i64 = 99;

/// The sentence of a unit that waits; `None` where it follows from nothing that can be said of two alone.
pub(super) fn sentence(found: &BuildingProgramme, unit: UnitId) -> Option<String> {
    let order = found.orders.get(&unit)?;
    let other = called_by_place(found, order.other);
    let swap = &order.swapped;
    if swap.breaches.is_empty() && swap.costs.0 < -NOTHING {
        return Some(format!(
            "The other way round with {other} the plan would cost {} less: it is not the best there is. Make it again.",
            money::whole(Pence(-swap.costs.0))
        ));
    }
    let (stands, round) = if order.before {
        ("before", "after")
    } else {
        ("after", "before")
    };
    if swap.breaches.is_empty() && swap.costs.0 <= NOTHING {
        return Some(format!(
            "It could as well go {round} {other}: the plan would cost as much."
        ));
    }
    let (here, there) = waits(order);
    let more = swap.first_waits.0 - swap.second_waits.0;
    let link = if more > NOTHING { "since" } else { "though" };
    let then = otherwise(found, (unit, order));
    Some(format!(
        "It goes {stands} {other}, {link} {} {} here and {} there. {then}",
        the_wait(found, (unit, order)),
        costs(here),
        costs(there)
    ))
}

/// What the wait between the two years costs this unit, and the other.
fn waits(order: &Order) -> (Pence, Pence) {
    let swap = &order.swapped;
    if order.before {
        (swap.first_waits, swap.second_waits)
    } else {
        (swap.second_waits, swap.first_waits)
    }
}

/// "the wait from 2032 to 2033": which years, as the wait from its own best year is another.
fn the_wait(found: &BuildingProgramme, (unit, order): (UnitId, &Order)) -> String {
    let year = |id: UnitId| {
        let mut lines = found.programme.years.iter();
        lines
            .find(|l| l.replacements.iter().any(|r| r.unit == id))
            .map(|l| l.year)
    };
    match (year(unit), year(order.other)) {
        (Some(one), Some(other)) => {
            format!("the wait from {} to {}", one.min(other), one.max(other))
        }
        _ => format!(
            "a wait of {}",
            plural(u64::from(order.swapped.years), "year", "years")
        ),
    }
}

fn costs(pence: Pence) -> String {
    match pence.0 {
        -50..50 => "costs nothing".to_owned(),
        p if p < 0 => format!("saves {}", money::whole(Pence(-p))),
        _ => format!("costs {}", money::whole(pence)),
    }
}

/// What the two in each other's year would be.
fn otherwise(found: &BuildingProgramme, (unit, order): (UnitId, &Order)) -> String {
    let swap = &order.swapped;
    if let Some(broken) = broken(found, (unit, order.other), swap) {
        return format!("The other way round {broken}.");
    }
    let besides = match swap.beside.0 {
        p if p > NOTHING => format!(
            ", {} of it for coming, setting up and consulting",
            money::whole(swap.beside)
        ),
        _ => String::new(),
    };
    format!(
        "The other way round the plan would cost {} more{besides}.",
        money::whole(swap.costs)
    )
}

/// The rule the swap breaks, the weightiest first.
fn broken(
    found: &BuildingProgramme,
    (unit, other): (UnitId, UnitId),
    swap: &Swapped,
) -> Option<String> {
    let mut all: Vec<&ProgrammeBreach> = swap.breaches.iter().collect();
    all.sort_by_key(|breach| !matches!(breach, ProgrammeBreach::UnderFloor { .. }));
    let year = |place: u32| found.input.first_year + place as i32;
    let either = |id: UnitId| {
        if id == unit {
            "it".to_owned()
        } else {
            called_by_place(found, id)
        }
    };
    Some(match all.first()? {
        ProgrammeBreach::UnderFloor { year: t, by } => format!(
            "the reserve would end {} {} under its floor",
            year(*t),
            money::exact(*by)
        ),
        ProgrammeBreach::OverSpent { year: t, by } => format!(
            "{} more would be paid in {} than may be",
            money::exact(*by),
            year(*t)
        ),
        ProgrammeBreach::HoursOver { year: t, hours } => format!(
            "{} would come to {}, more than may be",
            year(*t),
            plural(
                u64::from(*hours),
                "home-hour without heating",
                "home-hours without heating"
            )
        ),
        ProgrammeBreach::HomesOver { year: t } => {
            format!("{} would have more replacements than may be", year(*t))
        }
        ProgrammeBreach::ConsultedTooEarly { year: t } => {
            format!(
                "the works of {} would need consultation before it can be finished",
                year(*t)
            )
        }
        ProgrammeBreach::PastLatest(id) => {
            format!("{} would come after the year it must go by", either(*id))
        }
        ProgrammeBreach::Forbidden(id) => {
            format!(
                "{} would stand in a year people keep it out of",
                either(*id)
            )
        }
        ProgrammeBreach::OutAtOnce(_) => {
            "plant would be out that must not all be out at once".to_owned()
        }
        ProgrammeBreach::NotOnOffer(id) => {
            format!("nothing is on offer for {} in its year", either(*id))
        }
        _ => format!(
            "{} would not both stand where they must",
            list(&[either(unit), either(other)])
        ),
    })
}

/// What each pound that is paid waits for, under "why this?".
pub(super) fn by_the_pound(found: &BuildingProgramme, unit: UnitId) -> Option<String> {
    let order = found.orders.get(&unit)?;
    let (here, there) = waits(order);
    let paid = |id: UnitId| {
        let mut all = found.programme.years.iter().flat_map(|l| &l.replacements);
        all.find(|r| r.unit == id).map(|r| r.cash)
    };
    let (mine, theirs) = (paid(unit)?, paid(order.other)?);
    let of = |wait: Pence, paid: Pence| {
        let each = wait.0 as f64 * 100.0 / paid.0.max(1) as f64;
        format!(
            "{each:.1}p ({} for {})",
            money::whole(wait),
            money::whole(paid)
        )
    };
    Some(format!(
        "{} costs, for each pound that is paid, {} here and {} at {}. Nothing goes by that alone: what each wait costs, what the \
         reserve leaves above its floor in each year, and setting-up shared with others are weighed at once. What the two would \
         be the other way round is reckoned by the rules the plan is audited with.",
        capital(&the_wait(found, (unit, order))),
        of(here, mine),
        of(there, theirs),
        called_by_place(found, order.other)
    ))
}
