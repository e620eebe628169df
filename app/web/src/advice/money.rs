//! The money that speaks for the course advised, and what may end that course early: what a reader wants to know first.
use chrono::Datelike;
use terms::Pence;
use usecases::advice::AdvicePage;
use wording::sentences::{chances, counted};

use super::{drawings, words};

/// From this chance on it is said at once that it may end sooner: a heading that names years must not hide it.
const WORTH_SAYING: f64 = 0.25;

/// Why the course advised is the cheaper one: what is paid now, and what it comes to with all that is expected.
pub(super) fn for_the_course(seen: &AdvicePage) -> Option<String> {
    let a = &seen.listed;
    let dearer = drawings::dearer(a, a.answer.advice.best_keep?)?;
    let (_, _, new) = a.instead()?;
    let by = seen.known_on.year() + drawings::horizon(a) as i32;
    let now = if seen.leaves_fault {
        either_way(new, dearer.0 > 0)
    } else {
        paid_now((a.quote, new), dearer.0 > 0, &words::more_years(a))
    };
    // Where the repair is paid either way, keeping is what differs.
    let repaired = a.quote.is_some() && !seen.leaves_fault;
    Some(reason(&now, repaired, dearer, by))
}

/// What is paid now where the part quoted for stays beside a new unit: the repair with either course.
fn either_way(new: Pence, replacing: bool) -> String {
    let now = if replacing { "paid now" } else { "put off" };
    format!("{new} is {now}, and the repair is paid either way")
}

/// What is paid now by the course that is cheaper; `kept`: for how long the best course of keeping keeps it.
fn paid_now((quote, new): (Option<Pence>, Pence), replacing: bool, kept: &str) -> String {
    match (quote, replacing) {
        (Some(quote), true) => format!("{new} is paid now instead of {quote}"),
        (Some(quote), false) => format!("{quote} is paid now instead of {new}"),
        (None, true) => format!("{new} is paid now instead of later"),
        (None, false) => format!("Keeping it {kept} puts off {new}"),
    }
}

/// `dearer`: what the best course of keeping costs more than replacing now.
fn reason(now: &str, repaired: bool, dearer: Pence, by: i32) -> String {
    let doing = match (repaired, dearer.0 > 0) {
        (_, true) => "replacing",
        (true, false) => "repairing",
        (false, false) => "keeping it",
    };
    format!(
        "{now}; with all that is expected to come by {by}, less what is still in the unit then, {doing} is {} cheaper.",
        Pence(dearer.0.abs())
    )
}

/// That a failure beyond repair may end the course before its years are over; nothing where that is unlikely or nothing is
/// kept.
pub(super) fn may_end_sooner(seen: &AdvicePage) -> Option<String> {
    let a = &seen.listed;
    let lost = a.answer.advice.lost_while_kept;
    if a.course == "replace" || lost < WORTH_SAYING {
        return None;
    }
    Some(sooner(lost, u64::from(a.answer.advice.best_keep?)))
}

fn sooner(lost: f64, years: u64) -> String {
    let within = match years {
        1 => "that year".to_owned(),
        n => format!("those {}", counted(n, "year", "years")),
    };
    format!(
        "{} that a failure beyond repair ends it within {within}; a new one is then bought out of plan. That is in the figures.",
        chances::about(lost)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_money_speaks_for_the_course_advised() {
        let (quote, new) = (Some(Pence(41_200)), Pence(290_000));
        for (quote, dearer, said) in [
            (
                quote,
                -77_296,
                "£412.00 is paid now instead of £2,900.00; with all that is expected to come by 2036, less what is still in the unit then, repairing is £772.96 cheaper.",
            ),
            (
                quote,
                31_414,
                "£2,900.00 is paid now instead of £412.00; with all that is expected to come by 2036, less what is still in the unit then, replacing is £314.14 cheaper.",
            ),
            (
                None,
                -2_353,
                "Keeping it two more years puts off £2,900.00; with all that is expected to come by 2036, less what is still in the unit then, keeping it is £23.53 cheaper.",
            ),
            (
                None,
                2_353,
                "£2,900.00 is paid now instead of later; with all that is expected to come by 2036, less what is still in the unit then, replacing is £23.53 cheaper.",
            ),
        ] {
            let now = paid_now((quote, new), dearer > 0, "two more years");
            assert_eq!(reason(&now, quote.is_some(), Pence(dearer), 2036), said);
        }
        assert_eq!(
            either_way(new, false),
            "£2,900.00 is put off, and the repair is paid either way"
        );
    }

    #[test]
    fn an_early_end_is_said_with_its_chance() {
        assert_eq!(
            sooner(0.75, 10).replace('\u{a0}', " "),
            "about 3 in 4 that a failure beyond repair ends it within those ten years; a new one is then bought out of plan. That is in the figures."
        );
        assert!(sooner(0.5, 1).contains("within that year; "));
    }
}
