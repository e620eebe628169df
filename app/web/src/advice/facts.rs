//! The unit's own facts, from the register: what it was, how it failed, what it measured.
use usecases::advice::{AdvicePage, Trend};
use wording::sentences::{capital, chances, counted, dates, money, plural};
use wording::{Row, Urgency};

/// One row a fact; what is not on record is said to be so.
pub(super) fn rows(seen: &AdvicePage) -> Vec<Row> {
    let mut rows = vec![
        fitted(seen),
        failed(
            seen,
            " What was paid counts against keeping it only through the failures to come, never as money to win back.",
        ),
    ];
    rows.extend(seen.facts.trend.as_ref().map(trend));
    rows.push(fails(seen));
    rows.push(safety(seen));
    rows.extend(at_risk(seen));
    rows
}

/// Those that two printed pages have room for.
pub(super) fn in_brief(seen: &AdvicePage) -> Vec<Row> {
    let mut rows = vec![fitted(seen), failed(seen, "")];
    rows.extend(seen.facts.trend.as_ref().map(trend));
    rows.push(fails(seen));
    if seen.facts.unsafe_open > 0 {
        rows.push(safety(seen));
    }
    rows.extend(at_risk(seen));
    rows
}

fn fitted(seen: &AdvicePage) -> Row {
    let a = &seen.listed;
    let (from, until) = match a.unit.installed {
        Some((from, until)) => (Some(from), Some(until)),
        None => (None, None),
    };
    let when = dates::fitted_when(from, until);
    Row::plain("fitted", format!("Fitted {when}."))
        .figure(format!("{:.0} y", a.answer.age), "age reckoned with")
}

fn fails(seen: &AdvicePage) -> Row {
    let (chance, low, high) = seen.listed.answer.fails_old;
    let said = chances::with_range(chance, low, high);
    Row::plain(
        "fails",
        format!("If it is kept, it fails within a year: {said}."),
    )
    .figure(chances::brief(chance), "within a year")
}

fn failed(seen: &AdvicePage, beside: &str) -> Row {
    let (failures, paid) = seen.lately;
    let times = counted(u64::from(failures), "failure", "failures");
    let (days, jobs) = seen.facts.without;
    let without = match (days, jobs) {
        (_, 0) => " No job of it says that heat or hot water was lost.".to_owned(),
        (days, jobs) => format!(
            " {} with heat or hot water lost, by {}.",
            capital(&counted(days.max(0) as u64, "day", "days")),
            counted(jobs as u64, "job", "jobs")
        ),
    };
    Row::plain(
        "failed",
        format!(
            "{} on record in 36 months.{without}{beside}",
            capital(&times)
        ),
    )
    .figure(money::whole(paid), "paid for them")
}

fn trend(trend: &Trend) -> Row {
    let unit = &trend.measured_in;
    let at = |(day, value): (chrono::NaiveDate, f64)| {
        format!("{value:.0}\u{a0}{unit} on {}", dates::day(day))
    };
    Row::plain(
        "trend",
        format!("{}: {}, {}.", trend.what, at(trend.first), at(trend.last)),
    )
    .figure(
        format!("{:.0}\u{a0}{unit}", trend.last.1),
        format!("was {:.0}\u{a0}{unit}", trend.first.1),
    )
}

fn safety(seen: &AdvicePage) -> Row {
    let words = match seen.facts.unsafe_open {
        0 => "No unsafe situation is open on it.".to_owned(),
        n => format!(
            "{} open on it; only a registered engineer clears it.",
            capital(&counted(
                n as u64,
                "unsafe situation is",
                "unsafe situations are"
            ))
        ),
    };
    let row = Row::plain(
        "safety",
        format!("{words} Whether its parts are still supplied is not on record."),
    );
    if seen.facts.unsafe_open > 0 {
        row.urgency(Urgency::Late)
    } else {
        row
    }
}

/// The day its warranty hangs on, and what is lost with it.
fn at_risk(seen: &AdvicePage) -> Option<Row> {
    let risk = seen.at_risk.as_ref()?;
    let days = (risk.by - seen.known_on).num_days().max(0) as u64;
    Some(
        Row::plain(
            "at-risk",
            format!(
                "{} by {}, or cover worth about {} until {} ends.",
                risk.duty,
                dates::day(risk.by),
                risk.worth,
                dates::day(risk.until)
            ),
        )
        .figure(
            risk.worth.to_string(),
            plural(days, "day left", "days left"),
        ),
    )
}
