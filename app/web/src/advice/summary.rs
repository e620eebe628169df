//! The four short rows on top of an advice and of its pack: what is advised, why, what would change it, what is not known.
use usecases::advice::{AdvicePage, Listed, TornadoRow};
use wording::sentences::{capital, chances, counted};
use wording::{Link, Row};

use super::{choices, course, not_known, turning, words};

/// The four rows of the page.
pub(super) fn rows(seen: &AdvicePage) -> Vec<Row> {
    let a = &seen.listed;
    let firm = firmness(a).map_or_else(String::new, |said| format!(" {said}"));
    let unknown = format!("{} More under “What is not known”.", not_known(seen));
    let mut rows = four(seen, &format!("{}{firm}", course::asked(a)), &unknown);
    if let Some(follows) = choices::unanswered(seen) {
        rows.insert(1, said("unanswered", "If nobody answers", &follows));
    }
    rows
}

/// The same for the two printed pages, whose heading names the course, its price and its day already.
pub(super) fn in_brief(seen: &AdvicePage) -> Vec<Row> {
    let firm = firmness(&seen.listed).unwrap_or_else(|| "As the heading says.".to_owned());
    four(seen, &firm, &not_known(seen))
}

fn four(seen: &AdvicePage, advice: &str, unknown: &str) -> Vec<Row> {
    let mut rows = vec![
        said("advice", "Advice", advice),
        said("why", "Because", &because(seen)),
    ];
    if let Some(turns) = would_change(seen) {
        rows.push(said("turn", "What would change it", &turns));
    }
    rows.push(said("unknown", "Not known", unknown));
    rows
}

fn said(id: &str, name: &str, text: &str) -> Row {
    Row::about(
        format!("sum-{id}"),
        Link::new(format!("{name}:"), ""),
        format!(" {text}"),
    )
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
    let kept = if a.quote.is_some() {
        "As it stands, before this repair,"
    } else {
        "Kept,"
    };
    format!(
        "{times}. {kept} it fails within a year with a chance of {}{beside}. {}",
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
        .filter_map(|(row, by)| turning::switch_words(a, row, *by))
        .take(2)
        .collect();
    let more = turning::in_short(seen)
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

/// The two things not known that matter most here.
fn not_known(seen: &AdvicePage) -> String {
    let said = not_known::all(seen);
    let first: Vec<String> = said.into_iter().take(2).map(|one| one.words).collect();
    first.join(" ")
}
