//! The unit's own facts, from the register: what it was, how it failed, what it measured.
use terms::{FunctionLost, Pence};
use usecases::advice::{AdvicePage, PastFailure, Trend};
use wording::sentences::{
    capital, chances, counted, dates, lost_words, money, number_word, plural,
};
use wording::{Row, Table, Urgency};

use super::staying;

/// One row a fact; what is not on record is said to be so.
pub(super) fn rows(seen: &AdvicePage) -> Vec<Row> {
    let mut rows = vec![
        fitted(seen),
        failed(
            seen,
            &format!(
                "{} What was paid counts against keeping it only through the failures to come, never as money to win back.",
                untimed(seen)
            ),
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
        .figure(format!("{:.0}\u{a0}y", a.answer.age), "age reckoned with")
}

fn fails(seen: &AdvicePage) -> Row {
    let (chance, low, high) = seen.listed.answer.fails_old;
    let said = chances::with_range(chance, low, high);
    let kept = if seen.listed.quote.is_some() {
        "As it stands, before this repair,"
    } else {
        "If it is kept,"
    };
    Row::plain("fails", format!("{kept} it fails within a year: {said}."))
        .figure(chances::brief(chance), "within a year")
}

fn failed(seen: &AdvicePage, beside: &str) -> Row {
    let failures = seen.lately.0;
    let times = counted(u64::from(failures), "failure", "failures");
    let (days, jobs) = seen.facts.without;
    let without = match (days, jobs) {
        (_, 0) => without_jobs(seen),
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
    .figure(paid_words(seen), "paid for them")
}

/// How many of the failures say that heat or hot water was lost, and how many of those a job answered.
fn took_heat(seen: &AdvicePage) -> (u64, u64) {
    let lost = |f: &&PastFailure| f.lost.is_some_and(FunctionLost::takes_heat);
    let failures = &seen.facts.failures;
    let all = failures.iter().filter(lost).count();
    let timed = failures.iter().filter(lost).filter(|f| f.timed).count();
    (all as u64, timed as u64)
}

/// Where no job says that heat was lost: failures brought in from a list may say so all the same.
fn without_jobs(seen: &AdvicePage) -> String {
    match took_heat(seen).0 {
        0 => " None of its jobs says that heat or hot water was lost.".to_owned(),
        lost => format!(
            " Heat or hot water was lost in {}; for how long is not on record.",
            of_all(lost, u64::from(seen.lately.0))
        ),
    }
}

/// Where some of the failures that took heat have no job that says for how long; nothing where each has one, or no job counts
/// days at all.
fn untimed(seen: &AdvicePage) -> String {
    let (lost, timed) = took_heat(seen);
    if seen.facts.without.1 == 0 || timed == lost {
        return String::new();
    }
    let only = match timed {
        0 => "none".to_owned(),
        n => format!("{} only", number_word(n)),
    };
    format!(
        " Heat or hot water was lost in {}; for how long is on record for {only} of them.",
        of_all(lost, u64::from(seen.lately.0))
    )
}

/// "five of the six failures", "both failures", "the one failure"
fn of_all(some: u64, all: u64) -> String {
    match (some, all) {
        (1, 1) => "the one failure".to_owned(),
        (2, 2) => "both failures".to_owned(),
        (some, all) if some == all => format!("all {}", counted(all, "failure", "failures")),
        (some, all) => format!(
            "{} of the {}",
            number_word(some),
            counted(all, "failure", "failures")
        ),
    }
}

/// What was paid for the failures counted, as far as it is on record: what nobody wrote down is not nothing.
fn paid_words(seen: &AdvicePage) -> String {
    let unknown = seen.facts.failures.iter().any(|f| f.cost.is_none());
    match seen.lately.1 {
        paid if !unknown => money::whole(paid),
        Pence(0) => "not on record".to_owned(),
        paid => format!("{} or more", money::whole(paid)),
    }
}

/// The failures counted above, each with its day and what was paid; `None` where there is none.
pub(super) fn past(seen: &AdvicePage) -> Option<Table> {
    let failures = &seen.facts.failures;
    if failures.is_empty() {
        return None;
    }
    let rows = failures
        .iter()
        .map(|f| {
            let paid = f
                .cost
                .map_or_else(|| "not on record".to_owned(), money::exact);
            vec![when(f), what(f) + staying::mark(seen, f), paid]
        })
        .collect();
    let mut table = Table::new(&["When", "What failed", "Paid for it"], rows).numbers(&[2]);
    table.caption = format!(
        "Failures on record in the 36 months before this advice, the latest first{}",
        staying::mark_words(seen)
    );
    table.sum = Some(vec![
        capital(&counted(failures.len() as u64, "failure", "failures")),
        String::new(),
        match seen.lately.1 {
            Pence(0) if failures.iter().any(|f| f.cost.is_none()) => "not on record".to_owned(),
            paid => money::exact(paid),
        },
    ]);
    Some(table)
}

fn when(failure: &PastFailure) -> String {
    match failure.until.filter(|until| *until != failure.on) {
        Some(until) => capital(&dates::fitted_when(Some(failure.on), Some(until))),
        None => dates::day(failure.on),
    }
}

fn what(failure: &PastFailure) -> String {
    let lost = match failure.lost {
        Some(lost) => lost_words(lost),
        None if failure.found_at_service => "found at a service",
        None => "what was lost is not on record",
    };
    let part = failure
        .part
        .as_ref()
        .map_or_else(String::new, |part| format!(": {}", part.to_lowercase()));
    capital(&format!("{lost}{part}"))
}

fn at_rounded(value: f64) -> String {
    format!("{value:.0}")
}

fn trend(trend: &Trend) -> Row {
    let unit = &trend.measured_in;
    let at = |(day, value): (chrono::NaiveDate, f64)| {
        format!("{value:.0}\u{a0}{unit} on {}", dates::day(day))
    };
    Row::plain("trend", went(trend, &at(trend.first), &at(trend.last))).figure(
        format!("{:.0}\u{a0}{unit}", trend.last.1),
        if at_rounded(trend.first.1) == at_rounded(trend.last.1) {
            "about the same before".to_owned()
        } else {
            format!("was {}\u{a0}{unit}", at_rounded(trend.first.1))
        },
    )
}

/// "Hot water, hot outlet: 48 °C on 11 June 2025, 36 °C on 27 November 2026."
fn went(trend: &Trend, first: &str, last: &str) -> String {
    // Its name on the sheet is of a field beside another one, and says little where it stands alone.
    if trend.code == "seconds_to_45" {
        return format!("The hot tap reached 45\u{a0}°C after {first}, and after {last}.");
    }
    // A name of two parts, and then its values: one colon only.
    let name = trend.what.replacen(": ", ", ", 1);
    format!("{name}: {first}, {last}.")
}

fn safety(seen: &AdvicePage) -> Row {
    let words = match seen.facts.unsafe_open {
        0 => "No unsafe situation is open on it today.".to_owned(),
        n => format!(
            "{} open on it today; only a registered engineer clears it.",
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
            format!("{} after this advice", plural(days, "day", "days")),
        ),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn some_of_the_failures_are_told_among_all() {
        assert_eq!(of_all(1, 1), "the one failure");
        assert_eq!(of_all(2, 2), "both failures");
        assert_eq!(of_all(3, 3), "all three failures");
        assert_eq!(of_all(5, 6), "five of the six failures");
    }

    #[test]
    fn a_reading_is_told_in_plain_order() {
        let day = chrono::NaiveDate::default();
        let of = |code: &str, what: &str| Trend {
            code: code.to_owned(),
            what: what.to_owned(),
            measured_in: String::new(),
            first: (day, 37.0),
            last: (day, 21.0),
        };
        let slow = of(
            "seconds_to_45",
            "Hot water at 45 seconds: seconds to 45 °C, if slower",
        );
        let said = went(&slow, "37 s on 11 May 2024", "21 s on 3 May 2026");
        assert_eq!(
            said.replace('\u{a0}', " "),
            "The hot tap reached 45 °C after 37 s on 11 May 2024, and after 21 s on 3 May 2026."
        );
        assert_eq!(
            went(&of("hot_c", "Hot water: hot outlet"), "48", "36"),
            "Hot water, hot outlet: 48, 36."
        );
    }
}
