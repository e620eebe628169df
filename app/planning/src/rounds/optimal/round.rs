//! One engineer's day: visits in order, as early as they can be and as late as they may be.
use super::model::Span;
use super::tables::{Tables, first_start, last_start};

/// A visit in a round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stop {
    /// Jobs done.
    pub jobs: Vec<usize>,
    /// Row of the travel table.
    pub place: usize,
    /// Minutes it takes.
    pub length: i32,
    /// When it may start; empty = any time.
    pub starts: Vec<Span>,
    /// Start when everything before is as early as it can be.
    pub early: i32,
    /// Last start that lets everything after it happen.
    pub late: i32,
}

/// One engineer's day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Round {
    /// Place of the base.
    pub base: usize,
    /// Working time; `None` = not a working day.
    pub shift: Option<Span>,
    /// Visits in order.
    pub stops: Vec<Stop>,
    /// Minutes travelled.
    pub travel: i32,
    /// Minutes of visits.
    pub work: i32,
}

/// Where a visit could go in a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    /// Before the stop with this index.
    pub at: usize,
    /// More minutes travelled.
    pub detour: i32,
    /// First and last possible start (inside the visit's own starts).
    pub from: i32,
    /// Last possible start.
    pub until: i32,
}

impl Round {
    /// An empty day.
    pub fn empty(base: usize, shift: Option<Span>) -> Self {
        Self {
            base,
            shift,
            stops: Vec::new(),
            travel: 0,
            work: 0,
        }
    }

    /// Minutes of the shift neither travelled nor worked.
    pub fn slack(&self) -> i32 {
        let shift = self.shift.map_or(0, |s| s[1] - s[0]);
        shift - self.travel - self.work
    }

    fn place_before(&self, at: usize) -> usize {
        match at.checked_sub(1) {
            Some(before) => self.stops[before].place,
            None => self.base,
        }
    }

    fn place_at(&self, at: usize) -> usize {
        self.stops.get(at).map_or(self.base, |s| s.place)
    }

    /// Minute the engineer is free before the stop `at`.
    fn free_before(&self, at: usize) -> i32 {
        match at.checked_sub(1) {
            Some(before) => self.stops[before].early + self.stops[before].length,
            None => self.shift.map_or(0, |s| s[0]),
        }
    }

    /// Last minute by which the engineer must have come to the stop `at`, or home.
    fn due_at(&self, at: usize) -> i32 {
        let home = self.shift.map_or(0, |s| s[1]);
        self.stops.get(at).map_or(home, |s| s.late)
    }

    /// The gap before stop `at`, if a visit fits there.
    pub fn gap(
        &self,
        tables: &Tables<'_>,
        at: usize,
        place: usize,
        length: i32,
        starts: &[Span],
    ) -> Option<Gap> {
        let (before, after) = (self.place_before(at), self.place_at(at));
        let (there, onward) = (tables.way(before, place), tables.way(place, after));
        let from = first_start(starts, self.free_before(at) + there)?;
        let until = self.due_at(at) - onward - length;
        if from > until {
            return None;
        }
        let direct = if self.stops.is_empty() {
            0
        } else {
            tables.way(before, after)
        };
        Some(Gap {
            at,
            detour: there + onward - direct,
            from,
            until: last_start(starts, until)?,
        })
    }

    /// The gap with the shortest detour.
    pub fn best_gap(
        &self,
        tables: &Tables<'_>,
        place: usize,
        length: i32,
        starts: &[Span],
    ) -> Option<Gap> {
        if self.slack() < length {
            return None;
        }
        let mut best: Option<Gap> = None;
        for at in 0..=self.stops.len() {
            if let Some(gap) = self.gap(tables, at, place, length, starts)
                && best.is_none_or(|b| gap.detour < b.detour)
            {
                best = Some(gap);
                if gap.detour <= 0 {
                    break;
                }
            }
        }
        best
    }

    /// Whether the stop `at` could take so long, with these starts.
    pub fn stretches(&self, tables: &Tables<'_>, at: usize, length: i32, starts: &[Span]) -> bool {
        let place = self.stops[at].place;
        let there = tables.way(self.place_before(at), place);
        let onward = tables.way(place, self.place_at(at + 1));
        first_start(starts, self.free_before(at) + there)
            .is_some_and(|start| start + length + onward <= self.due_at(at + 1))
    }

    /// Puts a visit in.
    pub fn insert(&mut self, tables: &Tables<'_>, at: usize, stop: Stop) {
        self.stops.insert(at, stop);
        self.renew(tables);
    }

    /// Takes a visit out.
    pub fn remove(&mut self, tables: &Tables<'_>, at: usize) -> Stop {
        let stop = self.stops.remove(at);
        self.renew(tables);
        stop
    }

    /// Recomputes starts and sums.
    pub fn renew(&mut self, tables: &Tables<'_>) {
        let [open, close] = self.shift.unwrap_or([0, 0]);
        let (mut here, mut free) = (self.base, open);
        self.travel = 0;
        self.work = 0;
        for stop in &mut self.stops {
            let way = tables.way(here, stop.place);
            self.travel += way;
            self.work += stop.length;
            stop.early = first_start(&stop.starts, free + way).unwrap_or(free + way);
            here = stop.place;
            free = stop.early + stop.length;
        }
        if !self.stops.is_empty() {
            self.travel += tables.way(here, self.base);
        }
        let (mut next, mut due) = (self.base, close);
        for stop in self.stops.iter_mut().rev() {
            let until = due - tables.way(stop.place, next) - stop.length;
            stop.late = last_start(&stop.starts, until).unwrap_or(i32::MIN / 2);
            next = stop.place;
            due = stop.late;
        }
    }
}
