//! Dates as people write them: a day, a month, a year, a range, "about", "2009?", "unknown".
//! Every one becomes a span of days; how sure it is stays with it.
mod evidence;
mod reader;
mod span;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::problem::Code;
use reader::Reader;

pub use evidence::{Evidence, evidence};
pub use span::{Doubt, Span};

/// Which number comes first in 03/11/2014.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Order {
    /// 3 November.
    DayFirst,
    /// 11 March.
    MonthFirst,
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
