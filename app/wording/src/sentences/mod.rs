//! Words from values, in one place: numbers, lists, dates, spans of time, chances, money.
//!
//! Every function glues a number to its word with a no-break space, so a line never ends between them.
pub mod chances;
pub mod dates;
pub mod mailed;
pub mod money;
pub mod outlook;
pub mod spans;
pub mod today;

/// The no-break space that glues a number to its word.
pub const GLUE: char = '\u{a0}';

const SMALL: [&str; 13] = [
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve",
];

/// "1 flat", "48 flats", in digits.
pub fn plural(count: u64, one: &str, many: &str) -> String {
    let word = if count == 1 { one } else { many };
    format!("{}{GLUE}{word}", terms::money::thousands(count))
}

/// "no flats", "one flat", "twelve flats", "13 flats": words up to twelve, as in running text.
pub fn counted(count: u64, one: &str, many: &str) -> String {
    match SMALL.get(count as usize) {
        Some(word) => format!("{word} {}", if count == 1 { one } else { many }),
        None => plural(count, one, many),
    }
}

/// "no heating", "a leak"
pub const fn lost_words(lost: terms::FunctionLost) -> &'static str {
    use terms::FunctionLost;
    match lost {
        FunctionLost::Heating => "no heating",
        FunctionLost::HotWater => "no hot water",
        FunctionLost::HeatingAndHotWater => "neither heating nor hot water",
        FunctionLost::Leak => "a leak",
        FunctionLost::Noise => "a noise",
        FunctionLost::GasOrCo => "smell of gas, or a carbon monoxide alarm",
        FunctionLost::Other => "something else is wrong",
    }
}

/// The number alone, in words up to twelve ("none" for 0), else in digits.
pub fn number_word(count: u64) -> String {
    match (count, SMALL.get(count as usize)) {
        (0, _) => "none".into(),
        (_, Some(word)) => (*word).to_owned(),
        _ => terms::money::thousands(count),
    }
}

/// The first letter made a capital.
pub fn capital(sentence: &str) -> String {
    let mut letters = sentence.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// What somebody wrote, ended as a sentence where they left it open.
pub fn ended(words: &str) -> String {
    let words = words.trim();
    if words.is_empty() || words.ends_with(['.', '?', '!', '…', '”']) {
        words.to_owned()
    } else {
        format!("{words}.")
    }
}

/// "1604", "1604 and 1704", "1604, 1704 and 1804"; nothing for nothing.
pub fn list<T: AsRef<str>>(items: &[T]) -> String {
    match items {
        [] => String::new(),
        [only] => only.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// Words that a number before them must not be parted from.
const AFTER: [&str; 36] = [
    "h",
    "min",
    "d",
    "y",
    "m",
    "kW",
    "kWh",
    "K",
    "°C",
    "bar",
    "mg/l",
    "l/min",
    "ppm",
    "mm",
    "%",
    "in",
    "flat",
    "flats",
    "days",
    "day",
    "years",
    "year",
    "months",
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
    "weeks",
];

/// Words that must not be parted from a number after them.
const BEFORE: [&str; 15] = [
    "flat", "flats", "riser", "stair", "floor", "pump", "in", "notice", "key", "boiler", "store",
    "space", "about", "under", "over",
];

/// `sentence` with the spaces inside "flat 22", "1 in 3", "26 h 10 min", "4 December 2026" made no-break.
///
/// Only spaces change, so the text reads the same. Use it on sentences put together from typed words;
/// the builders in this module glue their own.
pub fn glue(sentence: &str) -> String {
    let words: Vec<&str> = sentence.split(' ').collect();
    let mut out = String::with_capacity(sentence.len() + 16);
    for (place, word) in words.iter().enumerate() {
        if place > 0 {
            let before = words[place - 1];
            out.push(if sticks(before, word) { GLUE } else { ' ' });
        }
        out.push_str(word);
    }
    out
}

/// A sentence whose numbers below nought have a minus sign, not the hyphen that figures are made with; what is joined by
/// a hyphen ("BT-29-1", "2026-11-30") is left alone.
pub fn minus(sentence: &str) -> String {
    let mut out = String::with_capacity(sentence.len() + 8);
    let mut letters = sentence.chars().peekable();
    let mut before = ' ';
    while let Some(letter) = letters.next() {
        let begins = !before.is_alphanumeric() && before != '-';
        let number = letters.peek().is_some_and(char::is_ascii_digit);
        out.push(if letter == '-' && begins && number {
            '−'
        } else {
            letter
        });
        before = letter;
    }
    out
}

fn sticks(before: &str, after: &str) -> bool {
    let starts_number = |word: &str| word.starts_with(|c: char| c.is_ascii_digit());
    let is_number =
        |word: &str| starts_number(word) && word.ends_with(|c: char| c.is_ascii_digit());
    let bare = after.trim_end_matches(|c: char| !c.is_alphanumeric() && c != '%');
    let is_year = bare.len() == 4 && bare.chars().all(|c| c.is_ascii_digit());
    let month_before = AFTER[23..35].contains(&before);
    let lower = before.to_lowercase();
    (is_number(before) && AFTER.contains(&bare))
        || (starts_number(after) && BEFORE.contains(&lower.as_str()) && before != "In")
        || (month_before && is_year)
}

#[cfg(test)]
mod tests {
    use super::{capital, counted, ended, glue, list, minus, number_word, plural};

    #[test]
    fn counts_and_lists() {
        assert_eq!(plural(1, "flat", "flats"), "1\u{a0}flat");
        assert_eq!(plural(0, "flat", "flats"), "0\u{a0}flats");
        assert_eq!(plural(30_000, "home", "homes"), "30,000\u{a0}homes");
        assert_eq!(counted(0, "flat", "flats"), "no flats");
        assert_eq!(counted(1, "flat", "flats"), "one flat");
        assert_eq!(counted(12, "flat", "flats"), "twelve flats");
        assert_eq!(counted(13, "flat", "flats"), "13\u{a0}flats");
        assert_eq!(number_word(0), "none");
        assert_eq!(number_word(1300), "1,300");
        assert_eq!(capital("three flats"), "Three flats");
        assert_eq!(capital(""), "");
        assert_eq!(capital("łódź"), "Łódź");
        assert_eq!(ended("Lukewarm "), "Lukewarm.");
        assert_eq!(ended("Strainer of the riser?"), "Strainer of the riser?");
        assert_eq!(ended(""), "");
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["1604", "1704", "2004"]), "1604, 1704 and 2004");
        assert_eq!(list(&["a", "b"]), "a and b");
    }

    #[test]
    fn numbers_stick_to_their_words() {
        for (plain, glued) in [
            ("in flat 22 since", "in flat~22 since"),
            ("about 1 in 3 before April", "about~1~in~3 before April"),
            ("for 26 h 10 min.", "for 26~h 10~min."),
            ("by 4 December 2026, late", "by 4~December~2026, late"),
            ("Flat 14, Alder House", "Flat~14, Alder House"),
            ("17 °C at the inlet", "17~°C at the inlet"),
            ("In 2026 it ran", "In 2026 it ran"),
            ("", ""),
        ] {
            assert_eq!(glue(plain).replace('\u{a0}', "~"), glued, "{plain}");
        }
    }

    #[test]
    fn only_numbers_below_nought_get_a_minus() {
        assert_eq!(
            minus("from -0.4 to +1.2 (8 in 10: -1 to 3)"),
            "from −0.4 to +1.2 (8 in 10: −1 to 3)"
        );
        assert_eq!(minus("-3.1"), "−3.1");
        assert_eq!(
            minus("BT-29-1 on 2026-11-30, a-1"),
            "BT-29-1 on 2026-11-30, a-1"
        );
    }
}
