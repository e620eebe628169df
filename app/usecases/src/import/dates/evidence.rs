//! Which way round the days and months of a column stand, as far as a cell shows it.
use super::plain;
use super::reader::digits;

/// What a cell tells about the order of day and month.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Evidence {
    /// It can only be read day first.
    Day,
    /// It can only be read month first.
    Month,
    /// Both ways give a date, and not the same one.
    Either,
    /// It does not matter.
    None,
}

/// What one cell tells about the order of day and month in its column.
pub fn evidence(cell: &str) -> Evidence {
    let text = plain(cell);
    let text = text.trim_end_matches(['?', ' ']);
    let parts: Vec<&str> = text.split(['/', '.', '-', ' ']).collect();
    let [a, b, year] = parts.as_slice() else {
        return Evidence::None;
    };
    if a.len() > 2
        || b.len() > 2
        || !matches!(year.len(), 2 | 4)
        || !parts.iter().all(|p| digits(p))
    {
        return Evidence::None;
    }
    match (a.parse::<u32>().unwrap_or(0), b.parse::<u32>().unwrap_or(0)) {
        (a, b) if a == b => Evidence::None,
        (13..=31, 1..=12) => Evidence::Day,
        (1..=12, 13..=31) => Evidence::Month,
        (1..=12, 1..=12) => Evidence::Either,
        _ => Evidence::None,
    }
}
