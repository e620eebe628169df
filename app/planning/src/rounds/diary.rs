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

/// Where a job stands in the diary: who (place in the input's list), when.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Slot {
    pub engineer: usize,
    pub day: NaiveDate,
    pub start: u32,
}

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

    /// What the visit takes of a week.
    fn weight(&self, job: &PlannedJob) -> u32 {
        job.minutes.saturating_add(self.input.hours.way_inside)
    }

    /// The earliest start at which the job fits this engineer's day, all rules but the job's window
    /// being kept.
    pub fn start_on(&self, engineer: usize, day: NaiveDate, job: usize) -> Option<u32> {
        let (who, what) = (&self.input.engineers[engineer], &self.input.jobs[job]);
        let open = self.input.is_working_day(day) && !who.away.contains(&day);
        if !open || !who.covers(&what.needs, day) || !self.week_holds(engineer, day, what) {
            return None;
        }
        self.gap_on(engineer, day, what)
    }

    /// Whether the job can stand at exactly this start, all rules but its window being kept.
    pub fn holds_at(&self, engineer: usize, day: NaiveDate, job: usize, start: u32) -> bool {
        let (who, what) = (&self.input.engineers[engineer], &self.input.jobs[job]);
        let hours = self.input.hours;
        let end = start.saturating_add(what.minutes);
        let apart = self.entries(engineer, day).iter().all(|entry| {
            let way = self.way(what, entry.job);
            end.saturating_add(way) <= entry.start || entry.end.saturating_add(way) <= start
        });
        let open = self.input.is_working_day(day) && !who.away.contains(&day);
        open && apart
            && start >= hours.from_minute
            && end <= hours.to_minute
            && who.covers(&what.needs, day)
            && self.week_holds(engineer, day, what)
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
        let used: u32 = self
            .entries(engineer, day)
            .iter()
            .map(|entry| entry.end - entry.start + self.input.hours.way_inside)
            .sum();
        let firm = self.firms.get(&who.firm).map_or(0, |f| f.minutes_a_week);
        let of_firm = self.firm_weeks.get(&(who.firm, week)).copied().unwrap_or(0);
        let own = self.engineer_weeks.get(&(engineer, week)).copied();
        (self.input.longest_day() + self.input.hours.way_inside)
            .saturating_sub(used)
            .min(firm.saturating_sub(of_firm))
            .min(who.minutes_a_week.saturating_sub(own.unwrap_or(0)))
    }

    fn week_holds(&self, engineer: usize, day: NaiveDate, job: &PlannedJob) -> bool {
        let who = &self.input.engineers[engineer];
        let (week, weight) = (week_of(day), self.weight(job));
        let own = self.engineer_weeks.get(&(engineer, week)).copied();
        let firm = self.firm_weeks.get(&(who.firm, week)).copied();
        let given = self.firms.get(&who.firm).map_or(0, |f| f.minutes_a_week);
        own.unwrap_or(0).saturating_add(weight) <= who.minutes_a_week
            && firm.unwrap_or(0).saturating_add(weight) <= given
    }

    fn gap_on(&self, engineer: usize, day: NaiveDate, job: &PlannedJob) -> Option<u32> {
        let hours = self.input.hours;
        let mut start = hours.from_minute;
        for entry in self.entries(engineer, day) {
            let way = self.way(job, entry.job);
            if start.saturating_add(job.minutes).saturating_add(way) <= entry.start {
                break;
            }
            start = start.max(entry.end.saturating_add(way));
        }
        (start.saturating_add(job.minutes) <= hours.to_minute).then_some(start)
    }

    fn way(&self, job: &PlannedJob, other: usize) -> u32 {
        if self.input.jobs[other].building == job.building {
            self.input.hours.way_inside
        } else {
            self.input.hours.way_between
        }
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
        let day = self.days.entry((slot.engineer, slot.day)).or_default();
        let place = day.partition_point(|e| (e.start, e.job) < (entry.start, entry.job));
        day.insert(place, entry);
        let (week, weight) = (week_of(slot.day), self.weight(what));
        let firm = self.input.engineers[slot.engineer].firm;
        *self.firm_weeks.entry((firm, week)).or_default() += weight;
        *self
            .engineer_weeks
            .entry((slot.engineer, week))
            .or_default() += weight;
        self.slots[job] = Some(slot);
    }

    /// Takes the visit out.
    pub fn take(&mut self, job: usize) -> Option<Slot> {
        let slot = self.slots[job].take()?;
        if let Some(day) = self.days.get_mut(&(slot.engineer, slot.day)) {
            day.retain(|entry| entry.job != job);
        }
        let (week, weight) = (week_of(slot.day), self.weight(&self.input.jobs[job]));
        let firm = self.input.engineers[slot.engineer].firm;
        if let Some(minutes) = self.firm_weeks.get_mut(&(firm, week)) {
            *minutes = minutes.saturating_sub(weight);
        }
        if let Some(minutes) = self.engineer_weeks.get_mut(&(slot.engineer, week)) {
            *minutes = minutes.saturating_sub(weight);
        }
        Some(slot)
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
