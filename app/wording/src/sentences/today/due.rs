//! What falls due.
use chrono::NaiveDate;
use terms::today::Due;

use super::{Local, small};
use crate::sentences::{capital, counted, dates, glue, list, number_word, plural};

/// " is 3 days past its gas safety check. Nobody opened, three times."
pub fn due(due: &Due, today: NaiveDate, local: Local<'_>) -> String {
    let days = (today - due.deadline).num_days();
    let name = small(&due.name);
    let mut said = vec![match days {
        1.. => {
            let late = plural(days as u64, "day", "days");
            format!(" is {late} past its {name}.")
        }
        0 => format!(" needs its {name} today."),
        _ => {
            let day = dates::weekday_day(due.deadline);
            format!(" needs its {name} by {day}.")
        }
    }];
    if due.isolated {
        said.push(" The unit is isolated, so it waits for a decision.".into());
    }
    if due.attempts > 0 {
        let times = match due.attempts {
            1 => "once".to_owned(),
            2 => "twice".to_owned(),
            n => format!("{} times", number_word(u64::from(n))),
        };
        said.push(format!(" Nobody opened, {times}."));
    }
    if let Some(at) = due.booked_from {
        let at = dates::appointment(local(at));
        said.push(format!(" A visit is booked for {at}."));
    }
    said.concat()
}

/// ": five are past their service of the heat interface unit: Flat 36, Flat 49, Flat 69, Flat 111 and Flat 116."
pub fn due_alike(dues: &[&Due]) -> String {
    let name = dues.first().map_or_else(String::new, |d| small(&d.name));
    let places: Vec<String> = dues.iter().map(|d| d.place.space_name.clone()).collect();
    glue(&format!(
        ": {} are past their {name}: {}.",
        number_word(dues.len() as u64),
        list(&places)
    ))
}

/// The small words under a duty's figure.
pub fn due_small(due: &Due) -> &'static str {
    if due.isolated {
        "waits for a decision"
    } else if due.booked_from.is_some() {
        "booked"
    } else if due.attempts > 0 {
        "no access so far"
    } else if due.job.is_some() {
        "not booked"
    } else {
        "no job yet"
    }
}

/// "Three more are due within 14 days, two of them booked. Six follow within 30 days; eight more within 60."
pub fn due_rest(rest: &[Due], today: NaiveDate) -> Option<String> {
    if rest.is_empty() {
        return None;
    }
    let within = |from: i64, until: i64| {
        let inside = |d: &&Due| {
            let days = (d.deadline - today).num_days();
            days > from && days <= until
        };
        let here: Vec<&Due> = rest.iter().filter(inside).collect();
        let booked = here.iter().filter(|d| d.booked_from.is_some()).count() as u64;
        (here.len() as u64, booked)
    };
    let booked_words = |(all, booked): (u64, u64)| match booked {
        0 => String::new(),
        n if n == all && all == 1 => ", and it is booked".into(),
        n if n == all => ", all of them booked".into(),
        n => format!(", {} of them booked", number_word(n)),
    };
    let mut said = Vec::new();
    for (span, words) in [
        (within(i64::MIN, 14), "due within 14\u{a0}days"),
        (within(14, 30), "due within 30\u{a0}days"),
        (within(30, 60), "due within 60\u{a0}days"),
    ] {
        if span.0 > 0 {
            let more = counted(span.0, "more is", "more are");
            said.push(format!("{} {words}{}.", capital(&more), booked_words(span)));
        }
    }
    Some(said.join(" "))
}

/// "Twelve duties have no evidence of any date, so nobody can say when they are due." `None` when there is none.
pub fn undated(count: u32) -> Option<String> {
    (count > 0).then(|| {
        let duties = counted(u64::from(count), "duty has", "duties have");
        let they = if count == 1 { "it is" } else { "they are" };
        format!(
            "{} no evidence of any date, so nobody can say when {they} due: enter the last paper there is.",
            capital(&duties)
        )
    })
}
