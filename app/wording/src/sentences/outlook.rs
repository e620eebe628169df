//! What a forecast says and rests on, in words: numbers of failures, factors, weights, luck, how a fit ended.
use chrono::{Months, NaiveDate};

use super::{GLUE, counted, dates, plural};

/// "0.4", "14": one decimal below ten, none above; never a false exactness.
pub fn number(value: f64) -> String {
    if !value.is_finite() || value < 0.0 {
        return "not known".into();
    }
    if value < 0.05 {
        "fewer than 0.1".into()
    } else if value < 9.95 {
        format!("{value:.1}")
    } else {
        terms::money::thousands(value.round() as u64)
    }
}

/// "9 to 20", "1".
pub fn count_range((low, high): (u64, u64)) -> String {
    if low == high {
        terms::money::thousands(low)
    } else {
        format!(
            "{}{GLUE}to{GLUE}{}",
            terms::money::thousands(low),
            terms::money::thousands(high)
        )
    }
}

/// "about 14 failures (9 to 20)": a number expected, and where it falls in eight cases of ten.
pub fn failures(expected: f64, eight: (u64, u64)) -> String {
    let one = format!("{expected:.1}") == "1.0";
    let word = if one { "failure" } else { "failures" };
    let number = number(expected);
    let about = if number.starts_with("fewer") {
        String::new()
    } else {
        format!("about{GLUE}")
    };
    format!("{about}{number}{GLUE}{word} ({})", count_range(eight))
}

/// "about as often", "1.6 times as often", "0.6 times as often".
pub fn often(factor: f64) -> String {
    if !factor.is_finite() || factor <= 0.0 {
        return "not known how often".into();
    }
    if (0.95..1.05).contains(&factor) {
        return "about as often".into();
    }
    format!("{}{GLUE}times as often", times(factor))
}

/// "× 1.6": a factor set apart.
pub fn factor(value: f64) -> String {
    format!("×{GLUE}{}", times(value))
}

/// "0.7 to 3.7".
pub fn factor_range(low: f64, high: f64) -> String {
    format!("{}{GLUE}to{GLUE}{}", times(low), times(high))
}

fn times(value: f64) -> String {
    if value.is_finite() && value >= 0.05 {
        number(value)
    } else {
        "under 0.1".into()
    }
}

/// "This rests 72 % on your own records and 28 % on published figures."
pub fn rests(own: f64) -> String {
    let percent = (own.clamp(0.0, 1.0) * 100.0).round() as u32;
    format!(
        "This rests {percent}{GLUE}% on your own records and {}{GLUE}% on published figures.",
        100 - percent
    )
}

/// Nothing of the kind has failed: published figures only.
pub fn published_only(plural_name: &str) -> String {
    format!(
        "Published figures only: no failure of your {plural_name} is on record, so what is said of this one is what is said of any."
    )
}

/// Above 150 failures of the kind: published figures hardly count any more.
pub fn own(failures: u32, plural_name: &str) -> String {
    format!("Your own record speaks here: {failures} failures of your {plural_name} are on it.")
}

/// Under fifteen failures of the kind: what is then left unsaid.
pub fn few(failures: u32, plural_name: &str) -> String {
    format!(
        "Only {} of your {plural_name} {} on record: too few to judge ageing or how unlike units are, so neither is said, and units are not put in order.",
        counted(u64::from(failures), "failure", "failures"),
        if failures == 1 { "is" } else { "are" }
    )
}

/// How a record grew fuller from year to year: a factor with its range, and how much own records say of it.
pub fn drift((factor, low, high): (f64, f64, f64), own: f64) -> String {
    let percent = |f: f64| ((f - 1.0) * 100.0).round() as i64;
    let change = match percent(factor) {
        0 => "as many failures were written down from one year to the next as ageing explains"
            .to_owned(),
        more if more > 0 => format!(
            "{more}{GLUE}% more failures were written down from one year to the next than ageing explains"
        ),
        less => format!(
            "{}{GLUE}% fewer failures were written down from one year to the next than ageing explains",
            less.abs()
        ),
    };
    super::minus(&format!(
        "By this fit {change} (8 in 10: {:+} to {:+}{GLUE}%; {}{GLUE}% of that rests on your own records). The forecast holds the level of the last twelve months.",
        percent(low),
        percent(high),
        (own.clamp(0.0, 1.0) * 100.0).round()
    ))
}

/// How much of the ageing is own.
pub fn ageing(own: f64) -> String {
    if own < 0.5 {
        "Ageing is taken from published or assumed figures.".to_owned()
    } else {
        format!(
            "Ageing rests {}{GLUE}% on your own records.",
            (own.min(1.0) * 100.0).round()
        )
    }
}

/// Part clocks: their shapes are given.
pub fn ageing_of_parts() -> String {
    "How parts age is taken from the trade, part by part.".to_owned()
}

/// Units of one age: age and calendar say the same.
pub fn one_age(plural_name: &str) -> String {
    format!(
        "All {plural_name} watched were fitted within two years of one another: a record that grew fuller and units that grew older cannot be told apart here; only the assumed figures part them."
    )
}

/// Bad units go sooner: what that does to what is said of the others.
pub fn sooner(plural_name: &str) -> String {
    format!(
        "Of your {plural_name} those that fail more are written off sooner, so those still standing are the better ones: that is reckoned with, for each one and for the kind."
    )
}

/// What goes along with something units differ in: which way it moves the chance, and between what, by a 90 % interval.
/// Where that holds both ways and `few` failures are on record, it is not said which (FORECAST §7, §11).
pub fn goes_along(name: &str, way: &str, (low, high): (f64, f64), few: bool) -> String {
    let range = format!(
        "between {} and {} times as often, 9 cases in 10",
        times(low),
        times(high)
    );
    if low > 1.0 || high < 1.0 {
        format!("{name}: {way} it, {range}.")
    } else if few {
        format!(
            "{name}: too few failures to say whether it raises or lowers it, {range}; what is assumed beforehand is carried."
        )
    } else {
        format!(
            "{name}: {way} it by this fit, but it may be nothing or the other way round: {range}."
        )
    }
}

/// "in about 14 months, in January 2028"; "within a month".
pub fn in_about(years: f64, today: NaiveDate) -> String {
    let months = (years * 12.0).round().clamp(0.0, 1200.0) as u32;
    if months == 0 {
        return "within a month".into();
    }
    let then = today.checked_add_months(Months::new(months));
    let when = then.map_or_else(String::new, |day| {
        format!(", in {}", dates::month_year(day))
    });
    let span = if months < 36 {
        plural(u64::from(months), "month", "months")
    } else {
        plural(u64::from(months.div_ceil(12)), "year", "years")
    };
    format!("in about{GLUE}{span}{when}")
}

/// "about 6 years (3 to 11)": a length of time and where it falls in eight cases of ten.
pub fn years((mid, low, high): (f64, f64, f64)) -> String {
    let whole = |value: f64| value.round().clamp(0.0, 999.0) as u64;
    let range = count_range((whole(low), whole(high)));
    format!(
        "about{GLUE}{} ({range})",
        plural(whole(mid), "year", "years")
    )
}

/// "about 1 time in 400", "at most 1 time in 2,000": how often luck does something, from so many shuffles.
pub fn luck(p: f64, shuffles: u32) -> String {
    let n = 1.0 / p;
    if !n.is_finite() || n < 1.0 {
        return "how often is not known".into();
    }
    if n >= f64::from(shuffles) {
        let most = terms::money::thousands(u64::from(shuffles) + 1);
        return format!("at most 1{GLUE}time in{GLUE}{most}");
    }
    let step = match n {
        n if n < 20.0 => 1.0,
        n if n < 100.0 => 5.0,
        n if n < 1000.0 => 10.0,
        _ => 100.0,
    };
    let n = terms::money::thousands(((n / step).round() * step) as u64);
    format!("about 1{GLUE}time in{GLUE}{n}")
}

/// How many false alarms a year of looks brings at most: "at most one in about 4 years", "at most 3 a year".
pub fn false_alarms(a_year: f64) -> String {
    if a_year < 1.0 {
        let years = (1.0 / a_year.max(1e-3)).round().max(1.0) as u64;
        format!(
            "at most one in about{GLUE}{}",
            plural(years, "year", "years")
        )
    } else {
        format!("at most {} a year", a_year.ceil() as u64)
    }
}

/// A fit that reached its maximum.
pub fn converged() -> String {
    "The fit came to its end as it should.".into()
}

/// A fit that ended with something at the edge of its range.
pub fn boundary(held: &[String]) -> String {
    format!(
        "The fit came to its end with the {} at the edge of what is allowed; the published figure counts there.",
        super::list(held)
    )
}

/// Too little to fit.
pub fn not_enough() -> String {
    "There was not enough to fit; the published figures stand.".into()
}

/// One unit of a kind: nothing to fit, and its record is in its own chance all the same.
pub fn one_unit() -> String {
    "One unit alone tells nothing of its kind: the published figures stand, and its own record moves its own chance.".into()
}

/// A fit that failed.
pub fn failed(why: &str) -> String {
    format!("The fit failed ({why}); the published figures stand until it succeeds.")
}

#[cfg(test)]
mod tests {
    #[test]
    fn drift_is_worded_both_ways_and_none() {
        let said = |f: f64| drift((f, f - 0.05, f + 0.05), 0.4).replace(GLUE, " ");
        assert!(said(1.08).contains("8 % more failures") && said(1.08).contains("+3 to +13 %"));
        assert!(said(0.96).contains("4 % fewer failures"));
        assert!(said(1.001).contains("as many failures"));
        assert!(ageing(0.49).contains("published or assumed"));
        assert!(ageing(0.72).replace(GLUE, " ").contains("72 %"));
    }

    use super::*;

    fn plain(text: String) -> String {
        text.replace('\u{a0}', " ")
    }

    fn on(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).expect("a day of the calendar")
    }

    #[test]
    fn numbers_of_failures() {
        for (expected, range, words) in [
            (0.37, (0, 1), "about 0.4 failures (0 to 1)"),
            (1.02, (0, 2), "about 1.0 failure (0 to 2)"),
            (14.3, (9, 20), "about 14 failures (9 to 20)"),
            (0.01, (0, 0), "fewer than 0.1 failures (0)"),
        ] {
            assert_eq!(plain(failures(expected, range)), words);
        }
        assert_eq!(number(f64::NAN), "not known");
        assert_eq!(plain(count_range((900, 1_200))), "900 to 1,200");
    }

    #[test]
    fn factors_and_weights() {
        assert_eq!(plain(often(1.02)), "about as often");
        assert_eq!(plain(often(1.97)), "2.0 times as often");
        assert_eq!(plain(factor(0.63)), "× 0.6");
        assert_eq!(plain(factor_range(0.7, 3.7)), "0.7 to 3.7");
        assert_eq!(
            plain(rests(0.724)),
            "This rests 72 % on your own records and 28 % on published figures."
        );
    }

    #[test]
    fn what_goes_along_says_between_what_and_when_too_few_failed() {
        let said = |range, few| goes_along("Hard water", "raises", range, few);
        assert_eq!(
            said((1.1, 2.4), true),
            "Hard water: raises it, between 1.1 and 2.4 times as often, 9 cases in 10."
        );
        assert!(said((0.7, 1.9), true).contains("too few failures to say"));
        let thick = said((0.7, 1.9), false);
        assert!(thick.contains("may be nothing") && thick.contains("between 0.7 and 1.9"));
    }

    #[test]
    fn luck_in_words() {
        for (p, words) in [
            (1.0 / 12.3, "about 1 time in 12"),
            (0.0025, "about 1 time in 400"),
            (1.0 / 1234.0, "about 1 time in 1,200"),
            (1.0 / 2000.0, "at most 1 time in 2,000"),
            (0.0, "how often is not known"),
        ] {
            assert_eq!(plain(luck(p, 1999)), words);
        }
        assert_eq!(plain(false_alarms(0.26)), "at most one in about 4 years");
        assert_eq!(plain(false_alarms(2.6)), "at most 3 a year");
    }

    #[test]
    fn times_to_come() {
        let today = on(2026, 11, 25);
        assert_eq!(
            plain(in_about(1.17, today)),
            "in about 14 months, in January 2028"
        );
        assert_eq!(plain(in_about(0.01, today)), "within a month");
        assert_eq!(
            plain(in_about(4.9, today)),
            "in about 5 years, in October 2031"
        );
        assert_eq!(plain(years((6.2, 2.8, 11.4))), "about 6 years (3 to 11)");
    }

    #[test]
    fn what_little_is_known() {
        assert!(few(1, "cylinders").starts_with("Only one failure of your cylinders is on record"));
        assert!(few(14, "cylinders").contains("failures of your cylinders are"));
        assert!(boundary(&["rate".into(), "ageing".into()]).contains("rate and ageing"));
    }
}
