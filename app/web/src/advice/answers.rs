//! What an advice answers, each answer in a sentence of its own.
use terms::{ExpectedPounds, Pence};
use usecases::advice::{AdvicePage, Listed};
use wording::Row;
use wording::sentences::{chances, counted, plural};

use super::{drawings, staying, turning, words};

/// The answers kept apart; after the main ones, what would turn them.
pub(super) fn answers(seen: &AdvicePage) -> Vec<Row> {
    let mut rows = main_answers(seen);
    rows.extend(staying::fault_row(seen));
    rows.extend(turning::row(seen));
    rows.extend(staying::row(seen));
    rows.extend(lost_row(seen));
    rows.extend(hangs_row(seen));
    rows
}

/// The answers of both forms: the best course, what it is worth, the longest course.
fn main_answers(seen: &AdvicePage) -> Vec<Row> {
    let a = &seen.listed;
    let advice = &a.answer.advice;
    let Some(best) = advice.best_keep else {
        return vec![Row::plain("best", "No course was compared.")];
    };
    let then = match &advice.keep_then {
        Some(code) if *code == a.unit.kind => "like for like",
        Some(_) => "with another kind",
        None => "with a new one",
    };
    let repaired = if a.quote.is_some() {
        "If it is repaired, the best course is to keep it"
    } else {
        "If it is kept, the best course is to keep it"
    };
    let breaks = match advice.break_even_year {
        Some(year) => format!(
            "From the {} year on, a further year of keeping costs more than a year of a new one.",
            ordinal(year)
        ),
        None => format!(
            "Within {} no further year of keeping costs more than a year of a new one.",
            counted(u64::from(drawings::horizon(a)), "year", "years")
        ),
    };
    let mut rows = vec![
        Row::plain(
            "best",
            format!(
                "{repaired} {} and then replace it {then}. {breaks}",
                words::more_years(a)
            ),
        )
        .figure(
            plural(u64::from(best), "year", "years"),
            if a.quote.is_some() {
                "best, if repaired"
            } else {
                "best"
            },
        ),
    ];
    rows.extend(difference_row(a));
    rows.extend(advantage_row(seen));
    let last = drawings::horizon(a);
    if let Some(dearer) = drawings::dearer(a, last).filter(|_| last != best) {
        let (sum, way) = apart(dearer);
        let years = counted(u64::from(last), "more year", "more years");
        rows.push(
            Row::plain(
                "longest",
                format!(
                    "Keeping it {years} would cost {sum} {} than replacing now.",
                    way.0
                ),
            )
            .figure(sum, way.1),
        );
    }
    rows
}

/// The answers of the two printed pages: the main ones, and what a close answer hangs on; the failures that would turn it
/// stand among the rows in short.
pub(super) fn pack_answers(seen: &AdvicePage) -> Vec<Row> {
    let mut rows = main_answers(seen);
    rows.extend(staying::fault_row(seen));
    rows.extend(hangs_row(seen));
    rows
}

/// The risk that a failure beyond repair ends it first.
fn lost_row(seen: &AdvicePage) -> Option<Row> {
    let a = &seen.listed;
    let lost = a.answer.advice.lost_while_kept;
    if lost < 0.001 {
        return None;
    }
    let years = plural(u64::from(a.answer.advice.best_keep?), "year", "years");
    let words = format!(
        "While it is kept {}, a failure beyond repair may end it: {} over those years together.{} It would then be replaced at once, out of plan; that is in every figure of keeping it.",
        words::more_years(a),
        chances::about(lost),
        of_single_failures(seen, lost)
    );
    Some(Row::plain("lost", words).figure(
        chances::brief(lost),
        format!("that it ends so within {years}"),
    ))
}

/// How that chance over years comes from the share of single failures: 1 − e^(−share × failures).
fn of_single_failures(seen: &AdvicePage, lost: f64) -> String {
    let mut lines = seen.lines.iter();
    let line = lines.find(|l| l.code == "write_off_share" && l.value > 0.0);
    line.map_or_else(String::new, |line| {
        let failures = -(-lost).ln_1p() / line.value;
        format!(
            " That is not a share of failures: of 100 single failures {:.0} are taken to be beyond repair, and {failures:.1} failures are expected in that time.",
            line.value * 100.0
        )
    })
}

/// What a close answer hangs on.
fn hangs_row(seen: &AdvicePage) -> Option<Row> {
    let a = &seen.listed;
    if !a.close_call {
        return None;
    }
    Some(Row::plain("hangs", drawings::hangs_on(a)))
}

/// Its size, and which way: ("more", "dearer").
fn apart(dearer: Pence) -> (String, (&'static str, &'static str)) {
    if dearer.0 >= 0 {
        (dearer.to_string(), ("more", "dearer than replacing"))
    } else {
        (
            Pence(-dearer.0).to_string(),
            ("less", "cheaper than replacing"),
        )
    }
}

/// What the best course costs beside replacing now where no quote stands beside it.
fn difference_row(a: &Listed) -> Option<Row> {
    if a.advantage.is_some() {
        return None;
    }
    let best = a.answer.advice.best_keep?;
    let (sum, way) = apart(drawings::dearer(a, best)?);
    Some(
        Row::plain(
            "difference",
            format!("That course costs {sum} {} than replacing now.", way.0),
        )
        .figure(sum, way.1),
    )
}

fn advantage_row(seen: &AdvicePage) -> Option<Row> {
    let a = &seen.listed;
    if let (Some(quote), Some(limit), Some(advantage)) = (a.quote, a.limit, a.advantage) {
        let (sum, way) = apart(advantage);
        let words = words::sum_of(quote, limit, advantage);
        return Some(
            Row::plain(
                "advantage",
                format!(
                    "That course costs {sum} {} than replacing now. {words}",
                    way.0
                ),
            )
            .figure(sum, way.1),
        );
    }
    let limit = a.limit?;
    let words = if limit.0 > 0 {
        let mut lines = seen.lines.iter();
        let usual = lines.find(|l| l.code == "repair" && l.option.is_empty());
        limit_when_it_fails(limit, usual.map(|l| ExpectedPounds(l.value)))
    } else {
        "Should it fail now, replacing would be the cheaper course even if the repair were free."
            .to_owned()
    };
    Some(Row::plain("limit", words).figure(limit.to_string(), "repair limit"))
}

/// What a repair may cost at the next failure, beside what one usually costs where that is more.
fn limit_when_it_fails(limit: Pence, usual: Option<ExpectedPounds>) -> String {
    let above = usual.filter(|usual| usual.to_pence() > limit);
    let beside = above.map_or_else(String::new, |usual| {
        format!(
            "; a usual one costs about {usual}, so at its next failure a new one is likely the cheaper course"
        )
    });
    format!("Should it fail now, a repair up to {limit} would still be worth paying{beside}.")
}

fn ordinal(n: u32) -> String {
    const WORDS: [&str; 10] = [
        "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
        "tenth",
    ];
    (n as usize)
        .checked_sub(1)
        .and_then(|i| WORDS.get(i))
        .map_or_else(|| format!("{n}th"), |w| (*w).to_owned())
}

/// The two limits: what is worth paying, and what may be agreed without asking.
pub(super) fn limit_words(seen: &AdvicePage) -> Vec<String> {
    let a = &seen.listed;
    let Some(quote) = a.quote else {
        return Vec::new();
    };
    let mut said = Vec::new();
    match (a.limit, a.advantage) {
        (Some(limit), Some(advantage)) => {
            let side = if advantage.0 > 0 { "above" } else { "below" };
            let stands = if advantage.0 == 0 {
                "The quote is exactly at it.".to_owned()
            } else {
                format!(
                    "The quote of {quote} is {} {side} it.",
                    Pence(advantage.0.abs())
                )
            };
            said.push(format!(
                "Worth paying: the repair limit is {limit}, the highest price at which repairing and keeping it {} is still the cheaper course. {stands}",
                words::more_years(a)
            ));
        }
        _ => said.push("Worth paying: not known, as there is no price for a new one.".to_owned()),
    }
    let agent = a.answer.ladder.agent.unwrap_or_default();
    let apart = quote.0 - agent.0;
    let stands = match apart {
        0 => "The quote is exactly at it.".to_owned(),
        d if d > 0 => format!(
            "The quote is {} over it, so {} is wanted.",
            Pence(d),
            words::landlords_yes(&seen.landlords)
        ),
        d => format!("The quote is {} under it.", Pence(-d)),
    };
    said.push(format!(
        "May be agreed without asking: {agent} by the managing agent. {stands}"
    ));
    said.push(words::outcome(a));
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limit_stands_beside_what_a_repair_usually_costs() {
        let plain = "Should it fail now, a repair up to £523.00 would still be worth paying.";
        let usual = Some(ExpectedPounds(320.0));
        assert_eq!(limit_when_it_fails(Pence(52_300), usual), plain);
        assert_eq!(limit_when_it_fails(Pence(52_300), None), plain);
        assert_eq!(
            limit_when_it_fails(Pence(2_353), usual),
            "Should it fail now, a repair up to £23.53 would still be worth paying; a usual one costs about £320, so at its next failure a new one is likely the cheaper course."
        );
    }
}
