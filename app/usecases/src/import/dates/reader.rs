//! From a tidied text to the days it may mean.
use chrono::{Datelike, NaiveDate};

use super::{Doubt, Order, Span};
use crate::import::problem::Code;

/// How far a year may be off when it is marked with a question mark.
const DOUBTFUL_YEARS: i32 = 1;
/// How far a year may be off when it is given as "about".
const ABOUT_YEARS: i32 = 2;

/// Words before a date that is only near.
const ABOUT: [&str; 12] = [
    "about ",
    "around ",
    "approximately ",
    "approx. ",
    "approx ",
    "circa ",
    "ca. ",
    "ca ",
    "c. ",
    "c.",
    "c ",
    "~",
];

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// `None`: not a date of this form; else the days, or why there is no such day.
type Reading = Option<Result<Span, Code>>;

/// Reads a text that [`super::plain`] made.
pub(super) struct Reader {
    pub order: Order,
    /// Tells which century a year of two digits is in.
    pub today: NaiveDate,
}

impl Reader {
    /// A date, sure or not; `None` when it is none.
    pub fn span(&self, text: &str) -> Reading {
        if let Some(rest) = ABOUT.iter().find_map(|lead| text.strip_prefix(lead)) {
            return self
                .span(rest.trim())
                .map(|r| r.map(|s| s.widened(ABOUT_YEARS, Doubt::About)));
        }
        if let Some(rest) = text.strip_suffix('?') {
            let rest = rest.trim_end_matches(['?', ' ', '(']);
            return self
                .span(rest)
                .map(|r| r.map(|s| s.widened(DOUBTFUL_YEARS, Doubt::Doubtful)));
        }
        self.one(text).or_else(|| self.between(text))
    }

    /// A single day, month or year.
    fn one(&self, text: &str) -> Reading {
        if let Some(year) = four_digits(text) {
            return Some(Span::year(year));
        }
        if let Some(decade) = text.strip_suffix('s').and_then(four_digits) {
            return Some(Span::year(decade).and_then(|first| {
                let last = Span::year(decade + 9)?;
                Ok(Span {
                    until: last.until,
                    doubt: Doubt::Between,
                    ..first
                })
            }));
        }
        for (lead, first, last) in [
            ("early ", 1, 4),
            ("mid ", 5, 8),
            ("mid-", 5, 8),
            ("late ", 9, 12),
        ] {
            if let Some(year) = text.strip_prefix(lead).and_then(four_digits) {
                return Some(Span::months(year, first, last, Doubt::Between));
            }
        }
        self.in_numbers(text).or_else(|| self.in_words(text))
    }

    /// 2014-11-03, 03/11/2014, 12.3.09, 3 11 2014, 2014-11, 11/2014.
    fn in_numbers(&self, text: &str) -> Reading {
        let parts: Vec<&str> = text.split(['/', '.', '-', ' ']).collect();
        if !parts
            .iter()
            .all(|p| (1..=4).contains(&p.len()) && digits(p))
        {
            return None;
        }
        let number = |p: &str| p.parse::<u32>().unwrap_or(0);
        match parts.as_slice() {
            [year, month, day] if year.len() == 4 && month.len() <= 2 && day.len() <= 2 => {
                Some(Span::day(number(year) as i32, number(month), number(day)))
            }
            [a, b, year] if a.len() <= 2 && b.len() <= 2 && matches!(year.len(), 2 | 4) => {
                let (day, month) = match self.order {
                    Order::DayFirst => (number(a), number(b)),
                    Order::MonthFirst => (number(b), number(a)),
                };
                Some(Span::day(self.year(year), month, day))
            }
            [year, month]
                if year.len() == 4
                    && month.len() == 2
                    && text.contains('-')
                    && number(month) <= 12 =>
            {
                Some(Span::month(number(year) as i32, number(month)))
            }
            [month, year] if year.len() == 4 && month.len() <= 2 => {
                Some(Span::month(number(year) as i32, number(month)))
            }
            _ => None,
        }
    }

    /// 3 Nov 2014, 3rd of November 2014, Nov 3, 2014, 3-nov-14, November 2014, Nov-14.
    fn in_words(&self, text: &str) -> Reading {
        let words: Vec<&str> = text
            .split([' ', '-', ',', '/', '.'])
            .filter(|w| !w.is_empty() && *w != "of" && *w != "the")
            .collect();
        let is_year = |w: &str| digits(w) && matches!(w.len(), 2 | 4);
        match words.as_slice() {
            [name, year] if is_year(year) => {
                let month = month_named(name)?;
                Some(Span::month(self.year(year), month))
            }
            [a, b, year] if is_year(year) => {
                let (day, month) = match (month_named(a), month_named(b)) {
                    (None, Some(month)) => (day_number(a)?, month),
                    (Some(month), None) => (day_number(b)?, month),
                    _ => return None,
                };
                Some(Span::day(self.year(year), month, day))
            }
            _ => None,
        }
    }

    /// 2005-2010, 2005 to 2010, between Oct 2011 and March 2012, 2011/12.
    fn between(&self, text: &str) -> Reading {
        let text = text.strip_prefix("between ").unwrap_or(text);
        let ends = [" to ", " and ", " - ", " or "]
            .iter()
            .find_map(|by| text.split_once(by))
            .or_else(|| {
                text.split_once(['-', '/']).filter(|(a, b)| {
                    four_digits(a).is_some() && (four_digits(b).is_some() || follows(a, b))
                })
            })?;
        let (first, last) = (ends.0.trim(), ends.1.trim());
        let from = self.one(first)?;
        let until = if follows(first, last) {
            Span::year(four_digits(first)? + 1)
        } else {
            self.one(last)?
        };
        Some(from.and_then(|from| {
            let until = until?;
            if until.until < from.from {
                return Err(Code::DateOrder);
            }
            Ok(Span {
                from: from.from,
                until: until.until,
                doubt: Doubt::Between,
            })
        }))
    }

    /// A year of four digits, or of two: this century unless that lies ahead.
    fn year(&self, text: &str) -> i32 {
        let year: i32 = text.parse().unwrap_or(0);
        match text.len() {
            2 if 2000 + year <= self.today.year() => 2000 + year,
            2 => 1900 + year,
            _ => year,
        }
    }
}

/// "2011" and "12": a year and the next.
fn follows(first: &str, last: &str) -> bool {
    match (four_digits(first), last.len(), last.parse::<i32>()) {
        (Some(year), 2, Ok(next)) => (year + 1) % 100 == next,
        _ => false,
    }
}

/// Nothing but digits, and not nothing.
pub(super) fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

fn four_digits(text: &str) -> Option<i32> {
    (text.len() == 4 && digits(text)).then(|| text.parse().ok())?
}

fn month_named(word: &str) -> Option<u32> {
    let at = MONTHS.iter().position(|m| {
        word.len() >= 3 && (m.starts_with(word) || (word == "sept" && *m == "september"))
    })?;
    Some(at as u32 + 1)
}

fn day_number(word: &str) -> Option<u32> {
    let number = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let tail = &word[number.len()..];
    (digits(number) && number.len() <= 2 && matches!(tail, "" | "st" | "nd" | "rd" | "th"))
        .then(|| number.parse().ok())?
}
