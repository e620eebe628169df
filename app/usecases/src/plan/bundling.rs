//! From duties to attendances: what falls due at one unit within the same days is done in one visit.
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use inspection::calendar::{add_days, add_months, days_between};
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{Covers, DutyId, Engineer};

use super::demands::{WorkAsks, asks_of_rules, before_the_season};
use super::former::Horizon;
use crate::duties::{DutyLine, Standing, is_care_valve, later_windows};

/// Days in which a late duty, or one nobody has evidence of, is to be caught up. Our choice: common
/// practice, no source.
pub(super) const CATCH_UP_DAYS: i64 = 28;
/// Two duties share a visit when at least so many days suit both. Our choice.
const COMMON_DAYS: i64 = 10;
/// An interval counted from completions is planned in its last months, so that little of it is lost.
/// Our choice.
const INTERVAL_MONTHS: i32 = 2;
/// Of an interval shorter than [`SHORT_MONTHS`] the last quarter: days a month. Our choice.
const QUARTER: i64 = 7;
/// Shorter intervals than this leave less than two months in their last quarter.
const SHORT_MONTHS: i32 = 8;
/// A duty that falls due once a year or less often has one date in a round.
const YEARLY: i32 = 12;

/// One duty's part in a visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Piece {
    /// The duty.
    pub duty: DutyId,
    /// Which time within the round, from 1.
    pub nth: i32,
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

    /// Its duties, each with which time it is, in order: what it is known by from one round to the next.
    pub fn duties(&self) -> Vec<(DutyId, i32)> {
        let mut ids: Vec<(DutyId, i32)> = self.pieces.iter().map(|p| (p.duty, p.nth)).collect();
        ids.sort_unstable();
        ids
    }

    /// It comes after another visit for the same duties.
    pub fn follows(&self) -> bool {
        self.pieces.iter().any(|piece| piece.nth > 1)
    }

    fn takes(&self, other: &Self, staff: &[Engineer]) -> bool {
        let (first, last) = (self.first.max(other.first), self.last.min(other.last));
        let common = days_between(first, last) + 1;
        let shorter = (days_between(self.first, self.last) + 1)
            .min(days_between(other.first, other.last) + 1);
        if common < COMMON_DAYS.min(shorter) || common < 1 {
            return false;
        }
        // What follows a visit becomes no job before that is made, so it is not done with what can be offered now; and no duty
        // is met twice in one visit.
        let again = |p: &Piece| self.pieces.iter().any(|q| q.duty == p.duty);
        if self.follows() != other.follows() || other.pieces.iter().any(again) {
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

/// The days a duty is planned for. Late or unknown ones are caught up from the first day on that is planned.
pub(super) fn planned_days(line: &DutyLine, horizon: Horizon) -> Option<(NaiveDate, NaiveDate)> {
    match (line.standing, line.window) {
        (Standing::Late { .. } | Standing::Unknown, _) => {
            Some((horizon.first(), add_days(horizon.today, CATCH_UP_DAYS)))
        }
        (_, Some(window)) => {
            let first = window
                .first
                .unwrap_or_else(|| opens(&line.rule, window.deadline));
            Some((first, window.last))
        }
        (_, None) => None,
    }
}

/// First day planned for of an interval counted from completions.
fn opens(rule: &DutyRule, deadline: NaiveDate) -> NaiveDate {
    let is_short = (1..SHORT_MONTHS).contains(&rule.months);
    if is_short && matches!(rule.window_rule.as_str(), "W1" | "W2") {
        add_days(deadline, -QUARTER * i64::from(rule.months))
    } else {
        add_months(deadline, -INTERVAL_MONTHS)
    }
}

/// The days of each further time a duty falls due until a day, the first of them the second time. A calendar round has its own
/// dates; an interval counted from completions runs from the first day on which it may be met before, so that no visit is late
/// whichever day the one before has.
fn later_days(
    rule: &DutyRule,
    deadline: Option<NaiveDate>,
    ((first, last), until): ((NaiveDate, NaiveDate), NaiveDate),
) -> Vec<(NaiveDate, NaiveDate)> {
    let months = rule.months;
    let again = matches!(rule.window_rule.as_str(), "W1" | "W2" | "W3") && !is_care_valve(rule);
    // What comes round in weeks is site staff's own round, not an engineer's visit.
    if !again || rule.days.is_some() || !(1..YEARLY).contains(&months) {
        return Vec::new();
    }
    // Without evidence the round is taken to begin with the day it is caught up by.
    if let Some(windows) = later_windows(rule, deadline.unwrap_or(last)) {
        return windows
            .map(|window| (window.first.unwrap_or(window.deadline), window.last))
            .take_while(|days| days.1 <= until)
            // What is caught up late takes the place of the dates that have gone by meanwhile.
            .filter(|days| days.1 > last)
            .map(|days| (days.0.max(add_days(last, 1)), days.1))
            .collect();
    }
    let (mut days, mut found) = ((first, last), Vec::new());
    loop {
        let by = add_months(days.0, months);
        if by > until {
            return found;
        }
        days = (opens(rule, by).max(add_days(days.1, 1)), by);
        if days.0 > by {
            return found;
        }
        found.push(days);
    }
}

/// The attendances these duties come to, by unit, each duty in exactly one.
pub(super) fn bundle(
    lines: &[&DutyLine],
    staff: &[Engineer],
    (horizon, until): (Horizon, NaiveDate),
) -> Vec<Wish> {
    let asks = asks_of_rules();
    let mut wishes: Vec<Wish> = lines
        .iter()
        .flat_map(|line| wishes_of(line, &asks, (horizon, until)))
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

/// Every time a duty falls due within the round. The first is left to its job where it has one.
fn wishes_of(
    line: &DutyLine,
    asks: &BTreeMap<String, WorkAsks>,
    (horizon, until): (Horizon, NaiveDate),
) -> Vec<Wish> {
    let Some(first) = wish_of(line, asks, horizon) else {
        return Vec::new();
    };
    let opens = horizon.first();
    let days = (first.first.max(opens), first.last.max(opens));
    let deadline = line.window.map(|window| window.deadline);
    let later = later_days(&line.rule, deadline, (days, until));
    let follow = (2..).zip(later).map(|(nth, (from, last))| {
        let mut wish = first.clone();
        (wish.first, wish.last, wish.presses) = (from, last, false);
        for piece in &mut wish.pieces {
            piece.nth = nth;
        }
        wish
    });
    let follow: Vec<Wish> = follow.collect();
    let next = line.jobs.is_empty().then_some(first);
    next.into_iter().chain(follow).collect()
}

fn wish_of(line: &DutyLine, asks: &BTreeMap<String, WorkAsks>, horizon: Horizon) -> Option<Wish> {
    let (mut first, last) = planned_days(line, horizon)?;
    let asks = asks.get(&line.rule.code).copied().unwrap_or_default();
    // Counted from when it was last done: early loses some of the interval, and breaks nothing.
    let early_is_fine = matches!(line.rule.window_rule.as_str(), "W2" | "W3");
    if asks.heat_off && early_is_fine && matches!(line.standing, Standing::Open | Standing::Ahead) {
        let early = before_the_season(last, horizon.first());
        first = early.map_or(first, |day| day.min(first));
    }
    let pressing = matches!(line.standing, Standing::Late { .. } | Standing::Unknown);
    Some(Wish {
        unit: line.unit.clone()?,
        pieces: vec![Piece {
            duty: line.duty,
            nth: 1,
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

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn rule(window_rule: &str, months: i32) -> DutyRule {
        DutyRule {
            code: "X1".to_owned(),
            name: "Invented".to_owned(),
            window_rule: window_rule.to_owned(),
            months,
            days: None,
            kinds: Vec::new(),
            covers: String::new(),
            minutes: 20,
            basis: "good practice".to_owned(),
            status: String::new(),
            evidence: String::new(),
            country: "england".to_owned(),
            as_at: day("2026-07-01"),
        }
    }

    fn later(rule: &DutyRule, deadline: &str, days: (&str, &str), until: &str) -> Vec<String> {
        let days = (day(days.0), day(days.1));
        let found = later_days(rule, Some(day(deadline)), (days, day(until)));
        found.iter().map(|(a, b)| format!("{a} {b}")).collect()
    }

    // A quarter of three months is more than a fortnight, the most a round of months may be off (DUTIES, rule W3). By hand.
    #[test]
    fn a_round_of_three_months_falls_due_on_its_own_dates() {
        let found = later(
            &rule("W3", 3),
            "2027-01-31",
            ("2027-01-17", "2027-02-14"),
            "2027-09-01",
        );
        assert_eq!(found, ["2027-04-16 2027-05-14", "2027-07-17 2027-08-14"]);
        // Late and caught up by 23 December: the dates in between have gone by; that of 31 December, a week either way, follows.
        let found = later(
            &rule("W3", 1),
            "2026-08-31",
            ("2026-11-26", "2026-12-23"),
            "2027-01-20",
        );
        assert_eq!(found, ["2026-12-24 2027-01-07"]);
    }

    // Whichever day each has, no more than a month lies between two. By hand.
    #[test]
    fn an_interval_from_completions_is_never_late_whichever_day_the_one_before_has() {
        let found = later(
            &rule("W2", 1),
            "2027-01-31",
            ("2027-01-24", "2027-01-31"),
            "2027-05-01",
        );
        assert_eq!(
            found,
            [
                "2027-02-17 2027-02-24",
                "2027-03-10 2027-03-17",
                "2027-04-03 2027-04-10"
            ]
        );
    }

    #[test]
    fn what_falls_due_once_a_year_or_by_an_event_has_one_date() {
        for (window_rule, months) in [("W1", 12), ("W3", 24), ("W4", 1), ("W6", 3)] {
            let days = ("2027-01-01", "2027-01-31");
            let found = later(&rule(window_rule, months), "2027-01-31", days, "2028-12-31");
            assert!(found.is_empty(), "{window_rule} {months}: {found:?}");
        }
    }
}
