//! What it would take to turn an advice: failures more or fewer, and values named beside those reckoned with.
use usecases::advice::{AdvicePage, FurtherFailures, Listed, Param, TornadoRow, fewer_tried};
use wording::Row;
use wording::sentences::{capital, counted, number_word, plural};

use super::words::how_often;

/// The failures that would turn it, and whether they are more or fewer than are on record. Asked in one place, so that no two
/// sentences of a page or a pack answer it differently.
fn met(seen: &AdvicePage) -> Option<(&'static str, FurtherFailures)> {
    let advice = &seen.listed.answer.advice;
    let fewer = advice.fewer.filter(|f| f.count <= seen.lately.0);
    let more = advice.further.map(|f| ("more", f));
    more.or(fewer.map(|f| ("fewer", f)))
}

/// How many failures more, or fewer, would turn the advice; nothing where no small number does.
pub(super) fn in_short(seen: &AdvicePage) -> Option<String> {
    let (way, found) = met(seen)?;
    let failures = counted(u64::from(found.count), "failure", "failures");
    let would = if found.count == 1 {
        "would"
    } else {
        "would together"
    };
    Some(capital(&format!(
        "{failures} {way} on record {would} turn it, too."
    )))
}

/// The same as an answer of its own, which also says where no number does.
pub(super) fn row(seen: &AdvicePage) -> Option<Row> {
    let advantage = seen.listed.answer.advice.advantage_replace_now?;
    let Some((way, found)) = met(seen) else {
        return none_turns(seen, advantage > 0.0);
    };
    let failures = counted(u64::from(found.count), "failure", "failures");
    let had = if found.count == 1 { "it" } else { "they" };
    let beside = match way {
        "more" => format!("With {failures} more on record {had} would turn the advice"),
        _ => format!(
            "With {failures} fewer than the {} on record in 36 months the advice would turn",
            seen.lately.0
        ),
    };
    let words = format!(
        "{beside}: it would then be expected to fail {:.1} times as often, {}.{}",
        found.times,
        often(&seen.listed, found.in_year),
        in_whole_numbers(seen, found)
    );
    Some(Row::plain("further", words).figure(
        plural(u64::from(found.count), "failure", "failures"),
        format!("{way} would turn it"),
    ))
}

/// Failures come whole, so they turn it a little past where the rate itself does: said where the two differ.
fn in_whole_numbers(seen: &AdvicePage, found: FurtherFailures) -> String {
    let rows = &seen.listed.answer.advice.tornado;
    let at = rows
        .iter()
        .find(|row| row.param == Param::FaultsOld)
        .and_then(|row| Some(row.base? * row.switch_multiplier?));
    match at.map(how_often) {
        Some(at) if at != how_often(found.in_year) => format!(
            " Failures come in whole numbers: the advice turns at {at} already, and {} is the first number past that.",
            number_word(u64::from(found.count))
        ),
        _ => String::new(),
    }
}

/// Where no number of failures turns it: only so far as numbers were tried.
fn none_turns(seen: &AdvicePage, replacing: bool) -> Option<Row> {
    let variance = seen.lines.iter().find(|l| l.code == "variance")?.value;
    if !replacing {
        let words = "Even six failures more than are on record would not make replacing now the cheaper course.";
        return (variance > 0.0)
            .then(|| Row::plain("further", words).figure("over six", "failures more to turn it"));
    }
    let had = seen.lately.0;
    let tried = fewer_tried(variance, had);
    let words = match (had, tried) {
        (0, _) => {
            "No failure is on record in 36 months, so no failure fewer could turn it.".to_owned()
        }
        (_, 0) => return None,
        (1, _) => {
            "Not even without the one failure on record in 36 months would it be the other course."
                .to_owned()
        }
        (had, tried) if had == tried => format!(
            "Not even with none of the {} on record in 36 months would it be the other course.",
            counted(u64::from(had), "failure", "failures")
        ),
        (had, tried) => format!(
            "Even with {} fewer than the {had} on record in 36 months, the most that can be reckoned with, it would not be the other course.",
            counted(u64::from(tried), "failure", "failures")
        ),
    };
    Some(Row::plain("further", words))
}

/// How often the unit that stands there fails: with a quote in hand, once it is repaired.
pub(super) fn often(a: &Listed, a_year: f64) -> String {
    let once = if a.quote.is_some() {
        " once repaired"
    } else {
        ""
    };
    format!("{}{once}", how_often(a_year))
}

/// "29 % more": how far a multiplier lies from 1, rounded alike wherever it is said.
pub(super) fn percent(by: f64, (more, less): (&str, &str)) -> String {
    let apart = (by - 1.0).abs() * 100.0;
    let way = if by >= 1.0 { more } else { less };
    if apart < 0.5 {
        format!("less than 1\u{a0}% {way}")
    } else {
        format!("{apart:.0}\u{a0}% {way}")
    }
}

/// "1.3 times", or in per cent where that would round to what it is now.
pub(super) fn times(by: f64, ways: (&str, &str)) -> String {
    let said = format!("{by:.1}");
    if said == "1.0" {
        percent(by, ways)
    } else {
        format!("{said} times")
    }
}

/// "a quote of £480 instead of £412"; where both round to the same words, how far apart they are: "a quote 3 % higher".
fn instead(before: &str, (then, now): (String, String), by: f64, alike: &str) -> String {
    if then == now {
        format!("{alike} {}", percent(by, ("higher", "lower")))
    } else {
        format!("{before} {then} instead of {now}")
    }
}

/// "one failure every 21 months instead of one failure every 16 months"
pub(super) fn switch_words(a: &Listed, row: &TornadoRow, by: f64) -> Option<String> {
    let pair = row.base.map(|base| (base * by, base));
    let pounds = |v: f64| terms::ExpectedPounds(v).to_string();
    let money = |(then, now): (f64, f64)| (pounds(then), pounds(now));
    Some(match (row.param, pair) {
        (Param::FaultsOld, Some((then, now))) if how_often(then) == how_often(now) => {
            let apart = percent(by, ("more failures", "fewer failures"));
            format!("{apart} of this unit")
        }
        (Param::FaultsOld, Some((then, now))) => {
            format!("{} instead of {}", how_often(then), often(a, now))
        }
        (Param::FaultsNew, _) => match times(by, ("more", "less")) {
            said if said.ends_with("times") => format!("a new one that fails {said} as often"),
            said => format!("a new one that fails {said} often"),
        },
        (Param::Energy, _) => match times(by, ("dearer", "cheaper")) {
            said if said.ends_with("times") => format!("energy at {said} its price"),
            said => format!("energy {said}"),
        },
        (Param::Rate, Some((then, now))) => {
            let said = |v: f64| format!("{:.1}\u{a0}%", v * 100.0);
            instead("a real rate of", (said(then), said(now)), by, "a real rate")
        }
        (Param::Quote, Some(pair)) => instead("a quote of", money(pair), by, "a quote"),
        (Param::Capex, Some(pair)) => {
            instead("a new one at", money(pair), by, "the price of a new one")
        }
        (Param::ServiceOld, Some(pair)) => instead(
            "a yearly service at",
            money(pair),
            by,
            "the price of its yearly service",
        ),
        (Param::RepairPrice, Some(pair)) => {
            instead("repairs each at", money(pair), by, "the price of repairs")
        }
        (Param::Disruption, Some(pair)) => instead(
            "the disruption of a failure worth",
            money(pair),
            by,
            "the worth of a failure’s disruption",
        ),
        (Param::EmergencyPremium, Some(pair)) => instead(
            "out of hours dearer by",
            money(pair),
            by,
            "what out of hours costs more",
        ),
        (Param::WriteOff, Some((then, now))) => {
            let said = |v: f64| format!("{:.1} in 100", v * 100.0);
            let pair = (said(then), said(now));
            instead(
                "a share of single failures beyond repair of",
                pair,
                by,
                "a share of single failures beyond repair",
            )
        }
        (_, None) => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_rounds_to_the_same_is_told_in_per_cent() {
        let quote = |then: &str, now: &str, by| {
            instead(
                "a quote of",
                (then.to_owned(), now.to_owned()),
                by,
                "a quote",
            )
        };
        assert_eq!(
            quote("£480", "£412", 1.165),
            "a quote of £480 instead of £412"
        );
        assert_eq!(
            quote("£412", "£412", 1.0004),
            "a quote less than 1\u{a0}% higher"
        );
        assert_eq!(quote("£12", "£12", 0.97), "a quote 3\u{a0}% lower");
        assert_eq!(times(1.04, ("dearer", "cheaper")), "4\u{a0}% dearer");
        assert_eq!(times(1.3, ("dearer", "cheaper")), "1.3 times");
        // 52 failures where 40 were said: 52/40 = 1.3.
        assert_eq!(percent(52.0 / 40.0, ("more", "fewer")), "30\u{a0}% more");
    }
}
