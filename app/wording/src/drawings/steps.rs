//! The five steps of "how much". Fixed per question, not per building, so two buildings can be compared.
use terms::Pence;

use super::KeyItem;
use super::svg::{Area, sample};
use crate::sentences::chances::{Frequency, frequency};

/// How strongly a cell is shaded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Shade {
    /// Paper: the question does not apply, or the drawing is not shaded.
    #[default]
    Plain,
    /// 1 (least) to 5 (most); 4 and 5 are hatched.
    Step(u8),
    /// Not known: paper with a dotted line, never shaded as least.
    Unknown,
}

impl Shade {
    /// The step as drawn, 0 for paper.
    pub fn step(self) -> u8 {
        match self {
            Self::Step(step) => step.clamp(1, 5),
            Self::Plain | Self::Unknown => 0,
        }
    }
}

/// What a drawing is shaded by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// Chance of failing over the stated period.
    Chance,
    /// Days until a check must be done.
    Days,
    /// Age in years.
    Age,
    /// Money spent over the stated months.
    Money,
}

impl Scale {
    /// What each of the five steps means, least first.
    pub fn labels(self) -> [&'static str; 5] {
        match self {
            Self::Chance => [
                "rarer than 1\u{a0}in\u{a0}20",
                "1\u{a0}in\u{a0}20 to 1\u{a0}in\u{a0}11",
                "1\u{a0}in\u{a0}10 to 1\u{a0}in\u{a0}7",
                "1\u{a0}in\u{a0}6 or 1\u{a0}in\u{a0}5",
                "1\u{a0}in\u{a0}4 or worse",
            ],
            Self::Days => [
                "more than 120\u{a0}days",
                "61 to 120\u{a0}days",
                "31 to 60\u{a0}days",
                "15 to 30\u{a0}days",
                "14\u{a0}days, or late",
            ],
            Self::Age => [
                "under 5\u{a0}years",
                "5 to 9\u{a0}years",
                "10 to 14\u{a0}years",
                "15 to 19\u{a0}years, or unsure",
                "20\u{a0}years or more",
            ],
            Self::Money => [
                "up to £100",
                "£101 to £250",
                "£251 to £500",
                "£501 to £900",
                "over £900",
            ],
        }
    }

    /// Five samples with their meaning, least first; `id` must be unique on the page.
    pub fn key(self, id: &str) -> Vec<KeyItem> {
        (1..=5)
            .zip(self.labels())
            .map(|(step, words)| KeyItem {
                svg: sample(&format!("{id}-key{step}"), |page| {
                    let area = Area::new(0.5, 0.5, 31.0, 19.0);
                    page.shade(step, area);
                    page.rect("wall pen", area);
                }),
                words: words.into(),
            })
            .collect()
    }
}

/// The shade of a chance, by the words printed for it ("1 in 7" is always step 3).
pub fn chance(p: f64) -> Shade {
    match frequency(p) {
        Frequency::Unknown => Shade::Unknown,
        Frequency::Rare => Shade::Step(1),
        Frequency::In(1, n) => Shade::Step(match n {
            21.. => 1,
            11..=20 => 2,
            7..=10 => 3,
            5..=6 => 4,
            _ => 5,
        }),
        Frequency::AlmostCertain | Frequency::In(..) => Shade::Step(5),
    }
}

/// The shade of days left; negative is late.
pub fn days(left: i64) -> Shade {
    Shade::Step(match left {
        121.. => 1,
        61..=120 => 2,
        31..=60 => 3,
        15..=30 => 4,
        _ => 5,
    })
}

/// The shade of an age in whole years; `unsure` when the fitting date is a range.
pub fn age(years: u32, unsure: bool) -> Shade {
    Shade::Step(match years {
        20.. => 5,
        15..=19 => 4,
        _ if unsure => 4,
        10..=14 => 3,
        5..=9 => 2,
        _ => 1,
    })
}

/// The shade of money spent, by the whole pounds printed for it.
pub fn money(spent: Pence) -> Shade {
    Shade::Step(match (spent.0.max(0) + 50) / 100 {
        901.. => 5,
        501..=900 => 4,
        251..=500 => 3,
        101..=250 => 2,
        _ => 1,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sentences::chances;

    #[test]
    fn a_step_agrees_with_the_words_printed() {
        for thousandths in 0..=1000 {
            let p = f64::from(thousandths) / 1000.0;
            let words = chances::brief(p).replace('\u{a0}', " ");
            let step = chance(p).step();
            let expected = match words
                .strip_prefix("1 in ")
                .and_then(|n| n.parse::<u32>().ok())
            {
                Some(n) if n > 20 => 1,
                Some(n) if n > 10 => 2,
                Some(n) if n > 6 => 3,
                Some(n) if n > 4 => 4,
                None if words.starts_with("rarer") => 1,
                _ => 5,
            };
            assert_eq!(step, expected, "{p} is printed as {words}");
        }
        assert_eq!(chance(f64::NAN), Shade::Unknown);
    }

    #[test]
    fn edges_of_the_other_scales() {
        for (left, step) in [(121, 1), (120, 2), (60, 3), (30, 4), (14, 5), (-3, 5)] {
            assert_eq!(days(left).step(), step, "{left} days");
        }
        for (years, unsure, step) in [
            (4, false, 1),
            (5, false, 2),
            (14, false, 3),
            (3, true, 4),
            (20, true, 5),
        ] {
            assert_eq!(age(years, unsure).step(), step, "{years} years");
        }
        for (pence, step) in [
            (0, 1),
            (10_049, 1),
            (10_050, 2),
            (25_100, 3),
            (90_049, 4),
            (90_050, 5),
        ] {
            assert_eq!(money(Pence(pence)).step(), step, "{pence} pence");
        }
    }
}
