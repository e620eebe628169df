//! Wall time in the building's zone (Europe/London) and its instant.
use chrono::{Duration, NaiveDate, NaiveDateTime, Offset, TimeZone, Utc};
use chrono_tz::Europe::London;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::InspectionError;
use crate::calendar::date_words;

const FORM: &str = "%Y-%m-%dT%H:%M";

/// A local wall time to the minute, written `2026-01-16T15:30`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LocalTime(pub NaiveDateTime);

/// An instant, written `2026-01-16T15:30Z`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct UtcTime(pub NaiveDateTime);

impl LocalTime {
    /// Reads `2026-01-16T15:30`.
    ///
    /// # Errors
    /// Any other form.
    pub fn parse(text: &str) -> Result<Self, InspectionError> {
        NaiveDateTime::parse_from_str(text, FORM)
            .map(Self)
            .map_err(|e| InspectionError::impossible(text, &e.to_string()))
    }

    /// The instant. A wall time that happens twice means the first; one that is skipped is read
    /// with the offset before the change.
    pub fn to_utc(self) -> UtcTime {
        let wall = London.from_local_datetime(&self.0);
        if let Some(at) = wall.earliest() {
            return UtcTime(at.naive_utc());
        }
        let before = self
            .0
            .checked_sub_signed(Duration::hours(3))
            .unwrap_or(self.0);
        let offset = London
            .from_local_datetime(&before)
            .earliest()
            .map_or(0, |at| at.offset().fix().local_minus_utc());
        let shift = Duration::seconds(i64::from(offset));
        UtcTime(self.0.checked_sub_signed(shift).unwrap_or(self.0))
    }

    /// The local calendar day.
    pub fn day(self) -> NaiveDate {
        self.0.date()
    }

    /// `minutes` real minutes later.
    #[must_use]
    pub fn plus_minutes(self, minutes: i64) -> Self {
        self.to_utc().plus_minutes(minutes).to_local()
    }

    /// As it is read aloud: `15:30 on 16 January 2026`.
    pub fn words(self) -> String {
        format!("{} on {}", self.0.format("%H:%M"), date_words(self.day()))
    }
}

impl UtcTime {
    /// The wall time in London at this instant.
    pub fn to_local(self) -> LocalTime {
        LocalTime(
            Utc.from_utc_datetime(&self.0)
                .with_timezone(&London)
                .naive_local(),
        )
    }

    /// `minutes` later; stays put beyond the calendar's ends.
    #[must_use]
    pub fn plus_minutes(self, minutes: i64) -> Self {
        let later = Duration::try_minutes(minutes).and_then(|span| self.0.checked_add_signed(span));
        Self(later.unwrap_or(self.0))
    }

    /// Whole minutes from `self` to `other`; negative when `other` is earlier.
    pub fn minutes_to(self, other: Self) -> i64 {
        (other.0 - self.0).num_minutes()
    }
}

impl Serialize for LocalTime {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(&self.0.format(FORM))
    }
}

impl<'de> Deserialize<'de> for LocalTime {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(from)?).map_err(serde::de::Error::custom)
    }
}

impl Serialize for UtcTime {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(&self.0.format("%Y-%m-%dT%H:%MZ"))
    }
}
