//! Absent jobs of a plan being mended go back: where they were, else where there is room.
use std::collections::VecDeque;

use super::mend::{Mend, may_come, may_start};
use super::model::Span;
use super::recreate::{place_from, settle};
use super::replan::Was;
use crate::dice::Dice;

/// Jobs in one trial that may push others out.
const PUSHES: u32 = 4;

impl Mend<'_> {
    /// Puts absent jobs back: where they were, else with somebody else, else where there is room.
    pub fn recreate(&mut self, dice: &mut Dice) {
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
        let place = place_from(&self.diary, dice, job, now, share);
        match place {
            Some(place) => {
                settle(&mut self.diary, &[job], place);
                true
            }
            None => false,
        }
    }
}
