//! Which field each column holds, and which kind of list the headings speak of.
use serde::{Deserialize, Serialize};

use super::Field::{
    self, Cost, Date, Duty, DutyDone, DutyDue, Fitted, FunctionLost, GasCheckDone, GasCheckDue,
    Litres, Part, RatedKw, RecordsFrom, RecordsUntil, Serial, ServiceDone, ServiceDue,
    WarrantyUntil, WatchedFrom, What,
};
use super::ListKind;
use super::headings::{likeness, normal};

/// How a column found its field.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// Somebody chose it.
    Chosen,
    /// By its heading.
    Name,
    /// As the last list with these headings.
    Remembered,
    /// By what its cells look like.
    Shape,
    /// It has none.
    LeftOut,
}

/// The field of each column, guessed from headings, then from the shape of cells; no field twice.
pub fn guess(
    kind: ListKind,
    headings: &[String],
    samples: impl Fn(usize) -> Vec<String>,
) -> Vec<(Option<Field>, How)> {
    let names: Vec<String> = headings.iter().map(|h| normal(h)).collect();
    let mut wishes: Vec<(u32, usize, Field)> = Vec::new();
    for (place, name) in names.iter().enumerate() {
        for &field in Field::of(kind) {
            let score = likeness(field, name);
            if score > 0 {
                wishes.push((score, place, field));
            }
        }
    }
    wishes.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut found: Vec<(Option<Field>, How)> = vec![(None, How::LeftOut); headings.len()];
    let mut taken: Vec<Field> = Vec::new();
    for (_, place, field) in wishes {
        if found[place].0.is_none() && !taken.contains(&field) {
            found[place] = (Some(field), How::Name);
            taken.push(field);
        }
    }
    for (place, column) in found.iter_mut().enumerate() {
        if column.0.is_none()
            && let Some(field) = by_shape(kind, &samples(place))
            && !taken.contains(&field)
        {
            *column = (Some(field), How::Shape);
            taken.push(field);
        }
    }
    // A date of a duty that no column names says nothing.
    if !taken.contains(&Duty) {
        for column in &mut found {
            if matches!(column.0, Some(DutyDone | DutyDue)) {
                *column = (None, How::LeftOut);
            }
        }
    }
    found
}

/// Only what cannot well be anything else is taken by shape.
fn by_shape(kind: ListKind, cells: &[String]) -> Option<Field> {
    if cells.len() < 2 {
        return None;
    }
    let most =
        |test: fn(&str) -> bool| cells.iter().filter(|c| test(c)).count() * 4 >= cells.len() * 3;
    if kind == ListKind::History && most(|c| c.starts_with('£')) {
        return Some(Cost);
    }
    let serial = |c: &str| {
        c.len() >= 6
            && c.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
            && c.chars().any(|c| c.is_ascii_digit())
            && c.chars().any(|c| c.is_ascii_alphabetic())
    };
    most(serial).then_some(Serial)
}

/// Which kind of list the headings speak of.
pub fn guess_kind(headings: &[String]) -> ListKind {
    let names: Vec<String> = headings.iter().map(|h| normal(h)).collect();
    let names_field = |field: Field| names.iter().any(|n| likeness(field, n) >= 900);
    // From and to are words of many lists: with a date, an event or a fitting beside them they are not of record-keeping.
    let of_others = [Date, What, Fitted, Cost].into_iter().any(names_field);
    if names_field(RecordsFrom) && names_field(RecordsUntil) && !of_others {
        return ListKind::Records;
    }
    let happened = [Date, What, Cost, FunctionLost, Part, Duty]
        .into_iter()
        .filter(|f| names_field(*f))
        .count();
    let dates_of_units = [GasCheckDone, GasCheckDue, ServiceDone, ServiceDue, DutyDue];
    let stands = [Fitted, RatedKw, Litres, WarrantyUntil, WatchedFrom]
        .into_iter()
        .chain(dates_of_units)
        .filter(|f| names_field(*f))
        .count();
    if happened > stands && names_field(Date) {
        ListKind::History
    } else {
        ListKind::Units
    }
}

#[cfg(test)]
mod tests {
    use super::super::Field::{Building, Kind, Note, Number, Space, Words};
    use super::*;

    fn found(kind: ListKind, headings: &[&str], cells: &[&[&str]]) -> Vec<Option<Field>> {
        let headings: Vec<String> = headings.iter().map(|h| (*h).to_owned()).collect();
        guess(kind, &headings, |place| {
            cells
                .get(place)
                .map(|c| c.iter().map(|t| (*t).to_owned()).collect())
                .unwrap_or_default()
        })
        .into_iter()
        .map(|f| f.0)
        .collect()
    }

    #[test]
    fn headings_of_the_trade_find_their_field() {
        assert_eq!(
            found(
                ListKind::Units,
                &[
                    "Block",
                    "Apt",
                    "Appliance type",
                    "Blr s/n",
                    "Inst.",
                    "Output (kW)",
                    "Guarantee expires",
                    "Dog?"
                ],
                &[],
            ),
            [
                Some(Building),
                Some(Space),
                Some(Kind),
                Some(Serial),
                Some(Fitted),
                Some(RatedKw),
                Some(WarrantyUntil),
                None
            ]
        );
        assert_eq!(
            found(
                ListKind::History,
                &[
                    "Unit No.",
                    "Date of visit",
                    "Job type",
                    "Part replaced",
                    "Total (£)",
                    "Engineer notes"
                ],
                &[],
            ),
            [
                Some(Number),
                Some(Date),
                Some(What),
                Some(Part),
                Some(Cost),
                Some(Words)
            ]
        );
    }

    #[test]
    fn a_field_is_given_once_and_shape_helps_where_the_heading_does_not() {
        assert_eq!(
            found(
                ListKind::Units,
                &["Flat", "Flat number", "Plate code", "Notes"],
                &[&[], &[], &["8B5S-2114", "I1O0-77"], &[]]
            ),
            [Some(Space), None, Some(Serial), Some(Note)]
        );
        assert_eq!(
            found(
                ListKind::Records,
                &["Block", "Unit no", "From", "To", "No. of failures", "Notes"],
                &[]
            ),
            [
                Some(Building),
                Some(Number),
                Some(RecordsFrom),
                Some(RecordsUntil),
                Some(Field::Count),
                Some(Words)
            ]
        );
        assert_eq!(
            found(
                ListKind::History,
                &["Flat", "x"],
                &[&[], &["£310", "£1,250.00"]]
            ),
            [Some(Space), Some(Cost)]
        );
    }

    #[test]
    fn the_kind_of_list_is_told_by_its_headings() {
        let told = |h: &[&str]| guess_kind(&h.iter().map(|s| (*s).to_owned()).collect::<Vec<_>>());
        assert_eq!(told(&["Flat", "Kind", "Fitted"]), ListKind::Units);
        assert_eq!(
            told(&["Unit number", "Date", "What", "Cost"]),
            ListKind::History
        );
        assert_eq!(
            told(&["Block", "Records from", "Records until", "Failures"]),
            ListKind::Records
        );
        assert_eq!(told(&["Flat", "From", "To"]), ListKind::Records);
        assert_eq!(
            told(&["Flat", "Date", "What", "From", "To"]),
            ListKind::History
        );
        assert_eq!(
            told(&["Flat", "Kind", "Fitted", "From", "To"]),
            ListKind::Units
        );
    }
}
