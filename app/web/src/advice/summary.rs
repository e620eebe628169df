//! The four short rows on top of an advice and of its pack: what is advised, why, what would change it, what is not known.
use terms::ExpectedPounds;
use usecases::advice::{AdvicePage, Listed, Param, TornadoRow};
use wording::sentences::{capital, chances, counted};
use wording::{Link, Row};

use super::{course, not_known, words};

/// The four rows of the page.
pub(super) fn rows(seen: &AdvicePage) -> Vec<Row> {
    let a = &seen.listed;
    let firm = firmness(a).map_or_else(String::new, |said| format!(" {said}"));
    let unknown = format!("{} More under “What is not known”.", not_known(seen));
    four(seen, format!("{}{firm}", course::asked(a)), unknown)
}

/// The same for the two printed pages, whose heading names the course, its price and its day already.
pub(super) fn in_brief(seen: &AdvicePage) -> Vec<Row> {
    let firm = firmness(&seen.listed).unwrap_or_else(|| "As the heading says.".to_owned());
    four(seen, firm, not_known(seen))
}

fn four(seen: &AdvicePage, advice: String, unknown: String) -> Vec<Row> {
    let said = |id: &str, name: &str, text: String| {
        Row::about(
            format!("sum-{id}"),
            Link::new(format!("{name}:"), ""),
            format!(" {text}"),
        )
    };
    let mut rows = vec![
        said("advice", "Advice", advice),
        said("why", "Because", because(seen)),
    ];
    if let Some(turns) = would_change(seen) {
        rows.push(said("turn", "What would change it", turns));
    }
    rows.push(said("unknown", "Not known", unknown));
    rows
}

/// How often the course turns out the cheaper one, and so how firmly it is said.
fn firmness(a: &Listed) -> Option<String> {
    let p = a.answer.advice.probability_replace_cheaper?;
    let share = if a.course == "replace" { p } else { 1.0 - p };
    let how = if a.close_call {
        "Either is defensible: this course"
    } else {
        "This is said plainly: the course"
    };
    Some(format!(
        "{how} turns out the cheaper one in {} cases.",
        chances::in_ten(share)
    ))
}

/// How often it failed and is expected to, a new one beside it, and the money.
fn because(seen: &AdvicePage) -> String {
    let a = &seen.listed;
    let (failures, _) = seen.lately;
    let times = match failures {
        0 => "No failure is on record in 36 months".to_owned(),
        n => capital(&format!(
            "{} on record in 36 months",
            counted(u64::from(n), "failure is", "failures are")
        )),
    };
    let new = a
        .instead()
        .and_then(|(code, _, _)| a.answer.fails_new.get(code));
    let beside = new.map_or_else(String::new, |(p, _, _)| {
        format!(", a new one in its first year {}", chances::brief(*p))
    });
    format!(
        "{times}. Kept, it fails within a year with a chance of {}{beside}. {}",
        chances::brief(a.answer.fails_old.0),
        words::standing(a)
    )
}

/// The two values nearest at which the advice turns, and the failures that would do it.
fn would_change(seen: &AdvicePage) -> Option<String> {
    let a = &seen.listed;
    let advice = &a.answer.advice;
    advice.advantage_replace_now?;
    let other = if a.course == "replace" {
        match a.quote {
            Some(_) => "repairing",
            None => "keeping it",
        }
    } else {
        "replacing"
    };
    let mut near: Vec<(&TornadoRow, f64)> = advice
        .tornado
        .iter()
        .filter_map(|row| Some((row, row.switch_multiplier?)))
        .collect();
    near.sort_by(|a, b| a.1.ln().abs().total_cmp(&b.1.ln().abs()));
    let said: Vec<String> = near
        .iter()
        .filter_map(|(row, by)| switch_words(row, *by))
        .take(2)
        .collect();
    let more = words::failures_that_turn(seen)
        .map(|s| format!(" {s}"))
        .unwrap_or_default();
    if said.is_empty() {
        return Some(format!(
            "No single figure, made a tenth or five times as large, makes {other} the cheaper course.{more}"
        ));
    }
    let inside = if advice.turns.is_empty() {
        " Each of these lies outside the range it is thought to have."
    } else {
        ""
    };
    Some(format!(
        "{} would be cheaper with {}.{inside}{more}",
        capital(other),
        said.join(", or with ")
    ))
}

/// "one failure every 21 months instead of every 16"
pub(super) fn switch_words(row: &TornadoRow, by: f64) -> Option<String> {
    let pair = row.base.map(|base| (base * by, base));
    let pounds = |v: f64| ExpectedPounds(v).to_string();
    Some(match (row.param, pair) {
        (Param::FaultsOld, Some((then, now))) => format!(
            "{} instead of {}",
            words::how_often(then),
            words::how_often(now)
        ),
        (Param::FaultsNew, _) => format!("a new one that fails {by:.1} times as often"),
        (Param::Energy, _) => format!("energy at {by:.1} times its price"),
        (Param::Rate, Some((then, now))) => format!(
            "a real rate of {:.1} % instead of {:.1} %",
            then * 100.0,
            now * 100.0
        ),
        (Param::Quote, Some((then, now))) => {
            format!("a quote of {} instead of {}", pounds(then), pounds(now))
        }
        (Param::Capex, Some((then, now))) => {
            format!("a new one at {} instead of {}", pounds(then), pounds(now))
        }
        (Param::ServiceOld, Some((then, now))) => format!(
            "a yearly service at {} instead of {}",
            pounds(then),
            pounds(now)
        ),
        (Param::RepairPrice, Some((then, now))) => format!(
            "repairs at {} each instead of {}",
            pounds(then),
            pounds(now)
        ),
        (Param::Disruption, Some((then, now))) => format!(
            "the disruption of a failure worth {} instead of {}",
            pounds(then),
            pounds(now)
        ),
        (Param::EmergencyPremium, Some((then, now))) => format!(
            "out of hours {} dearer instead of {}",
            pounds(then),
            pounds(now)
        ),
        (_, None) => return None,
    })
}

/// The two things not known that matter most here.
fn not_known(seen: &AdvicePage) -> String {
    let said = not_known::all(seen);
    let first: Vec<String> = said.into_iter().take(2).map(|one| one.words).collect();
    first.join(" ")
}
