//! From the round as people state it to the optimiser's problem.
//!
//! Days are counted from the Monday of the first week, so that the hours given a week fall on calendar weeks.
//! Every engineer starts and ends the day half the usual way between two buildings away from each of them, outside
//! the working day: a day somewhere costs a journey, and two buildings in one day cost one more. The way from
//! flat to flat is part of every visit. An engineer whose qualifications change inside the horizon is looked at
//! as several, one after the other, under the same hours. Promised jobs that follow one another in one space are one
//! job; a promised pair is two, each with its own engineer. Two-person jobs stand on a copy of their building that
//! one firm serves: two of different firms never come together.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};
use terms::{BuildingId, EngineerId, FirmId, SpaceId};

use super::key::Key;
use super::model::{Appointment, Costs, Engineer, Job, Problem, Site, Span, WeekCap};
use crate::rounds::{ExtraDay, PlannedEngineer, PlannedJob, RoundInput, firm_of_pair};

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
    let back = u64::from(input.from.weekday().num_days_from_monday());
    let day0 = input.from.checked_sub_days(chrono::Days::new(back));
    let mut key = Key {
        day0: day0.unwrap_or(input.from),
        engineers: Vec::new(),
        jobs: Vec::new(),
        spaces: Vec::new(),
    };
    let days = key.day(input.until).max(0) + 1;
    let sites = Sites::of(input);
    let mut engineers = Vec::new();
    for (place, who) in input.engineers.iter().enumerate() {
        for (from, until) in stretches(who, key.day0, input.until) {
            key.engineers.push((place, from, until));
            engineers.push(engineer(input, &key, who, (from, until), &sites));
        }
    }
    let mut jobs = Vec::new();
    let mut spaces: BTreeMap<SpaceId, usize> = BTreeMap::new();
    for piece in pieces(input) {
        if let Some(mut job) = job(input, &key, &piece, (&sites, prices)) {
            let first = &input.jobs[piece.places[0]];
            let shared = first.demands.space.filter(|_| !first.demands.pair);
            // Numbers under the count of jobs are for spaces, those above for jobs that share with nobody.
            let fresh = spaces.len();
            job.space = match shared {
                Some(space) => *spaces.entry(space).or_insert(fresh),
                None => input.jobs.len() + jobs.len(),
            };
            key.spaces.push(job.space);
            key.jobs.push(piece.places);
            jobs.push(job);
        }
    }
    widen(input, &key, &jobs, &mut engineers);
    let setup = input.hours.way_inside as i32;
    let minutes: i64 = jobs
        .iter()
        .map(|j: &Job| i64::from(j.minutes + setup) * i64::from(j.crew))
        .sum();
    let weeks = (days as usize).div_ceil(7);
    let season = |(first, last): &(NaiveDate, NaiveDate)| [key.day(*first), key.day(*last)];
    let light = |day: i32| {
        let sun = input.daylight.get(&key.date(day));
        sun.map_or([0, 24 * 60 + setup], |sun| {
            [sun.0 as i32, sun.1 as i32 + setup]
        })
    };
    let problem = Problem {
        days,
        weekday0: key.day0.weekday().num_days_from_monday() as i32,
        bank_holidays: input.bank_holidays.iter().map(|d| key.day(*d)).collect(),
        heating_season: input.heating_seasons.iter().map(season).collect(),
        daylight: (0..days).map(light).collect(),
        setup,
        costs: Costs {
            travel: prices.travel,
            visit: prices.visit,
            over_week: prices.peak,
        },
        week_level: vec![minutes * 5 / (4 * weeks.max(1) as i64); weeks],
        travel: sites.travel(input),
        buildings: sites.list(),
        week_caps: caps(input, &key),
        engineers,
        jobs,
    };
    (problem, key)
}

/// Buildings, and copies of them that one firm serves.
struct Sites {
    buildings: Vec<BuildingId>,
    /// Building by place, and firm.
    copies: Vec<(usize, FirmId)>,
}

impl Sites {
    fn of(input: &RoundInput) -> Self {
        let all: BTreeSet<BuildingId> = input.jobs.iter().map(|j| j.building).collect();
        let mut sites = Self {
            buildings: all.into_iter().collect(),
            copies: Vec::new(),
        };
        let pairs = input.jobs.iter().filter(|j| j.demands.pair);
        let copies: BTreeSet<(usize, FirmId)> = pairs
            .filter_map(|job| {
                let place = sites.buildings.binary_search(&job.building).ok()?;
                Some((place, firm_of_pair(input, job)?))
            })
            .collect();
        sites.copies = copies.into_iter().collect();
        sites
    }

    fn list(&self) -> Vec<Site> {
        let own = (0..self.buildings.len()).map(|b| Site { place: b, area: b });
        let copies = self.copies.iter().enumerate().map(|(k, (place, _))| Site {
            place: *place,
            area: self.buildings.len() + k,
        });
        // Where no firm has two, nobody comes.
        let nobody = Site {
            place: 0,
            area: self.buildings.len() + self.copies.len(),
        };
        own.chain(copies).chain([nobody]).collect()
    }

    fn site_of(&self, input: &RoundInput, job: &PlannedJob) -> Option<usize> {
        let place = self.buildings.binary_search(&job.building).ok()?;
        if !job.demands.pair || job.promise.is_some() {
            return Some(place);
        }
        let copy = firm_of_pair(input, job).map(|firm| (place, firm));
        let copy = copy.and_then(|copy| self.copies.binary_search(&copy).ok());
        Some(self.buildings.len() + copy.unwrap_or(self.copies.len()))
    }

    fn areas(&self, firm: FirmId, serves: &dyn Fn(&BuildingId) -> bool) -> Vec<usize> {
        let own = (0..self.buildings.len()).filter(|b| serves(&self.buildings[*b]));
        let copies = (0..self.copies.len())
            .filter(|k| self.copies[*k].1 == firm && serves(&self.buildings[self.copies[*k].0]))
            .map(|k| self.buildings.len() + k);
        own.chain(copies).collect()
    }

    /// The way from flat to flat is in every visit, so it is taken off the way between buildings.
    fn travel(&self, input: &RoundInput) -> Vec<Vec<i32>> {
        let home = self.buildings.len();
        let hours = input.hours;
        let between = |a: usize, b: usize| {
            let minutes = input.way(self.buildings[a], self.buildings[b]);
            minutes.saturating_sub(hours.way_inside) as i32
        };
        let half = hours.way_between.div_ceil(2) as i32;
        let way = |a: usize, b: usize| match (a == b, a == home || b == home) {
            (true, _) => 0,
            (_, true) => half,
            _ => between(a, b),
        };
        (0..=home)
            .map(|a| (0..=home).map(|b| way(a, b)).collect())
            .collect()
    }
}

/// A job of the problem: places in the input of what it stands for, and who is bound to it.
struct Piece {
    places: Vec<usize>,
    minutes: u32,
    fixed_to: Option<EngineerId>,
}

fn pieces(input: &RoundInput) -> Vec<Piece> {
    let mut found = Vec::new();
    let mut alone: Vec<usize> = Vec::new();
    for (place, what) in input.jobs.iter().enumerate() {
        let piece = |who: Option<EngineerId>| Piece {
            places: vec![place],
            minutes: what.minutes,
            fixed_to: who,
        };
        match what.promise {
            Some(promise) if what.demands.pair => {
                found.push(piece(Some(promise.engineer)));
                found.extend(promise.second.map(|second| piece(Some(second))));
            }
            Some(_) => alone.push(place),
            None => found.push(piece(None)),
        }
    }
    let at = |place: &usize| input.jobs[*place].promise;
    alone.sort_by_key(|p| at(p).map(|x| (x.engineer, x.day, x.start_minute)));
    let mut until = 0;
    for place in alone {
        let what = &input.jobs[place];
        let Some(promise) = what.promise else {
            continue;
        };
        let follows = found.last().is_some_and(|last: &Piece| {
            let first = &input.jobs[last.places[0]];
            let same = first.promise.map(|p| (p.engineer, p.day));
            !first.demands.pair
                && same == Some((promise.engineer, promise.day))
                && first.demands.space.is_some()
                && first.demands.space == what.demands.space
                && until == promise.start_minute
        });
        until = promise.start_minute.saturating_add(what.minutes);
        match found.last_mut().filter(|_| follows) {
            Some(last) => {
                last.places.push(place);
                last.minutes = last.minutes.saturating_add(what.minutes);
            }
            None => found.push(Piece {
                places: vec![place],
                minutes: what.minutes,
                fixed_to: Some(promise.engineer),
            }),
        }
    }
    found
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

/// Hours with the ways out and home laid round them.
fn with_ways(input: &RoundInput, (from, until): (u32, u32)) -> Span {
    let half = input.hours.way_between.div_ceil(2) as i32;
    [
        from as i32 - half,
        (until + input.hours.way_inside) as i32 + half,
    ]
}

fn engineer(
    input: &RoundInput,
    key: &Key,
    who: &PlannedEngineer,
    (from, until): (NaiveDate, NaiveDate),
    sites: &Sites,
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
    let usual = (input.hours.from_minute, input.hours.to_minute);
    let week: Vec<Option<Span>> = (0..7)
        .map(|weekday| {
            let hours = match firm.and_then(|f| f.week.as_ref()) {
                Some(week) => week[weekday],
                None => (weekday < 5).then_some(usual),
            };
            hours.map(|span| with_ways(input, span))
        })
        .collect();
    let short = who.short.iter().filter_map(|(day, ..)| {
        let span = with_ways(input, input.shift(who, *day)?);
        Some([key.day(*day), span[0], span[1]])
    });
    Engineer {
        base: sites.buildings.len(),
        areas: sites.areas(who.firm, &serves),
        qualifications,
        off: off.map(|day| key.day(day)).collect(),
        short: short.collect(),
        week,
    }
}

fn job(
    input: &RoundInput,
    key: &Key,
    piece: &Piece,
    (sites, prices): (&Sites, &Prices),
) -> Option<Job> {
    let what = &input.jobs[piece.places[0]];
    let fixed = match (what.promise, piece.fixed_to) {
        (Some(promise), Some(who)) => Some(Appointment {
            day: key.day(promise.day),
            start: i32::try_from(promise.start_minute).ok()?,
            engineer: Some(key.engineer_on(input, who, promise.day)?),
        }),
        _ => None,
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
    let free = fixed.is_none();
    if free {
        needs.extend(what.needs.iter().map(|n| format!("{n:?}")));
        needs.extend(what.firm.map(|firm| format!("firm {firm}")));
    }
    let asks = &what.demands;
    let setup = input.hours.way_inside as i32;
    let slots: Vec<Span> = asks
        .slots
        .iter()
        .map(|slot| [slot.0 as i32, slot.1 as i32 + setup])
        .collect();
    let weekdays: Vec<i32> = asks.weekdays.iter().map(|day| *day as i32).collect();
    let weight = what.risk_weight.max(0.0);
    let leaving = |place: &usize| {
        let presses = input.jobs[*place].risk_weight >= 1.0;
        prices.unplaced * if presses { 2 } else { 1 }
    };
    Some(Job {
        building: sites.site_of(input, what)?,
        space: 0,
        minutes: i32::try_from(piece.minutes).ok()?,
        crew: if asks.pair && free { 2 } else { 1 },
        qualifications: needs,
        earliest: key.day(earliest),
        latest: key.day(latest),
        slots: (free && !slots.is_empty()).then_some(slots),
        weekdays: (free && !weekdays.is_empty()).then_some(weekdays),
        fixed,
        heat_off: free && asks.heat_off,
        daylight: free && asks.daylight,
        delay: (weight * prices.wait as f64).round() as i64,
        unplaced: piece.places.iter().map(leaving).sum(),
    })
}

/// A promise outside the hours has its hours on that day.
fn widen(input: &RoundInput, key: &Key, jobs: &[Job], engineers: &mut [Engineer]) {
    let (half, setup) = (
        input.hours.way_between.div_ceil(2) as i32,
        input.hours.way_inside as i32,
    );
    for (job, fixed) in jobs.iter().filter_map(|j| Some((j, j.fixed.as_ref()?))) {
        let Some(place) = fixed.engineer else {
            continue;
        };
        let person = &input.engineers[key.person(place)];
        let (Some(hours), Some(who)) = (
            input.shift(person, key.date(fixed.day)),
            engineers.get_mut(place),
        ) else {
            continue;
        };
        let [open, close] = with_ways(input, hours);
        let from = (fixed.start - half).min(open);
        let until = (fixed.start + setup + job.minutes + half).max(close);
        if from < open || until > close {
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
    let more = |holds: &dyn Fn(&ExtraDay) -> bool| -> Vec<(usize, i64)> {
        let extra = input.extra.iter().filter(|e| holds(e));
        let week = |e: &ExtraDay| usize::try_from(key.day(e.week) / 7).unwrap_or(0);
        extra.map(|e| (week(e), i64::from(e.minutes))).collect()
    };
    let firms = input.firms.iter().map(|firm| WeekCap {
        more: more(&|e| e.firm == firm.id),
        engineers: those(&|who| who.firm == firm.id),
        minutes: i64::from(firm.minutes_a_week),
    });
    let people = input.engineers.iter().map(|one| WeekCap {
        more: more(&|e| e.engineer == one.id),
        engineers: those(&|who| who.id == one.id),
        minutes: i64::from(one.minutes_a_week),
    });
    firms.chain(people).collect()
}
