//! Ruin and recreate under simulated annealing: seeded, stoppable at any moment, the best kept.
use super::diary::Diary;
use super::recreate::recreate;
use super::round::Round;
use super::ruin::ruin;
use crate::Allowance;
use crate::dice::Dice;

/// How to search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Search {
    /// Seed of every choice.
    pub seed: u64,
    /// Most iterations; the search ends at this or with the allowance, whichever comes first.
    pub iterations: u64,
    /// First and last temperature, pence.
    pub temperature: (f64, f64),
    /// Visits taken out at once, on average.
    pub ruin: usize,
}

impl Default for Search {
    fn default() -> Self {
        Self {
            seed: 1,
            iterations: u64::MAX,
            temperature: (3000.0, 30.0),
            ruin: 10,
        }
    }
}

/// The best rounds seen, kept up by copying what changed.
struct Best {
    cost: i64,
    rounds: Vec<Round>,
    dirty: Vec<usize>,
    marked: Vec<bool>,
}

impl Best {
    fn of(diary: &Diary<'_>) -> Self {
        Self {
            cost: diary.cost,
            rounds: diary.rounds.clone(),
            dirty: Vec::new(),
            marked: vec![false; diary.rounds.len()],
        }
    }

    fn accepted(&mut self, diary: &Diary<'_>) {
        for r in diary.touched() {
            if !self.marked[r] {
                self.marked[r] = true;
                self.dirty.push(r);
            }
        }
        if diary.cost < self.cost {
            self.cost = diary.cost;
            for r in self.dirty.drain(..) {
                self.marked[r] = false;
                self.rounds[r].clone_from(&diary.rounds[r]);
            }
        }
    }
}

/// Improves the diary until the allowance, the iterations or `floor` (a lower bound) is reached; it
/// holds the best found afterwards. Returns the iterations made. `told` hears of progress now and then:
/// share of the time gone, best cost.
pub fn anneal(
    diary: &mut Diary<'_>,
    search: &Search,
    floor: i64,
    allowance: &dyn Allowance,
    told: &mut dyn FnMut(f64, i64),
) -> u64 {
    let mut dice = Dice::new(search.seed);
    let total = allowance.seconds_left();
    let (hot, cold) = search.temperature;
    let mut best = Best::of(diary);
    let (mut temperature, mut gone) = (hot, 0.0);
    let mut made = 0;
    while made < search.iterations && best.cost > floor {
        if made % 64 == 0 {
            let left = allowance.seconds_left();
            if left <= 0.0 {
                break;
            }
            let by_time = if total.is_finite() {
                1.0 - left / total
            } else {
                0.0
            };
            let by_count = made as f64 / search.iterations as f64;
            gone = f64::max(by_time, by_count);
            temperature = hot * (cold / hot).powf(gone);
        }
        made += 1;
        diary.begin();
        let was = diary.cost;
        let size = 1 + dice.below(2 * search.ruin);
        ruin(diary, &mut dice, size);
        recreate(diary, &mut dice);
        let worse = (diary.cost - was) as f64;
        if worse <= 0.0 || worse < -temperature * dice.unit().max(1e-300).ln() {
            best.accepted(diary);
        } else {
            diary.take_back();
        }
        if made % 4096 == 0 {
            told(gone, best.cost);
        }
    }
    restore(diary, best);
    made
}

/// Makes the best the diary's present.
fn restore(diary: &mut Diary<'_>, best: Best) {
    let mut fresh = Diary::empty(diary.tables);
    for (r, round) in best.rounds.into_iter().enumerate() {
        for (at, stop) in round.stops.into_iter().enumerate() {
            fresh.insert(r, at, stop.jobs, stop.starts);
        }
    }
    let places = &fresh.places;
    fresh.absent.retain(|job| places[*job][0].is_none());
    *diary = fresh;
}
