//! The cheapest place for a visit.
//!
//! Rounds that come to the building anyway are looked at first: where one of them takes the visit on its first
//! day, no other place can be cheaper. Of very many other rounds only those that come near are looked at, and
//! some others at random.
use super::diary::Diary;
use super::model::Span;
use super::package::Package;
use super::recreate::{BLINK, Place};
use crate::dice::Dice;

/// Other rounds up to which all are looked at.
const ALL: usize = 700;
/// Buildings whose rounds are looked at where there are more.
const NEAR: usize = 8;
/// Rounds looked at beside them.
const OTHERS: usize = 160;

/// The search for one visit.
struct Seek<'s, 'a> {
    diary: &'s Diary<'a>,
    package: &'s Package,
    spot: usize,
    /// Starts on any day; `None` where they differ by day.
    usual: Option<Vec<Span>>,
    by_day: bool,
    promised: bool,
    /// Pence and slack of the best, and where it is.
    best: (i64, i32, Option<(usize, usize)>),
}

/// The cheapest place below `most` pence, joining flatmates or in a visit of its own.
pub fn best_place(
    diary: &Diary<'_>,
    dice: &mut Dice,
    package: &Package,
    most: i64,
) -> Option<Place> {
    let tables = diary.tables;
    let first = *package.open.first()? as usize;
    let jobs = &tables.problem.jobs;
    let joined = join_place(diary, package, most);
    let mut seek = Seek {
        diary,
        package,
        spot: tables.place(package.jobs[0]),
        usual: tables.starts(&package.jobs, first),
        by_day: tables.day_matters(&package.jobs),
        // A promise is kept even where it takes more of a week than is given.
        promised: package.jobs.iter().any(|j| jobs[*j].fixed.is_some()),
        best: (joined.as_ref().map_or(most, |j| j.delta), i32::MAX, None),
    };
    if seek.by_day || seek.usual.is_some() {
        seek.all(dice);
    }
    let Some((r, at)) = seek.best.2 else {
        return joined;
    };
    Some(Place {
        delta: seek.best.0,
        at: vec![(r, at)],
        joins: false,
        starts: tables.starts(&package.jobs, diary.day(r))?,
    })
}

impl Seek<'_, '_> {
    fn all(&mut self, dice: &mut Dice) {
        let package = self.package;
        let Some(first) = package.open.first() else {
            return;
        };
        // No place of its own is cheaper than this.
        let least = self.late(*first as usize);
        if least > self.best.0 {
            return;
        }
        self.coming_to(self.spot, dice);
        if self.best.2.is_some() && self.best.0 <= least {
            return;
        }
        if package.open.len() * package.able.len() <= ALL {
            for &day in &package.open {
                if self.late(day as usize) > self.best.0 {
                    continue;
                }
                for &engineer in &package.able {
                    self.round(engineer, day as usize, dice);
                }
            }
            return;
        }
        let tables = self.diary.tables;
        let building = tables.problem.jobs[package.jobs[0]].building;
        for near in tables.near[building].iter().skip(1).take(NEAR) {
            self.coming_to(tables.problem.buildings[*near].place, dice);
        }
        for _ in 0..OTHERS {
            if let (Some(day), Some(engineer)) =
                (dice.pick(&package.open), dice.pick(&package.able))
            {
                self.round(engineer, day as usize, dice);
            }
        }
    }

    /// Pence for the visit and its day, the way there apart.
    fn late(&self, day: usize) -> i64 {
        self.diary.delay(&self.package.jobs, day) + self.diary.tables.problem.costs.visit
    }

    /// The rounds that come to a place.
    fn coming_to(&mut self, place: usize, dice: &mut Dice) {
        let diary = self.diary;
        for &r in &diary.coming[place] {
            let (day, engineer) = (diary.day(r as usize), diary.engineer(r as usize));
            if self.package.able.contains(&engineer)
                && self.package.open.binary_search(&(day as u32)).is_ok()
            {
                self.round(engineer, day, dice);
            }
        }
    }

    fn round(&mut self, engineer: usize, day: usize, dice: &mut Dice) {
        let (diary, tables) = (self.diary, self.diary.tables);
        let length = self.package.length;
        let r = tables.round(engineer, day);
        let round = &diary.rounds[r];
        let slack = round.slack();
        if slack < length || !(self.promised || diary.has_week(r, length)) || dice.unit() < BLINK {
            return;
        }
        let late = self.late(day);
        if late > self.best.0 {
            return;
        }
        let own;
        let starts = if self.by_day {
            own = tables.starts(&self.package.jobs, day);
            &own
        } else {
            &self.usual
        };
        let Some(starts) = starts else { return };
        let Some(gap) = round.best_gap(tables, self.spot, length, starts) else {
            return;
        };
        let way = tables.problem.costs.travel * i64::from(gap.detour);
        let delta = late + way + diary.week_costs(day, length);
        // Of places alike the fullest day: what is left free stays in one piece.
        if (delta, slack) < (self.best.0, self.best.1) {
            self.best = (delta, slack, Some((r, gap.at)));
        }
    }
}

/// Joining a visit of flatmates, if that costs less than `most`.
fn join_place(diary: &Diary<'_>, package: &Package, most: i64) -> Option<Place> {
    let tables = diary.tables;
    let mut best: Option<Place> = None;
    for &mate in &tables.spaces[tables.space_of[package.jobs[0]]] {
        let Some(r) = diary.places[mate][0] else {
            continue;
        };
        let day = diary.day(r);
        let fits = package.open.binary_search(&(day as u32)).is_ok()
            && package.able.contains(&diary.engineer(r));
        if !fits || package.jobs.contains(&mate) {
            continue;
        }
        let round = &diary.rounds[r];
        let Some(at) = round.stops.iter().position(|s| s.jobs.contains(&mate)) else {
            continue;
        };
        let mut jobs = round.stops[at].jobs.clone();
        jobs.extend_from_slice(&package.jobs);
        let length = tables.length(&jobs);
        let Some(starts) = tables.starts(&jobs, day) else {
            continue;
        };
        let more = length - round.stops[at].length;
        let delta = diary.delay(&package.jobs, day) + diary.week_costs(day, more);
        let cheaper = delta < best.as_ref().map_or(most, |b| b.delta);
        let room = round.slack() >= more && diary.has_week(r, more);
        if cheaper && room && round.stretches(tables, at, length, &starts) {
            best = Some(Place {
                delta,
                at: vec![(r, at)],
                joins: true,
                starts,
            });
        }
    }
    best
}
