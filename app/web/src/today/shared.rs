//! What concerns a whole building: outages that last, calls that may be one, nights and days off without anybody.
use terms::today::{Outage, Suspected, Today, Uncovered};
use wording::sentences::{capital, counted, plural, spans, today as words};
use wording::{Link, Row, Urgency, Verb, Why};

/// An outage that lasts.
pub(super) fn outage(n: usize, outage: &Outage, told: &Today) -> Row {
    let href = format!("/outages/{}", outage.outage);
    let homes = plural(outage.spaces.len() as u64, "home", "homes");
    let (figure, small) = match outage.due_at {
        Some(due) => (spans::clock(told.at, due), "by the first clock"),
        None => (homes, "one cause"),
    };
    let mut row = Row::about(
        format!("outage-{n}"),
        Link::new(words::outage_subject(outage), href.clone()),
        words::outage(outage, told.at),
    )
    .figure(figure, small)
    .verb(Verb::link("See the outage", href))
    .why(Why::this(vec![
        "Calls that share one cause are held together: one job answers them, and its end stops every clock.".to_owned(),
    ]));
    if outage.joinable > 0 {
        let calls = counted(
            u64::from(outage.joinable),
            "further call may belong",
            "further calls may belong",
        );
        row.more.push(format!("{} to it.", capital(&calls)));
    }
    if outage.due_at.is_some_and(|due| due < told.at) {
        row.urgency = Urgency::Late;
    }
    if let Some(job) = outage.job {
        row = row.other(Verb::link("See its job", format!("/jobs/{job}")));
    }
    row
}

/// Calls that point to one cause, or may; joining is a person's.
pub(super) fn suspected(n: usize, found: &Suspected) -> Row {
    let branch = found.branch.map_or_else(String::new, |id| id.to_string());
    let href = format!(
        "/outages/new?building={}&branch={branch}&lost={}",
        found.place.building,
        found.lost.code()
    );
    let verb = if found.shared {
        "Join these calls"
    } else {
        "Ask a neighbour first"
    };
    let row = Row::about(
        format!("suspected-{n}"),
        Link::new(words::suspected_subject(found), href.clone()),
        words::suspected(found),
    )
    .figure(found.chance.clone(), "that it is one cause")
    .verb(Verb::link(verb, href))
    .why(Why::this(vec![
        "The rule weighs how likely so many calls are by chance against how likely they are when one pipe has failed. It proposes; a person joins them.".to_owned(),
        found.rates.clone(),
    ]));
    if found.shared {
        row.urgency(Urgency::Soon)
    } else {
        row
    }
}

/// A building nobody covers until the next working day.
pub(super) fn uncovered(found: &Uncovered) -> Row {
    let building = found.place.building;
    let href = format!("/cover?building={building}");
    Row::about(
        format!("uncovered-{building}"),
        Link::new(found.place.building_name.clone(), href.clone()),
        words::uncovered(found),
    )
    .urgency(Urgency::Soon)
    .figure(found.stretches.len().to_string(), "without anybody")
    .verb(Verb::link("State who comes", href))
    .why(Why::this(vec![
        "Shown on the working day before days off, up to the next working day. A night belongs to the day it begins on.".to_owned(),
    ]))
}
