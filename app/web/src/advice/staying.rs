//! Failures in what stays when the unit is replaced, in sentences: a new one would not stop them.
use usecases::advice::{AdvicePage, PastFailure};
use wording::Row;
use wording::sentences::{counted, number_word, plural};

use super::drawings;

/// "the network’s supply or the room’s controls"
fn one_of(things: &[&str]) -> String {
    match things {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

/// The failures on record in what stays, where that was counted on both sides.
fn met(seen: &AdvicePage) -> Vec<&PastFailure> {
    let failures = seen.facts.failures.iter();
    failures
        .filter(|f| seen.stays_counted && f.stays.is_some())
        .collect()
}

/// "Of the six failures, three were in the network’s supply; a new unit would not stop those, so they are counted on both
/// sides."; nothing where none was.
pub(super) fn in_short(seen: &AdvicePage) -> Option<String> {
    let met = met(seen);
    let mut things: Vec<&str> = Vec::new();
    for thing in met.iter().filter_map(|f| f.stays.as_deref()) {
        if !things.contains(&thing) {
            things.push(thing);
        }
    }
    sentence(u64::from(seen.lately.0), met.len() as u64, &one_of(&things))
}

fn sentence(all: u64, met: u64, things: &str) -> Option<String> {
    let of = match (all, met) {
        (_, 0) => return None,
        (1, _) => "The one failure was".to_owned(),
        (2, 2) => "Both failures were".to_owned(),
        (all, met) if all == met => format!("All {} failures were", number_word(all)),
        (all, met) => format!(
            "Of the {}, {} {}",
            counted(all, "failure", "failures"),
            number_word(met),
            if met == 1 { "was" } else { "were" }
        ),
    };
    let (those, they) = if met == 1 {
        ("that one", "it is")
    } else {
        ("those", "they are")
    };
    Some(format!(
        "{of} in {things}; a new unit would not stop {those}, so {they} counted on both sides."
    ))
}

/// What stays, how much of what is expected lies there, and what it comes to; nothing where nothing was counted so.
pub(super) fn row(seen: &AdvicePage) -> Option<Row> {
    let a = &seen.listed;
    if !seen.stays_counted || seen.facts.stays.is_empty() {
        return None;
    }
    let (code, _, _) = a.instead()?;
    let value = |name: &str, option: &str| {
        let mut lines = seen.lines.iter();
        let found = lines.find(|l| l.code == name && l.option == option);
        found.map(|l| l.value)
    };
    let first = value("failures_repaired", "").or_else(|| value("failures_first", ""))?;
    let share = value("failures_staying", code)? / first.max(f64::MIN_POSITIVE);
    let things: Vec<&str> = seen.facts.stays.iter().map(String::as_str).collect();
    let cost = terms::ExpectedPounds(a.answer.advice.staying_cost);
    let words = format!(
        "Of 100 failures expected of it, {:.0} lie in {}: these stay when it is replaced, and fail as often beside a new one. So they are counted on both sides, about {cost} over {}, and speak for neither course.",
        share * 100.0,
        one_of(&things),
        plural(u64::from(drawings::horizon(a)), "year", "years"),
    );
    Some(Row::plain("stays", words).figure(cost.to_string(), "on both sides"))
}

/// That the share of its failures in what stays is its kind’s, because no failure on record names its part; nothing where its own
/// record speaks.
pub(super) fn share_not_known(seen: &AdvicePage) -> Option<String> {
    if !seen.stays_counted || seen.facts.stays.is_empty() {
        return None;
    }
    let (code, _, _) = seen.listed.instead()?;
    let mut lines = seen.lines.iter();
    let line = lines.find(|l| l.code == "failures_staying" && l.option == code)?;
    let things: Vec<&str> = seen.facts.stays.iter().map(String::as_str).collect();
    line.source.contains(OF_ITS_KIND).then(|| {
        format!(
            "How many of its failures lie in what stays beside a new one, {}, is not known: no failure on record names its part, so the share of its kind stands in.",
            one_of(&things)
        )
    })
}

/// How the source of that share reads where none of the unit's own failures names a part.
const OF_ITS_KIND: &str = "of its kind’s failures lie there";

/// That the repair in hand is needed whether the unit is replaced or not.
pub(super) fn fault_row(seen: &AdvicePage) -> Option<Row> {
    seen.leaves_fault.then(|| {
        Row::plain(
            "leaves-fault",
            "The part quoted for stays when the unit is replaced, and a new unit would not put this fault right. The quote is counted on both sides: its price speaks for neither course, and the limit moves with it.",
        )
    })
}

/// The mark of such a failure in the table of past ones.
pub(super) fn mark(seen: &AdvicePage, failure: &PastFailure) -> &'static str {
    if seen.stays_counted && failure.stays.is_some() {
        MARK
    } else {
        ""
    }
}

/// What follows the words of a failure that a new unit would not have stopped.
const MARK: &str = "; stays";

/// What the mark means; nothing where no failure has it.
pub(super) fn mark_words(seen: &AdvicePage) -> &'static str {
    if met(seen).is_empty() {
        ""
    } else {
        ". “Stays” marks those in parts that a new unit would not replace"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sentence_counts_as_many_as_there_are() {
        let two = one_of(&["the network’s supply", "the room’s controls"]);
        for (all, met, said) in [
            (
                6,
                3,
                "Of the six failures, three were in the network’s supply or the room’s controls; a new unit would not stop those, so they are counted on both sides.",
            ),
            (
                6,
                1,
                "Of the six failures, one was in the network’s supply or the room’s controls; a new unit would not stop that one, so it is counted on both sides.",
            ),
            (
                2,
                2,
                "Both failures were in the network’s supply or the room’s controls; a new unit would not stop those, so they are counted on both sides.",
            ),
            (
                3,
                3,
                "All three failures were in the network’s supply or the room’s controls; a new unit would not stop those, so they are counted on both sides.",
            ),
            (
                1,
                1,
                "The one failure was in the network’s supply or the room’s controls; a new unit would not stop that one, so it is counted on both sides.",
            ),
        ] {
            assert_eq!(sentence(all, met, &two).as_deref(), Some(said));
        }
        assert_eq!(sentence(4, 0, &two), None);
        assert_eq!(one_of(&["a", "b", "c"]), "a, b or c");
    }
}
