//! The finding of the morning, and what follows from it.
use terms::today::{Today, Trouble};

use super::place;
use crate::sentences::{capital, counted, dates, list};

/// The heading: what was found this morning.
pub fn finding(today: &Today) -> String {
    let cold = today.troubles.len() as u64;
    let late = late_duties(today);
    let has = |n: u64| if n == 1 { "has" } else { "have" };
    let is = |n: u64| if n == 1 { "is" } else { "are" };
    let danger = today.unsafe_units.len() as u64;
    let units = || {
        format!(
            "{} {} unsafe or isolated",
            counted(danger, "unit", "units"),
            is(danger)
        )
    };
    let pipes = today.outages.len() as u64;
    let outage = || {
        format!(
            "{} {} going on",
            counted(pipes, "outage", "outages"),
            is(pipes)
        )
    };
    let mut found = Vec::new();
    if today.empty {
        return "Nothing is known yet, so nothing is late".into();
    }
    if cold > 0 {
        let homes = counted(cold, "home", "homes");
        found.push(format!("{homes} {} no heat or hot water", has(cold)));
    }
    if pipes > 0 {
        found.push(outage());
    }
    if danger > 0 {
        found.push(units());
    }
    if found.is_empty() && late > 0 {
        let checks = counted(late, "check is", "checks are");
        return format!("Nobody is without heat; {checks} late");
    }
    match found.as_slice() {
        [] => "Nobody is without heat, nothing is unsafe and nothing is late".into(),
        _ if cold == 0 && pipes == 0 => format!("Nobody is without heat, but {}", list(&found)),
        _ => capital(&list(&found)),
    }
}

/// The sentence under the heading: what follows from it.
pub fn standing(today: &Today) -> String {
    if today.empty {
        return "Start with what you have, however untidy.".into();
    }
    let cold = today.troubles.len();
    let booked = today
        .troubles
        .iter()
        .filter(|t| t.booked_from.is_some())
        .count() as u64;
    let mut said = Vec::new();
    if cold > 0 {
        said.push(match booked {
            0 if cold == 1 => "It is not booked yet.".to_owned(),
            0 => "None of them is booked yet.".to_owned(),
            n if n as usize == cold && cold == 1 => "A visit is booked.".to_owned(),
            n if n as usize == cold => "All are booked.".to_owned(),
            n => format!("{} booked.", capital(&counted(n, "is", "are"))),
        });
    }
    let past = |t: &&Trouble| t.due_at.is_some_and(|due| due < today.at) && t.firm.is_none();
    if let Some(worst) = today.troubles.iter().find(past) {
        said.push(format!(
            "{} is past its clock and has nobody.",
            place(&worst.place)
        ));
    }
    if let Some(found) = today.suspected.iter().find(|s| s.shared) {
        said.push(format!(
            "Calls from {} in {} point to one cause.",
            counted(found.homes.len() as u64, "home", "homes"),
            found.place.building_name
        ));
    }
    let waiting = (today.quotes.len() + today.advices.len()) as u64;
    if waiting > 0 {
        let things = counted(waiting, "decision waits", "decisions wait");
        said.push(format!("{} for you.", capital(&things)));
    }
    let late = late_duties(today);
    if late > 0 && cold > 0 {
        let checks = counted(late, "check is late", "checks are late");
        said.push(format!("{}.", capital(&checks)));
    }
    if said.is_empty() {
        said.push("Nothing has to be done before noon.".into());
        if let Some(next) = today.due.first() {
            let day = dates::weekday_day(next.deadline);
            said = vec![format!("The next deadline is {day}.")];
        }
    }
    said.join(" ")
}

fn late_duties(today: &Today) -> u64 {
    today.due.iter().filter(|d| d.deadline < today.day).count() as u64
}
