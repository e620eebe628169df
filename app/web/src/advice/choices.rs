//! What the form of a decision offers.
use usecases::advice::AdvicePage;
use wording::Choice;
use wording::sentences::dates;

use super::words;

/// Beside the heading of the form.
pub(super) fn decide_note(seen: &AdvicePage) -> String {
    match seen.listed.decide_by() {
        Some(day) => format!("By {}; then the quote lapses", dates::weekday_day(day)),
        None => String::new(),
    }
}

/// What follows where nobody answers; nothing where it was answered or asked anew.
pub(super) fn unanswered(seen: &AdvicePage) -> Option<String> {
    let a = &seen.listed;
    if a.decision.is_some() || seen.newer.is_some() {
        return None;
    }
    let stays = match a.isolated_since {
        Some(_) => "the unit stays isolated as unsafe",
        None => "the unit stays as it is",
    };
    Some(match a.decide_by() {
        Some(day) => format!(
            "The quote lapses after {}: the repair can then be agreed only upon another one, which may be dearer; replacing can still be decided. Nothing is ordered and {stays} until {}. Making it safe and temporary heat wait for no answer.",
            dates::day(day),
            decider(seen)
        ),
        None => format!("No day is set. Nothing is ordered and {stays} until somebody decides."),
    })
}

/// Who has to decide: the landlord by name where the sum is his, else somebody.
fn decider(seen: &AdvicePage) -> String {
    match seen.landlords.as_slice() {
        [] if seen.listed.needs_landlord() => "the landlord decides".to_owned(),
        names if seen.listed.needs_landlord() => {
            format!("{}, whose yes is wanted, decides", names.join(" or "))
        }
        _ => "somebody decides".to_owned(),
    }
}

/// The courses one may decide upon, the one advised first.
pub(super) fn choices(seen: &AdvicePage, typed: &str) -> Vec<Choice> {
    let (first, then) = if seen.listed.course == "replace" {
        (replacing(seen, typed), staying(seen, typed))
    } else {
        (staying(seen, typed), replacing(seen, typed))
    };
    first.into_iter().chain(then).collect()
}

/// Every option that was compared, the one advised in its place first.
fn replacing(seen: &AdvicePage, typed: &str) -> Vec<Choice> {
    let a = &seen.listed;
    let mut options: Vec<_> = a.answer.options.iter().filter(|o| o.compared).collect();
    options.sort_by_key(|o| a.answer.advice.replace_with.as_ref() != Some(&o.code));
    let begun = begun(a.quote.is_some());
    let mut choices = Vec::new();
    for option in options {
        let Some(price) = option.price else { continue };
        let value = format!("replace:{}", option.code);
        let how = if option.code == a.unit.kind {
            "like for like".to_owned()
        } else {
            format!("with {}", words::an(&option.name))
        };
        let chosen = typed == value;
        let size = match option.too_little {
            Some(more) => format!(" It fits {}.", words::at_size(more)),
            None => String::new(),
        };
        choices.push(
            Choice::new(value, format!("Replace it {how}, {price}"), chosen)
                .hint(format!("{begun}{size} Get a survey before ordering.")),
        );
    }
    choices
}

/// What becomes of a repair when the unit is replaced: nothing is said of one where none was asked for.
fn begun(repair_asked: bool) -> &'static str {
    if repair_asked {
        "A replacement is begun, and a repair that was asked for is not done."
    } else {
        "A replacement is begun."
    }
}

/// Repairing it, or keeping it where no repair is in question.
fn staying(seen: &AdvicePage, typed: &str) -> Vec<Choice> {
    let a = &seen.listed;
    let Some(quote) = a.quote else {
        let label = format!("Keep it {}", words::more_years(a));
        return vec![
            Choice::new("keep", label, typed == "keep")
                .hint("Nothing is ordered; the decision and its reason stay with the unit."),
        ];
    };
    let hint = match a.limit {
        Some(limit) if quote <= limit => {
            "This one is under the repair limit already; a lower one saves the difference."
                .to_owned()
        }
        Some(limit) if limit.0 > 0 => {
            format!("Only one up to {limit} would make repairing the cheaper course.")
        }
        Some(_) => "No price would make repairing the cheaper course.".to_owned(),
        None => String::new(),
    };
    vec![
        Choice::new("repair", format!("Repair it, {quote}"), typed == "repair")
            .hint("The firm that quoted goes on with the job."),
        Choice::new(
            "another_quote",
            "Ask for another quote",
            typed == "another_quote",
        )
        .hint(hint),
    ]
}

/// What stands beside the password, where a course here costs more than the sum above which it is asked for.
pub(super) fn confirm_hint(seen: &AdvicePage) -> Option<String> {
    let above = seen.confirm_above?;
    let options = seen.listed.answer.options.iter();
    let prices = options.filter(|o| o.compared).filter_map(|o| o.price);
    prices
        .chain(seen.listed.quote)
        .any(|sum| sum > above)
        .then(|| format!("Only for a course that costs more than {above}."))
}

/// How the decision was made.
pub(super) fn hows(seen: &AdvicePage, typed: &str) -> Vec<Choice> {
    let own = match seen.authority {
        Some(limit) => format!("My own decision, up to {limit}"),
        None => "My own decision".to_owned(),
    };
    vec![
        Choice::new("page", own, matches!(typed, "" | "page")),
        Choice::new(
            "telephone",
            "The landlord said so by telephone",
            typed == "telephone",
        ),
        Choice::new(
            "letter",
            "The landlord said so by letter",
            typed == "letter",
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_repair_is_named_only_where_one_was_asked_for() {
        assert!(begun(true).contains("a repair that was asked for"));
        assert!(!begun(false).contains("repair"));
    }
}
