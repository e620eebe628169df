//! Every visit that can be: which jobs of a space go together, in which rounds.
use super::tables::Tables;

/// Jobs of one space that a single visit could do.
#[derive(Clone, Debug)]
pub struct Bundle {
    /// The jobs.
    pub jobs: Vec<usize>,
    /// Minutes, set-up with them.
    pub length: i32,
    /// Building.
    pub building: usize,
    /// Whether it takes two engineers.
    pub pair: bool,
    /// Pence each engineer's coming costs.
    pub visit: f64,
    /// Rounds that could do it and nothing else: qualified, in area, on shift, allowed, and fitting.
    pub rounds: Vec<u32>,
}

/// Spaces with more one-person jobs than this are not looked at set by set.
pub const MOST_TOGETHER: usize = 8;

/// The bundles of a space, by the subset of its jobs (bit i = i-th job of the space); `None` where no
/// visit can do just these. Only subsets of one job when the space has more than [`MOST_TOGETHER`].
pub fn bundles(tables: &Tables<'_>, space: usize) -> Vec<Option<Bundle>> {
    let jobs = &tables.spaces[space];
    if jobs.len() > MOST_TOGETHER {
        return Vec::new();
    }
    let mut out = vec![None; 1 << jobs.len()];
    for (mask, slot) in out.iter_mut().enumerate().skip(1) {
        let chosen = (0..jobs.len())
            .filter(|i| mask >> i & 1 == 1)
            .map(|i| jobs[i])
            .collect();
        *slot = bundle(tables, chosen);
    }
    out
}

/// The visit that does just these jobs, if any round could.
pub fn bundle(tables: &Tables<'_>, jobs: Vec<usize>) -> Option<Bundle> {
    let problem = tables.problem;
    let building = problem.jobs[jobs[0]].building;
    let pair = problem.jobs[jobs[0]].crew == 2;
    let length = tables.length(&jobs);
    let place = tables.place(jobs[0]);
    let by_day = tables.day_matters(&jobs);
    let mut starts = None;
    let mut rounds = Vec::new();
    let first = jobs[0];
    for &day in &tables.open[first] {
        let open = |j: &usize| tables.open[*j].binary_search(&day).is_ok();
        if !jobs[1..].iter().all(open) {
            continue;
        }
        if by_day || starts.is_none() {
            starts = Some(tables.starts(&jobs, day as usize));
        }
        let Some(Some(starts)) = &starts else {
            continue;
        };
        for &engineer in &tables.serves[building] {
            let able = pair || jobs.iter().all(|j| tables.leads[*j].contains(&engineer));
            let named = jobs.iter().all(|j| {
                let fixed = problem.jobs[*j].fixed.as_ref();
                fixed.and_then(|f| f.engineer).is_none_or(|n| n == engineer)
            });
            let r = tables.round(engineer, day as usize);
            let Some(shift) = tables.shifts[r].filter(|_| able && named) else {
                continue;
            };
            let out = tables.way(problem.engineers[engineer].base, place);
            let (from, until) = (shift[0] + out, shift[1] - out - length);
            let fits = super::tables::first_start(starts, from).is_some_and(|s| s <= until);
            if fits {
                rounds.push(r as u32);
            }
        }
    }
    if pair {
        paired(tables, first, &mut rounds);
    }
    (!rounds.is_empty()).then_some(Bundle {
        jobs,
        length,
        building,
        pair,
        visit: problem.costs.visit as f64,
        rounds,
    })
}

/// Keeps the rounds of days on which two engineers could come, one of them able to lead.
fn paired(tables: &Tables<'_>, job: usize, rounds: &mut Vec<u32>) {
    let days = tables.days as u32;
    let leads = &tables.leads[job];
    let named = tables.problem.jobs[job].fixed.as_ref();
    if named.is_some_and(|f| f.engineer.is_some()) {
        rounds.clear();
        return;
    }
    let all = rounds.clone();
    rounds.retain(|r| {
        let mine = (*r / days) as usize;
        all.iter().any(|other| {
            let theirs = (*other / days) as usize;
            other % days == r % days
                && theirs != mine
                && (leads.contains(&mine) || leads.contains(&theirs))
        })
    });
}
