//! Who has no heat or hot water, and what is unsafe.
use chrono::{DateTime, Utc};
use terms::today::{Outage, Suspected, Trouble, Unsafe};
use terms::{FunctionLost, JobState};

use super::Local;
use crate::sentences::{capital, counted, dates, glue, list, number_word, spans};

/// "no heating or hot water".
fn lost_words(lost: FunctionLost) -> &'static str {
    match lost {
        FunctionLost::Heating => "no heating",
        FunctionLost::HotWater => "no hot water",
        FunctionLost::HeatingAndHotWater => "no heating or hot water",
        FunctionLost::Leak => "a leak",
        FunctionLost::Noise => "a noise",
        FunctionLost::GasOrCo => "a smell of gas, or a carbon monoxide alarm",
        FunctionLost::Other => "trouble",
    }
}

/// " has had no heating for 6 h 20 min. Beck Heating comes today at 12:30."
pub fn trouble(trouble: &Trouble, now: DateTime<Utc>, local: Local<'_>) -> String {
    let span = spans::duration(now - trouble.since);
    let lost = lost_words(trouble.lost);
    format!(" has had {lost} for {span}. {}", state(trouble, now, local))
}

/// "Resident: needs heat the same day." Resident data: for the page, never for a brief or a feed.
pub fn needs(trouble: &Trouble) -> Option<String> {
    (!trouble.needs.is_empty()).then(|| format!("Resident: {}.", trouble.needs.join("; ")))
}

fn state(trouble: &Trouble, now: DateTime<Utc>, local: Local<'_>) -> String {
    let firm = trouble.firm.as_deref().unwrap_or("The contractor");
    let asked = u64::from(trouble.asked);
    match trouble.state {
        JobState::ToPlace if asked == 0 => "Nobody has been asked yet.".into(),
        JobState::ToPlace => {
            let firms = counted(asked, "firm was", "firms were");
            format!("{} asked; nobody has taken it.", capital(&firms))
        }
        JobState::Offered => match asked {
            0 | 1 => "A firm was asked and has not answered.".into(),
            n => format!(
                "{} firms were asked; nobody has answered.",
                capital(&number_word(n))
            ),
        },
        JobState::Taken => format!("{firm} has taken it; no day is set."),
        JobState::Booked => match trouble.booked_from {
            Some(at) if at < now => format!(
                "{firm} was due {}; nothing is reported from there yet.",
                when(at, now, local)
            ),
            Some(at) => format!("{firm} comes {}.", when(at, now, local)),
            None => format!("{firm} has booked it."),
        },
        JobState::OnSite => format!("{firm} is on site."),
        JobState::WaitingForDecision => "It waits for a decision.".into(),
        JobState::WaitingForPart => match trouble.booked_from.filter(|at| *at > now) {
            Some(at) => format!(
                "A part is on its way; {firm} returns {}.",
                when(at, now, local)
            ),
            None => "A part is on its way; no return is booked.".into(),
        },
        JobState::MadeSafe => "It is made safe; a return is needed.".into(),
        JobState::NoAccess => "Nobody opened at the last visit.".into(),
        JobState::LeftIsolated => "It is left isolated.".into(),
        JobState::Done | JobState::Agreed => "The work is finished.".into(),
        JobState::StoodDown => "It was stood down.".into(),
    }
}

/// "today at 12:30", "on Thursday 26 November, 10:30".
fn when(at: DateTime<Utc>, now: DateTime<Utc>, local: Local<'_>) -> String {
    let (at, today) = (local(at), local(now).date());
    if at.date() == today {
        format!("today at {}", at.format("%H:%M"))
    } else {
        format!("on {}", dates::appointment(at))
    }
}

/// "Riser 4, Osier Tower", or the building alone.
pub fn outage_subject(outage: &Outage) -> String {
    match &outage.branch {
        Some(branch) => glue(&format!(
            "{}, {}",
            capital(branch),
            outage.place.building_name
        )),
        None => outage.place.building_name.clone(),
    }
}

/// ": no hot water in five flats since …: 1604, 1704 …".
pub fn outage(outage: &Outage, now: DateTime<Utc>) -> String {
    let homes = counted(outage.spaces.len() as u64, "home", "homes");
    let span = spans::duration(now - outage.since);
    let names = if outage.spaces.is_empty() {
        String::new()
    } else {
        format!(": {}", glue(&list(&outage.spaces)))
    };
    let cause = if outage.cause.is_empty() {
        "One cause is looked for before anyone visits a home: one visit, not many.".to_owned()
    } else {
        format!("{}.", capital(outage.cause.trim_end_matches('.')))
    };
    let lost = lost_words(outage.lost);
    format!(" has had {lost} in {homes} for {span}{names}. {cause}")
}

/// "Riser 4, Osier Tower", or the building alone: where calls may have one cause.
pub fn suspected_subject(found: &Suspected) -> String {
    match found.branch {
        Some(_) => glue(&format!(
            "{}, {}",
            capital(&found.name),
            found.place.building_name
        )),
        None => found.place.building_name.clone(),
    }
}

/// ": five of 24 homes called with no hot water: …; about 19 in 20 that it is one cause. …"
pub fn suspected(found: &Suspected) -> String {
    let homes = number_word(found.homes.len() as u64);
    let called = format!(
        ": {homes} of {} homes called with {}: {}",
        found.served,
        lost_words(found.lost),
        glue(&list(&found.homes))
    );
    if found.shared {
        format!(
            "{called}. That points to one cause, {}. One visit, not many: join them first.",
            found.chance
        )
    } else {
        format!(
            "{called}. It may be one cause, {}. Ask a neighbour before anyone is sent.",
            found.chance
        )
    }
}

/// " is isolated, do not use, since Monday 23 November. Notice 0417 was left."
pub fn unsafe_unit(unit: &Unsafe, local: Local<'_>) -> String {
    let since = dates::weekday_day(local(unit.since).date());
    let class = if unit.dangerous {
        "immediately dangerous"
    } else {
        "at risk"
    };
    let mut said = vec![if unit.isolated {
        format!(" is isolated, do not use, since {since}. The engineer classed it {class}.")
    } else {
        format!(" was classed {class} on {since} and is not isolated.")
    }];
    if unit.refused {
        said.push(" The user refused to have it isolated.".into());
    }
    if !unit.notice_number.is_empty() {
        said.push(format!(" Notice {} was left.", unit.notice_number));
    }
    glue(&said.concat())
}
