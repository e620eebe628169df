//! The short rows on top of an advice and of its pack: why, what would change it, what is not known; what the heading said
//! already is not said again.
use usecases::advice::{AdvicePage, Listed, TornadoRow};
use wording::sentences::{capital, chances, counted};
use wording::{Link, Row};

use super::{choices, course, money, not_known, out, staying, turning, words};

/// The rows of the page, under whose heading stand the course, its money and its day already.
pub(super) fn rows(seen: &AdvicePage) -> Vec<Row> {
    let unknown = format!("{} More under “What is not known”.", not_known(seen));
    // What speaks for the course comes first: how it failed so far speaks for the other one.
    let why = match money::for_the_course(seen) {
        Some(money) => format!("{money} {}", because(seen)),
        None => because(seen),
    };
    let track = out::record_would_turn(seen);
    let mut rows = three(seen, (&why, &unknown), track.as_deref());
    if let Some(follows) = choices::unanswered(seen) {
        rows.insert(1, said("unanswered", "If nobody answers", &follows));
    }
    if let Some(sooner) = money::may_end_sooner(seen) {
        rows.insert(1, said("sooner", "It may end sooner", &sooner));
    }
    rows
}

/// The same for the two printed pages, whose heading names the course, its price and its day, or the decision; the money
/// comes first among the reasons, for it decides.
pub(super) fn in_brief(seen: &AdvicePage) -> Vec<Row> {
    let a = &seen.listed;
    let firm = firmness(a);
    let advice = if a.decision.is_some() {
        let firm = firm.map_or_else(String::new, |said| format!(" {said}"));
        format!("{}.{firm}", capital(&course::finding(a)))
    } else {
        firm.unwrap_or_else(|| "As the heading says.".to_owned())
    };
    let why = format!("{} {}", words::standing(a), because(seen));
    let mut rows = vec![said("advice", "Advice", &advice)];
    rows.extend(three(seen, (&why, &not_known(seen)), None));
    rows
}

/// Why, what would change it (last how our forecasts did, where there is `track`), and what is not known.
fn three(seen: &AdvicePage, (why, unknown): (&str, &str), track: Option<&str>) -> Vec<Row> {
    let mut rows = vec![said("why", "Because", why)];
    if let Some(turns) = would_change(seen) {
        let track = track.map_or_else(String::new, |said| format!(" {said}"));
        rows.push(said(
            "turn",
            "What would change it",
            &format!("{turns}{track}"),
        ));
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

/// How often it failed and is expected to, a new one beside it.
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
    let stays = staying::in_short(seen).map_or_else(String::new, |said| format!(" {said}"));
    format!(
        "{times}.{stays} {kept} it fails within a year with a chance of {}{beside}.",
        chances::brief(a.answer.fails_old.0)
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
    let (said, inside): (Vec<String>, Vec<bool>) = near
        .iter()
        .filter_map(|(row, by)| Some((turning::switch_words(a, row, *by)?, row.turns_inside())))
        .take(2)
        .unzip();
    let more = turning::in_short(seen)
        .map(|s| format!(" {s}"))
        .unwrap_or_default();
    if said.is_empty() {
        return Some(format!(
            "No single figure, made a tenth or five times as large, makes {other} the cheaper course.{more}"
        ));
    }
    Some(format!(
        "{} would be cheaper with {}. {}{more}",
        capital(other),
        said.join(", or with "),
        how_likely(&inside)
    ))
}

/// Whether the values named lie where they are thought to lie: so a reader learns whether it is likely.
fn how_likely(inside: &[bool]) -> &'static str {
    match inside {
        [true, true] => {
            "Both lie inside the range they are thought to have, so either may well be so."
        }
        [true, false] => {
            "The first lies inside the range it is thought to have and may well be so; the second lies outside its own."
        }
        [false, true] => {
            "The first lies outside the range it is thought to have; the second lies inside its own and may well be so."
        }
        [true] => "That lies inside the range it is thought to have, so it may well be so.",
        [false] => "That lies outside the range it is thought to have, so it is not likely.",
        _ => "Each of these lies outside the range it is thought to have, so neither is likely.",
    }
}

/// The two things not known that matter most here.
fn not_known(seen: &AdvicePage) -> String {
    let mut said = not_known::all(seen).into_iter().map(|one| one.short);
    match (said.next(), said.next()) {
        (Some(first), Some(second)) => {
            format!("Two things matter most: {first}; and {second}.")
        }
        (Some(first), None) => format!("One thing matters most: {first}."),
        (None, _) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whether_a_turn_is_likely_is_said_of_each() {
        assert!(how_likely(&[true]).ends_with("it may well be so."));
        assert!(how_likely(&[false]).ends_with("it is not likely."));
        assert!(how_likely(&[false, false]).ends_with("neither is likely."));
        assert!(how_likely(&[true, true]).starts_with("Both lie inside"));
        assert!(how_likely(&[true, false]).contains("The first lies inside"));
        assert!(how_likely(&[false, true]).contains("the second lies inside"));
    }
}
