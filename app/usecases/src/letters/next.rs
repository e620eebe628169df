//! No access 1-2-3: what comes next, and by when. The days are common practice, no source; the law asks only that
//! what was tried can be shown. Nobody forces a door.
use chrono::{DateTime, Days, NaiveDate, Timelike, Utc};
use store::letters::SentLetter;
use terms::LetterKind;

use crate::work::wall;

/// Days within which a letter follows a try, and a new visit a letter.
const WITHIN_DAYS: u64 = 7;

/// A part of the day, by the building's own time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PartOfDay {
    /// Before noon.
    Morning,
    /// From noon to five.
    Afternoon,
    /// From five on.
    Evening,
}

impl PartOfDay {
    /// The part an hour of the day, 0 to 23, falls in.
    pub const fn of_hour(hour: u32) -> Self {
        match hour {
            0..12 => Self::Morning,
            12..17 => Self::Afternoon,
            _ => Self::Evening,
        }
    }

    /// "morning"
    pub const fn words(self) -> &'static str {
        match self {
            Self::Morning => "morning",
            Self::Afternoon => "afternoon",
            Self::Evening => "evening",
        }
    }
}

/// What comes next where nobody opened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NextStep {
    /// A letter is to go out.
    Letter {
        /// Which.
        kind: LetterKind,
        /// At the latest.
        by: NaiveDate,
    },
    /// Another visit is to be made.
    Visit {
        /// The number of the try it will be.
        nth: usize,
        /// At the latest.
        by: NaiveDate,
        /// When it is booked for, if it is.
        booked: Option<DateTime<Utc>>,
        /// The parts of the day tried before: another one is better.
        tried: Vec<PartOfDay>,
    },
    /// Three tries and three letters are on record: the landlord decides what follows.
    Landlord {
        /// The day of the last letter.
        since: NaiveDate,
    },
}

/// What comes next after these tries and letters; `None` where nobody was tried in vain.
pub fn next_step(
    tries: &[DateTime<Utc>],
    letters: &[SentLetter],
    booked: Option<DateTime<Utc>>,
) -> Option<NextStep> {
    let last = wall::day(*tries.last()?);
    let kind = LetterKind::after_tries(tries.len())?;
    let nth = kind.nth()?;
    let first = wall::day(*tries.first()?);
    let answered = letters
        .iter()
        .filter(|l| l.happened_on >= first)
        .rfind(|l| l.kind.nth().is_some_and(|n| n >= nth));
    let later = |day: NaiveDate| day.checked_add_days(Days::new(WITHIN_DAYS)).unwrap_or(day);
    Some(match answered {
        None => NextStep::Letter {
            kind,
            by: later(last),
        },
        Some(letter) if nth == 3 => NextStep::Landlord {
            since: letter.happened_on,
        },
        Some(letter) => {
            let mut tried: Vec<PartOfDay> = tries.iter().map(|at| part_of(*at)).collect();
            tried.sort_unstable();
            tried.dedup();
            NextStep::Visit {
                nth: nth + 1,
                by: later(letter.happened_on),
                booked,
                tried,
            }
        }
    })
}

/// The part of the day of an instant.
pub(super) fn part_of(at: DateTime<Utc>) -> PartOfDay {
    PartOfDay::of_hour(wall::local(at).hour())
}

#[cfg(test)]
mod tests {
    use super::*;
    use terms::{AccountId, JobId, SentHow, SpaceId};
    use uuid::Uuid;

    fn at(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn sent(kind: LetterKind, on: &str) -> SentLetter {
        let sent_at = at(&format!("{on}T12:00:00Z"));
        SentLetter {
            id: Uuid::nil(),
            job: JobId(Uuid::nil()),
            space: SpaceId(Uuid::nil()),
            kind,
            how: SentHow::Post,
            reference: String::new(),
            body: serde_json::Value::Null,
            sent_at,
            happened_on: wall::day(sent_at),
            recorded_at: sent_at,
            recorded_by: AccountId(Uuid::nil()),
            superseded_at: None,
        }
    }

    // The order of tries and letters, and seven days between them: common practice, no source.
    #[test]
    fn each_try_asks_for_its_letter_and_each_letter_for_the_next_try() {
        assert_eq!(next_step(&[], &[], None), None);
        let first = at("2026-11-02T10:00:00Z");
        let by = |text: &str| text.parse::<NaiveDate>().unwrap();
        assert_eq!(
            next_step(&[first], &[], None),
            Some(NextStep::Letter {
                kind: LetterKind::FirstNoAccess,
                by: by("2026-11-09")
            })
        );
        let letters = [sent(LetterKind::FirstNoAccess, "2026-11-03")];
        assert_eq!(
            next_step(&[first], &letters, None),
            Some(NextStep::Visit {
                nth: 2,
                by: by("2026-11-10"),
                booked: None,
                tried: vec![PartOfDay::Morning]
            })
        );
        let three = [
            first,
            at("2026-11-09T17:30:00Z"),
            at("2026-11-16T13:00:00Z"),
        ];
        assert_eq!(
            next_step(&three, &letters, None),
            Some(NextStep::Letter {
                kind: LetterKind::ThirdNoAccess,
                by: by("2026-11-23")
            }),
            "a first letter does not stand for the third"
        );
        let letters = [
            letters[0].clone(),
            sent(LetterKind::ThirdNoAccess, "2026-11-17"),
        ];
        assert_eq!(
            next_step(&three, &letters, None),
            Some(NextStep::Landlord {
                since: by("2026-11-17")
            })
        );
    }

    #[test]
    fn the_day_has_three_parts_by_the_buildings_own_time() {
        // 11:30 UTC is half past twelve in summer time.
        assert_eq!(part_of(at("2026-07-01T11:30:00Z")), PartOfDay::Afternoon);
        assert_eq!(part_of(at("2026-12-01T11:30:00Z")), PartOfDay::Morning);
        assert_eq!(part_of(at("2026-12-01T17:00:00Z")), PartOfDay::Evening);
    }
}
