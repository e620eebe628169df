//! Checks a plan against the rules, from the rules alone; shares nothing with the method.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate, Weekday};
use serde::{Deserialize, Serialize};
use terms::{EngineerId, FirmId, JobId};

use super::{Placed, PlannedEngineer, PlannedFirm, PlannedJob, RoundInput, RoundPlan, week_of};

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
            .map(|v| (v.job, v.day, v.start_minute, v.firm, v.engineer))
            .collect();
        let broken: Vec<JobId> = self
            .jobs
            .values()
            .filter_map(|job| {
                let p = job.promise?;
                let key = (job.id, p.day, p.start_minute, p.firm, p.engineer);
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
        let idle = day.weekday() == Weekday::Sat
            || day.weekday() == Weekday::Sun
            || self.input.bank_holidays.contains(&day);
        let hours = self.input.hours;
        let end = visit.start_minute.saturating_add(job.minutes);
        if visit.start_minute < hours.from_minute || end > hours.to_minute {
            self.note(id, Rule::OutsideHours);
        }
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
        if idle || who.away.contains(&day) {
            self.note(id, Rule::NotWorking);
        }
        for need in &job.needs {
            let held = who
                .qualifications
                .iter()
                .any(|q| q.covers == *need && (q.from_on..=q.until_on).contains(&day));
            if !held {
                self.note(id, Rule::NotQualified);
            }
        }
    }

    /// On one engineer's day a visit starts no earlier than the one before ended plus the way.
    fn ways(&mut self, placed: &[Placed]) {
        let mut days: BTreeMap<(EngineerId, NaiveDate), Vec<&Placed>> = BTreeMap::new();
        for visit in placed {
            days.entry((visit.engineer, visit.day))
                .or_default()
                .push(visit);
        }
        let mut late = Vec::new();
        for mut visits in days.into_values() {
            visits.sort_by_key(|v| v.start_minute);
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
        let way = if a.building == b.building {
            hours.way_inside
        } else {
            hours.way_between
        };
        let ready = pair[0].start_minute + a.minutes + way;
        let movable = if b.promise.is_some() { a.id } else { b.id };
        (pair[1].start_minute < ready).then_some(movable)
    }

    fn weeks(&mut self, placed: &[Placed]) {
        let mut firms: BTreeMap<(FirmId, NaiveDate), (u32, bool)> = BTreeMap::new();
        let mut people: BTreeMap<(EngineerId, NaiveDate), (u32, bool)> = BTreeMap::new();
        for visit in placed {
            let Some(job) = self.jobs.get(&visit.job) else {
                continue;
            };
            let minutes = job.minutes + self.input.hours.way_inside;
            let week = week_of(visit.day);
            let promised = job.promise.is_some();
            for sum in [
                firms.entry((visit.firm, week)).or_insert((0, true)),
                people.entry((visit.engineer, week)).or_insert((0, true)),
            ] {
                sum.0 += minutes;
                sum.1 &= promised;
            }
        }
        for ((firm, week), (minutes, promised)) in firms {
            let given = self.firms.get(&firm).map_or(0, |f| f.minutes_a_week);
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
            let given = self
                .engineers
                .get(&engineer)
                .map_or(0, |e| e.minutes_a_week);
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
