//! Which units a maker's notice means: of what is not on record it is said that they may be meant, never that they are not.
use std::cmp::Ordering;

use store::recalls::Recall;
use terms::unit::UnitCard;

use crate::forecast::family_key;

/// Whether a unit is meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Meant {
    /// By everything the notice names.
    Yes,
    /// What would settle it is not on record, in words.
    Unsure(Vec<&'static str>),
    /// Something on record speaks against it.
    No,
}

/// Whether a notice means a unit of this family (empty: not known).
pub(super) fn meant(recall: &Recall, unit: &UnitCard, family: &str) -> Meant {
    if recall.kind != unit.kind {
        return Meant::No;
    }
    let found = [
        (by_family(recall, family), "its family"),
        (by_serial(recall, &unit.serial), "its serial number"),
        (by_day(recall, unit), "the day it was fitted"),
    ];
    if found.iter().any(|(fits, _)| *fits == Some(false)) {
        return Meant::No;
    }
    let open: Vec<&str> = found
        .iter()
        .filter(|(fits, _)| fits.is_none())
        .map(|(_, words)| *words)
        .collect();
    if open.is_empty() {
        Meant::Yes
    } else {
        Meant::Unsure(open)
    }
}

fn by_family(recall: &Recall, family: &str) -> Option<bool> {
    match (recall.family.is_empty(), family.is_empty()) {
        (true, _) => Some(true),
        (false, true) => None,
        (false, false) => Some(family_key(&recall.family) == family_key(family)),
    }
}

fn by_serial(recall: &Recall, serial: &str) -> Option<bool> {
    let (from, until) = &recall.serials;
    if from.is_empty() && until.is_empty() {
        return Some(true);
    }
    if serial.trim().is_empty() {
        return None;
    }
    let over = from.is_empty() || in_order(from, serial) != Ordering::Greater;
    let under = until.is_empty() || in_order(serial, until) != Ordering::Greater;
    Some(over && under)
}

fn by_day(recall: &Recall, unit: &UnitCard) -> Option<bool> {
    let (from, until) = recall.fitted;
    if from.is_none() && until.is_none() {
        return Some(true);
    }
    let (first, last) = unit.installed?;
    let out = from.is_some_and(|from| last < from) || until.is_some_and(|until| first > until);
    let inside = from.is_none_or(|from| first >= from) && until.is_none_or(|until| last <= until);
    if out {
        Some(false)
    } else if inside {
        Some(true)
    } else {
        None
    }
}

/// Serial numbers as people order them: runs of digits by their value, everything else letter by letter; case, spaces and
/// strokes say nothing.
pub(super) fn in_order(one: &str, other: &str) -> Ordering {
    let (one, other) = (runs(one), runs(other));
    for (a, b) in one.iter().zip(&other) {
        let order = match (a, b) {
            (Run::Number(a), Run::Number(b)) => a.len().cmp(&b.len()).then_with(|| a.cmp(b)),
            (Run::Words(a), Run::Words(b)) => a.cmp(b),
            (Run::Number(_), Run::Words(_)) => Ordering::Less,
            (Run::Words(_), Run::Number(_)) => Ordering::Greater,
        };
        if order != Ordering::Equal {
            return order;
        }
    }
    one.len().cmp(&other.len())
}

enum Run {
    /// Digits without noughts before them.
    Number(String),
    Words(String),
}

fn runs(serial: &str) -> Vec<Run> {
    let mut found: Vec<Run> = Vec::new();
    let mut apart = true;
    for letter in serial.chars() {
        if !letter.is_alphanumeric() {
            apart = true;
            continue;
        }
        let letter = letter.to_ascii_uppercase();
        match (found.last_mut(), letter.is_ascii_digit()) {
            (Some(Run::Number(run)), true) if !apart => run.push(letter),
            (Some(Run::Words(run)), false) if !apart => run.push(letter),
            (_, true) => found.push(Run::Number(letter.to_string())),
            (_, false) => found.push(Run::Words(letter.to_string())),
        }
        apart = false;
    }
    for run in &mut found {
        if let Run::Number(digits) = run {
            *digits = digits.trim_start_matches('0').to_owned();
        }
    }
    found
}

#[cfg(test)]
mod tests;
