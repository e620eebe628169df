//! What is advised, in one wording for every place: which course, how firmly, at what price.
use terms::Pence;
use usecases::advice::{AdvicePage, Firmness, Listed};
use wording::sentences::dates;

use super::{follows, words};

/// A course as it is put into words.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Course<'a> {
    /// "repair", "replace" or "keep".
    pub advised: &'a str,
    /// Whether either would do.
    pub close: bool,
    /// What a repair costs, when one is quoted.
    pub quote: Option<Pence>,
    /// What a new one costs, fitted.
    pub new: Option<Pence>,
}

impl Course<'_> {
    fn of(a: &Listed) -> Course<'_> {
        Course {
            advised: &a.course,
            close: a.close_call,
            quote: a.quote,
            new: a.instead().map(|(_, _, price)| price),
        }
    }

    /// "repair it for £286.00, or replace it for £2,750.00; repairing slightly cheaper"
    pub(crate) fn words(self, unit: &str, instead: &str, more: &str) -> String {
        let at = |price: Option<Pence>| price.map_or_else(String::new, |p| format!(" for {p}"));
        let (quote, new) = (at(self.quote), at(self.new));
        let kept = if more.is_empty() {
            String::new()
        } else {
            format!(" {more}")
        };
        if self.close {
            let (first, doing) = match self.quote {
                Some(_) => (format!("repair {unit}{quote}"), "repairing"),
                None => (format!("keep {unit}"), "keeping it"),
            };
            let cheaper = if self.advised == "replace" {
                "replacing"
            } else {
                doing
            };
            return format!("close: {first}, or replace it{new}; {cheaper} slightly cheaper");
        }
        match (self.advised, self.quote) {
            ("replace", Some(_)) => {
                format!("replace {unit} {instead}{new}; do not repair it again")
            }
            ("replace", None) => format!("replace {unit} {instead}{new}"),
            ("repair", _) if kept.is_empty() => format!("repair {unit}{quote}"),
            ("repair", _) => format!("repair {unit}{quote} and keep it{kept}"),
            _ => format!("keep {unit}{kept}"),
        }
    }
}

fn compared(a: &Listed) -> bool {
    a.answer.advice.standing != Firmness::NothingToCompare
}

/// The finding in one sentence without its full stop: heading of the page and the pack while nobody decided.
fn headline(a: &Listed) -> String {
    wording::sentences::capital(&finding(a))
}

/// The same without a capital, for within a sentence.
pub(super) fn finding(a: &Listed) -> String {
    let unit = words::the_unit(a);
    if !compared(a) {
        return format!("there is nothing to compare for {unit}");
    }
    Course::of(a).words(&unit, &words::instead(a), &words::more_years(a))
}

/// The same with the building, for a letter that speaks of several.
pub(crate) fn headline_there(a: &Listed) -> String {
    let place = words::place(&a.unit.space_name, &a.unit.building_name);
    let unit = format!("the {} in {place}", a.kind_name);
    if !compared(a) {
        return format!("There is nothing to compare for {unit}.");
    }
    let said = Course::of(a).words(&unit, &words::instead(a), &words::more_years(a));
    format!("{}.", wording::sentences::capital(&said))
}

/// The heading of the pack: the finding, its price, and the day by which; once it was decided, the decision.
pub(crate) fn asked(a: &Listed) -> String {
    match &a.decision {
        Some(made) => format!("{}.", follows::heading(a, made, "")),
        None => format!("{}.{}", headline(a), by(a)),
    }
}

/// " Please decide by Friday 4 December 2026."; nothing where no day is set.
fn by(a: &Listed) -> String {
    a.decide_by()
        .map(|day| format!(" Please decide by {}.", dates::day_full(day)))
        .unwrap_or_default()
}

/// What stands under the heading of the page: why, and the day by which; once it was decided, what had been advised. An advice
/// in whose place a newer one stands asks for nothing.
pub(super) fn standing(seen: &AdvicePage) -> String {
    let a = &seen.listed;
    let why = words::standing(a);
    if a.decision.is_some() {
        return format!(
            "The advice of {} was: {}. {why}",
            dates::day(seen.known_on),
            finding(a)
        );
    }
    let by = if seen.newer.is_none() {
        by(a)
    } else {
        String::new()
    };
    format!("{why}{by}")
}

/// The heading of the page: what is advised, or what was decided upon it, as its `reader` is told.
pub(super) fn heading(a: &Listed, reader: &str) -> String {
    match &a.decision {
        Some(made) => follows::heading(a, made, reader),
        None => headline(a),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_close_course_names_both_prices_and_which_is_cheaper() {
        let course = Course {
            advised: "repair",
            close: true,
            quote: Some(Pence(28_600)),
            new: Some(Pence(275_000)),
        };
        assert_eq!(
            course.words("it", "like for like", "three more years"),
            "close: repair it for £286.00, or replace it for £2,750.00; repairing slightly cheaper"
        );
        let other = Course {
            advised: "replace",
            ..course
        };
        assert!(
            other
                .words("it", "", "")
                .ends_with("; replacing slightly cheaper")
        );
    }

    #[test]
    fn a_clear_course_names_its_own_price_only() {
        let course = Course {
            advised: "repair",
            close: false,
            quote: Some(Pence(28_600)),
            new: Some(Pence(275_000)),
        };
        assert_eq!(
            course.words("it", "like for like", "three more years"),
            "repair it for £286.00 and keep it three more years"
        );
        let replace = Course {
            advised: "replace",
            ..course
        };
        assert_eq!(
            replace.words("it", "like for like", ""),
            "replace it like for like for £2,750.00; do not repair it again"
        );
        let keep = Course {
            advised: "keep",
            quote: None,
            ..course
        };
        assert_eq!(
            keep.words("it", "", "one more year"),
            "keep it one more year"
        );
    }
}
