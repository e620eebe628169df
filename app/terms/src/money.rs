//! Money that was quoted, agreed or paid is whole pence; a model's result is expected pounds.
use std::fmt;

use serde::{Deserialize, Serialize};

/// Whole pence. Quoted, agreed or paid money; never a model's result.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Pence(pub i64);

impl Pence {
    /// The sum, or `None` past the range.
    pub fn checked_add(self, other: Self) -> Option<Self> {
        self.0.checked_add(other.0).map(Self)
    }

    /// The difference, or `None` past the range.
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        self.0.checked_sub(other.0).map(Self)
    }

    /// In pounds, for the model's arithmetic only.
    pub fn to_pounds(self) -> f64 {
        self.0 as f64 / 100.0
    }

    /// Reads "£1,250", "412.5", "412.50", "−£9.99". `None` when it is not an amount in pounds with
    /// at most two decimals.
    pub fn parse_pounds(text: &str) -> Option<Self> {
        let clean: String = text
            .trim()
            .chars()
            .filter(|c| !matches!(c, '£' | ',' | ' ' | '\u{a0}'))
            .collect();
        let (sign, digits) = match clean.strip_prefix(['-', '−']) {
            Some(rest) => (-1, rest),
            None => (1, clean.as_str()),
        };
        let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
        let all_digits = |s: &str| s.chars().all(|c| c.is_ascii_digit());
        if whole.is_empty() || part.len() > 2 || !all_digits(whole) || !all_digits(part) {
            return None;
        }
        let pounds: i64 = whole.parse().ok()?;
        let pence: i64 = format!("{part:0<2}").parse().ok()?;
        pounds
            .checked_mul(100)?
            .checked_add(pence)
            .map(|p| Self(sign * p))
    }
}

impl fmt::Display for Pence {
    /// "£1,250.00", "−£9.99".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "−" } else { "" };
        let magnitude = self.0.unsigned_abs();
        write!(
            f,
            "{sign}£{}.{:02}",
            thousands(magnitude / 100),
            magnitude % 100
        )
    }
}

/// A model's result in real (today's) pounds; never a price, rounded only when shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ExpectedPounds(pub f64);

impl ExpectedPounds {
    /// To the nearest penny, half to even, for showing beside a price.
    pub fn to_pence(self) -> Pence {
        Pence((self.0 * 100.0).round_ties_even() as i64)
    }
}

impl fmt::Display for ExpectedPounds {
    /// To whole pounds: "£1,250".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let pounds = self.0.round_ties_even();
        let sign = if pounds < 0.0 { "−" } else { "" };
        write!(f, "{sign}£{}", thousands(pounds.abs() as u64))
    }
}

/// Digits in groups of three: 1234567 → "1,234,567".
pub fn thousands(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{ExpectedPounds, Pence};

    #[test]
    fn pence_read_and_shown() {
        for (typed, pence) in [
            ("£1,250", 125_000),
            ("412.5", 41_250),
            ("412.50", 41_250),
            ("−£9.99", -999),
            ("0", 0),
        ] {
            assert_eq!(Pence::parse_pounds(typed), Some(Pence(pence)), "{typed}");
        }
        for typed in ["", "£", "12.345", "1.2.3", "twelve", ".5"] {
            assert_eq!(Pence::parse_pounds(typed), None, "{typed}");
        }
        assert_eq!(Pence(-123_456_789).to_string(), "−£1,234,567.89");
        assert_eq!(ExpectedPounds(0.125).to_pence(), Pence(12));
        assert_eq!(ExpectedPounds(1249.6).to_string(), "£1,250");
    }
}
