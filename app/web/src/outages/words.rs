//! Sentences about outages.
use chrono::{DateTime, Utc};
use usecases::outages::{OutageCard, OutageHome, OutageView, Proposal};
use wording::sentences::{capital, counted, dates, list, number_word, spans};
use wording::{Link, Row, Urgency, Verb};

use crate::jobs::words::lost_words;
use crate::when;

/// "Riser 4, Osier Tower", or the building alone.
pub(super) fn place(card: &OutageCard) -> String {
    match &card.branch_name {
        Some(branch) => format!("{}, {}", capital(branch), card.building_name),
        None => card.building_name.clone(),
    }
}

/// "9.5 home-hours": the hours of every home added up.
pub(super) fn hours(hours: f64) -> String {
    format!("{hours:.1}\u{a0}home-hours")
}

/// An outage in the list.
pub(super) fn row(view: &OutageView) -> Row {
    let card = &view.outage;
    let homes = counted(card.homes.len() as u64, "home", "homes");
    let lost = lost_words(card.lost);
    let sentence = match card.until_at {
        None => format!(
            ": {lost} in {homes} for {}.{}",
            spans::duration(view.at - card.from_at),
            thought(card)
        ),
        Some(until) => format!(
            ": {lost} in {homes} on {}, for {}.{}",
            dates::day(when::local_day(card.from_at)),
            spans::duration(until - card.from_at),
            thought(card)
        ),
    };
    let row = Row::about(
        format!("outage-{}", card.id),
        Link::new(place(card), format!("/outages/{}", card.id)),
        sentence,
    )
    .figure(format!("{:.1}", view.home_hours), "home-hours");
    match card.until_at {
        None => row.urgency(Urgency::Soon),
        Some(_) => row,
    }
}

fn thought(card: &OutageCard) -> String {
    if card.cause.is_empty() {
        String::new()
    } else {
        format!(" {}.", capital(card.cause.trim_end_matches('.')))
    }
}

/// A proposal in the list.
pub(crate) fn proposal_row(n: usize, found: &Proposal) -> Row {
    let branch = found.branch.map_or_else(String::new, |id| id.to_string());
    let href = format!(
        "/outages/new?building={}&branch={branch}&lost={}",
        found.building,
        found.lost.code()
    );
    let name = match found.branch {
        Some(_) => format!("{}, {}", capital(&found.name), found.building_name),
        None => found.building_name.clone(),
    };
    let verb = if found.shared {
        "Join these calls"
    } else {
        "Ask a neighbour first"
    };
    Row::about(
        format!("proposal-{n}"),
        Link::new(name, href.clone()),
        format!(": {}.", heard(found)),
    )
    .figure(found.chance_words.clone(), "that it is one cause")
    .verb(Verb::link(verb, href))
}

/// "five of its 24 homes called with no hot water"
pub(super) fn heard(found: &Proposal) -> String {
    let (off, fine) = found.asked;
    let said = format!(
        "{} of {} homes called with {}",
        number_word(found.homes as u64),
        found.served,
        lost_words(found.lost)
    );
    if off + fine > 0 {
        let (off, fine) = (number_word(off as u64), number_word(fine as u64));
        return format!("{said}; asked since: {off} off too, {fine} fine");
    }
    said
}

/// One home of an outage with its clock.
pub(super) fn home_row(card: &OutageCard, home: &OutageHome, now: DateTime<Utc>) -> Row {
    let end = card.until_at.unwrap_or(now);
    let since = dates::moment(when::local(home.since_at));
    let tested = match home.retested_at {
        Some(at) => format!(
            " Tested again on {}: {}.",
            dates::moment(when::local(at)),
            home.retest.trim_end_matches('.')
        ),
        None if card.until_at.is_some() => " Not tested again itself.".to_owned(),
        None => String::new(),
    };
    let row = Row::about(
        format!("home-{}", home.space),
        Link::new(home.space_name.clone(), format!("/spaces/{}", home.space)),
        format!(
            ": since {since}, {}.{tested}",
            spans::duration(end - home.since_at)
        ),
    );
    match (home.due_at, card.until_at) {
        (Some(due), None) => {
            let late = due < now;
            let row = row.figure(spans::clock(now, due), "by its clock");
            if late {
                row.urgency(Urgency::Late)
            } else {
                row
            }
        }
        (Some(due), Some(until)) if due < until => {
            row.figure("late", format!("by {}", spans::duration_brief(until - due)))
        }
        (Some(_), Some(_)) => row.figure("in time", "its clock stopped"),
        (None, _) => row,
    }
}

/// "Flat 3, Flat 9 and Flat 15"
pub(super) fn names(card: &OutageCard) -> String {
    let names: Vec<&str> = card.homes.iter().map(|h| h.space_name.as_str()).collect();
    list(&names)
}
