//! Ruin: visits near each other in place and time are taken out together.
use super::diary::Diary;
use crate::dice::Dice;

/// Removes about `size` visits.
pub fn ruin(diary: &mut Diary<'_>, dice: &mut Dice, size: usize) {
    let Some(seed) = placed_job(diary, dice) else {
        return;
    };
    match dice.below(10) {
        0..=5 => strings(diary, dice, seed, size),
        6 | 7 => attendances(diary, dice, seed, size),
        _ => whole_days(diary, dice, seed, size),
    }
}

fn placed_job(diary: &Diary<'_>, dice: &mut Dice) -> Option<usize> {
    let count = diary.places.len();
    (0..40)
        .map(|_| dice.below(count))
        .find(|job| diary.places.get(*job).is_some_and(|p| p[0].is_some()))
}

/// A placed job of the seed's building or one near it, on a day the seed could have.
fn neighbour(diary: &Diary<'_>, dice: &mut Dice, seed: usize) -> Option<usize> {
    let tables = diary.tables;
    let home = tables.problem.jobs[seed].building;
    let near = &tables.near[home];
    let (first, last) = (
        *tables.open[seed].first()? as usize,
        *tables.open[seed].last()? as usize,
    );
    for _ in 0..12 {
        let mut step = 0;
        while step + 1 < near.len() && dice.unit() < 0.3 {
            step += 1;
        }
        let building = near[step];
        let Some(job) = dice.pick(&tables.jobs_of[building]) else {
            continue;
        };
        let Some(r) = diary.places[job][0] else {
            continue;
        };
        if (first..=last).contains(&diary.day(r)) {
            return Some(job);
        }
    }
    None
}

/// A run of visits around the seed, then runs around its neighbours, each in another round.
fn strings(diary: &mut Diary<'_>, dice: &mut Dice, seed: usize, size: usize) {
    let longest = 1 + dice.below(8);
    let mut job = Some(seed);
    let mut taken = 0;
    let mut ruined: Vec<usize> = Vec::new();
    let mut tries = 0;
    while taken < size && tries < 3 * size {
        tries += 1;
        if let Some(j) = job
            && let Some(r) = diary.places[j][0]
            && !ruined.contains(&r)
        {
            ruined.push(r);
            let count = diary.rounds[r].stops.len();
            let run = (1 + dice.below(longest)).min(count);
            let at = diary.rounds[r]
                .stops
                .iter()
                .position(|s| s.jobs.contains(&j))
                .unwrap_or(0);
            let lowest = (at + 1).saturating_sub(run);
            let highest = at.min(count - run);
            let begin = lowest + dice.below(highest - lowest + 1);
            taken += take_run(diary, r, begin, run);
        }
        job = neighbour(diary, dice, seed);
    }
}

fn take_run(diary: &mut Diary<'_>, r: usize, begin: usize, run: usize) -> usize {
    for _ in 0..run {
        if begin < diary.rounds[r].stops.len() {
            diary.remove(r, begin);
        }
    }
    run
}

/// Everything a round does in one building, for the seed's round and its neighbours'.
fn attendances(diary: &mut Diary<'_>, dice: &mut Dice, seed: usize, size: usize) {
    let tables = diary.tables;
    let mut job = Some(seed);
    let mut taken = 0;
    let mut tries = 0;
    while taken < size + 4 && tries < 2 * size {
        tries += 1;
        if let Some(j) = job
            && let Some(r) = diary.places[j][0]
        {
            let place = tables.place(j);
            while let Some(at) = diary.rounds[r].stops.iter().position(|s| s.place == place) {
                diary.remove(r, at);
                taken += 1;
            }
        }
        job = neighbour(diary, dice, seed);
    }
}

/// Whole days of the seed's engineer and of neighbours.
fn whole_days(diary: &mut Diary<'_>, dice: &mut Dice, seed: usize, size: usize) {
    let mut job = Some(seed);
    let mut taken = 0;
    let mut tries = 0;
    while taken < size && tries < size {
        tries += 1;
        if let Some(j) = job
            && let Some(r) = diary.places[j][0]
        {
            let count = diary.rounds[r].stops.len();
            taken += take_run(diary, r, 0, count);
        }
        job = neighbour(diary, dice, seed);
    }
}
