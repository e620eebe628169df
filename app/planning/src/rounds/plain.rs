//! The plain constructive method.
//!
//! Promised visits first. Then the job with the earliest deadline takes, of all days of its window on
//! which somebody qualified has room, the one that most other open jobs of its building can share, less
//! what waiting for it harms; the earliest on a tie. The end of the window is kept for a second attempt
//! where that is possible. Who is in the building anyway comes first, then who holds the fewest
//! qualifications. That engineer's day is then filled with open jobs of the same stair and building, by
//! deadline. A job that finds no room may push out visits with later deadlines, which are placed anew;
//! each visit can be pushed twice at most, so it ends.
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use terms::BuildingId;

use super::diary::{Diary, Slot};
use super::replan::{Replan, replan};
use super::{
    RoundFacts, RoundInput, RoundPlan, RoundPlanner, RoundVerdict, Unplaced, WhyNot, bound,
};

/// Pushes a visit may suffer.
const PUSHES: u8 = 2;
/// Visits that may be pushed out of a day for one job.
const PUSHED_AT_ONCE: usize = 3;

/// See the module.
#[derive(Clone, Copy, Debug, Default)]
pub struct PlainRounds;

impl RoundPlanner for PlainRounds {
    fn plan(&self, input: &RoundInput) -> RoundPlan {
        let mut work = Work::of(input);
        work.keep_promises();
        work.place_the_rest();
        work.finish()
    }

    fn replan(&self, input: &RoundInput, before: &RoundPlan) -> Replan {
        replan(input, before)
    }
}

/// The order in which open jobs are taken up.
pub(super) type Turn = (NaiveDate, BuildingId, String, Reverse<u64>, usize);

pub(super) struct Work<'a> {
    pub diary: Diary<'a>,
    pub input: &'a RoundInput,
    open: BTreeSet<Turn>,
    pub by_building: BTreeMap<BuildingId, BTreeSet<Turn>>,
    pushed: Vec<u8>,
    why: BTreeMap<usize, WhyNot>,
}

impl<'a> Work<'a> {
    pub fn of(input: &'a RoundInput) -> Self {
        let mut work = Self {
            diary: Diary::of(input),
            input,
            open: BTreeSet::new(),
            by_building: BTreeMap::new(),
            pushed: vec![0; input.jobs.len()],
            why: BTreeMap::new(),
        };
        for job in 0..input.jobs.len() {
            work.reopen(job);
        }
        work
    }

    fn turn(&self, job: usize) -> Turn {
        let what = &self.input.jobs[job];
        // Positive floats order as their bits; anything else counts as no weight.
        let weight = if what.risk_weight > 0.0 {
            what.risk_weight.to_bits()
        } else {
            0
        };
        let stair = what.stair.clone();
        (what.deadline, what.building, stair, Reverse(weight), job)
    }

    fn reopen(&mut self, job: usize) {
        let turn = self.turn(job);
        self.by_building
            .entry(turn.1)
            .or_default()
            .insert(turn.clone());
        self.open.insert(turn);
    }

    fn close(&mut self, job: usize) {
        let turn = self.turn(job);
        if let Some(list) = self.by_building.get_mut(&turn.1) {
            list.remove(&turn);
        }
        self.open.remove(&turn);
    }

    /// Puts a job into the diary.
    pub fn settle(&mut self, slot: Slot, job: usize) {
        self.diary.put(slot, job);
        self.close(job);
    }

    /// Promised visits whose engineer is known stay where they are, come what may.
    pub fn keep_promises(&mut self) {
        for (job, what) in self.input.jobs.iter().enumerate() {
            let Some(promise) = what.promise else {
                continue;
            };
            let (day, start) = (promise.day, promise.start_minute);
            // Where the second is gone by now the first still comes, and the audit says that one is missing.
            let second = promise.second.and_then(|id| self.diary.engineer(id));
            let Some(engineer) = self.diary.engineer(promise.engineer) else {
                let engineer = promise.engineer;
                self.why
                    .insert(job, WhyNot::PromisedToNobody { engineer, day });
                self.close(job);
                continue;
            };
            self.settle(
                Slot {
                    engineer,
                    day,
                    start,
                    second,
                },
                job,
            );
        }
    }

    /// Takes up the open jobs until none is left.
    pub fn place_the_rest(&mut self) {
        while let Some((.., job)) = self.open.first().cloned() {
            self.close(job);
            match self.find_room(job).or_else(|why| self.push_for(job, why)) {
                Ok(slot) => {
                    self.diary.put(slot, job);
                    self.fill(slot, job);
                }
                Err(why) => {
                    self.why.insert(job, why);
                }
            }
        }
    }

    /// Fills the engineer's day with open jobs of the same building, those of the stair first.
    fn fill(&mut self, slot: Slot, seed: usize) {
        let what = &self.input.jobs[seed];
        let Some(list) = self.by_building.get(&what.building) else {
            return;
        };
        let (near, far): (Vec<&Turn>, Vec<&Turn>) =
            list.iter().partition(|turn| turn.2 == what.stair);
        let others: Vec<usize> = near.into_iter().chain(far).map(|turn| turn.4).collect();
        for job in others {
            let other = &self.input.jobs[job];
            let inside = other.first_day() <= slot.day && slot.day <= other.deadline;
            let who = &self.input.engineers[slot.engineer];
            if !inside || !self.diary.may_come(who, other) {
                continue;
            }
            if let Some(slot) = self.diary.slot_on(slot.engineer, slot.day, job) {
                self.settle(slot, job);
            }
        }
    }

    /// Room made by pushing visits with later deadlines out of one day; those open again.
    fn push_for(&mut self, job: usize, why: WhyNot) -> Result<Slot, WhyNot> {
        if !matches!(why, WhyNot::HoursFull { .. }) {
            return Err(why);
        }
        let what = &self.input.jobs[job];
        let people = self.people(what);
        for day in self.days(what)? {
            let slot = people
                .iter()
                .find_map(|engineer| self.push_on(*engineer, day, job));
            if let Some(slot) = slot {
                return Ok(slot);
            }
        }
        Err(why)
    }

    fn push_on(&mut self, engineer: usize, day: NaiveDate, job: usize) -> Option<Slot> {
        let deadline = self.input.jobs[job].deadline;
        let mut movable: Vec<usize> = self
            .diary
            .entries(engineer, day)
            .iter()
            .map(|entry| entry.job)
            .filter(|other| {
                let what = &self.input.jobs[*other];
                what.promise.is_none()
                    && what.deadline > deadline
                    && self.pushed[*other] < PUSHES
                    && !self.diary.lies_between(engineer, day, *other)
            })
            .collect();
        movable.sort_by_key(|other| Reverse(self.input.jobs[*other].deadline));
        let mut taken: Vec<(usize, Slot)> = Vec::new();
        for other in movable.into_iter().take(PUSHED_AT_ONCE) {
            if let Some(slot) = self.diary.take(other) {
                taken.push((other, slot));
            }
            if let Some(slot) = self.diary.slot_on(engineer, day, job) {
                self.push_out(&taken);
                return Some(slot);
            }
        }
        for (other, slot) in taken {
            self.diary.put(slot, other);
        }
        None
    }

    fn push_out(&mut self, taken: &[(usize, Slot)]) {
        for (other, _) in taken {
            self.pushed[*other] += 1;
            self.reopen(*other);
        }
    }

    /// The plan and its report.
    pub fn finish(self) -> RoundPlan {
        let placed = self.diary.placed();
        let unplaced: Vec<Unplaced> = self
            .why
            .iter()
            .map(|(job, why)| Unplaced {
                job: self.input.jobs[*job].id,
                why: why.clone(),
                first_room: self.first_room(*job, why),
            })
            .collect();
        let promised = self.input.jobs.iter().zip(&self.diary.slots);
        let facts = RoundFacts {
            placed: placed.len() as u32,
            unplaced: unplaced.len() as u32,
            promised: promised
                .filter(|(job, slot)| job.promise.is_some() && slot.is_some())
                .count() as u32,
            ..bound::facts(self.input, &placed)
        };
        let short = unplaced
            .iter()
            .any(|u| matches!(u.why, WhyNot::HoursFull { .. }));
        let verdict = match (self.input.jobs.is_empty(), unplaced.is_empty(), short) {
            (true, ..) => RoundVerdict::NothingToPlace,
            (_, true, _) => RoundVerdict::Complete,
            (_, _, false) => RoundVerdict::OnlyTheImpossibleLeft,
            _ => RoundVerdict::HoursShort,
        };
        RoundPlan {
            placed,
            unplaced,
            facts,
            verdict,
        }
    }
}
