//! What was decided, and what follows from it: the price agreed, the works that come first, the job.
use terms::Choice;
use usecases::advice::{AdvicePage, DecidedAs, Listed, OptionSeen};
use wording::sentences::dates;

use super::sources::named_works;
use super::words;
use crate::when;

/// The decision as a heading, without its full stop; it says "you" to the `reader` whose yes it was.
pub(super) fn heading(a: &Listed, made: &DecidedAs, reader: &str) -> String {
    let who = match alone(whose(made)) {
        name if name == alone(reader) => "You",
        name => name,
    };
    let on = dates::day(when::local_day(made.at));
    let unit = words::the_unit(a);
    match made.choice {
        Choice::Replace => {
            let option = taken(a, made);
            let with = match option {
                Some(option) if option.code == a.unit.kind => "like for like".to_owned(),
                Some(option) => format!("with {}", words::an(&option.name)),
                None => "with a new one".to_owned(),
            };
            let at = option
                .and_then(|o| o.price)
                .map_or_else(String::new, |p| format!(" for {p}"));
            format!("{who} said yes on {on} to replacing {unit} {with}{at}")
        }
        Choice::Repair => {
            let at = a.quote.map_or_else(String::new, |p| format!(" for {p}"));
            format!("{who} said yes on {on} to repairing {unit}{at}")
        }
        Choice::Keep => format!("{who} decided on {on} to keep {unit}"),
        Choice::AnotherQuote => format!("{who} asked on {on} for another quote for {unit}"),
    }
}

/// Whose yes it was: the landlord's where somebody wrote it down for them.
fn whose(made: &DecidedAs) -> &str {
    if made.on_behalf_of.is_empty() {
        &made.who
    } else {
        &made.on_behalf_of
    }
}

/// The name without what the person is.
fn alone(name: &str) -> &str {
    name.split_once(", ").map_or(name, |(name, _)| name)
}

/// The option decided upon.
fn taken<'a>(a: &'a Listed, made: &DecidedAs) -> Option<&'a OptionSeen> {
    let name = made.option_name.as_ref()?;
    a.answer.options.iter().find(|o| &o.name == name)
}

/// A sentence each: the price agreed, the works that come first, where the job stands; nothing where nothing is ordered.
pub(super) fn sentences(seen: &AdvicePage) -> Vec<String> {
    let a = &seen.listed;
    let Some(made) = &a.decision else {
        return Vec::new();
    };
    let mut said = match made.choice {
        Choice::Replace => taken(a, made).map_or_else(Vec::new, |o| replacing(seen, o)),
        Choice::Repair => repairing(a),
        Choice::Keep | Choice::AnotherQuote => Vec::new(),
    };
    if let Some((number, state)) = &seen.follows {
        said.push(format!(
            "Job {number} follows from it; it stands at: {state}."
        ));
    }
    said
}

fn replacing(seen: &AdvicePage, option: &OptionSeen) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(price) = option.price {
        let mut lines = seen.lines.iter();
        let line = lines.find(|l| l.code == "capex" && l.option == option.code);
        let from = line.map_or_else(String::new, |l| format!(" ({})", l.source));
        said.push(format!(
            "The price agreed to is {price} for a new {}, fitted, VAT in it{from}.",
            option.name
        ));
    }
    if let Some(more) = option.too_little {
        said.push(format!(
            "It fits {}: the price is that of the listed size, and a quote says what the larger one costs.",
            words::at_size(more)
        ));
    }
    said.push(if option.works.is_empty() {
        "No works come first, as far as is known of this place.".to_owned()
    } else {
        format!(
            "These works come first, their likely cost in that price: {}.",
            named_works(&option.works)
        )
    });
    if !option.settles.is_empty() {
        said.push(format!(
            "Before it is ordered, this is still to be found out: {}.",
            named_works(&option.settles)
        ));
    }
    said
}

fn repairing(a: &Listed) -> Vec<String> {
    let Some(quote) = &a.quoted else {
        return Vec::new();
    };
    vec![format!(
        "The price agreed is {}, VAT in it, as {} quoted on {}.",
        quote.total,
        quote.firm_name,
        dates::day(quote.given_on)
    )]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made(who: &str, on_behalf_of: &str) -> DecidedAs {
        DecidedAs {
            choice: Choice::Repair,
            option_name: None,
            reason: "Cold flat.".to_owned(),
            how: "page".to_owned(),
            who: who.to_owned(),
            on_behalf_of: on_behalf_of.to_owned(),
            at: chrono::DateTime::UNIX_EPOCH,
        }
    }

    #[test]
    fn the_yes_is_whose_it_was() {
        for made in [
            made("Lou Landlord, landlord", ""),
            made("Ada Agent", "Lou Landlord"),
        ] {
            assert_eq!(alone(whose(&made)), "Lou Landlord");
        }
    }
}
