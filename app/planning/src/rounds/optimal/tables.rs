//! The problem with what is asked a million times looked up once.
use super::model::{Problem, Span};

/// Look-ups. Rounds are numbered engineer × days + day.
#[derive(Clone, Debug)]
pub struct Tables<'a> {
    /// The problem.
    pub problem: &'a Problem,
    /// D.
    pub days: usize,
    /// Working time of each round.
    pub shifts: Vec<Option<Span>>,
    /// Whether a day lies in the heating season.
    pub cold: Vec<bool>,
    /// Engineers who may do each job alone or lead it, by area and qualification.
    pub leads: Vec<Vec<usize>>,
    /// Engineers who serve each building's area.
    pub serves: Vec<Vec<usize>>,
    /// Days on which each job can be done, by window, weekday, heating season and promise.
    pub open: Vec<Vec<u32>>,
    /// One-person jobs of each space, by place of the space.
    pub spaces: Vec<Vec<usize>>,
    /// Place in `spaces` of each job; pairs are spaces of their own.
    pub space_of: Vec<usize>,
    /// Jobs of each building.
    pub jobs_of: Vec<Vec<usize>>,
    /// Other buildings by travel time.
    pub near: Vec<Vec<usize>>,
    /// Caps on a week that each engineer is under.
    pub caps_of: Vec<Vec<usize>>,
}

impl<'a> Tables<'a> {
    /// Looks everything up.
    pub fn of(problem: &'a Problem) -> Self {
        let days = usize::try_from(problem.days).unwrap_or(0);
        let mut cold = vec![false; days];
        for season in &problem.heating_season {
            for (d, cold) in (0i32..).zip(cold.iter_mut()) {
                *cold |= season[0] <= d && d <= season[1];
            }
        }
        let mut tables = Self {
            problem,
            days,
            shifts: Vec::with_capacity(problem.engineers.len() * days),
            cold,
            leads: Vec::with_capacity(problem.jobs.len()),
            serves: Vec::with_capacity(problem.buildings.len()),
            open: Vec::with_capacity(problem.jobs.len()),
            spaces: Vec::new(),
            space_of: Vec::with_capacity(problem.jobs.len()),
            jobs_of: vec![Vec::new(); problem.buildings.len()],
            near: Vec::with_capacity(problem.buildings.len()),
            caps_of: (0..problem.engineers.len())
                .map(|e| {
                    let under = |k: &usize| problem.week_caps[*k].engineers.contains(&e);
                    (0..problem.week_caps.len()).filter(under).collect()
                })
                .collect(),
        };
        tables.staff();
        tables.work();
        tables
    }

    fn staff(&mut self) {
        let problem = self.problem;
        for engineer in &problem.engineers {
            for day in 0..problem.days {
                let idle = problem.bank_holidays.contains(&day) || engineer.off.contains(&day);
                let usual = engineer.week[((problem.weekday0 + day) % 7) as usize];
                let short = engineer.short.iter().find(|s| s[0] == day);
                let hours = short.map(|s| [s[1], s[2]]).or(usual);
                self.shifts.push(hours.filter(|_| !idle));
            }
        }
        for site in &problem.buildings {
            let serves = (0..problem.engineers.len())
                .filter(|e| problem.engineers[*e].areas.contains(&site.area));
            self.serves.push(serves.collect());
        }
    }

    fn work(&mut self) {
        let problem = self.problem;
        let mut known: std::collections::BTreeMap<(usize, usize), usize> =
            std::collections::BTreeMap::new();
        for (j, job) in problem.jobs.iter().enumerate() {
            let able = |e: &usize| {
                let held = &problem.engineers[*e].qualifications;
                job.qualifications.iter().all(|q| held.contains(q))
            };
            let serves = self.serves[job.building].iter().copied();
            self.leads.push(serves.filter(able).collect());
            let first = job.earliest.max(0);
            let last = job.latest.min(problem.days - 1);
            let open = (first..=last).filter(|day| self.is_open(j, *day));
            let open = open.map(|day| day as u32).collect();
            self.open.push(open);
            self.jobs_of[job.building].push(j);
            // A pair is a visit of its own: its space is nobody else's.
            let key = if job.crew == 1 {
                (0, job.space)
            } else {
                (1, j)
            };
            let fresh = self.spaces.len();
            let space = *known.entry(key).or_insert(fresh);
            if space == fresh {
                self.spaces.push(Vec::new());
            }
            self.spaces[space].push(j);
            self.space_of.push(space);
        }
        for site in &problem.buildings {
            let mut others: Vec<usize> = (0..problem.buildings.len()).collect();
            let way = |b: &usize| problem.travel[site.place][problem.buildings[*b].place];
            others.sort_by_key(way);
            self.near.push(others);
        }
    }

    fn is_open(&self, j: usize, day: i32) -> bool {
        let job = &self.problem.jobs[j];
        let weekday = (self.problem.weekday0 + day) % 7;
        let promised = job.fixed.as_ref().is_none_or(|f| f.day == day);
        let weekday = job.weekdays.as_ref().is_none_or(|w| w.contains(&weekday));
        promised && weekday && !(job.heat_off && self.cold[day as usize])
    }

    /// Engineer and day of a round.
    pub fn round(&self, engineer: usize, day: usize) -> usize {
        engineer * self.days + day
    }

    /// Minutes between places.
    pub fn way(&self, from: usize, to: usize) -> i32 {
        self.problem.travel[from][to]
    }

    /// Place of a job's building.
    pub fn place(&self, job: usize) -> usize {
        self.problem.buildings[self.problem.jobs[job].building].place
    }

    /// Minutes of a visit that does these jobs.
    pub fn length(&self, jobs: &[usize]) -> i32 {
        let work = jobs.iter().map(|j| self.problem.jobs[*j].minutes);
        self.problem.setup + work.sum::<i32>()
    }

    /// When a visit of these jobs may start on a day, by access, daylight and promise; an empty list is
    /// any time, `None` never.
    pub fn starts(&self, jobs: &[usize], day: usize) -> Option<Vec<Span>> {
        let length = self.length(jobs);
        let mut free: Option<Vec<Span>> = None;
        for j in jobs {
            let job = &self.problem.jobs[*j];
            if let Some(slots) = &job.slots {
                let slots = slots.iter().map(|s| [s[0], s[1] - length]);
                free = Some(cut(free, slots));
            }
            if job.daylight {
                let light = self.problem.daylight[day];
                free = Some(cut(free, std::iter::once([light[0], light[1] - length])));
            }
            if let Some(fixed) = &job.fixed {
                free = Some(cut(free, std::iter::once([fixed.start, fixed.start])));
            }
        }
        match free {
            None => Some(Vec::new()),
            Some(list) if list.is_empty() => None,
            Some(mut list) => {
                list.sort_unstable();
                list.dedup_by(|next, kept| {
                    let joined = next[0] <= kept[1];
                    if joined {
                        kept[1] = kept[1].max(next[1]);
                    }
                    joined
                });
                Some(list)
            }
        }
    }

    /// Whether starts depend on the day.
    pub fn day_matters(&self, jobs: &[usize]) -> bool {
        jobs.iter().any(|j| self.problem.jobs[*j].daylight)
    }
}

fn cut(free: Option<Vec<Span>>, with: impl Iterator<Item = Span> + Clone) -> Vec<Span> {
    let Some(free) = free else {
        return with.filter(|s| s[0] <= s[1]).collect();
    };
    let mut out = Vec::new();
    for a in &free {
        for b in with.clone() {
            let both = [a[0].max(b[0]), a[1].min(b[1])];
            if both[0] <= both[1] {
                out.push(both);
            }
        }
    }
    out
}

/// First start at or after `from`.
pub fn first_start(starts: &[Span], from: i32) -> Option<i32> {
    if starts.is_empty() {
        return Some(from);
    }
    let span = starts.iter().find(|s| s[1] >= from)?;
    Some(span[0].max(from))
}

/// Last start at or before `until`.
pub fn last_start(starts: &[Span], until: i32) -> Option<i32> {
    if starts.is_empty() {
        return Some(until);
    }
    let span = starts.iter().rev().find(|s| s[0] <= until)?;
    Some(span[1].min(until))
}
