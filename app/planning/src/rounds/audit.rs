//! Checks a plan against the rules, from the rules alone; shares nothing with the method.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};
use terms::{EngineerId, FirmId, JobId};

use super::{Placed, PlannedEngineer, PlannedFirm, PlannedJob, RoundInput, RoundPlan};

/// Which rule a plan breaks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// Visit for a job that is not in the input.
    JobUnknown,
    /// Two visits for one job, or one placed and unplaced.
    JobTwice,
    /// Neither placed nor said to be unplaced.
    JobLost,
    /// By an engineer who is not in the input, or not of that firm.
    EngineerUnknown,
    /// The firm does not serve the building, or the job is for another firm.
    WrongFirm,
    /// Before its window, before it may be done, after its deadline, or outside the horizon.
    OutsideWindow,
    /// Saturday, Sunday, bank holiday or a day off.
    NotWorking,
    /// Starts before or ends after the working day.
    OutsideHours,
    /// Nobody opens then.
    NoAccess,
    /// Work outside that begins before or ends after daylight.
    Dark,
    /// Heat goes off inside the heating season.
    HeatOff,
    /// A two-person job without two different people of one firm, or two for a job of one.
    NotTogether,
    /// A qualification is missing on the day.
    NotQualified,
    /// Starts before the engineer can be there.
    Overlap,
    /// A promised visit was moved or left out.
    PromiseBroken,
    /// More of a firm's week than it gives.
    FirmOver {
        /// The firm.
        firm: FirmId,
        /// Monday of the week.
        week: NaiveDate,
        /// Minutes planned.
        minutes: u32,
        /// Minutes given.
        given: u32,
    },
    /// More of an engineer's week than they work.
    EngineerOver {
        /// Who.
        engineer: EngineerId,
        /// Monday of the week.
        week: NaiveDate,
        /// Minutes planned.
        minutes: u32,
        /// Minutes worked.
        given: u32,
    },
}

/// One breach.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Breach {
    /// The job, where one job breaks the rule.
    pub job: Option<JobId>,
    /// Whether the visit was promised: then a person must settle it, not the planner.
    pub promised: bool,
    /// The rule.
    pub rule: Rule,
}

struct Auditor<'a> {
    input: &'a RoundInput,
    jobs: BTreeMap<JobId, &'a PlannedJob>,
    engineers: BTreeMap<EngineerId, &'a PlannedEngineer>,
    firms: BTreeMap<FirmId, &'a PlannedFirm>,
    breaches: Vec<Breach>,
}

/// Every rule the plan breaks; empty = a plan that can be offered.
pub fn audit(input: &RoundInput, plan: &RoundPlan) -> Vec<Breach> {
    let mut auditor = Auditor {
        input,
        jobs: input.jobs.iter().map(|j| (j.id, j)).collect(),
        engineers: input.engineers.iter().map(|e| (e.id, e)).collect(),
        firms: input.firms.iter().map(|f| (f.id, f)).collect(),
        breaches: Vec::new(),
    };
    auditor.each_once(plan);
    for visit in &plan.placed {
        auditor.visit(visit);
    }
    auditor.ways(&plan.placed);
    auditor.weeks(&plan.placed);
    auditor.breaches
}

impl Auditor<'_> {
    fn note(&mut self, job: Option<JobId>, rule: Rule) {
        let promised = job
            .and_then(|id| self.jobs.get(&id))
            .is_some_and(|j| j.promise.is_some());
        self.breaches.push(Breach {
            job,
            promised,
            rule,
        });
    }

    fn each_once(&mut self, plan: &RoundPlan) {
        let mut seen = BTreeSet::new();
        let named = plan
            .placed
            .iter()
            .map(|v| v.job)
            .chain(plan.unplaced.iter().map(|u| u.job));
        for job in named {
            if !self.jobs.contains_key(&job) {
                self.note(Some(job), Rule::JobUnknown);
            } else if !seen.insert(job) {
                self.note(Some(job), Rule::JobTwice);
            }
        }
        let lost: Vec<JobId> = self
            .jobs
            .keys()
            .copied()
            .filter(|job| !seen.contains(job))
            .collect();
        for job in lost {
            self.note(Some(job), Rule::JobLost);
        }
        let kept: BTreeSet<_> = plan
            .placed
            .iter()
            .map(|v| {
                (
                    (v.job, v.day, v.start_minute),
                    (v.firm, v.engineer, v.second),
                )
            })
            .collect();
        let broken: Vec<JobId> = self
            .jobs
            .values()
            .filter_map(|job| {
                let p = job.promise?;
                let key = (
                    (job.id, p.day, p.start_minute),
                    (p.firm, p.engineer, p.second),
                );
                (!kept.contains(&key)).then_some(job.id)
            })
            .collect();
        for job in broken {
            self.note(Some(job), Rule::PromiseBroken);
        }
    }

    fn visit(&mut self, visit: &Placed) {
        let Some(job) = self.jobs.get(&visit.job).copied() else {
            return;
        };
        let id = Some(job.id);
        let day = visit.day;
        let early = day < job.window_first
            || day < self.input.from
            || job.not_before.is_some_and(|first| day < first);
        if early || day > job.deadline || day > self.input.until {
            self.note(id, Rule::OutsideWindow);
        }
        self.day_of(visit, job);
        let elsewhere = self.firms.get(&visit.firm).is_none_or(|firm| {
            firm.buildings
                .as_ref()
                .is_some_and(|list| !list.contains(&job.building))
        });
        if elsewhere || job.firm.is_some_and(|firm| firm != visit.firm) {
            self.note(id, Rule::WrongFirm);
        }
        let Some(who) = self.engineers.get(&visit.engineer).copied() else {
            self.note(id, Rule::EngineerUnknown);
            return;
        };
        if who.firm != visit.firm {
            self.note(id, Rule::EngineerUnknown);
        }
        let mut people = vec![who];
        match visit
            .second
            .map(|second| self.engineers.get(&second).copied())
        {
            None if job.demands.pair => self.note(id, Rule::NotTogether),
            None => {}
            Some(None) => self.note(id, Rule::EngineerUnknown),
            Some(Some(second)) => {
                if !job.demands.pair || second.id == who.id || second.firm != who.firm {
                    self.note(id, Rule::NotTogether);
                }
                people.push(second);
            }
        }
        for one in &people {
            self.hours_of(one, visit, job);
        }
        // One of them holds all that is needed.
        let able = people.iter().any(|one| {
            job.needs.iter().all(|need| {
                let mut held = one.qualifications.iter();
                held.any(|q| q.covers == *need && (q.from_on..=q.until_on).contains(&day))
            })
        });
        if !able {
            self.note(id, Rule::NotQualified);
        }
    }

    /// Weekday, access, light and heating season of the job itself.
    fn day_of(&mut self, visit: &Placed, job: &PlannedJob) {
        let (id, day, asks) = (Some(job.id), visit.day, &job.demands);
        let end = visit.start_minute.saturating_add(job.minutes);
        let weekday = day.weekday().num_days_from_monday();
        let shut = !asks.weekdays.is_empty() && !asks.weekdays.contains(&weekday);
        let within = |from: u32, until: u32| from <= visit.start_minute && end <= until;
        if shut || !(asks.slots.is_empty() || asks.slots.iter().any(|s| within(s.0, s.1))) {
            self.note(id, Rule::NoAccess);
        }
        let sun = self.input.daylight.get(&day).copied();
        if asks.daylight && sun.is_some_and(|(rise, set)| !within(rise, set)) {
            self.note(id, Rule::Dark);
        }
        let mut seasons = self.input.heating_seasons.iter();
        if asks.heat_off && seasons.any(|(first, last)| (*first..=*last).contains(&day)) {
            self.note(id, Rule::HeatOff);
        }
    }

    /// One engineer's hours: the firm's of that weekday, or their own of that day.
    fn hours_of(&mut self, who: &PlannedEngineer, visit: &Placed, job: &PlannedJob) {
        let (id, day) = (Some(job.id), visit.day);
        let weekday = day.weekday().num_days_from_monday() as usize;
        let usual = (self.input.hours.from_minute, self.input.hours.to_minute);
        let firm = self.firms.get(&who.firm);
        let stated = firm.and_then(|f| f.week.as_ref());
        let of_firm = match stated {
            Some(week) => week[weekday],
            None => (weekday < 5).then_some(usual),
        };
        let idle = self.input.bank_holidays.contains(&day) || who.away.contains(&day);
        let Some(hours) = of_firm.filter(|_| !idle) else {
            self.note(id, Rule::NotWorking);
            return;
        };
        let own = who.short.iter().find(|(on, ..)| *on == day);
        let (from, until) = own.map_or(hours, |(_, from, until)| (*from, *until));
        let end = visit.start_minute.saturating_add(job.minutes);
        if visit.start_minute < from || end > until {
            self.note(id, Rule::OutsideHours);
        }
    }

    /// On one engineer's day a visit starts no earlier than the one before ended plus the way.
    fn ways(&mut self, placed: &[Placed]) {
        let days = days_of(placed);
        let mut late = Vec::new();
        for visits in days.into_values() {
            late.extend(visits.windows(2).filter_map(|pair| self.too_soon(pair)));
        }
        for job in late {
            self.note(Some(job), Rule::Overlap);
        }
    }

    /// The job of two visits in a row that could have been put elsewhere, when the second starts before
    /// the engineer can be there.
    fn too_soon(&self, pair: &[&Placed]) -> Option<JobId> {
        let (a, b) = (self.jobs.get(&pair[0].job)?, self.jobs.get(&pair[1].job)?);
        let hours = self.input.hours;
        let way = if self.is_one_visit(pair[0], pair[1]) {
            0
        } else if a.building == b.building {
            hours.way_inside
        } else {
            let both = [a.building, b.building];
            let mut ways = self.input.ways.iter();
            let own = ways.find(|w| both.contains(&w.between.0) && both.contains(&w.between.1));
            own.map_or(hours.way_between, |w| w.minutes)
        };
        let ready = pair[0].start_minute + a.minutes + way;
        let movable = if b.promise.is_some() { a.id } else { b.id };
        (pair[1].start_minute < ready).then_some(movable)
    }

    /// The second follows the first without a break in the same space: both are one visit.
    fn is_one_visit(&self, first: &Placed, then: &Placed) -> bool {
        let (Some(a), Some(b)) = (self.jobs.get(&first.job), self.jobs.get(&then.job)) else {
            return false;
        };
        let alone = !a.demands.pair && !b.demands.pair;
        let space = a.demands.space.is_some() && a.demands.space == b.demands.space;
        alone && space && first.start_minute + a.minutes == then.start_minute
    }

    fn weeks(&mut self, placed: &[Placed]) {
        let mut firms: BTreeMap<(FirmId, NaiveDate), (u32, bool)> = BTreeMap::new();
        let mut people: BTreeMap<(EngineerId, NaiveDate), (u32, bool)> = BTreeMap::new();
        for ((engineer, day), visits) in days_of(placed) {
            let week = monday(day);
            let mut before: Option<&Placed> = None;
            for visit in visits {
                let Some(job) = self.jobs.get(&visit.job) else {
                    continue;
                };
                let joined = before.is_some_and(|b| self.is_one_visit(b, visit));
                let way = if joined {
                    0
                } else {
                    self.input.hours.way_inside
                };
                before = Some(visit);
                for sum in [
                    firms.entry((visit.firm, week)).or_insert((0, true)),
                    people.entry((engineer, week)).or_insert((0, true)),
                ] {
                    sum.0 += job.minutes + way;
                    sum.1 &= job.promise.is_some();
                }
            }
        }
        for ((firm, week), (minutes, promised)) in firms {
            let stated = self.firms.get(&firm).map_or(0, |f| f.minutes_a_week);
            let extra = self.input.extra.iter();
            let extra = extra.filter(|e| e.firm == firm && e.week == week);
            let given = stated + extra.map(|e| e.minutes).sum::<u32>();
            if minutes > given {
                let rule = Rule::FirmOver {
                    firm,
                    week,
                    minutes,
                    given,
                };
                self.breaches.push(Breach {
                    job: None,
                    promised,
                    rule,
                });
            }
        }
        for ((engineer, week), (minutes, promised)) in people {
            let stated = self
                .engineers
                .get(&engineer)
                .map_or(0, |e| e.minutes_a_week);
            let extra = self.input.extra.iter();
            let extra = extra.filter(|e| e.engineer == engineer && e.week == week);
            let given = stated + extra.map(|e| e.minutes).sum::<u32>();
            if minutes > given {
                let rule = Rule::EngineerOver {
                    engineer,
                    week,
                    minutes,
                    given,
                };
                self.breaches.push(Breach {
                    job: None,
                    promised,
                    rule,
                });
            }
        }
    }
}

/// Every engineer's day in the order of the clock; a visit of two stands on both days.
fn days_of(placed: &[Placed]) -> BTreeMap<(EngineerId, NaiveDate), Vec<&Placed>> {
    let mut days: BTreeMap<(EngineerId, NaiveDate), Vec<&Placed>> = BTreeMap::new();
    for visit in placed {
        days.entry((visit.engineer, visit.day))
            .or_default()
            .push(visit);
        if let Some(second) = visit.second {
            days.entry((second, visit.day)).or_default().push(visit);
        }
    }
    for visits in days.values_mut() {
        visits.sort_by_key(|v| v.start_minute);
    }
    days
}

/// The Monday a week begins with.
fn monday(day: NaiveDate) -> NaiveDate {
    let number = i64::from(day.weekday().number_from_monday());
    day - chrono::TimeDelta::days(number - 1)
}
