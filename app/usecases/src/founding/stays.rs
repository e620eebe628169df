//! Which parts of a kind stay in the home when the unit is replaced: dated data, shipped with the program.
use chrono::NaiveDate;

use super::table::{DataError, rows};

const STAYS: &str = include_str!("../../data/STAYS.csv");

/// A part that stays.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StaysWith {
    /// The kind of unit that is replaced.
    pub kind: String,
    /// The part.
    pub part: String,
    /// What it belongs to: "the network’s supply". Parts of two kinds that belong to the same are the same thing.
    pub what: String,
    /// Kinds beside which it stays; beside any other it goes with the unit.
    pub with: Vec<String>,
    /// Why.
    pub why: String,
    /// How it is known.
    pub status: String,
    /// True from this day on.
    pub as_at: NaiveDate,
}

/// The parts that stay, as known on a day: of each the latest row that holds from it or from a day before, else its first. A
/// later row that names no kind takes it back.
///
/// # Errors
/// The row and column that cannot be read.
pub fn stays(day: NaiveDate) -> Result<Vec<StaysWith>, DataError> {
    let mut known: Vec<StaysWith> = Vec::new();
    for row in all()? {
        let same = |k: &StaysWith| (&k.kind, &k.part) == (&row.kind, &row.part);
        match known.iter_mut().find(|k| same(k)) {
            Some(before) if row.as_at <= day || before.as_at > row.as_at => *before = row,
            Some(_) => {}
            None => known.push(row),
        }
    }
    known.retain(|row| !row.with.is_empty());
    Ok(known)
}

/// Every row, by its day.
fn all() -> Result<Vec<StaysWith>, DataError> {
    let mut found = rows("STAYS.csv", STAYS, |row| {
        Ok(StaysWith {
            kind: row.word("unit_kind")?,
            part: row.word("part_code")?,
            what: row.word("what")?,
            with: row
                .text("stays_with")?
                .split_whitespace()
                .map(str::to_owned)
                .collect(),
            why: row.word("why")?,
            status: row.word("status")?,
            as_at: row.day("as_at")?,
        })
    })?;
    found.sort_by_key(|row| row.as_at);
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::shipped;
    use super::*;

    #[test]
    fn every_part_that_stays_is_a_part_of_its_kind_and_stays_beside_kinds_there_are() {
        let shipped = shipped().unwrap();
        let rows = all().unwrap();
        assert!(rows.len() > 10, "{}", rows.len());
        for row in &rows {
            let mut parts = shipped.parts.iter();
            assert!(
                parts.any(|p| p.kind == row.kind && p.code == row.part),
                "{} has no part {}",
                row.kind,
                row.part
            );
            for with in &row.with {
                let mut kinds = shipped.kinds.iter();
                assert!(kinds.any(|k| k.code == *with), "{with} is no kind");
            }
            assert!(!row.status.is_empty() && !row.why.is_empty());
        }
    }

    /// A part that stays beside a like one is the same thing there: else a new unit would be counted with it and the home, too.
    #[test]
    fn what_stays_beside_its_own_kind_is_named() {
        let day = NaiveDate::from_ymd_opt(2026, 11, 30).unwrap();
        let rows = stays(day).unwrap();
        assert_eq!(rows.len(), all().unwrap().len());
        for row in &rows {
            assert!(row.with.contains(&row.kind), "{} {}", row.kind, row.part);
        }
        // Before the first day of a row, what is known later stands in.
        let before = NaiveDate::from_ymd_opt(2020, 1, 1).unwrap();
        assert_eq!(stays(before).unwrap().len(), rows.len());
    }
}
