//! From duties to attendances: what falls due at one unit within the same days is done in one visit.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use inspection::calendar::{add_days, add_months, days_between};
use terms::unit::UnitCard;
use terms::{Covers, DutyId, Engineer};

use super::demands::{WorkAsks, asks_of_rules, before_the_season};
use crate::duties::{DutyLine, Standing};

/// Days in which a late duty, or one nobody has evidence of, is to be caught up. Our choice: common
/// practice, no source.
pub(super) const CATCH_UP_DAYS: i64 = 28;
/// Two duties share a visit when at least so many days suit both. Our choice.
const COMMON_DAYS: i64 = 10;
/// An interval counted from completions is planned in its last months, so that little of it is lost.
/// Our choice.
const INTERVAL_MONTHS: i32 = 2;

/// One duty's part in a visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Piece {
    /// The duty.
    pub duty: DutyId,
    /// Minutes it takes.
    pub minutes: i32,
}

/// An attendance that wants a day.
#[derive(Clone, Debug)]
pub(super) struct Wish {
    /// The unit.
    pub unit: UnitCard,
    /// What is done, in the order of the rules' codes.
    pub pieces: Vec<Piece>,
    /// What its engineer must be qualified in.
    pub needs: Vec<Covers>,
    /// First day planned for.
    pub first: NaiveDate,
    /// Last day planned for.
    pub last: NaiveDate,
    /// A legal duty that is late or without evidence is in it.
    pub presses: bool,
    /// What its work asks of the day.
    pub asks: WorkAsks,
}

impl Wish {
    /// Minutes of the whole attendance.
    pub fn minutes(&self) -> u32 {
        let sum: i32 = self.pieces.iter().map(|p| p.minutes.max(0)).sum();
        u32::try_from(sum).unwrap_or(0)
    }

    /// Its duties, in order: what it is known by from one round to the next.
    pub fn duties(&self) -> Vec<DutyId> {
        let mut ids: Vec<DutyId> = self.pieces.iter().map(|p| p.duty).collect();
        ids.sort_unstable();
        ids
    }

    fn takes(&self, other: &Self, staff: &[Engineer]) -> bool {
        let (first, last) = (self.first.max(other.first), self.last.min(other.last));
        let common = days_between(first, last) + 1;
        let shorter = (days_between(self.first, self.last) + 1)
            .min(days_between(other.first, other.last) + 1);
        if common < COMMON_DAYS.min(shorter) || common < 1 {
            return false;
        }
        // Two come for the work that takes two, and heat goes off for the work that needs it, not for the rest.
        if self.asks.pair != other.asks.pair || self.asks.heat_off != other.asks.heat_off {
            return false;
        }
        let needs: BTreeSet<Covers> = self.needs.iter().chain(&other.needs).copied().collect();
        staff.iter().any(|engineer| {
            needs
                .iter()
                .all(|need| engineer.covers(*need, first).is_some())
        })
    }

    fn take(&mut self, other: Self) {
        self.first = self.first.max(other.first);
        self.last = self.last.min(other.last);
        self.presses |= other.presses;
        self.asks = self.asks.with(other.asks);
        self.pieces.extend(other.pieces);
        let needs: BTreeSet<Covers> = self.needs.iter().chain(&other.needs).copied().collect();
        self.needs = needs.into_iter().collect();
    }
}

/// The days a duty is planned for. Late or unknown ones are caught up from tomorrow on.
pub(super) fn planned_days(line: &DutyLine, today: NaiveDate) -> Option<(NaiveDate, NaiveDate)> {
    let tomorrow = add_days(today, 1);
    match (line.standing, line.window) {
        (Standing::Late { .. } | Standing::Unknown, _) => {
            Some((tomorrow, add_days(today, CATCH_UP_DAYS)))
        }
        (_, Some(window)) => {
            let first = window
                .first
                .unwrap_or_else(|| add_months(window.deadline, -INTERVAL_MONTHS));
            Some((first, window.last))
        }
        (_, None) => None,
    }
}

/// The attendances these duties come to, by unit, each duty in exactly one.
pub(super) fn bundle(
    lines: &[&DutyLine],
    staff: &[Engineer],
    (today, until): (NaiveDate, NaiveDate),
) -> Vec<Wish> {
    let asks = asks_of_rules();
    let mut wishes: Vec<Wish> = lines
        .iter()
        .filter_map(|line| wish_of(line, &asks, today))
        .filter(|wish| wish.last <= until)
        .collect();
    // Stable: duties of one unit and day stay in the order of their rules' codes.
    wishes.sort_by(|a, b| {
        (&a.unit.number, a.unit.id, a.last).cmp(&(&b.unit.number, b.unit.id, b.last))
    });
    let mut bundled: Vec<Wish> = Vec::with_capacity(wishes.len());
    for wish in wishes {
        let same_unit = bundled
            .iter_mut()
            .rev()
            .take_while(|b| b.unit.id == wish.unit.id)
            .find(|b| b.takes(&wish, staff));
        match same_unit {
            Some(visit) => visit.take(wish),
            None => bundled.push(wish),
        }
    }
    bundled
}

fn wish_of(line: &DutyLine, asks: &BTreeMap<String, WorkAsks>, today: NaiveDate) -> Option<Wish> {
    let (mut first, last) = planned_days(line, today)?;
    let asks = asks.get(&line.rule.code).copied().unwrap_or_default();
    // Counted from when it was last done: early loses some of the interval, and breaks nothing.
    let early_is_fine = matches!(line.rule.window_rule.as_str(), "W2" | "W3");
    if asks.heat_off && early_is_fine && matches!(line.standing, Standing::Open | Standing::Ahead) {
        let early = before_the_season(last, add_days(today, 1));
        first = early.map_or(first, |day| day.min(first));
    }
    let pressing = matches!(line.standing, Standing::Late { .. } | Standing::Unknown);
    Some(Wish {
        unit: line.unit.clone()?,
        pieces: vec![Piece {
            duty: line.duty,
            minutes: line.rule.minutes,
        }],
        needs: line
            .rule
            .covers
            .split_whitespace()
            .filter_map(|code| code.parse().ok())
            .collect(),
        first,
        last,
        presses: pressing && line.rule.basis == "law",
        asks,
    })
}
