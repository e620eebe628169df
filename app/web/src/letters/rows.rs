//! Letters in lists, and what comes next where nobody opened.
use terms::{JobId, LetterKind};
use usecases::letters::{NextStep, SentLetter};
use wording::Row;
use wording::sentences::{capital, dates, list, number_word};

use crate::when;

/// Where a letter about a job is written.
pub(crate) fn address(job: JobId, kind: LetterKind) -> String {
    format!("/jobs/{job}/letters/{}", kind.code())
}

/// "first letter by post on 3 November"
pub(crate) fn brief(letter: &SentLetter) -> String {
    let reference = if letter.reference.is_empty() {
        String::new()
    } else {
        format!(", number {}", letter.reference)
    };
    format!(
        "{} {} on {}{reference}",
        letter.kind,
        letter.how,
        dates::day(letter.happened_on)
    )
}

/// A letter as a row; `desk` may open it.
pub(crate) fn row(letter: &SentLetter, desk: bool) -> Row {
    let at = when::local(letter.sent_at).format("%H:%M").to_string();
    let row = Row::plain(
        format!("letter-{}", letter.id),
        format!("{}.", capital(&brief(letter))),
    )
    .figure(at, letter.how.words());
    if desk {
        row.verb(wording::Verb::link(
            "See the letter",
            format!("/letters/{}", letter.id),
        ))
    } else {
        row
    }
}

/// What comes next, in a sentence.
pub(crate) fn next_words(next: &NextStep) -> String {
    match next {
        NextStep::Letter { kind, by } => {
            format!("Next: the {kind}, by {}.", dates::weekday_day(*by))
        }
        NextStep::Visit {
            nth,
            by,
            booked,
            tried,
        } => {
            let parts: Vec<&str> = tried.iter().map(|p| p.words()).collect();
            match booked {
                Some(at) => format!(
                    "Next: try {}, booked for {}.",
                    number_word(*nth as u64),
                    dates::appointment(when::local(*at))
                ),
                None => format!(
                    "Next: try {}, by {}, at another time of day than {}.",
                    number_word(*nth as u64),
                    dates::weekday_day(*by),
                    list(&parts)
                ),
            }
        }
        NextStep::Landlord { since } => format!(
            "Three tries and the third letter of {} are on record: the landlord decides what comes next. Nobody forces a door.",
            dates::day(*since)
        ),
    }
}
