//! A plan being mended: what stays, what it counts, what is taken out.
use std::collections::BTreeMap;

use super::diary::Diary;
use super::model::{MoveCosts, Visit};
use super::replan::Was;
use super::tables::{Tables, first_start};
use crate::dice::Dice;

/// A plan being mended.
pub struct Mend<'a> {
    pub diary: Diary<'a>,
    pub was: Vec<Option<Was>>,
    pub costs: MoveCosts,
    pub now: usize,
}

/// Whether a visit of these jobs may start at this minute.
pub fn may_start(tables: &Tables<'_>, jobs: &[usize], day: usize, start: i32) -> bool {
    let starts = tables.starts(jobs, day);
    starts.is_some_and(|s| first_start(&s, start) == Some(start))
}

/// Whether an engineer may do these jobs on a day.
pub fn may_come(tables: &Tables<'_>, jobs: &[usize], day: usize, engineer: usize) -> bool {
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
    pub fn keep(&mut self, before: &[Visit]) {
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
    pub fn pin(
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
            (Some(is), Some(was)) if (is.day, is.start) != (was.day, was.start) => self.costs.shift,
            (Some(is), Some(was)) if is.engineers != was.engineers => self.costs.swap,
            _ => 0,
        }
    }

    pub fn points(&self) -> i64 {
        (0..self.was.len()).map(|job| self.job_points(job)).sum()
    }

    /// Takes out what stands in the way of a job that is absent or moved, and some around it.
    pub fn ruin(&mut self, dice: &mut Dice) {
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
}
