//! Checks visits against the rules, from the rules alone, and prices them; shares nothing with the
//! planner but the types of the problem. Written from `reference/planning/README.md` §2 and §3.
use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use super::model::{Engineer, Job, Problem, Span, Visit};

/// Which rule is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// No jobs in it.
    EmptyVisit,
    /// An engineer, day or job that is not there.
    Unknown,
    /// A job twice in one visit.
    NamedTwice,
    /// Jobs of different spaces.
    SpacesMixed,
    /// Outside the engineer's areas.
    OutsideAreas,
    /// Outside the job's window.
    OutsideWindow,
    /// Heat off inside the heating season.
    HeatOff,
    /// Not one of its weekdays.
    Weekday,
    /// Not inside one of its access slots.
    Access,
    /// Not in daylight.
    Dark,
    /// Promised for another time.
    Promise,
    /// The engineer lacks a qualification.
    Unqualified,
    /// A two-person job is a visit of its own.
    PairNotAlone,
    /// Not a working day.
    NotWorking,
    /// Starts before the engineer can be there.
    TooSoon,
    /// Back after the shift's end.
    ShiftEnds,
    /// More or fewer visits than the job needs.
    Attendances {
        /// Planned.
        visits: usize,
        /// Needed.
        needs: usize,
    },
    /// Two engineers must come on the same day at the same time.
    PairNotTogether,
    /// Neither of the two holds the qualifications.
    PairUnqualified,
    /// Done before the change and cannot be altered.
    Past,
    /// New before the day of the change.
    BeforeNow,
}

/// A breach with where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Breach {
    /// The rule.
    pub rule: Rule,
    /// The job, where it is one.
    pub job: Option<usize>,
    /// Engineer and day, where it is an engineer's day.
    pub round: Option<(usize, i32)>,
}

/// The parts of the objective, pence.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Parts {
    /// Travel.
    pub travel: i64,
    /// Visits.
    pub visits: i64,
    /// Days after the earliest.
    pub delay: i64,
    /// Minutes over the week's level.
    pub over_week: i64,
    /// Jobs left out.
    pub unplaced: i64,
    /// How many jobs are left out.
    pub left_out: usize,
}

impl Parts {
    /// Their sum.
    pub fn objective(&self) -> i64 {
        self.travel + self.visits + self.delay + self.over_week + self.unplaced
    }
}

struct Audit<'a> {
    problem: &'a Problem,
    breaches: Vec<Breach>,
}

/// What the visits cost and every rule they break.
pub fn audit(problem: &Problem, visits: &[Visit]) -> (Parts, Vec<Breach>) {
    let mut audit = Audit {
        problem,
        breaches: Vec::new(),
    };
    let visits = audit.well_formed(visits);
    let mut parts = Parts {
        visits: problem.costs.visit * visits.len() as i64,
        ..Parts::default()
    };
    let mut weeks: BTreeMap<i32, i64> = BTreeMap::new();
    let mut rounds: BTreeMap<(usize, i32), Vec<(i32, i32, usize)>> = BTreeMap::new();
    let mut by_job: BTreeMap<usize, Vec<&Visit>> = BTreeMap::new();
    for visit in &visits {
        let end = audit.visit(visit);
        *weeks.entry(visit.day / 7).or_default() += i64::from(end - visit.start);
        let site = &problem.buildings[problem.jobs[visit.jobs[0]].building];
        let round = rounds.entry((visit.engineer, visit.day)).or_default();
        round.push((visit.start, end, site.place));
        for job in &visit.jobs {
            by_job.entry(*job).or_default().push(visit);
        }
    }
    for (who, stops) in rounds {
        parts.travel += problem.costs.travel * audit.round(who, stops);
    }
    for (j, job) in problem.jobs.iter().enumerate() {
        match by_job.get(&j) {
            None => {
                parts.unplaced += job.unplaced;
                parts.left_out += 1;
            }
            Some(visits) => {
                parts.delay += job.delay * i64::from(visits[0].day - job.earliest);
                audit.crew(j, visits);
            }
        }
    }
    for (week, minutes) in weeks {
        let level = problem.week_level.get(week as usize).copied().unwrap_or(0);
        parts.over_week += problem.costs.over_week * (minutes - level).max(0);
    }
    (parts, audit.breaches)
}

/// Working time of an engineer on a day.
fn shift(problem: &Problem, engineer: &Engineer, day: i32) -> Option<Span> {
    if problem.bank_holidays.contains(&day) || engineer.off.contains(&day) {
        return None;
    }
    match engineer.short.iter().find(|s| s[0] == day) {
        Some(short) => Some([short[1], short[2]]),
        None => engineer.week[((problem.weekday0 + day) % 7) as usize],
    }
}

fn holds_all(engineer: &Engineer, job: &Job) -> bool {
    let held = &engineer.qualifications;
    job.qualifications.iter().all(|q| held.contains(q))
}

impl Audit<'_> {
    fn note(&mut self, rule: Rule, job: Option<usize>, round: Option<(usize, i32)>) {
        self.breaches.push(Breach { rule, job, round });
    }

    fn well_formed(&mut self, visits: &[Visit]) -> Vec<Visit> {
        let mut kept = Vec::new();
        for visit in visits {
            let distinct: BTreeSet<_> = visit.jobs.iter().collect();
            let known = visit.engineer < self.problem.engineers.len()
                && (0..self.problem.days).contains(&visit.day)
                && visit.jobs.iter().all(|j| *j < self.problem.jobs.len());
            let rule = if visit.jobs.is_empty() {
                Rule::EmptyVisit
            } else if !known {
                Rule::Unknown
            } else if distinct.len() < visit.jobs.len() {
                Rule::NamedTwice
            } else {
                kept.push(visit.clone());
                continue;
            };
            self.note(rule, None, Some((visit.engineer, visit.day)));
        }
        kept
    }

    /// Rules 1 to 3 of one visit; the minute it ends.
    fn visit(&mut self, visit: &Visit) -> i32 {
        let problem = self.problem;
        let round = Some((visit.engineer, visit.day));
        let engineer = &problem.engineers[visit.engineer];
        let jobs: Vec<&Job> = visit.jobs.iter().map(|j| &problem.jobs[*j]).collect();
        let end = visit.start + problem.setup + jobs.iter().map(|j| j.minutes).sum::<i32>();
        if jobs.iter().any(|j| j.space != jobs[0].space) {
            self.note(Rule::SpacesMixed, None, round);
        }
        let served = |j: &&Job| engineer.areas.contains(&problem.buildings[j.building].area);
        if !jobs.iter().all(served) {
            self.note(Rule::OutsideAreas, None, round);
        }
        for (j, job) in visit.jobs.iter().zip(&jobs) {
            for rule in job_rules(problem, visit, job, end) {
                self.note(rule, Some(*j), round);
            }
            if job.crew == 1 && !holds_all(engineer, job) {
                self.note(Rule::Unqualified, Some(*j), round);
            }
            if job.crew == 2 && jobs.len() > 1 {
                self.note(Rule::PairNotAlone, Some(*j), round);
            }
        }
        end
    }

    /// Rule 4 of one engineer's day; the minutes travelled.
    fn round(&mut self, who: (usize, i32), mut stops: Vec<(i32, i32, usize)>) -> i64 {
        let problem = self.problem;
        let engineer = &problem.engineers[who.0];
        let shift = shift(problem, engineer, who.1);
        if shift.is_none() {
            self.note(Rule::NotWorking, None, Some(who));
        }
        stops.sort_unstable();
        let mut here = engineer.base;
        let mut free = shift.map_or(i32::MIN / 2, |s| s[0]);
        let mut minutes = 0;
        for (start, end, place) in stops {
            let way = problem.travel[here][place];
            minutes += i64::from(way);
            if start < free + way {
                self.note(Rule::TooSoon, None, Some(who));
            }
            (here, free) = (place, end);
        }
        let home = problem.travel[here][engineer.base];
        if shift.is_some_and(|s| free + home > s[1]) {
            self.note(Rule::ShiftEnds, None, Some(who));
        }
        minutes + i64::from(home)
    }

    fn crew(&mut self, j: usize, visits: &[&Visit]) {
        let job = &self.problem.jobs[j];
        let needs = usize::from(job.crew);
        if visits.len() != needs {
            let visits = visits.len();
            self.note(Rule::Attendances { visits, needs }, Some(j), None);
        } else if let [a, b] = visits {
            if (a.day, a.start) != (b.day, b.start) || a.engineer == b.engineer {
                self.note(Rule::PairNotTogether, Some(j), None);
            }
            let able = |v: &Visit| holds_all(&self.problem.engineers[v.engineer], job);
            if !able(a) && !able(b) {
                self.note(Rule::PairUnqualified, Some(j), None);
            }
        }
    }
}

/// Rule 3 for one job of a visit that ends at `end`.
fn job_rules(problem: &Problem, visit: &Visit, job: &Job, end: i32) -> Vec<Rule> {
    let day = visit.day;
    let cold = problem
        .heating_season
        .iter()
        .any(|s| s[0] <= day && day <= s[1]);
    let weekday = (problem.weekday0 + day) % 7;
    let inside = |s: &Span| s[0] <= visit.start && end <= s[1];
    let mut broken = Vec::new();
    if day < job.earliest || day > job.latest {
        broken.push(Rule::OutsideWindow);
    }
    if job.heat_off && cold {
        broken.push(Rule::HeatOff);
    }
    if job.weekdays.as_ref().is_some_and(|w| !w.contains(&weekday)) {
        broken.push(Rule::Weekday);
    }
    if job.slots.as_ref().is_some_and(|s| !s.iter().any(inside)) {
        broken.push(Rule::Access);
    }
    if job.daylight && !inside(&problem.daylight[day as usize]) {
        broken.push(Rule::Dark);
    }
    let kept = job.fixed.as_ref().is_none_or(|f| {
        f.day == day && f.start == visit.start && f.engineer.is_none_or(|e| e == visit.engineer)
    });
    if !kept {
        broken.push(Rule::Promise);
    }
    broken
}
