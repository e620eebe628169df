//! What a course costs over the years compared, for its card: so far, less what is left, and how sure.
use chrono::Datelike;
use terms::{ExpectedPounds, Pence};
use usecases::advice::{AdvicePage, Listed, PathYear};
use wording::Fact;
use wording::sentences::counted;

use super::{differences, drawings, words};

/// The best course of keeping, where it is shorter than the years compared.
fn kept_shorter(a: &Listed) -> Option<u32> {
    let best = a.answer.advice.best_keep?;
    (best != drawings::horizon(a)).then_some(best)
}

/// "Keep two more years, then replace": the course whose money the card shows.
pub(super) fn keep_title(a: &Listed) -> String {
    match (a.quote, kept_shorter(a)) {
        (Some(_), Some(_)) => format!("Repair, keep {}, then replace", words::more_years(a)),
        (None, Some(_)) => format!("Keep {}, then replace", words::more_years(a)),
        (Some(_), None) => "Repair and keep".to_owned(),
        (None, None) => "Keep".to_owned(),
    }
}

/// What the best course of keeping costs; where that is shorter than the years compared, keeping it through all of them in
/// one row more, for the fork draws that one.
pub(super) fn keep_path_facts(seen: &AdvicePage, full: bool) -> Vec<Fact> {
    let a = &seen.listed;
    let last = drawings::horizon(a);
    let path = &a.answer.advice.fork.keep.years;
    let net = |years: u32| differences::kept_net(a, years);
    let Some(best) = kept_shorter(a) else {
        return path_facts(seen, path, net(last), full);
    };
    let year = seen.known_on.year() + last as i32;
    let mut facts: Vec<Fact> = net(best)
        .map(|sum| net_fact(year, sum))
        .into_iter()
        .collect();
    if let (Some(sum), true) = (net(last), full) {
        let years = counted(u64::from(last), "year", "years");
        let within = path.last().map_or_else(String::new, |end| {
            format!(
                "; 8 in 10 cases spend {} to {} by then",
                ExpectedPounds(end.low),
                ExpectedPounds(end.high)
            )
        });
        facts.push(Fact::new(
            format!("Kept {years} instead"),
            format!("{sum}{within}"),
        ));
    }
    facts
}

/// What a course costs less what is still in the unit at the end: two cards lie apart by the advantage that is said.
fn net_fact(year: i32, sum: Pence) -> Fact {
    Fact::new(
        format!("Cost by {year} less what is still in it"),
        sum.to_string(),
    )
}

/// The same of a path: both to the penny, as the courses’ own table takes them.
fn net_of(end: &PathYear) -> Option<Pence> {
    let still = ExpectedPounds(end.still_in?).to_pence();
    ExpectedPounds(end.expected).to_pence().checked_sub(still)
}

/// `net`: what it costs less what is left, where another figure than the path’s own says it to the penny.
pub(super) fn path_facts(
    seen: &AdvicePage,
    years: &[PathYear],
    net: Option<Pence>,
    full: bool,
) -> Vec<Fact> {
    let first = seen.known_on.year();
    let pounds = ExpectedPounds;
    let mut facts = Vec::new();
    if let Some(half) = years
        .get(years.len() / 2)
        .filter(|_| full && years.len() > 4)
    {
        facts.push(Fact::new(
            format!("Cost by {}", first + half.year as i32),
            pounds(half.expected).to_string(),
        ));
    }
    if let Some(last) = years.last() {
        let year = first + last.year as i32;
        facts.push(Fact::new(
            format!("Cost by {year}"),
            pounds(last.expected).to_string(),
        ));
        facts.push(Fact::new(
            "8 in 10 within",
            format!("{} to {}", pounds(last.low), pounds(last.high)),
        ));
        let still = match last.still_in {
            Some(worth) if worth >= 0.5 => pounds(worth).to_string(),
            _ => "nothing".to_owned(),
        };
        facts.push(Fact::new(format!("Still in it in {year}"), still));
        facts.extend(net.or_else(|| net_of(last)).map(|sum| net_fact(year, sum)));
    }
    facts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_still_in_it_is_taken_off_to_the_penny() {
        let end = PathYear {
            year: 10,
            expected: 4_192.41,
            low: 3_878.0,
            high: 4_588.0,
            still_in: Some(838.07),
        };
        // 4,192.41 − 838.07 = 3,354.34 (arithmetic).
        let net = net_of(&end).expect("both are known");
        assert_eq!(net, Pence(335_434));
        let fact = net_fact(2036, net);
        assert_eq!(fact.name, "Cost by 2036 less what is still in it");
        assert_eq!(fact.value, "£3,354.34");
        let unknown = PathYear {
            still_in: None,
            ..end
        };
        assert_eq!(net_of(&unknown), None);
    }
}
