//! Planning again after a change with the fewest moves: ruin and recreate on points instead of pence.
//!
//! points = drop·(jobs left out) + move·(jobs at another day or start) + swap·(jobs at the same day and
//! start with another engineer). What was done before day `now` stays; nothing new goes there. A visit
//! that stays is pinned to its minute, one that moves may start when it likes. Of plans with equal points
//! the one that costs less is taken. Source: `reference/planning/README.md` §3.
use std::collections::{BTreeMap, VecDeque};

use super::diary::Diary;
use super::forced::forced_points;
use super::model::{Disruption, MoveCosts, Span, Visit};
use super::tables::{Tables, first_start};
use crate::Allowance;
use crate::dice::Dice;

/// Trials without a better plan after which the search ends.
const PATIENCE: u32 = 30_000;
/// Trials after which the search goes back to the best plan and tries another way.
const BACK_TO_BEST: u32 = 1_500;
/// Jobs in one trial that may push others out.
const PUSHES: u32 = 4;
/// Temperature of the annealing, in moves: making room for a job may take several before it pays.
const WARMTH: f64 = 1.0;

/// When and by whom a job was to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Was {
    /// Day.
    pub day: usize,
    /// Minute.
    pub start: i32,
    /// One engineer, or two, ascending.
    pub engineers: Vec<usize>,
}

/// The new plan and what is proven about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mended {
    /// The whole new plan.
    pub visits: Vec<Visit>,
    /// Its points.
    pub points: i64,
    /// No plan has fewer points.
    pub at_least: i64,
    /// Trials made.
    pub trials: u32,
}

pub(super) struct Mend<'a> {
    diary: Diary<'a>,
    was: Vec<Option<Was>>,
    costs: MoveCosts,
    now: usize,
}

/// Mends the plan.
pub fn replan(case: &Disruption, seed: u64, allowance: &dyn Allowance) -> Mended {
    let tables = Tables::of(&case.instance);
    let now = usize::try_from(case.now).unwrap_or(0);
    let mut mend = Mend {
        diary: Diary::empty(&tables),
        was: was(&case.before, case.instance.jobs.len()),
        costs: case.costs.clone(),
        now,
    };
    mend.keep(&case.before);
    let at_least = forced_points(&tables, &mend.was, &case.costs, now);
    let mut dice = Dice::new(seed);
    mend.recreate(&mut dice);
    let mut points = mend.points();
    let mut best = (points, mend.diary.cost, mend.diary.clone());
    let (mut trials, mut stale) = (0, 0);
    let warmth = WARMTH * case.costs.shift as f64;
    while best.0 > at_least && stale < PATIENCE && !allowance.spent() {
        trials += 1;
        stale += 1;
        if stale % BACK_TO_BEST == 0 {
            mend.diary = best.2.clone();
            points = best.0;
        }
        mend.diary.begin();
        mend.ruin(&mut dice);
        mend.recreate(&mut dice);
        let fresh = mend.points();
        if (fresh - points) as f64 > -warmth * dice.unit().max(1e-300).ln() {
            mend.diary.take_back();
            continue;
        }
        points = fresh;
        if (points, mend.diary.cost) < (best.0, best.1) {
            if points < best.0 {
                stale = 0;
            }
            best = (points, mend.diary.cost, mend.diary.clone());
        }
    }
    Mended {
        visits: best.2.visits(),
        points: best.0,
        at_least,
        trials,
    }
}

fn was(before: &[Visit], jobs: usize) -> Vec<Option<Was>> {
    let mut out: Vec<Option<Was>> = vec![None; jobs];
    for visit in before {
        for job in visit.jobs.iter().filter(|j| **j < jobs) {
            let was = out[*job].get_or_insert(Was {
                day: visit.day as usize,
                start: visit.start,
                engineers: Vec::new(),
            });
            was.engineers.push(visit.engineer);
            was.engineers.sort_unstable();
        }
    }
    out
}

/// Whether a visit of these jobs may start at this minute.
pub(super) fn may_start(tables: &Tables<'_>, jobs: &[usize], day: usize, start: i32) -> bool {
    let starts = tables.starts(jobs, day);
    starts.is_some_and(|s| first_start(&s, start) == Some(start))
}

/// Whether an engineer may do these jobs on a day.
pub(super) fn may_come(tables: &Tables<'_>, jobs: &[usize], day: usize, engineer: usize) -> bool {
    jobs.iter().all(|j| {
        let card = &tables.problem.jobs[*j];
        let named = card.fixed.as_ref().and_then(|f| f.engineer);
        let list = if card.crew == 2 {
            &tables.serves[card.building]
        } else {
            &tables.leads[*j]
        };
        list.contains(&engineer)
            && named.is_none_or(|n| n == engineer)
            && tables.open[*j].binary_search(&(day as u32)).is_ok()
    })
}

impl Mend<'_> {
    /// The visits of before that can stay where they are; the past as it was.
    fn keep(&mut self, before: &[Visit]) {
        let known = self.was.len();
        let mut moments: BTreeMap<(i32, i32, Vec<usize>), Vec<usize>> = BTreeMap::new();
        for visit in before {
            let jobs: Vec<usize> = visit.jobs.iter().copied().filter(|j| *j < known).collect();
            if !jobs.is_empty() {
                let key = (visit.day, visit.start, jobs);
                moments.entry(key).or_default().push(visit.engineer);
            }
        }
        for ((day, start, jobs), engineers) in moments {
            let past = (day as usize) < self.now;
            self.pin(&jobs, day as usize, start, &engineers, past);
        }
        let places = &self.diary.places;
        self.diary.absent.retain(|j| places[*j][0].is_none());
    }

    /// Writes a visit at its minute into the rounds of its engineers, if it fits (or must).
    fn pin(
        &mut self,
        jobs: &[usize],
        day: usize,
        start: i32,
        engineers: &[usize],
        must: bool,
    ) -> bool {
        let tables = self.diary.tables;
        let pair = tables.problem.jobs[jobs[0]].crew == 2;
        let lead = engineers.iter().any(|e| tables.leads[jobs[0]].contains(e));
        let allowed = may_start(tables, jobs, day, start)
            && engineers.iter().all(|e| may_come(tables, jobs, day, *e))
            && (!pair || (lead && engineers.len() == 2));
        if !allowed && !must {
            return false;
        }
        let starts = vec![[start, start]];
        let (place, length) = (tables.place(jobs[0]), tables.length(jobs));
        let mut spots = Vec::new();
        for engineer in engineers {
            let r = tables.round(*engineer, day);
            let round = &self.diary.rounds[r];
            let promised = jobs.iter().any(|j| tables.problem.jobs[*j].fixed.is_some());
            let week = promised || self.diary.has_week(r, length);
            let fits = (0..=round.stops.len())
                .filter(|_| week)
                .find_map(|at| round.gap(tables, at, place, length, &starts));
            match fits {
                Some(gap) => spots.push((r, gap.at)),
                None if must => {
                    let earlier = round.stops.iter().take_while(|s| s.early < start);
                    spots.push((r, earlier.count()));
                }
                None => return false,
            }
        }
        for (r, at) in spots {
            self.diary.insert(r, at, jobs.to_vec(), starts.clone());
        }
        true
    }

    /// Where a job stands now.
    fn stands(&self, job: usize) -> Option<Was> {
        let rounds: Vec<usize> = self.diary.places[job].into_iter().flatten().collect();
        let first = *rounds.first()?;
        let stop = self.diary.rounds[first]
            .stops
            .iter()
            .find(|s| s.jobs.contains(&job))?;
        let mut engineers: Vec<usize> = rounds.iter().map(|r| self.diary.engineer(*r)).collect();
        engineers.sort_unstable();
        Some(Was {
            day: self.diary.day(first),
            start: stop.early,
            engineers,
        })
    }

    fn job_points(&self, job: usize) -> i64 {
        match (self.stands(job), &self.was[job]) {
            (None, _) => self.costs.drop,
            (Some(_), None) => 0,
            (Some(is), Some(was)) if (is.day, is.start) != (was.day, was.start) => self.costs.shift,
            (Some(is), Some(was)) if is.engineers != was.engineers => self.costs.swap,
            _ => 0,
        }
    }

    fn points(&self) -> i64 {
        (0..self.was.len()).map(|job| self.job_points(job)).sum()
    }

    /// Takes out what stands in the way of a job that is absent or moved, and some around it.
    fn ruin(&mut self, dice: &mut Dice) {
        let disturbed: Vec<usize> = (0..self.was.len())
            .filter(|j| {
                let past = self.was[*j].as_ref().is_some_and(|w| w.day < self.now);
                !past && self.job_points(*j) > 0
            })
            .collect();
        let Some(seed) = dice.pick(&disturbed) else {
            return;
        };
        for job in disturbed {
            if job == seed || dice.below(3) == 0 {
                self.take(job);
            }
        }
        let tables = self.diary.tables;
        let days: Vec<u32> = tables.open[seed]
            .iter()
            .copied()
            .filter(|d| *d as usize >= self.now)
            .collect();
        for _ in 0..=dice.below(3) {
            let Some(day) = dice.pick(&days) else { return };
            let Some(engineer) = dice.pick(&tables.serves[tables.problem.jobs[seed].building])
            else {
                return;
            };
            let r = tables.round(engineer, day as usize);
            let count = self.diary.rounds[r].stops.len();
            let most = if dice.below(3) == 0 {
                count
            } else {
                4.min(count)
            };
            let run = dice.below(most + 1);
            let begin = dice.below(count - run + 1);
            for _ in 0..run {
                if begin < self.diary.rounds[r].stops.len() {
                    self.diary.remove(r, begin);
                }
            }
        }
    }

    fn take(&mut self, job: usize) {
        let Some(r) = self.diary.places[job][0] else {
            return;
        };
        let stops = &self.diary.rounds[r].stops;
        if let Some(at) = stops.iter().position(|s| s.jobs.contains(&job)) {
            self.diary.remove(r, at);
        }
    }

    /// Puts absent jobs back: where they were, else with somebody else, else where there is room.
    fn recreate(&mut self, dice: &mut Dice) {
        let mut waiting = std::mem::take(&mut self.diary.absent);
        dice.shuffle(&mut waiting);
        let order = dice.below(3);
        // The hardest first; those that could stay first or last, by turns.
        waiting.sort_by_key(|j| {
            let open = self.diary.tables.open[*j].len() * self.diary.tables.leads[*j].len();
            match order {
                0 => (usize::from(self.was[*j].is_none()), 0),
                1 => (usize::from(self.was[*j].is_some()), open),
                _ => (0, open),
            }
        });
        let mut pushes = PUSHES;
        let mut queue: VecDeque<usize> = waiting.into();
        while let Some(job) = queue.pop_front() {
            let past = self.was[job].as_ref().is_some_and(|w| w.day < self.now);
            if past || self.diary.places[job][0].is_some() {
                continue;
            }
            let placed = self.stay(job, dice) || self.shift(job, dice);
            if !placed && pushes > 0 {
                pushes -= 1;
                self.push(job, dice);
                // The pushed out look for another place at once.
                queue.extend(self.diary.absent.drain(..));
            }
        }
        let places = &self.diary.places;
        self.diary.absent = (0..places.len())
            .filter(|j| places[*j][0].is_none())
            .collect();
    }

    /// Makes room by pushing visits out of one round in which the job could stand.
    fn push(&mut self, job: usize, dice: &mut Dice) {
        let tables = self.diary.tables;
        let open = tables.open[job].iter().filter(|d| **d as usize >= self.now);
        let days: Vec<u32> = open.copied().collect();
        let (Some(day), Some(engineer)) = (dice.pick(&days), dice.pick(&tables.leads[job])) else {
            return;
        };
        let (r, day) = (tables.round(engineer, day as usize), day as usize);
        let named = may_come(tables, &[job], day, engineer);
        let alone = tables.problem.jobs[job].crew == 1 && named && tables.shifts[r].is_some();
        let Some(starts) = tables.starts(&[job], day).filter(|_| alone) else {
            return;
        };
        let (place, length) = (tables.place(job), tables.length(&[job]));
        let mut begin = dice.below(self.diary.rounds[r].stops.len() + 1);
        loop {
            let round = &self.diary.rounds[r];
            begin = begin.min(round.stops.len());
            if let Some(gap) = round
                .gap(tables, begin, place, length, &starts)
                .filter(|_| self.diary.has_week(r, length))
            {
                self.diary.insert(r, gap.at, vec![job], starts);
                return;
            }
            if round.stops.is_empty() {
                return;
            }
            let at = if begin < round.stops.len() {
                begin
            } else {
                begin - 1
            };
            self.diary.remove(r, at);
        }
    }

    /// At its old minute, with its old engineer or another.
    fn stay(&mut self, job: usize, dice: &mut Dice) -> bool {
        let Some(was) = self.was[job].clone() else {
            return false;
        };
        let tables = self.diary.tables;
        let card = &tables.problem.jobs[job];
        if self.join(job, Some(&was)) || self.pin(&[job], was.day, was.start, &was.engineers, false)
        {
            return true;
        }
        let mut others = tables.serves[card.building].clone();
        dice.shuffle(&mut others);
        if card.crew == 1 {
            return others
                .iter()
                .any(|e| self.pin(&[job], was.day, was.start, &[*e], false));
        }
        others.iter().enumerate().any(|(i, a)| {
            others[i + 1..]
                .iter()
                .any(|b| self.pin(&[job], was.day, was.start, &[*a, *b], false))
        })
    }

    /// Into the visit of a flatmate: at the old minute of `was`, or at any.
    fn join(&mut self, job: usize, was: Option<&Was>) -> bool {
        let tables = self.diary.tables;
        let space = &tables.spaces[tables.space_of[job]];
        for &mate in space.iter().filter(|m| **m != job) {
            let Some(r) = self.diary.places[mate][0] else {
                continue;
            };
            let day = self.diary.day(r);
            let round = &self.diary.rounds[r];
            let Some(at) = round.stops.iter().position(|s| s.jobs.contains(&mate)) else {
                continue;
            };
            let stop = &round.stops[at];
            let there = was.is_none_or(|w| w.day == day && w.start == stop.early);
            if day < self.now || !there || !may_come(tables, &[job], day, self.diary.engineer(r)) {
                continue;
            }
            let mut jobs = stop.jobs.clone();
            jobs.push(job);
            let pinned = stop.starts.len() == 1 && stop.starts[0][0] == stop.starts[0][1];
            let starts: Option<Vec<Span>> = if pinned || was.is_some() {
                may_start(tables, &jobs, day, stop.early).then(|| vec![[stop.early, stop.early]])
            } else {
                tables.starts(&jobs, day)
            };
            let Some(starts) = starts else { continue };
            let length = tables.length(&jobs);
            let week = self.diary.has_week(r, length - stop.length);
            if week && round.stretches(tables, at, length, &starts) {
                self.diary.join(r, at, &[job], starts);
                return true;
            }
        }
        false
    }

    /// On any day from now on, at any minute, where it costs least.
    fn shift(&mut self, job: usize, dice: &mut Dice) -> bool {
        let now = self.now as u32;
        if self.join(job, None) {
            return true;
        }
        // Now and then only some of the days: the cheapest room is not always the one that helps.
        let share = if dice.below(3) == 0 { dice.unit() } else { 1.0 };
        let place = super::recreate::place_from(&self.diary, dice, job, now, share);
        match place {
            Some(place) => {
                super::recreate::settle(&mut self.diary, &[job], place);
                true
            }
            None => false,
        }
    }
}
