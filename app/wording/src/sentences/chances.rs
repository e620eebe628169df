//! Chances as natural frequencies: "about 1 in 3 (1 in 5 to 1 in 2)". Never a percentage, never a score.
//!
//! Rounding: from 0.95 up "19 in 20 or more"; between 0.37 and 0.95 the nearest of 2 in 5, 1 in 2, 3 in 5,
//! 2 in 3, 3 in 4, 4 in 5, 9 in 10; below, 1 in n with n = round(1/p), past 30 to the nearest 5; under
//! 0.01 "rarer than 1 in 100". "1 in 1" is never printed.
use super::GLUE;

/// The fractions used between "1 in 3" and "19 in 20".
const PARTS: [(u32, u32); 8] = [
    (1, 3),
    (2, 5),
    (1, 2),
    (3, 5),
    (2, 3),
    (3, 4),
    (4, 5),
    (9, 10),
];

/// A chance rounded to words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Frequency {
    /// 0.95 or more.
    AlmostCertain,
    /// `.0` in `.1`.
    In(u32, u32),
    /// Less than 0.01.
    Rare,
    /// Not a chance at all (not finite, or outside 0 to 1).
    Unknown,
}

/// Rounds chance `p` (0 to 1).
pub fn frequency(p: f64) -> Frequency {
    if !p.is_finite() || !(0.0..=1.0).contains(&p) {
        return Frequency::Unknown;
    }
    if p >= 0.95 {
        return Frequency::AlmostCertain;
    }
    if p < 0.01 {
        return Frequency::Rare;
    }
    let closest = PARTS
        .iter()
        .copied()
        .min_by(|a, b| distance(p, *a).total_cmp(&distance(p, *b)));
    match closest {
        Some((part, whole)) if (part, whole) != (1, 3) => Frequency::In(part, whole),
        _ => Frequency::In(1, one_in(p)),
    }
}

fn distance(p: f64, (part, whole): (u32, u32)) -> f64 {
    (p - f64::from(part) / f64::from(whole)).abs()
}

fn one_in(p: f64) -> u32 {
    let n = (1.0 / p).round();
    let n = if n > 30.0 { (n / 5.0).round() * 5.0 } else { n };
    n.clamp(3.0, 100.0) as u32
}

/// "1 in 3", "3 in 4", "19 in 20 or more", "rarer than 1 in 100": for a figure or a cell.
pub fn brief(p: f64) -> String {
    match frequency(p) {
        Frequency::AlmostCertain => format!("19{GLUE}in{GLUE}20 or{GLUE}more"),
        Frequency::In(part, whole) => format!("{part}{GLUE}in{GLUE}{whole}"),
        Frequency::Rare => format!("rarer than 1{GLUE}in{GLUE}100"),
        Frequency::Unknown => "not known".into(),
    }
}

/// As [`brief`], short enough for a cell of the elevation: "19 in 20", "1 in 100".
///
/// At the two ends the mark "or more"/"rarer" is dropped; the table beside the drawing has it in full.
pub fn cell(p: f64) -> String {
    match frequency(p) {
        Frequency::AlmostCertain => format!("19{GLUE}in{GLUE}20"),
        Frequency::Rare => format!("<1{GLUE}in{GLUE}100"),
        Frequency::Unknown => "unknown".into(),
        Frequency::In(..) => brief(p),
    }
}

/// "about 1 in 3", "almost certain (19 in 20 or more)", "rarer than 1 in 100": in a sentence.
pub fn about(p: f64) -> String {
    match frequency(p) {
        Frequency::AlmostCertain => format!("almost certain (19{GLUE}in{GLUE}20 or more)"),
        Frequency::In(..) => format!("about{GLUE}{}", brief(p)),
        Frequency::Rare | Frequency::Unknown => brief(p),
    }
}

/// "1 in 6 to 1 in 3", lower chance first; `None` when both ends round to the same words or are unknown.
pub fn range(low: f64, high: f64) -> Option<String> {
    let (low, high) = if low <= high {
        (low, high)
    } else {
        (high, low)
    };
    let (from, to) = (frequency(low), frequency(high));
    let unknown = from == Frequency::Unknown || to == Frequency::Unknown;
    if unknown || from == to {
        None
    } else {
        Some(format!("{} to {}", brief(low), brief(high)))
    }
}

/// "about 1 in 4 (1 in 6 to 1 in 3)": a chance with its interval (80 % on screens).
pub fn with_range(p: f64, low: f64, high: f64) -> String {
    match (frequency(p), range(low, high)) {
        (Frequency::AlmostCertain | Frequency::Unknown, _) | (_, None) => about(p),
        (_, Some(range)) => format!("{} ({range})", about(p)),
    }
}

/// A share of ten: "about 6 in 10", "fewer than 1 in 10", "nearly all"; for ranked parts and cases tried.
pub fn in_ten(share: f64) -> String {
    if !share.is_finite() || !(0.0..=1.0).contains(&share) {
        return "not known".into();
    }
    match (share * 10.0).round() as u32 {
        0 => format!("fewer than 1{GLUE}in{GLUE}10"),
        10 => "nearly all".into(),
        tenths => format!("about{GLUE}{tenths}{GLUE}in{GLUE}10"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: String) -> String {
        text.replace('\u{a0}', " ")
    }

    #[test]
    fn chances_in_words() {
        for (p, words) in [
            (1.0, "almost certain (19 in 20 or more)"),
            (0.95, "almost certain (19 in 20 or more)"),
            (0.949, "about 9 in 10"),
            (0.75, "about 3 in 4"),
            (0.66, "about 2 in 3"),
            (0.51, "about 1 in 2"),
            (0.42, "about 2 in 5"),
            (0.36, "about 1 in 3"),
            (0.25, "about 1 in 4"),
            (0.16, "about 1 in 6"),
            (0.05, "about 1 in 20"),
            (0.031, "about 1 in 30"),
            (0.01, "about 1 in 100"),
            (0.0099, "rarer than 1 in 100"),
            (0.0, "rarer than 1 in 100"),
            (f64::NAN, "not known"),
            (1.2, "not known"),
            (-0.1, "not known"),
        ] {
            assert_eq!(plain(about(p)), words, "{p}");
        }
    }

    #[test]
    fn never_one_in_one_and_never_falling() {
        let value = |p: f64| match frequency(p) {
            Frequency::AlmostCertain => 0.95,
            Frequency::In(part, whole) => f64::from(part) / f64::from(whole),
            Frequency::Rare => 0.0,
            Frequency::Unknown => panic!("{p} is a chance"),
        };
        let mut last = 0.0;
        for step in 0..=10_000 {
            let p = f64::from(step) / 10_000.0;
            assert!(!plain(about(p)).contains("1 in 1 "), "{p}");
            assert_ne!(frequency(p), Frequency::In(1, 1));
            assert!(value(p) >= last, "words fall at {p}");
            last = value(p);
        }
    }

    #[test]
    fn chances_with_their_interval() {
        let words = |p, low, high| plain(with_range(p, low, high));
        assert_eq!(words(0.25, 0.16, 0.34), "about 1 in 4 (1 in 6 to 1 in 3)");
        assert_eq!(words(0.25, 0.34, 0.16), "about 1 in 4 (1 in 6 to 1 in 3)");
        assert_eq!(words(0.25, 0.245, 0.255), "about 1 in 4");
        assert_eq!(
            words(0.8, 0.6, 0.97),
            "about 4 in 5 (3 in 5 to 19 in 20 or more)"
        );
        assert_eq!(words(0.97, 0.9, 0.99), "almost certain (19 in 20 or more)");
        assert_eq!(
            words(0.02, 0.002, 0.1),
            "about 1 in 50 (rarer than 1 in 100 to 1 in 10)"
        );
    }

    #[test]
    fn shares_of_ten() {
        assert_eq!(plain(in_ten(0.7)), "about 7 in 10");
        assert_eq!(plain(in_ten(0.04)), "fewer than 1 in 10");
        assert_eq!(plain(in_ten(0.96)), "nearly all");
        assert_eq!(in_ten(f64::NAN), "not known");
    }
}
