//! From the round as people state it to the optimiser's problem.
//!
//! Days are counted from the Monday of the first week, so that the hours given a week fall on calendar weeks.
//! Every engineer starts and ends the day half the way between two buildings away from each of them, outside
//! the working day: a day somewhere costs a journey, and two buildings in one day cost one more. The way from
//! flat to flat is part of every visit. An engineer whose qualifications change inside the horizon is looked at
//! as several, one after the other, under the same hours.
use chrono::{Datelike, NaiveDate};
use terms::BuildingId;

use super::key::Key;
use super::model::{Appointment, Costs, Engineer, Job, Problem, Site, Span, WeekCap};
use crate::rounds::{PlannedEngineer, PlannedJob, RoundInput, week_of};

/// What a round is weighed by, in pence. Common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Prices {
    /// A minute on the road.
    pub travel: i64,
    /// Coming to one door.
    pub visit: i64,
    /// A day's wait of a job that presses with weight 1.
    pub wait: i64,
    /// A job left without a day; one that presses counts twice.
    pub unplaced: i64,
    /// A minute of work in a week above a quarter over the mean.
    pub peak: i64,
}

impl Default for Prices {
    fn default() -> Self {
        Self {
            travel: 75,
            visit: 750,
            wait: 2_250,
            unplaced: 100_000,
            peak: 20,
        }
    }
}

/// The problem and its key.
pub(super) fn problem_of(input: &RoundInput, prices: &Prices) -> (Problem, Key) {
    let day0 = week_of(input.from);
    let mut key = Key {
        day0,
        engineers: Vec::new(),
        jobs: Vec::new(),
    };
    let days = key.day(input.until).max(0) + 1;
    let mut sites: Vec<BuildingId> = input.jobs.iter().map(|j| j.building).collect();
    sites.sort_unstable();
    sites.dedup();
    let home = sites.len();
    let mut engineers = Vec::new();
    for (place, who) in input.engineers.iter().enumerate() {
        for (from, until) in stretches(who, day0, input.until) {
            key.engineers.push((place, from, until));
            engineers.push(engineer(input, &key, who, (from, until), &sites));
        }
    }
    let mut jobs = Vec::new();
    for (place, what) in input.jobs.iter().enumerate() {
        if let Some(job) = job(input, &key, what, &sites, jobs.len(), prices) {
            key.jobs.push(place);
            jobs.push(job);
        }
    }
    widen(input, &key, &jobs, &mut engineers);
    // The way from flat to flat is in every visit, so it is taken off the way between buildings.
    let between = input
        .hours
        .way_between
        .saturating_sub(input.hours.way_inside) as i32;
    let half = input.hours.way_between.div_ceil(2) as i32;
    let way = |a: usize, b: usize| match (a == b, a == home || b == home) {
        (true, _) => 0,
        (_, true) => half,
        _ => between,
    };
    let setup = input.hours.way_inside as i32;
    let minutes: i64 = jobs
        .iter()
        .map(|j: &Job| i64::from(j.minutes + setup))
        .sum();
    let weeks = (days as usize).div_ceil(7);
    let problem = Problem {
        days,
        weekday0: day0.weekday().num_days_from_monday() as i32,
        bank_holidays: input.bank_holidays.iter().map(|d| key.day(*d)).collect(),
        heating_season: Vec::new(),
        daylight: vec![[0, 24 * 60]; days as usize],
        setup,
        costs: Costs {
            travel: prices.travel,
            visit: prices.visit,
            over_week: prices.peak,
        },
        week_level: vec![minutes * 5 / (4 * weeks.max(1) as i64); weeks],
        travel: (0..=home)
            .map(|a| (0..=home).map(|b| way(a, b)).collect())
            .collect(),
        buildings: (0..home).map(|b| Site { place: b, area: b }).collect(),
        week_caps: caps(input, &key),
        engineers,
        jobs,
    };
    (problem, key)
}

/// The stretches of days in which what an engineer is qualified in does not change.
fn stretches(
    who: &PlannedEngineer,
    from: NaiveDate,
    until: NaiveDate,
) -> Vec<(NaiveDate, NaiveDate)> {
    let changes = who
        .qualifications
        .iter()
        .flat_map(|q| [Some(q.from_on), q.until_on.succ_opt()]);
    let mut firsts: Vec<NaiveDate> = changes
        .flatten()
        .filter(|day| *day > from && *day <= until)
        .chain([from])
        .collect();
    firsts.sort_unstable();
    firsts.dedup();
    let last_of = |i: usize| {
        let next = firsts.get(i + 1).and_then(NaiveDate::pred_opt);
        next.unwrap_or(until)
    };
    (0..firsts.len()).map(|i| (firsts[i], last_of(i))).collect()
}

/// The hours with the ways out and home laid round them.
fn shift(input: &RoundInput) -> Span {
    let half = input.hours.way_between.div_ceil(2) as i32;
    [
        input.hours.from_minute as i32 - half,
        (input.hours.to_minute + input.hours.way_inside) as i32 + half,
    ]
}

fn engineer(
    input: &RoundInput,
    key: &Key,
    who: &PlannedEngineer,
    (from, until): (NaiveDate, NaiveDate),
    sites: &[BuildingId],
) -> Engineer {
    let firm = input.firms.iter().find(|f| f.id == who.firm);
    let serves = |b: &BuildingId| {
        firm.is_some_and(|f| f.buildings.as_ref().is_none_or(|list| list.contains(b)))
    };
    let outside = key
        .day0
        .iter_days()
        .take_while(|day| *day <= input.until)
        .filter(|day| *day < input.from || *day < from || *day > until);
    let off = outside.chain(who.away.iter().copied());
    let mut qualifications: Vec<String> = who
        .qualifications
        .iter()
        .filter(|q| q.from_on <= from && from <= q.until_on)
        .map(|q| format!("{:?}", q.covers))
        .collect();
    qualifications.push(format!("firm {}", who.firm));
    let hours = Some(shift(input));
    Engineer {
        base: sites.len(),
        areas: (0..sites.len()).filter(|b| serves(&sites[*b])).collect(),
        qualifications,
        week: vec![hours, hours, hours, hours, hours, None, None],
        off: off.map(|day| key.day(day)).collect(),
        short: Vec::new(),
    }
}

fn job(
    input: &RoundInput,
    key: &Key,
    what: &PlannedJob,
    sites: &[BuildingId],
    space: usize,
    prices: &Prices,
) -> Option<Job> {
    let fixed = match what.promise {
        None => None,
        Some(promise) => Some(Appointment {
            day: key.day(promise.day),
            start: i32::try_from(promise.start_minute).ok()?,
            engineer: Some(key.engineer_on(input, promise.engineer, promise.day)?),
        }),
    };
    let (earliest, latest) = match what.promise {
        Some(promise) => (promise.day, promise.day),
        None => (
            what.first_day().max(input.from),
            what.deadline.min(input.until),
        ),
    };
    // A promise binds whatever was needed: a person gave it.
    let mut needs: Vec<String> = Vec::new();
    if fixed.is_none() {
        needs.extend(what.needs.iter().map(|n| format!("{n:?}")));
        needs.extend(what.firm.map(|firm| format!("firm {firm}")));
    }
    let weight = what.risk_weight.max(0.0);
    Some(Job {
        building: sites.binary_search(&what.building).ok()?,
        space,
        minutes: what.minutes as i32,
        crew: 1,
        qualifications: needs,
        earliest: key.day(earliest),
        latest: key.day(latest),
        slots: None,
        weekdays: None,
        fixed,
        heat_off: false,
        daylight: false,
        delay: (weight * prices.wait as f64).round() as i64,
        unplaced: prices.unplaced * if weight >= 1.0 { 2 } else { 1 },
    })
}

/// A promise outside the hours has its hours on that day.
fn widen(input: &RoundInput, key: &Key, jobs: &[Job], engineers: &mut [Engineer]) {
    let [open, close] = shift(input);
    let (half, setup) = (
        input.hours.way_between.div_ceil(2) as i32,
        input.hours.way_inside as i32,
    );
    for (job, fixed) in jobs.iter().filter_map(|j| Some((j, j.fixed.as_ref()?))) {
        let Some(who) = fixed.engineer.and_then(|e| engineers.get_mut(e)) else {
            continue;
        };
        let from = (fixed.start - half).min(open);
        let until = (fixed.start + setup + job.minutes + half).max(close);
        let working = input.is_working_day(key.date(fixed.day));
        if working && (from < open || until > close) {
            match who.short.iter_mut().find(|s| s[0] == fixed.day) {
                Some(short) => *short = [fixed.day, from.min(short[1]), until.max(short[2])],
                None => who.short.push([fixed.day, from, until]),
            }
        }
    }
}

/// What every firm, and every engineer, gives this estate in a week.
fn caps(input: &RoundInput, key: &Key) -> Vec<WeekCap> {
    let those = |holds: &dyn Fn(&PlannedEngineer) -> bool| -> Vec<usize> {
        (0..key.engineers.len())
            .filter(|e| holds(&input.engineers[key.person(*e)]))
            .collect()
    };
    let firms = input.firms.iter().map(|firm| WeekCap {
        engineers: those(&|who| who.firm == firm.id),
        minutes: i64::from(firm.minutes_a_week),
    });
    let people = input.engineers.iter().map(|one| WeekCap {
        engineers: those(&|who| who.id == one.id),
        minutes: i64::from(one.minutes_a_week),
    });
    firms.chain(people).collect()
}
