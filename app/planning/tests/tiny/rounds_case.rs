//! Tiny rounds on a ten-minute grid, and every plan there is for them.
use planning::rounds::optimal::model::{
    Appointment, Costs, Engineer, Job, Problem, Site, Span, Visit,
};
use proptest::prelude::*;

/// Everything happens on whole multiples of this, so starts off the grid bring nothing.
pub const GRID: i32 = 10;
const DAYS: i32 = 2;

fn any_job() -> impl Strategy<Value = Job> {
    let where_ = (0usize..2, 0usize..2, 1i32..13);
    let when = (
        0i32..DAYS,
        0i32..DAYS,
        0usize..4,
        prop::option::weighted(0.2, 50i32..60),
    );
    let costs = (prop_oneof![Just(0i64), 100i64..2_000], 1_000i64..9_000);
    (where_, when, costs, 0usize..4).prop_map(|(at, when, costs, needs)| {
        let slots: Option<Vec<Span>> = match when.2 {
            0 => Some(vec![[480, 600]]),
            1 => Some(vec![[480, 540], [620, 700]]),
            _ => None,
        };
        Job {
            building: at.0,
            space: 2 * at.0 + at.1,
            minutes: at.2 * GRID,
            crew: 1,
            qualifications: if needs == 0 {
                vec!["gas".to_owned()]
            } else {
                Vec::new()
            },
            earliest: when.0.min(when.1),
            latest: when.0.max(when.1),
            slots,
            weekdays: None,
            fixed: when.3.map(|tens| Appointment {
                day: when.0,
                start: tens * GRID,
                engineer: None,
            }),
            heat_off: false,
            daylight: false,
            delay: costs.0,
            unplaced: costs.1,
        }
    })
}

fn engineer(gas: bool, base: usize, shift: Span) -> Engineer {
    let mut qualifications = vec!["water".to_owned()];
    if gas {
        qualifications.push("gas".to_owned());
    }
    Engineer {
        base,
        areas: vec![0],
        qualifications,
        week: vec![Some(shift); 7],
        off: Vec::new(),
        short: Vec::new(),
    }
}

pub fn any_problem() -> impl Strategy<Value = Problem> {
    let jobs = prop::collection::vec(any_job(), 1..5);
    let shifts = ((48i32..51, 64i32..75), (48i32..51, 64i32..75));
    (jobs, shifts, (1i32..4, 1i32..4), any::<bool>(), 60i64..400).prop_map(
        |(mut jobs, shifts, ways, pair, level)| {
            if pair && jobs.len() < 4 {
                jobs[0].crew = 2;
                jobs[0].space = 9;
                jobs[0].fixed = None;
            }
            let (a, b) = (ways.0 * GRID, ways.1 * GRID);
            Problem {
                days: DAYS,
                weekday0: 0,
                bank_holidays: Vec::new(),
                heating_season: Vec::new(),
                daylight: vec![[0, 1440]; DAYS as usize],
                setup: GRID,
                costs: Costs {
                    travel: 60,
                    visit: 1_500,
                    over_week: 20,
                },
                week_level: vec![level],
                travel: vec![vec![0, a, b], vec![a, 0, a.max(b)], vec![b, a.max(b), 0]],
                buildings: vec![Site { place: 1, area: 0 }, Site { place: 2, area: 0 }],
                engineers: vec![
                    engineer(true, 0, [shifts.0.0 * GRID, shifts.0.1 * GRID]),
                    engineer(false, 0, [shifts.1.0 * GRID, shifts.1.1 * GRID]),
                ],
                jobs,
                week_caps: Vec::new(),
            }
        },
    )
}

/// A visit with a place in a row but no minute yet.
#[derive(Clone)]
struct Call {
    jobs: Vec<usize>,
}

/// Tries every plan: every job left out, joined to a visit of its space, or in a visit of its own at every place
/// of every engineer's day; every visit as early as it can be or at a minute of `old`, a pair at every minute.
pub struct Trying<'a> {
    pub problem: &'a Problem,
    /// Minutes at which a job stood before.
    pub old: Vec<Option<i32>>,
    pub told: &'a mut dyn FnMut(&[Visit]),
}

impl Trying<'_> {
    pub fn all(&mut self) {
        let rows = vec![Vec::new(); self.problem.engineers.len() * DAYS as usize];
        self.job(0, rows);
    }

    fn job(&mut self, j: usize, rows: Vec<Vec<Call>>) {
        let Some(card) = self.problem.jobs.get(j) else {
            self.minutes(&rows, 0, 0, Vec::new());
            return;
        };
        self.job(j + 1, rows.clone());
        for r in 0..rows.len() {
            for at in 0..=rows[r].len() {
                let mut with = rows.clone();
                with[r].insert(at, Call { jobs: vec![j] });
                if card.crew == 1 {
                    self.job(j + 1, with);
                    continue;
                }
                // The other engineer of the pair, the same day.
                for other in (r + 1..rows.len()).filter(|o| o % DAYS as usize == r % DAYS as usize)
                {
                    for place in 0..=rows[other].len() {
                        let mut both = with.clone();
                        both[other].insert(place, Call { jobs: vec![j] });
                        self.job(j + 1, both);
                    }
                }
            }
            for at in 0..rows[r].len() {
                let mate = &self.problem.jobs[rows[r][at].jobs[0]];
                if mate.space == card.space && mate.crew == 1 && card.crew == 1 {
                    let mut with = rows.clone();
                    with[r][at].jobs.push(j);
                    self.job(j + 1, with);
                }
            }
        }
    }

    /// Gives the visits of row `r` from `at` on their minutes, one way after the other.
    fn minutes(&mut self, rows: &[Vec<Call>], r: usize, at: usize, visits: Vec<Visit>) {
        let Some(row) = rows.get(r) else {
            (self.told)(&visits);
            return;
        };
        let Some(call) = row.get(at) else {
            self.minutes(rows, r + 1, 0, visits);
            return;
        };
        let (engineer, day) = (r / DAYS as usize, (r % DAYS as usize) as i32);
        let last = visits.last().filter(|_| at > 0);
        let shift = self.problem.engineers[engineer].week[day as usize].unwrap_or([0, 0]);
        let here = self.problem.engineers[engineer].base;
        let (here, free) = last.map_or((here, shift[0]), |v| (self.place(v), self.end(v)));
        let mut visit = Visit {
            engineer,
            day,
            start: 0,
            jobs: call.jobs.clone(),
        };
        let ready = free + self.problem.travel[here][self.place(&visit)];
        let mut starts: Vec<i32> = if self.problem.jobs[call.jobs[0]].crew == 2 {
            Self::pair_starts(&visits, &call.jobs, day, ready, shift[1])
        } else {
            let old = call.jobs.iter().filter_map(|j| self.old[*j]);
            let old = old.filter(|s| *s >= ready);
            old.chain(self.first(&call.jobs, ready, shift[1])).collect()
        };
        starts.sort_unstable();
        starts.dedup();
        for start in starts {
            visit.start = start;
            let mut with = visits.clone();
            with.push(visit.clone());
            self.minutes(rows, r, at + 1, with);
        }
    }

    /// The second of a pair comes when the first does; the first at any minute.
    fn pair_starts(so_far: &[Visit], jobs: &[usize], day: i32, ready: i32, end: i32) -> Vec<i32> {
        match so_far.iter().find(|v| v.day == day && v.jobs == jobs) {
            Some(first) => vec![first.start]
                .into_iter()
                .filter(|s| *s >= ready)
                .collect(),
            None => (ready..end).step_by(GRID as usize).collect(),
        }
    }

    /// First minute at which every job has access and its promise.
    fn first(&self, jobs: &[usize], ready: i32, end: i32) -> Option<i32> {
        let long = self.length(jobs);
        (ready..end).step_by(GRID as usize).find(|s| {
            jobs.iter().all(|j| {
                let card = &self.problem.jobs[*j];
                let open = card.slots.as_ref().is_none_or(|slots| {
                    slots
                        .iter()
                        .any(|slot| slot[0] <= *s && s + long <= slot[1])
                });
                open && card.fixed.as_ref().is_none_or(|f| f.start == *s)
            })
        })
    }

    fn length(&self, jobs: &[usize]) -> i32 {
        let work = jobs.iter().map(|j| self.problem.jobs[*j].minutes);
        self.problem.setup + work.sum::<i32>()
    }

    fn place(&self, visit: &Visit) -> usize {
        let building = self.problem.jobs[visit.jobs[0]].building;
        self.problem.buildings[building].place
    }

    fn end(&self, visit: &Visit) -> i32 {
        visit.start + self.length(&visit.jobs)
    }
}
