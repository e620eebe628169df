//! Words that were written down with an advice, made ready for a page: days in words, numbers that do not part from their units.
use chrono::NaiveDate;
use usecases::advice::AdvicePage;
use wording::sentences::{dates, glue};

/// Every stored sentence as the page says it. An advice made before days were written in words has them in figures.
pub(super) fn ready(mut seen: AdvicePage) -> AdvicePage {
    for line in &mut seen.lines {
        line.source = said(&line.source);
        line.status = said(&line.status);
    }
    for option in &mut seen.listed.answer.options {
        for words in option.reasons.iter_mut().chain(&mut option.sizing) {
            *words = said(words);
        }
        option.buys = said(&option.buys);
        for work in option.works.iter_mut().chain(&mut option.settles) {
            work.what = said(&work.what);
        }
    }
    seen
}

fn said(text: &str) -> String {
    let words: Vec<String> = text.split(' ').map(day_in_words).collect();
    glue(&words.join(" "))
}

/// "25/11/2026," as "25 November 2026,"; any other word as it is.
fn day_in_words(word: &str) -> String {
    let day = word.split_at_checked(10).and_then(|(figures, rest)| {
        let day = NaiveDate::parse_from_str(figures, "%d/%m/%Y").ok()?;
        Some(format!("{}{rest}", dates::day(day)))
    });
    day.unwrap_or_else(|| word.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_said_in_words_and_numbers_stay_with_their_units() {
        for (stored, page) in [
            ("price list, 01/07/2026", "price list, 1~July~2026"),
            (
                "in warranty until 25/05/2029, nothing is overdue",
                "in warranty until 25~May~2029, nothing is overdue",
            ),
            ("fit of 25 November 2026", "fit of 25~November~2026"),
            ("22 kW give 9.1 l/min", "22~kW give 9.1~l/min"),
            ("31/02/2026 is no day", "31/02/2026 is no day"),
            ("", ""),
        ] {
            assert_eq!(said(stored).replace('\u{a0}', "~"), page);
        }
    }
}
