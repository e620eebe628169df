//! What is worth finding out, as questions.
use usecases::advice::{Ages, AgesFrom, Unknown, WorthAsking};
use wording::Row;
use wording::sentences::chances;

/// The question, and how the answer is given.
pub(crate) fn question(what: Unknown) -> (&'static str, &'static str) {
    match what {
        Unknown::Age => (
            "In which year was it fitted?",
            "From the plate or the papers, such as 2014.",
        ),
        Unknown::Hardness => (
            "How hard is the water?",
            "By test strip at the cold main, mg/l.",
        ),
        Unknown::DischargeRoute => (
            "Is there somewhere to run a discharge pipe?",
            "D1 and D2 from where a cylinder would stand: yes or no.",
        ),
        Unknown::Rise => (
            "How warm does the hot tap get?",
            "Cold and hot at a measured flow, as a reading on the sheet.",
        ),
        Unknown::SupplySize => (
            "How much electric supply is spare?",
            "In kW, as the fuse and the load allow. A qualified person measures it.",
        ),
    }
}

/// The same said of an advice: what is missing. The age is told with its range elsewhere.
pub(crate) fn missing(what: Unknown) -> Option<&'static str> {
    match what {
        Unknown::Age => None,
        Unknown::Hardness => Some("How hard the water is here is not on record."),
        Unknown::DischargeRoute => {
            Some("Whether a discharge pipe could run from here is not on record.")
        }
        Unknown::Rise => Some(
            "How warm the hot tap gets at a measured flow, the cold beside it, is not on record; other readings of it do not say that.",
        ),
        Unknown::SupplySize => Some("How much electric supply is spare is not on record."),
    }
}

/// The same as a clause, for the rows in short.
pub(super) fn clause(what: Unknown) -> &'static str {
    match what {
        Unknown::Age => "how old it is",
        Unknown::Hardness => "how hard the water is here",
        Unknown::DischargeRoute => "whether a discharge pipe could run from here",
        Unknown::Rise => "how warm the hot tap still gets at a measured flow",
        Unknown::SupplySize => "how much electric supply is spare",
    }
}

/// What finding it out costs, beside what it gains.
pub(super) fn cost(ask: &WorthAsking) -> String {
    let whole = wording::sentences::money::whole;
    match ask.costs {
        None => "Any visit can read it off, so it costs nothing more.".to_owned(),
        Some((least, likely, _)) if least.0 == 0 => format!(
            "On a visit that is made anyway it costs nothing; a visit for it alone about {}.",
            whole(likely)
        ),
        Some((least, likely, most)) => format!(
            "Finding it out costs about {} ({} to {}).",
            whole(likely),
            whole(least),
            whole(most)
        ),
    }
}

/// "between 6 and 14 years, spread as the 7 others of its kind in this building are": how old it may be.
pub(super) fn may_be(ages: &Ages) -> Option<String> {
    let (young, old) = ages.between()?;
    let from = match ages.from {
        AgesFrom::Record => "from the span on record, every day of it alike likely".to_owned(),
        AgesFrom::Building(n) => {
            format!("spread as the {n} others of its kind in this building are")
        }
        AgesFrom::Estate(n) => format!("spread as the {n} others of its kind on this estate are"),
        AgesFrom::BuiltYear => "from the building’s year on, every day alike likely".to_owned(),
        AgesFrom::UsualLife => {
            "from twice the usual life of its kind back, every day alike likely".to_owned()
        }
    };
    Some(format!(
        "between {young:.0} and {old:.0}\u{a0}years, {from}"
    ))
}

/// The ages it was weighed with.
fn taken(ages: &Ages) -> Option<String> {
    let words = may_be(ages)?;
    Some(format!(
        " It is weighed at {} ages {words}.",
        ages.fitted.len()
    ))
}

/// A row for each question that pays, with what its answer is worth and what it costs.
pub(crate) fn rows(found: &[WorthAsking]) -> Vec<Row> {
    found
        .iter()
        .filter(|ask| ask.pays())
        .map(|ask| {
            let (question, how) = question(ask.what);
            let turns = if ask.turns >= 0.01 {
                format!(
                    " {} that the answer leads to another course.",
                    wording::sentences::capital(&chances::about(ask.turns))
                )
            } else {
                String::new()
            };
            let taken = ask.ages.as_ref().and_then(taken).unwrap_or_default();
            Row::plain(
                format!("ask-{}", ask.what.code()),
                format!("{question} {how}{taken}{turns} {}", cost(ask)),
            )
            .figure(ask.gain.to_string(), "gained by knowing, at most")
        })
        .collect()
}
