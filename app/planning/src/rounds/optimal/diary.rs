//! All rounds with what they cost; changes can be taken back.
use super::model::{Span, Visit};
use super::round::{Round, Stop};
use super::tables::Tables;

/// What the search has decided so far.
#[derive(Clone, Debug)]
pub struct Diary<'a> {
    /// Look-ups.
    pub tables: &'a Tables<'a>,
    /// Engineers' days, engineer × days + day.
    pub rounds: Vec<Round>,
    /// Rounds of each job: none, one, or two for a pair.
    pub places: Vec<[Option<usize>; 2]>,
    /// Minutes of visits in each week.
    pub weeks: Vec<i64>,
    /// The same under each cap, cap × weeks + week.
    capped: Vec<i64>,
    /// Rounds that come to each place.
    pub coming: Vec<Vec<u32>>,
    /// Jobs in no round.
    pub absent: Vec<usize>,
    /// The objective, pence.
    pub cost: i64,
    stamp: Vec<u32>,
    now: u32,
    before: Vec<(usize, Round)>,
    was: (i64, Vec<i64>, Vec<usize>, Vec<i64>),
}

impl<'a> Diary<'a> {
    /// Nobody goes anywhere.
    pub fn empty(tables: &'a Tables<'a>) -> Self {
        let problem = tables.problem;
        let rounds: Vec<Round> = (0..tables.shifts.len())
            .map(|r| Round::empty(problem.engineers[r / tables.days].base, tables.shifts[r]))
            .collect();
        Self {
            tables,
            stamp: vec![0; rounds.len()],
            rounds,
            places: vec![[None; 2]; problem.jobs.len()],
            weeks: vec![0; tables.days.div_ceil(7)],
            capped: vec![0; tables.days.div_ceil(7) * problem.week_caps.len()],
            coming: vec![Vec::new(); problem.travel.len()],
            absent: (0..problem.jobs.len()).collect(),
            cost: problem.jobs.iter().map(|j| j.unplaced).sum(),
            now: 0,
            before: Vec::new(),
            was: (0, Vec::new(), Vec::new(), Vec::new()),
        }
    }

    /// The day of a round.
    pub fn day(&self, round: usize) -> usize {
        round % self.tables.days
    }

    /// The engineer of a round.
    pub fn engineer(&self, round: usize) -> usize {
        round / self.tables.days
    }

    /// From here on changes can be taken back.
    pub fn begin(&mut self) {
        self.now += 1;
        self.before.clear();
        self.was.0 = self.cost;
        self.was.1.clone_from(&self.weeks);
        self.was.2.clone_from(&self.absent);
        self.was.3.clone_from(&self.capped);
    }

    /// Takes back everything since [`Diary::begin`].
    pub fn take_back(&mut self) {
        let before = std::mem::take(&mut self.before);
        for (r, _) in &before {
            self.comes(*r, false);
            for stop in &self.rounds[*r].stops {
                for job in &stop.jobs {
                    let slot = &mut self.places[*job];
                    if slot[0] == Some(*r) {
                        *slot = [slot[1], None];
                    } else if slot[1] == Some(*r) {
                        slot[1] = None;
                    }
                }
            }
        }
        for (r, round) in before {
            for stop in &round.stops {
                for job in &stop.jobs {
                    let slot = &mut self.places[*job];
                    slot[usize::from(slot[0].is_some())] = Some(r);
                }
            }
            self.rounds[r] = round;
            self.comes(r, true);
        }
        self.cost = self.was.0;
        self.weeks.clone_from(&self.was.1);
        self.absent.clone_from(&self.was.2);
        self.capped.clone_from(&self.was.3);
    }

    /// Rounds changed since [`Diary::begin`].
    pub fn touched(&self) -> impl Iterator<Item = usize> + '_ {
        self.before.iter().map(|(r, _)| *r)
    }

    fn touch(&mut self, r: usize) {
        if self.stamp[r] != self.now {
            self.stamp[r] = self.now;
            self.before.push((r, self.rounds[r].clone()));
        }
    }

    /// What the week of `day` costs more with so many minutes more, pence.
    pub fn week_costs(&self, day: usize, minutes: i32) -> i64 {
        let problem = self.tables.problem;
        let (week, level) = (self.weeks[day / 7], problem.week_level[day / 7]);
        let over = |m: i64| (m - level).max(0);
        problem.costs.over_week * (over(week + i64::from(minutes)) - over(week))
    }

    /// Whether the week of a round has room for so many minutes more, under every cap of its engineer.
    pub fn has_week(&self, r: usize, minutes: i32) -> bool {
        let (week, weeks) = (self.day(r) / 7, self.weeks.len());
        self.tables.caps_of[self.engineer(r)].iter().all(|cap| {
            let given = self.tables.problem.week_caps[*cap].in_week(week);
            self.capped[cap * weeks + week] + i64::from(minutes) <= given
        })
    }

    fn add_week(&mut self, r: usize, minutes: i32) {
        let day = self.day(r);
        self.cost += self.week_costs(day, minutes);
        self.weeks[day / 7] += i64::from(minutes);
        let weeks = self.weeks.len();
        for cap in &self.tables.caps_of[self.engineer(r)] {
            self.capped[cap * weeks + day / 7] += i64::from(minutes);
        }
    }

    /// Pence for doing these jobs on a day rather than on their earliest.
    pub fn delay(&self, jobs: &[usize], day: usize) -> i64 {
        let late = |j: &usize| {
            let job = &self.tables.problem.jobs[*j];
            job.delay * i64::from(day as i32 - job.earliest)
        };
        jobs.iter().map(late).sum()
    }

    /// Writes down (or strikes out) the places a round comes to.
    fn comes(&mut self, r: usize, comes: bool) {
        let stops = &self.rounds[r].stops;
        for (at, stop) in stops.iter().enumerate() {
            if stops[..at].iter().all(|s| s.place != stop.place) {
                let list = &mut self.coming[stop.place];
                if comes {
                    list.push(r as u32);
                } else {
                    list.retain(|other| *other as usize != r);
                }
            }
        }
    }

    fn left_out(&self, jobs: &[usize]) -> i64 {
        jobs.iter()
            .map(|j| self.tables.problem.jobs[*j].unplaced)
            .sum()
    }

    /// Puts a visit into a round; for a pair call it once for each engineer.
    pub fn insert(&mut self, r: usize, at: usize, jobs: Vec<usize>, starts: Vec<Span>) {
        self.touch(r);
        let tables = self.tables;
        let length = tables.length(&jobs);
        let day = self.day(r);
        let first = self.places[jobs[0]][0].is_none();
        if first {
            self.cost += self.delay(&jobs, day) - self.left_out(&jobs);
        }
        for job in &jobs {
            let slot = &mut self.places[*job];
            slot[usize::from(slot[0].is_some())] = Some(r);
        }
        self.add_week(r, length);
        let travel = self.rounds[r].travel;
        let place = tables.place(jobs[0]);
        if self.rounds[r].stops.iter().all(|s| s.place != place) {
            self.coming[place].push(r as u32);
        }
        let stop = Stop {
            jobs,
            place,
            length,
            starts,
            early: 0,
            late: 0,
        };
        self.rounds[r].insert(tables, at, stop);
        let costs = &tables.problem.costs;
        self.cost += costs.visit + costs.travel * i64::from(self.rounds[r].travel - travel);
    }

    /// Adds jobs to a visit of the same space.
    pub fn join(&mut self, r: usize, at: usize, jobs: &[usize], starts: Vec<Span>) {
        self.touch(r);
        let tables = self.tables;
        let day = self.day(r);
        self.cost += self.delay(jobs, day) - self.left_out(jobs);
        for job in jobs {
            self.places[*job] = [Some(r), None];
        }
        let stop = &mut self.rounds[r].stops[at];
        stop.jobs.extend_from_slice(jobs);
        stop.starts = starts;
        let more = tables.length(&stop.jobs) - stop.length;
        stop.length += more;
        self.rounds[r].renew(tables);
        self.add_week(r, more);
    }

    /// Takes a visit out of a round; its jobs are absent from now on, in every round.
    pub fn remove(&mut self, r: usize, at: usize) {
        let stop = self.take(r, at);
        let day = self.day(r);
        self.cost += self.left_out(&stop.jobs) - self.delay(&stop.jobs, day);
        // The other engineer of a pair.
        let places = self.places[stop.jobs[0]];
        if let Some(other) = places.into_iter().flatten().find(|p| *p != r) {
            let stops = &self.rounds[other].stops;
            if let Some(at) = stops.iter().position(|s| s.jobs == stop.jobs) {
                self.take(other, at);
            }
        }
        for job in &stop.jobs {
            self.places[*job] = [None; 2];
        }
        self.absent.extend(stop.jobs);
    }

    fn take(&mut self, r: usize, at: usize) -> Stop {
        self.touch(r);
        let tables = self.tables;
        let travel = self.rounds[r].travel;
        let stop = self.rounds[r].remove(tables, at);
        if self.rounds[r].stops.iter().all(|s| s.place != stop.place) {
            self.coming[stop.place].retain(|other| *other as usize != r);
        }
        self.add_week(r, -stop.length);
        let costs = &tables.problem.costs;
        self.cost += costs.travel * i64::from(self.rounds[r].travel - travel) - costs.visit;
        stop
    }

    /// The visits as they stand, each as early as it can be.
    pub fn visits(&self) -> Vec<Visit> {
        let mut visits = Vec::new();
        for (r, round) in self.rounds.iter().enumerate() {
            for stop in &round.stops {
                visits.push(Visit {
                    engineer: self.engineer(r),
                    day: self.day(r) as i32,
                    start: stop.early,
                    jobs: stop.jobs.clone(),
                });
            }
        }
        visits.sort_by_key(|v| (v.day, v.engineer, v.start));
        visits
    }
}
