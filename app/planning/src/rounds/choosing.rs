//! Where a job may go, and which of those places is worth most.
use chrono::NaiveDate;

use super::diary::Slot;
use super::plain::Work;
use super::{PlannedJob, WhyNot};

/// Days at the end of a window kept for a second attempt: so many, but no more than the window over so
/// much.
const KEPT_BACK: (i64, i64) = (14, 4);

impl Work<'_> {
    /// The working days of the job's window inside the horizon.
    pub(super) fn days(&self, job: &PlannedJob) -> Result<Vec<NaiveDate>, WhyNot> {
        let (opens, deadline) = (job.first_day(), job.deadline);
        if opens > deadline {
            let (first, last) = (opens, deadline);
            return Err(WhyNot::WindowShut { first, last });
        }
        if deadline < self.input.from {
            let days = (self.input.from - deadline).num_days();
            return Err(WhyNot::LateAlready { deadline, days });
        }
        if opens > self.input.until {
            return Err(WhyNot::OpensLater { first: opens });
        }
        let first = opens.max(self.input.from);
        let last = deadline.min(self.input.until);
        let days: Vec<NaiveDate> = first
            .iter_days()
            .take_while(|day| *day <= last)
            .filter(|day| self.input.anybody_works(*day))
            .collect();
        if days.is_empty() {
            return Err(WhyNot::NoWorkingDay { first, last });
        }
        Ok(days)
    }

    /// Engineers who may come, the least qualified first.
    pub(super) fn people(&self, job: &PlannedJob) -> Vec<usize> {
        let engineers = &self.input.engineers;
        let mut people: Vec<usize> = (0..engineers.len())
            .filter(|e| self.diary.may_come(&engineers[*e], job))
            .collect();
        people.sort_by_key(|e| (engineers[*e].qualifications.len(), engineers[*e].id));
        people
    }

    /// The longest visit any of these can make: a day's hours, or what their week leaves.
    pub(super) fn longest_visit(&self, people: &[usize]) -> u32 {
        let week = people.iter().map(|e| self.diary.week_given(*e)).max();
        let way = self.input.hours.way_inside;
        let in_week = week.unwrap_or(0).saturating_sub(way);
        self.input.longest_day().min(in_week)
    }

    pub(super) fn find_room(&self, job: usize) -> Result<Slot, WhyNot> {
        let what = &self.input.jobs[job];
        let days = self.days(what)?;
        let mut people = self.people(what);
        people.retain(|e| {
            let who = &self.input.engineers[*e];
            days.iter().any(|day| who.covers(&what.needs, *day))
        });
        if people.is_empty() {
            let needs = what.needs.clone();
            return Err(WhyNot::NobodyQualified { needs });
        }
        let longest = self.longest_visit(&people);
        if what.minutes > longest {
            let minutes = what.minutes;
            return Err(WhyNot::TooLong { minutes, longest });
        }
        if let Some(slot) = self.best_of(&days, job, &people) {
            return Ok(slot);
        }
        if let Some(why) = self.shut_out(job, &days, &people) {
            return Err(why);
        }
        Err(WhyNot::HoursFull {
            minutes: what.minutes,
            days: days.len() as u32,
            engineers: people.len() as u32,
        })
    }

    /// What keeps the job from every one of its days, however empty they were.
    fn shut_out(&self, job: usize, days: &[NaiveDate], people: &[usize]) -> Option<WhyNot> {
        let what = &self.input.jobs[job];
        let open = |day: &&NaiveDate| !self.input.open_times(what, **day).is_empty();
        let open: Vec<NaiveDate> = days.iter().filter(open).copied().collect();
        if open.is_empty() {
            let asked =
                what.demands.heat_off && days.iter().all(|day| self.input.is_heating_day(*day));
            return Some(if asked {
                WhyNot::HeatingSeason
            } else {
                WhyNot::NoAccess
            });
        }
        let engineers = &self.input.engineers;
        let (mut fits, mut paired) = (false, !what.demands.pair);
        for day in &open {
            let at_work = |e: &usize| self.input.shift(&engineers[*e], *day);
            for lead in people {
                let Some(shift) = at_work(lead) else { continue };
                let spans = self.input.open_times(what, *day).into_iter();
                fits |= spans
                    .map(|s| (s.0.max(shift.0), s.1.min(shift.1)))
                    .any(|s| s.0.saturating_add(what.minutes) <= s.1);
                paired |= (0..engineers.len()).any(|e| {
                    e != *lead
                        && engineers[e].firm == engineers[*lead].firm
                        && at_work(&e).is_some()
                });
            }
        }
        let anybody = people.iter().any(|e| {
            open.iter()
                .any(|d| self.input.shift(&engineers[*e], *d).is_some())
        });
        match (anybody, fits, paired) {
            (true, false, _) => Some(WhyNot::NoAccess),
            (true, _, false) => Some(WhyNot::NoPair),
            _ => None,
        }
    }

    /// The day most worth taking among those with room; days kept back only if there is no other.
    pub(super) fn best_of(&self, days: &[NaiveDate], job: usize, people: &[usize]) -> Option<Slot> {
        let what = &self.input.jobs[job];
        let window = (what.deadline - what.first_day()).num_days();
        let kept_back = KEPT_BACK.0.min(window / KEPT_BACK.1);
        let mut best: Option<(bool, f64, Slot)> = None;
        for day in days {
            let Some(slot) = self.room_on(*day, job, people) else {
                continue;
            };
            let safe = (what.deadline - *day).num_days() >= kept_back;
            let worth = self.worth(slot, job);
            let better = best.is_none_or(|(before, least, _)| {
                (safe && !before) || (safe == before && worth > least)
            });
            if better {
                best = Some((safe, worth, slot));
            }
        }
        best.map(|(.., slot)| slot)
    }

    /// Attendances saved by this day: one when the engineer is in the building anyway, one for each open
    /// job there that could join, as far as the day's minutes go; less the harm of the wait.
    pub(super) fn worth(&self, slot: Slot, job: usize) -> f64 {
        let what = &self.input.jobs[job];
        let who = &self.input.engineers[slot.engineer];
        let way = self.input.hours.way_inside;
        let mut left = self.diary.minutes_left(slot.engineer, slot.day);
        left = left.saturating_sub(what.minutes + way);
        let mut joined = u32::from(self.diary.is_there(slot.engineer, slot.day, job));
        for turn in self.by_building.get(&what.building).into_iter().flatten() {
            let other = &self.input.jobs[turn.4];
            let inside = other.first_day() <= slot.day && slot.day <= other.deadline;
            let able =
                inside && who.covers(&other.needs, slot.day) && self.diary.may_come(who, other);
            let same = what.demands.space.is_some() && what.demands.space == other.demands.space;
            let takes = other.minutes.saturating_add(if same { 0 } else { way });
            if able && takes <= left {
                left -= takes;
                joined += 1;
            }
        }
        let waited = (slot.day - what.first_day().max(self.input.from)).num_days();
        f64::from(joined) - what.risk_weight.max(0.0) * waited as f64
    }

    /// Room on one day: with who is in the building anyway first, then in the order of the people.
    pub(super) fn room_on(&self, day: NaiveDate, job: usize, people: &[usize]) -> Option<Slot> {
        let there = people
            .iter()
            .copied()
            .filter(|e| self.diary.is_there(*e, day, job));
        there
            .chain(people.iter().copied())
            .find_map(|engineer| self.diary.slot_on(engineer, day, job))
    }

    /// First day from today, or from when it may be done, on which somebody has room.
    pub(super) fn first_room(&self, job: usize, why: &WhyNot) -> Option<NaiveDate> {
        if matches!(why, WhyNot::OpensLater { .. } | WhyNot::TooLong { .. }) {
            return None;
        }
        let what = &self.input.jobs[job];
        let people = self.people(what);
        what.first_day()
            .max(self.input.from)
            .iter_days()
            .take_while(|day| *day <= self.input.until)
            .find(|day| {
                people
                    .iter()
                    .any(|e| self.diary.slot_on(*e, *day, job).is_some())
            })
    }
}
