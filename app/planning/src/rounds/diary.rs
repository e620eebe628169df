//! The engineers' days while they fill up.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use terms::{EngineerId, FirmId};

use super::{Placed, PlannedEngineer, PlannedFirm, PlannedJob, RoundInput, week_of};

/// A visit in the diary; `job` is a place in the input's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Entry {
    pub start: u32,
    pub end: u32,
    pub job: usize,
}

/// Where a job stands in the diary: who (places in the input's list), when.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Slot {
    pub engineer: usize,
    pub day: NaiveDate,
    pub start: u32,
    pub second: Option<usize>,
}

impl Slot {
    /// One, or two.
    pub fn people(&self) -> impl Iterator<Item = usize> {
        [Some(self.engineer), self.second].into_iter().flatten()
    }
}

/// Minutes between two starts that are tried for two people at once.
const STEP: usize = 5;

pub(super) struct Diary<'a> {
    pub input: &'a RoundInput,
    firms: BTreeMap<FirmId, &'a PlannedFirm>,
    days: BTreeMap<(usize, NaiveDate), Vec<Entry>>,
    firm_weeks: BTreeMap<(FirmId, NaiveDate), u32>,
    engineer_weeks: BTreeMap<(usize, NaiveDate), u32>,
    /// One a job of the input.
    pub slots: Vec<Option<Slot>>,
}

impl<'a> Diary<'a> {
    pub fn of(input: &'a RoundInput) -> Self {
        Self {
            input,
            firms: input.firms.iter().map(|f| (f.id, f)).collect(),
            days: BTreeMap::new(),
            firm_weeks: BTreeMap::new(),
            engineer_weeks: BTreeMap::new(),
            slots: vec![None; input.jobs.len()],
        }
    }

    /// Whether this engineer may do this job at all, qualifications on a day left aside.
    pub fn may_come(&self, engineer: &PlannedEngineer, job: &PlannedJob) -> bool {
        let served = self.firms.get(&engineer.firm).is_some_and(|firm| {
            firm.buildings
                .as_ref()
                .is_none_or(|list| list.contains(&job.building))
        });
        served && job.firm.is_none_or(|firm| firm == engineer.firm)
    }

    /// Where the job fits this engineer's day first, in one visit with what is done in its space if it can be; all
    /// rules but the job's window being kept. A two-person job takes somebody of the same firm along.
    pub fn slot_on(&self, engineer: usize, day: NaiveDate, job: usize) -> Option<Slot> {
        let what = &self.input.jobs[job];
        let shift = self.input.shift(&self.input.engineers[engineer], day)?;
        let covers = self.input.engineers[engineer].covers(&what.needs, day);
        if !covers || what.minutes > shift.1.saturating_sub(shift.0) {
            return None;
        }
        if what.demands.pair {
            return self.pair_on(engineer, day, (job, shift));
        }
        let (mut joining, mut free) = (Vec::new(), Vec::new());
        for (from, until) in self.input.open_times(what, day) {
            let from = from.max(shift.0);
            if from.saturating_add(what.minutes) <= until.min(shift.1) {
                free.push(from);
            }
        }
        for entry in self.entries(engineer, day) {
            if self.joins(what, entry.job) {
                joining.push(entry.end);
                // A promise begins its visit: what joins it comes after.
                if self.input.jobs[entry.job].promise.is_none() {
                    joining.extend(entry.start.checked_sub(what.minutes));
                }
            }
            free.push(entry.end.saturating_add(self.way(what, entry.job)));
        }
        joining.sort_unstable();
        free.sort_unstable();
        let start = joining
            .into_iter()
            .chain(free)
            .find(|start| self.fits(engineer, day, job, *start))?;
        Some(Slot {
            engineer,
            day,
            start,
            second: None,
        })
    }

    fn pair_on(
        &self,
        engineer: usize,
        day: NaiveDate,
        (job, shift): (usize, (u32, u32)),
    ) -> Option<Slot> {
        let firm = self.input.engineers[engineer].firm;
        let mates: Vec<usize> = (0..self.input.engineers.len())
            .filter(|e| *e != engineer && self.input.engineers[*e].firm == firm)
            .collect();
        (shift.0..=shift.1)
            .step_by(STEP)
            .filter(|start| self.fits(engineer, day, job, *start))
            .find_map(|start| {
                let second = mates.iter().find(|e| self.fits(**e, day, job, start))?;
                Some(Slot {
                    engineer,
                    day,
                    start,
                    second: Some(*second),
                })
            })
    }

    /// Whether the job can stand exactly here, all rules but its window being kept.
    pub fn holds(&self, slot: Slot, job: usize) -> bool {
        let what = &self.input.jobs[job];
        let covers = |e: usize| self.input.engineers[e].covers(&what.needs, slot.day);
        let firm = |e: usize| self.input.engineers[e].firm;
        let together = match slot.second {
            None => !what.demands.pair,
            Some(second) => {
                what.demands.pair && second != slot.engineer && firm(second) == firm(slot.engineer)
            }
        };
        together
            && slot.people().any(covers)
            && slot
                .people()
                .all(|e| self.fits(e, slot.day, job, slot.start))
    }

    /// Whether hours, access, ways and the week leave room at this start; qualifications are left aside.
    fn fits(&self, engineer: usize, day: NaiveDate, job: usize, start: u32) -> bool {
        let (who, what) = (&self.input.engineers[engineer], &self.input.jobs[job]);
        let end = start.saturating_add(what.minutes);
        let inside = |span: (u32, u32)| span.0 <= start && end <= span.1;
        if !self.input.shift(who, day).is_some_and(inside) {
            return false;
        }
        let mut joined = 0;
        for entry in self.entries(engineer, day) {
            if self.joins(what, entry.job) && (entry.end == start || end == entry.start) {
                joined += 1;
                continue;
            }
            let way = self.way(what, entry.job);
            let apart =
                end.saturating_add(way) <= entry.start || entry.end.saturating_add(way) <= start;
            if !apart {
                return false;
            }
        }
        let way = i64::from(self.input.hours.way_inside);
        let more = i64::from(what.minutes) + way * (1 - joined);
        let people = if what.demands.pair { 2 } else { 1 };
        self.week_holds(engineer, day, (more, people))
            && self.input.open_times(what, day).into_iter().any(inside)
    }

    /// Whether the two can be one visit: both alone in one space.
    fn joins(&self, job: &PlannedJob, other: usize) -> bool {
        let other = &self.input.jobs[other].demands;
        let asks = &job.demands;
        asks.space.is_some() && asks.space == other.space && !asks.pair && !other.pair
    }

    /// Minutes a day takes of its week: the work, and a way to every visit.
    fn day_weight(&self, engineer: usize, day: NaiveDate) -> u32 {
        let mut minutes = 0u32;
        let mut before: Option<&Entry> = None;
        for entry in self.entries(engineer, day) {
            let joined = before.is_some_and(|b| {
                b.end == entry.start && self.joins(&self.input.jobs[entry.job], b.job)
            });
            minutes = minutes.saturating_add(entry.end - entry.start);
            if !joined {
                minutes = minutes.saturating_add(self.input.hours.way_inside);
            }
            before = Some(entry);
        }
        minutes
    }

    /// Whether a visit lies between two others of its space: taking it out would tear a visit in two.
    pub fn lies_between(&self, engineer: usize, day: NaiveDate, job: usize) -> bool {
        let entries = self.entries(engineer, day);
        entries.windows(3).any(|three| {
            let what = &self.input.jobs[three[1].job];
            three[1].job == job && self.joins(what, three[0].job) && self.joins(what, three[2].job)
        })
    }

    /// Minutes of a week this engineer can give: their own, and the firm's.
    pub fn week_given(&self, engineer: usize) -> u32 {
        let who = &self.input.engineers[engineer];
        let firm = self.firms.get(&who.firm).map_or(0, |f| f.minutes_a_week);
        who.minutes_a_week.min(firm)
    }

    /// Minutes the engineer still has on the day: of the day, of their week and of the firm's.
    pub fn minutes_left(&self, engineer: usize, day: NaiveDate) -> u32 {
        let (who, week) = (&self.input.engineers[engineer], week_of(day));
        let used = self.day_weight(engineer, day);
        let hours = self
            .input
            .shift(who, day)
            .map_or(0, |s| s.1.saturating_sub(s.0));
        let firm = self.firms.get(&who.firm).map_or(0, |f| f.minutes_a_week);
        let of_week = self.input.week_of_engineer(who, firm, week);
        let of_firm = self.firm_weeks.get(&(who.firm, week)).copied().unwrap_or(0);
        let own = self.engineer_weeks.get(&(engineer, week)).copied();
        (hours + self.input.hours.way_inside)
            .saturating_sub(used)
            .min(of_week.0.saturating_sub(of_firm))
            .min(of_week.1.saturating_sub(own.unwrap_or(0)))
    }

    fn week_holds(&self, engineer: usize, day: NaiveDate, (more, people): (i64, i64)) -> bool {
        let who = &self.input.engineers[engineer];
        let week = week_of(day);
        let own = self.engineer_weeks.get(&(engineer, week)).copied();
        let firm = self.firm_weeks.get(&(who.firm, week)).copied();
        let given = self.firms.get(&who.firm).map_or(0, |f| f.minutes_a_week);
        let (given, mine) = self.input.week_of_engineer(who, given, week);
        i64::from(own.unwrap_or(0)) + more <= i64::from(mine)
            && i64::from(firm.unwrap_or(0)) + more * people <= i64::from(given)
    }

    fn way(&self, job: &PlannedJob, other: usize) -> u32 {
        self.input
            .way(self.input.jobs[other].building, job.building)
    }

    /// The visits of a day by start.
    pub fn entries(&self, engineer: usize, day: NaiveDate) -> &[Entry] {
        self.days.get(&(engineer, day)).map_or(&[], Vec::as_slice)
    }

    /// Whether the engineer comes to the job's building on the day anyway.
    pub fn is_there(&self, engineer: usize, day: NaiveDate, job: usize) -> bool {
        let building = self.input.jobs[job].building;
        self.entries(engineer, day)
            .iter()
            .any(|entry| self.input.jobs[entry.job].building == building)
    }

    /// Writes the visit in, whatever the rules say.
    pub fn put(&mut self, slot: Slot, job: usize) {
        let what = &self.input.jobs[job];
        let entry = Entry {
            start: slot.start,
            end: slot.start.saturating_add(what.minutes),
            job,
        };
        for engineer in slot.people() {
            let before = self.day_weight(engineer, slot.day);
            let day = self.days.entry((engineer, slot.day)).or_default();
            let place = day.partition_point(|e| (e.start, e.job) < (entry.start, entry.job));
            day.insert(place, entry);
            self.weigh(engineer, slot.day, before);
        }
        self.slots[job] = Some(slot);
    }

    /// Takes the visit out.
    pub fn take(&mut self, job: usize) -> Option<Slot> {
        let slot = self.slots[job].take()?;
        for engineer in slot.people() {
            let before = self.day_weight(engineer, slot.day);
            if let Some(day) = self.days.get_mut(&(engineer, slot.day)) {
                day.retain(|entry| entry.job != job);
            }
            self.weigh(engineer, slot.day, before);
        }
        Some(slot)
    }

    /// The weeks after a day changed that weighed `before`.
    fn weigh(&mut self, engineer: usize, day: NaiveDate, before: u32) {
        let (week, now) = (week_of(day), self.day_weight(engineer, day));
        let firm = self.input.engineers[engineer].firm;
        for minutes in [
            self.firm_weeks.entry((firm, week)).or_default(),
            self.engineer_weeks.entry((engineer, week)).or_default(),
        ] {
            *minutes = minutes.saturating_add(now).saturating_sub(before);
        }
    }

    /// Every visit by day, engineer and start.
    pub fn placed(&self) -> Vec<Placed> {
        let mut all: Vec<Placed> = self
            .slots
            .iter()
            .zip(&self.input.jobs)
            .filter_map(|(slot, job)| {
                let slot = (*slot)?;
                let who = &self.input.engineers[slot.engineer];
                Some(Placed {
                    day: slot.day,
                    engineer: who.id,
                    start_minute: slot.start,
                    firm: who.firm,
                    job: job.id,
                    second: slot.second.map(|e| self.input.engineers[e].id),
                })
            })
            .collect();
        all.sort_unstable();
        all
    }

    /// The engineer's place in the list.
    pub fn engineer(&self, id: EngineerId) -> Option<usize> {
        self.input.engineers.iter().position(|e| e.id == id)
    }
}
