//! Sentences about an advice. Quote, limit and advantage come from the same stored pence wherever they stand together.
use terms::{Choice, ExpectedPounds, Pence};
use usecases::advice::{DecidedAs, Firmness, Listed, QuoteOutcome, TooLittle};
use wording::sentences::{chances, counted, dates};

use crate::when;

/// "Estimate from …": the standing wording of every advice.
pub(crate) const STANDING: &str =
    "Estimate from this building’s records and stated assumptions. Get a survey before ordering.";

/// "flat 22, Alder House"
pub(crate) fn place(space: &str, building: &str) -> String {
    wording::sentences::glue(&format!("{}, {building}", lower_flat(space)))
}

fn lower_flat(space: &str) -> String {
    match space.strip_prefix("Flat ") {
        Some(rest) => format!("flat {rest}"),
        None => space.to_owned(),
    }
}

/// "the combi gas boiler in flat 22"
pub(crate) fn the_unit(a: &Listed) -> String {
    let place = wording::sentences::glue(&lower_flat(&a.unit.space_name));
    format!("the {} in {place}", a.kind_name)
}

/// "Combi gas boiler in flat 22, Alder House"
pub(crate) fn unit_there(a: &Listed) -> String {
    let place = place(&a.unit.space_name, &a.unit.building_name);
    wording::sentences::capital(&format!("{} in {place}", a.kind_name))
}

/// "like for like", "with a thermal store"
pub(crate) fn instead(a: &Listed) -> String {
    match a.instead() {
        Some((code, _, _)) if code == a.unit.kind => "like for like".to_owned(),
        Some((_, name, _)) => format!("with {}", an(name)),
        None => "with a new one".to_owned(),
    }
}

/// "a thermal store", "an electric boiler"
pub(crate) fn an(name: &str) -> String {
    let vowel =
        name.starts_with(['a', 'e', 'i', 'o', 'A', 'E', 'I', 'O']) || name.starts_with("unv");
    format!("{} {name}", if vowel { "an" } else { "a" })
}

/// "in 22 kW or more, as 9 kW are too little"
pub(super) fn at_size(more: TooLittle) -> String {
    let measure = if more.litres { "l" } else { "kW" };
    format!(
        "in {:.0}\u{a0}{measure} or more, as {:.0}\u{a0}{measure} are too little",
        more.would_do, more.listed
    )
}

/// "three more years"; at the end of the horizon "at least ten more years".
pub(crate) fn more_years(a: &Listed) -> String {
    let k = a.best_keep.max(0) as u64;
    let words = counted(k, "more year", "more years");
    let last = a.answer.advice.keep.len().saturating_sub(1) as u64;
    if k == last {
        format!("at least {words}")
    } else {
        words
    }
}

fn compared(a: &Listed) -> bool {
    a.answer.advice.standing != Firmness::NothingToCompare
}

/// "in about 7 in 10 cases": how often the cheaper course turns out the cheaper one.
fn in_cases(a: &Listed, replacing: bool) -> String {
    match a.answer.advice.probability_replace_cheaper {
        Some(p) => {
            let share = if replacing { p } else { 1.0 - p };
            format!(", and turns out so in {} cases", chances::in_ten(share))
        }
        None => String::new(),
    }
}

/// What follows from the finding.
pub(crate) fn standing(a: &Listed) -> String {
    if !compared(a) {
        return "No price for a new unit is known, so repairing cannot be weighed against it. Enter a price first.".to_owned();
    }
    match a.advantage {
        Some(advantage) if advantage.0 > 0 => format!(
            "Replacing now is {advantage} cheaper than the best course with a repair{}.",
            in_cases(a, true)
        ),
        Some(advantage) => format!(
            "Repairing and keeping it {} is {} cheaper than replacing now{}.",
            more_years(a),
            Pence(-advantage.0),
            in_cases(a, false)
        ),
        None => without_quote(a),
    }
}

fn without_quote(a: &Listed) -> String {
    let advantage = a.answer.advice.advantage_replace_now.unwrap_or_default();
    let pounds = ExpectedPounds(advantage.abs());
    if advantage > 0.0 {
        format!(
            "No fault is in hand. Replacing now is expected to be {pounds} cheaper than the best course of keeping it{}.",
            in_cases(a, true)
        )
    } else {
        format!(
            "No fault is in hand. Keeping it {} is expected to be {pounds} cheaper than replacing it now{}.",
            more_years(a),
            in_cases(a, false)
        )
    }
}

/// "one failure every 16 months", "2.4 failures a year"
pub(crate) fn how_often(a_year: f64) -> String {
    let months = 12.0 / a_year.max(1e-9);
    if a_year > 1.5 {
        format!("{a_year:.1} failures a year")
    } else if months < 36.0 {
        let months = months.round() as u64;
        format!(
            "one failure every {}",
            wording::sentences::plural(months, "month", "months")
        )
    } else if months < 1_200.0 {
        let years = (months / 12.0).round() as u64;
        format!(
            "one failure every {}",
            wording::sentences::plural(years, "year", "years")
        )
    } else {
        "hardly a failure".to_owned()
    }
}

/// Quote, limit and advantage in one sentence, beginning with the quote.
pub(crate) fn weighed(a: &Listed) -> String {
    let (Some(quote), Some(seen)) = (a.quote, a.quoted.as_ref()) else {
        return format!("{} {}", capital_course(a), without_quote(a));
    };
    let what = seen.part_name.as_ref().map_or_else(String::new, |part| {
        format!(" for this: {}", part.to_lowercase())
    });
    let given = format!("{} quotes {quote}{what}.", seen.firm_name);
    let (Some(limit), Some(advantage)) = (a.limit, a.advantage) else {
        return format!("{given} There is no price for a new one to weigh it against.");
    };
    let close = if a.close_call {
        "Close, either is defensible. "
    } else {
        ""
    };
    if advantage.0 > 0 {
        format!(
            "{close}{given} The repair limit is {limit}, so replacing now is {advantage} the cheaper course{}.",
            in_cases(a, true)
        )
    } else {
        format!(
            "{close}{given} The repair limit is {limit}, so repairing and keeping it {} is {} the cheaper course{}.",
            more_years(a),
            Pence(-advantage.0),
            in_cases(a, false)
        )
    }
}

fn capital_course(a: &Listed) -> &'static str {
    match (a.close_call, a.course.as_str()) {
        (true, _) => "Close, either is defensible.",
        (_, "replace") => "Replacing looks the cheaper course.",
        _ => "Keeping it is the cheaper course.",
    }
}

/// "£412.00 − £97.86 = £314.14", the greater first.
pub(crate) fn sum_of(quote: Pence, limit: Pence, advantage: Pence) -> String {
    let put = |p: Pence| {
        if p.0 < 0 {
            format!("({p})")
        } else {
            p.to_string()
        }
    };
    if advantage.0 >= 0 {
        format!(
            "It is the quote less the repair limit: {quote} − {} = {advantage}.",
            put(limit)
        )
    } else {
        format!(
            "It is the repair limit less the quote: {limit} − {} = {}.",
            put(quote),
            Pence(-advantage.0)
        )
    }
}

/// "the yes of Lou Landlord, the landlord,": whose yes is wanted above what the agent may agree.
pub(crate) fn landlords_yes(names: &[String]) -> String {
    match names {
        [] => "the landlord’s yes".to_owned(),
        // A name that says itself who they are: "Lou Loftus, landlord".
        [only] if only.contains(',') => format!("the yes of {only},"),
        [only] => format!("the yes of {only}, the landlord,"),
        [first @ .., last] => format!("the yes of a landlord, {} or {last},", first.join(", ")),
    }
}

/// How the quote stands to both limits, and who decides.
pub(crate) fn outcome(a: &Listed) -> String {
    let cheaper = a.advantage.map(|p| p.to_string()).unwrap_or_default();
    let word = match a.answer.ladder.at_the_desk {
        None => return String::new(),
        Some(QuoteOutcome::InsideBoth) => {
            "Inside both: the repair may go ahead, and the landlord is told afterwards.".to_owned()
        }
        Some(QuoteOutcome::OverAuthorityOnly) => {
            "Worth doing, needs a yes: it is over what the agent may agree alone.".to_owned()
        }
        Some(QuoteOutcome::OverRepairLimitOnly) => {
            format!("The agent may agree it, but replacing is cheaper by {cheaper}.")
        }
        Some(QuoteOutcome::OverBoth) => format!(
            "Over both, so the decision pack goes to the landlord: replacing is cheaper by {cheaper}."
        ),
    };
    format!("{word} Making safe and temporary heat wait for neither.")
}

/// What was decided, by whom, how, when and why.
pub(crate) fn decided(made: &DecidedAs) -> String {
    let what = match (&made.choice, &made.option_name) {
        (Choice::Replace, Some(option)) => format!("replace with {}", an(option)),
        (choice, _) => choice.words().to_owned(),
    };
    let at = dates::moment(when::local(made.at));
    let who = if made.on_behalf_of.is_empty() {
        format!("{} decided: {what}", made.who)
    } else {
        let how = if made.how == "letter" {
            "letter"
        } else {
            "telephone"
        };
        format!(
            "{} said by {how}: {what}; {} wrote it down",
            made.on_behalf_of, made.who
        )
    };
    format!("{who}, {at}. “{}”", made.reason.trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sum_is_written_so_that_it_adds_up() {
        let of = |quote, limit| sum_of(Pence(quote), Pence(limit), Pence(quote - limit));
        assert_eq!(
            of(41_200, 9_786),
            "It is the quote less the repair limit: £412.00 − £97.86 = £314.14."
        );
        assert_eq!(
            of(28_600, 30_203),
            "It is the repair limit less the quote: £302.03 − £286.00 = £16.03."
        );
        assert_eq!(
            of(41_200, -5_420),
            "It is the quote less the repair limit: £412.00 − (−£54.20) = £466.20."
        );
    }

    #[test]
    fn rates_are_told_as_months_and_years_between_failures() {
        let said = |rate: f64| how_often(rate).replace('\u{a0}', " ");
        assert_eq!(said(0.76), "one failure every 16 months");
        assert_eq!(said(0.56), "one failure every 21 months");
        assert_eq!(said(0.1), "one failure every 10 years");
        assert_eq!(said(2.04), "2.0 failures a year");
    }

    #[test]
    fn articles_and_places() {
        assert_eq!(an("electric boiler"), "an electric boiler");
        assert_eq!(an("thermal store"), "a thermal store");
        assert_eq!(an("unvented cylinder"), "an unvented cylinder");
        assert_eq!(
            place("Flat 22", "Alder House").replace('\u{a0}', " "),
            "flat 22, Alder House"
        );
        assert_eq!(
            place("Plant room", "Alder House"),
            "Plant room, Alder House"
        );
    }
}
