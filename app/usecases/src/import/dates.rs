//! Dates as people write them: a day, a month, a year, a range, "about", "2009?", "unknown".
//! Every one becomes a span of days; how sure it is stays with it.
use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};

use super::problem::Code;

/// Which number comes first in 03/11/2014.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Order {
    /// 3 November.
    DayFirst,
    /// 11 March.
    MonthFirst,
}

/// How sure a date is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// The day is known.
    Known,
    /// The month is.
    Month,
    /// The year is.
    Year,
    /// Some time between two days that were given.
    Between,
    /// "2009?": a year either side is allowed for.
    Doubtful,
    /// "about 2012": two years either side are allowed for.
    About,
}

/// A date with its doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Span {
    /// First day it may have been.
    pub from: NaiveDate,
    /// Last day it may have been.
    pub until: NaiveDate,
    /// How sure it is.
    pub doubt: Doubt,
}

/// What a cell says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateCell {
    /// Nothing stands there.
    Empty,
    /// "unknown", "n/k", "?".
    Unknown,
    /// A date.
    Read(Span),
    /// It cannot be taken; the code says why.
    Wrong(Code),
}

/// How far a year may be off when it is marked with a question mark.
const DOUBTFUL_YEARS: i32 = 1;
/// How far a year may be off when it is given as "about".
const ABOUT_YEARS: i32 = 2;
/// No unit and no record is older.
const FIRST_YEAR: i32 = 1900;

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

/// Reads a cell. `today` tells which century a year of two digits is in: never a coming one.
pub fn read(cell: &str, order: Order, today: NaiveDate) -> DateCell {
    let text = plain(cell);
    match text.as_str() {
        "" => return DateCell::Empty,
        "unknown" | "not known" | "n/k" | "nk" | "n/a" | "na" | "?" | "??" | "-" | "--" | "unk"
        | "tbc" | "don't know" | "dont know" | "no date" | "none" => return DateCell::Unknown,
        _ => {}
    }
    let reader = Reader { order, today };
    match reader.span(&text) {
        Some(Ok(span)) => DateCell::Read(span),
        Some(Err(code)) => DateCell::Wrong(code),
        None => DateCell::Wrong(Code::DateUnreadable),
    }
}

/// Lower case, one kind of dash, single spaces, no leading "in" or "fitted", no time of day.
fn plain(cell: &str) -> String {
    let lower = cell.to_lowercase().replace(['–', '—', '‐', '‑'], "-");
    let mut text = lower.split_whitespace().collect::<Vec<_>>().join(" ");
    for lead in ["fitted ", "installed ", "in ", "on ", "since ", "from "] {
        if let Some(rest) = text.strip_prefix(lead) {
            text = rest.to_owned();
        }
    }
    without_time(&text)
        .trim_end_matches(['.', ','])
        .trim()
        .to_owned()
}

/// "2014-11-03 00:00:00", "2014-11-03t10:30", "03/11/2014 10:30": the day alone.
fn without_time(text: &str) -> &str {
    let Some((place, _)) = text.char_indices().find(|(place, c)| {
        (*c == ' ' || *c == 't') && {
            let rest = &text[place + 1..];
            let hour: String = rest.chars().take_while(char::is_ascii_digit).collect();
            (1..=2).contains(&hour.len()) && rest[hour.len()..].starts_with(':')
        }
    }) else {
        return text;
    };
    &text[..place]
}

type Reading = Option<Result<Span, Code>>;

struct Reader {
    order: Order,
    today: NaiveDate,
}

impl Reader {
    fn span(&self, text: &str) -> Reading {
        for lead in [
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
        ] {
            if let Some(rest) = text.strip_prefix(lead) {
                return self
                    .span(rest.trim())
                    .map(|r| r.map(|s| widened(s, ABOUT_YEARS, Doubt::About)));
            }
        }
        if let Some(rest) = text.strip_suffix('?') {
            let rest = rest.trim_end_matches(['?', ' ', '(']);
            return self
                .span(rest)
                .map(|r| r.map(|s| widened(s, DOUBTFUL_YEARS, Doubt::Doubtful)));
        }
        self.one(text).or_else(|| self.between(text))
    }

    /// A single day, month or year.
    fn one(&self, text: &str) -> Reading {
        if let Some(year) = four_digits(text) {
            return Some(whole_year(year));
        }
        if let Some(decade) = text.strip_suffix('s').and_then(four_digits) {
            return Some(whole_year(decade).and_then(|first| {
                let last = whole_year(decade + 9)?;
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
                return Some(months(year, first, last, Doubt::Between));
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
                Some(day_of(number(year) as i32, number(month), number(day)))
            }
            [a, b, year] if a.len() <= 2 && b.len() <= 2 && matches!(year.len(), 2 | 4) => {
                let (day, month) = match self.order {
                    Order::DayFirst => (number(a), number(b)),
                    Order::MonthFirst => (number(b), number(a)),
                };
                Some(day_of(self.year(year), month, day))
            }
            [year, month]
                if year.len() == 4
                    && month.len() == 2
                    && text.contains('-')
                    && number(month) <= 12 =>
            {
                Some(months(
                    number(year) as i32,
                    number(month),
                    number(month),
                    Doubt::Month,
                ))
            }
            [month, year] if year.len() == 4 && month.len() <= 2 => Some(months(
                number(year) as i32,
                number(month),
                number(month),
                Doubt::Month,
            )),
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
                Some(months(self.year(year), month, month, Doubt::Month))
            }
            [a, b, year] if is_year(year) => {
                let (day, month) = match (month_named(a), month_named(b)) {
                    (None, Some(month)) => (day_number(a)?, month),
                    (Some(month), None) => (day_number(b)?, month),
                    _ => return None,
                };
                Some(day_of(self.year(year), month, day))
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
            whole_year(four_digits(first)? + 1)
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

fn digits(text: &str) -> bool {
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

fn in_reach(year: i32) -> Result<i32, Code> {
    if (FIRST_YEAR..=2199).contains(&year) {
        Ok(year)
    } else {
        Err(Code::DateImpossible)
    }
}

fn day_of(year: i32, month: u32, day: u32) -> Result<Span, Code> {
    let on = NaiveDate::from_ymd_opt(in_reach(year)?, month, day).ok_or(Code::DateImpossible)?;
    Ok(Span {
        from: on,
        until: on,
        doubt: Doubt::Known,
    })
}

fn months(year: i32, first: u32, last: u32, doubt: Doubt) -> Result<Span, Code> {
    let from = NaiveDate::from_ymd_opt(in_reach(year)?, first, 1).ok_or(Code::DateImpossible)?;
    let after = if last == 12 {
        NaiveDate::from_ymd_opt(year + 1, 1, 1)
    } else {
        NaiveDate::from_ymd_opt(year, last + 1, 1)
    };
    let until = after
        .and_then(|d| d.pred_opt())
        .ok_or(Code::DateImpossible)?;
    Ok(Span { from, until, doubt })
}

fn whole_year(year: i32) -> Result<Span, Code> {
    months(year, 1, 12, Doubt::Year)
}

fn widened(span: Span, years: i32, doubt: Doubt) -> Span {
    let moved = |day: NaiveDate, by: i32| day.with_year(day.year() + by).unwrap_or(day);
    Span {
        from: moved(span.from, -years),
        until: moved(span.until, years),
        doubt,
    }
}

/// What a cell tells about the order of day and month.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Evidence {
    /// It can only be read day first.
    Day,
    /// It can only be read month first.
    Month,
    /// Both ways give a date, and not the same one.
    Either,
    /// It does not matter.
    None,
}

/// What one cell tells about the order of day and month in its column.
pub fn evidence(cell: &str) -> Evidence {
    let text = plain(cell);
    let text = text.trim_end_matches(['?', ' ']);
    let parts: Vec<&str> = text.split(['/', '.', '-', ' ']).collect();
    let [a, b, year] = parts.as_slice() else {
        return Evidence::None;
    };
    if a.len() > 2
        || b.len() > 2
        || !matches!(year.len(), 2 | 4)
        || !parts.iter().all(|p| digits(p))
    {
        return Evidence::None;
    }
    match (a.parse::<u32>().unwrap_or(0), b.parse::<u32>().unwrap_or(0)) {
        (a, b) if a == b => Evidence::None,
        (13..=31, 1..=12) => Evidence::Day,
        (1..=12, 13..=31) => Evidence::Month,
        (1..=12, 1..=12) => Evidence::Either,
        _ => Evidence::None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn days(cell: &str) -> (String, String, Doubt) {
        match read(cell, Order::DayFirst, on("2026-11-25")) {
            DateCell::Read(s) => (s.from.to_string(), s.until.to_string(), s.doubt),
            other => panic!("{cell}: {other:?}"),
        }
    }

    #[test]
    fn dates_as_people_write_them() {
        for (cell, from, until, doubt) in [
            ("2014-11-03", "2014-11-03", "2014-11-03", Doubt::Known),
            (
                "2014-11-03 00:00:00",
                "2014-11-03",
                "2014-11-03",
                Doubt::Known,
            ),
            (
                "2014-11-03T10:30:00",
                "2014-11-03",
                "2014-11-03",
                Doubt::Known,
            ),
            ("03/11/2014", "2014-11-03", "2014-11-03", Doubt::Known),
            ("03/11/2014 14:05", "2014-11-03", "2014-11-03", Doubt::Known),
            ("3.11.2014", "2014-11-03", "2014-11-03", Doubt::Known),
            ("12.3.09", "2009-03-12", "2009-03-12", Doubt::Known),
            ("12-3-97", "1997-03-12", "1997-03-12", Doubt::Known),
            ("25/11/26", "2026-11-25", "2026-11-25", Doubt::Known),
            ("3 Nov 2014", "2014-11-03", "2014-11-03", Doubt::Known),
            (
                "3rd of November 2014",
                "2014-11-03",
                "2014-11-03",
                Doubt::Known,
            ),
            ("November 3, 2014", "2014-11-03", "2014-11-03", Doubt::Known),
            ("3-Nov-14", "2014-11-03", "2014-11-03", Doubt::Known),
            ("29 Feb 2012", "2012-02-29", "2012-02-29", Doubt::Known),
            ("Nov 2014", "2014-11-01", "2014-11-30", Doubt::Month),
            ("Sept 2014", "2014-09-01", "2014-09-30", Doubt::Month),
            ("Nov-14", "2014-11-01", "2014-11-30", Doubt::Month),
            ("11/2014", "2014-11-01", "2014-11-30", Doubt::Month),
            ("2014-11", "2014-11-01", "2014-11-30", Doubt::Month),
            ("Dec 2014", "2014-12-01", "2014-12-31", Doubt::Month),
            ("2009", "2009-01-01", "2009-12-31", Doubt::Year),
            ("in 2009", "2009-01-01", "2009-12-31", Doubt::Year),
            ("2009?", "2008-01-01", "2010-12-31", Doubt::Doubtful),
            ("2009 (?", "2008-01-01", "2010-12-31", Doubt::Doubtful),
            ("about 2012", "2010-01-01", "2014-12-31", Doubt::About),
            ("c.2008", "2006-01-01", "2010-12-31", Doubt::About),
            ("~2008", "2006-01-01", "2010-12-31", Doubt::About),
            ("2005-2010", "2005-01-01", "2010-12-31", Doubt::Between),
            ("2005 – 2010", "2005-01-01", "2010-12-31", Doubt::Between),
            ("2005 to 2010", "2005-01-01", "2010-12-31", Doubt::Between),
            (
                "between 2005 and 2010",
                "2005-01-01",
                "2010-12-31",
                Doubt::Between,
            ),
            (
                "Oct 2011 - Mar 2012",
                "2011-10-01",
                "2012-03-31",
                Doubt::Between,
            ),
            ("2011/12", "2011-01-01", "2012-12-31", Doubt::Between),
            ("1990s", "1990-01-01", "1999-12-31", Doubt::Between),
            ("late 2013", "2013-09-01", "2013-12-31", Doubt::Between),
        ] {
            assert_eq!(
                days(cell),
                (from.to_owned(), until.to_owned(), doubt),
                "{cell}"
            );
        }
    }

    #[test]
    fn month_first_only_when_said() {
        let read = |cell| read(cell, Order::MonthFirst, on("2026-11-25"));
        let DateCell::Read(span) = read("03/11/2014") else {
            panic!()
        };
        assert_eq!(span.from, on("2014-03-11"));
        assert_eq!(read("25/11/2014"), DateCell::Wrong(Code::DateImpossible));
        let DateCell::Read(iso) = read("2014-11-03") else {
            panic!()
        };
        assert_eq!(iso.from, on("2014-11-03"));
    }

    #[test]
    fn what_is_not_a_date_says_why() {
        for (cell, found) in [
            ("", DateCell::Empty),
            ("  ", DateCell::Empty),
            ("unknown", DateCell::Unknown),
            ("n/k", DateCell::Unknown),
            ("?", DateCell::Unknown),
            ("31/02/2019", DateCell::Wrong(Code::DateImpossible)),
            ("30 Feb 2019", DateCell::Wrong(Code::DateImpossible)),
            ("11/25/2014", DateCell::Wrong(Code::DateImpossible)),
            ("2019-13-05", DateCell::Wrong(Code::DateImpossible)),
            ("29/02/2013", DateCell::Wrong(Code::DateImpossible)),
            ("1819", DateCell::Wrong(Code::DateImpossible)),
            ("13/2014", DateCell::Wrong(Code::DateImpossible)),
            ("2010-2005", DateCell::Wrong(Code::DateOrder)),
            ("pre 2010", DateCell::Wrong(Code::DateUnreadable)),
            ("old", DateCell::Wrong(Code::DateUnreadable)),
            ("41946", DateCell::Wrong(Code::DateUnreadable)),
            ("11/12", DateCell::Wrong(Code::DateUnreadable)),
            ("10 years ago", DateCell::Wrong(Code::DateUnreadable)),
            ("Nov", DateCell::Wrong(Code::DateUnreadable)),
            ("3/11/201", DateCell::Wrong(Code::DateUnreadable)),
            ("é/11/2014", DateCell::Wrong(Code::DateUnreadable)),
        ] {
            assert_eq!(
                read(cell, Order::DayFirst, on("2026-11-25")),
                found,
                "{cell}"
            );
        }
    }

    #[test]
    fn a_column_shows_its_order() {
        assert_eq!(evidence("25/11/2014"), Evidence::Day);
        assert_eq!(evidence("11/25/2014"), Evidence::Month);
        assert_eq!(evidence("03/11/2014"), Evidence::Either);
        assert_eq!(evidence("03/03/2014"), Evidence::None);
        assert_eq!(evidence("2014-11-03"), Evidence::None);
        assert_eq!(evidence("Nov 2014"), Evidence::None);
    }
}
