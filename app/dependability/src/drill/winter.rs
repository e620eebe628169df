//! One winter, day by day, between two of its events.
use super::{Cover, Estate, NIGHTS};
use crate::dice::Dice;

/// 25 and 26 December and 1 January, counted from 1 October.
const HOLIDAYS: [usize; 3] = [85, 86, 92];
/// Faults called before this share of the day can be seen on it (judgement: by noon).
const SAME_DAY: f64 = 0.5;

/// What all winters together showed.
#[derive(Clone, Debug, Default)]
pub(super) struct Seen {
    /// Homes without heating on the worst night, a winter each.
    pub worst: Vec<u32>,
    pub faults: u64,
    pub cold_nights: u64,
}

/// A fault waiting for an engineer.
#[derive(Clone, Copy, Debug)]
struct Waiting {
    /// Day from which it can be seen; the oldest comes first.
    from: usize,
    unit: usize,
    /// The part it needs and nobody carries; `None` once it is there.
    part: Option<usize>,
}

struct Winter<'a> {
    estate: &'a Estate,
    /// Groups of each unit.
    groups_of: &'a [Vec<usize>],
    down: Vec<bool>,
    /// Units up in each group.
    up: Vec<usize>,
    /// Short groups of each home.
    short: Vec<u32>,
    cold: u32,
    faults: u64,
    cold_nights: u64,
}

/// A fault: its day, the share of the day gone, the unit, the part it needs.
type Fault = (usize, f64, usize, Option<usize>);

/// The winters' faults, drawn once: they do not depend on who stands ready, so that two covers are compared on the same
/// faults. Of each winter the weekday of its first day and its faults in order of time.
pub(super) struct Drawn(Vec<(usize, Vec<Fault>)>);

impl Drawn {
    pub fn new(estate: &Estate, cover: &Cover, count: usize, seed: u64) -> Self {
        // Over many winters the spells leave a unit's expected number as its forecast has it.
        let usual: Vec<f64> = (0..NIGHTS).map(|day| in_spell(cover, day)).collect();
        let even: Vec<f64> = estate
            .calendars
            .iter()
            .map(|days| {
                let more = |(weight, spell): (&f64, &f64)| {
                    weight * (1.0 + spell * (cover.spell_factor - 1.0))
                };
                days.iter().zip(&usual).map(more).sum()
            })
            .collect();
        let one = |winter: u64| {
            let mut dice = Dice::new(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ winter);
            let faults = faults(estate, cover, &even, &mut dice);
            (dice.below(7), faults)
        };
        Self((0..count as u64).map(one).collect())
    }

    /// Lives through all of them.
    pub fn live(&self, estate: &Estate, cover: &Cover) -> Seen {
        let mut groups_of = vec![Vec::new(); estate.units.len()];
        for (place, group) in estate.groups.iter().enumerate() {
            for unit in &group.units {
                groups_of[*unit].push(place);
            }
        }
        let mut seen = Seen::default();
        for (first_day, faults) in &self.0 {
            let mut now = Winter::new(estate, &groups_of);
            seen.worst.push(now.run(cover, *first_day, faults));
            seen.cold_nights += now.cold_nights;
            seen.faults += now.faults;
        }
        seen
    }
}

/// The winter's faults in order of time.
fn faults(estate: &Estate, cover: &Cover, even: &[f64], dice: &mut Dice) -> Vec<Fault> {
    let mut spell = [false; NIGHTS];
    for _ in 0..dice.poisson(cover.spells) {
        let start = dice.below(NIGHTS);
        let end = (start + cover.spell_nights as usize).min(NIGHTS);
        spell[start..end].fill(true);
    }
    let calendars: Vec<Vec<f64>> = estate
        .calendars
        .iter()
        .map(|days| {
            let mut sum = 0.0;
            let running = days.iter().zip(spell).map(|(weight, cold)| {
                sum += if cold {
                    weight * cover.spell_factor
                } else {
                    *weight
                };
                sum
            });
            running.collect()
        })
        .collect();
    // What units do not know alike is drawn once a winter for all of them.
    let shared: Vec<f64> = (0..estate.doubts).map(|_| dice.normal()).collect();
    let mut all = Vec::new();
    for (place, unit) in estate.units.iter().enumerate() {
        let running = &calendars[unit.calendar];
        let whole = running.last().copied().unwrap_or(0.0);
        let known = unit
            .shared
            .iter()
            .map(|(at, sd)| sd * (shared[*at] - sd / 2.0));
        let rate = unit.expected * known.sum::<f64>().exp() * dice.frailty(unit.inv_size);
        for _ in 0..dice.poisson(rate * whole / even[unit.calendar]) {
            let drawn = dice.even() * whole;
            let day = running.partition_point(|sum| *sum <= drawn).min(NIGHTS - 1);
            let gone = dice.even();
            for unit in struck(estate, place, dice) {
                let part = part_of(&estate.units[unit].needs, dice);
                all.push((day, gone, unit, part));
            }
        }
    }
    all.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    all
}

/// The units a failure of this one takes: itself, or all of its plant. Every unit's failures with a common cause are
/// drawn, and of N units' one in N is kept, so that all fail together at c times their mean rate and each as often as
/// its forecast has it.
fn struck(estate: &Estate, unit: usize, dice: &mut Dice) -> Vec<usize> {
    let plant = estate.together.iter().find(|t| t.units.contains(&unit));
    match plant.filter(|t| t.common > 0.0 && dice.even() < t.common) {
        None => vec![unit],
        Some(plant) if dice.below(plant.units.len()) == 0 => plant.units.clone(),
        Some(_) => Vec::new(),
    }
}

/// Chance that a day lies in a cold spell: one of the days up to it begins one.
fn in_spell(cover: &Cover, day: usize) -> f64 {
    let starts = (day + 1).min(cover.spell_nights as usize);
    -(-cover.spells * starts as f64 / NIGHTS as f64).exp_m1()
}

fn part_of(needs: &[(usize, f64)], dice: &mut Dice) -> Option<usize> {
    let mut left = dice.even();
    for (part, chance) in needs {
        left -= chance;
        if left < 0.0 {
            return Some(*part);
        }
    }
    None
}

impl<'a> Winter<'a> {
    fn new(estate: &'a Estate, groups_of: &'a [Vec<usize>]) -> Self {
        Self {
            estate,
            groups_of,
            down: vec![false; estate.units.len()],
            up: estate.groups.iter().map(|g| g.units.len()).collect(),
            short: vec![0; estate.homes],
            cold: 0,
            faults: 0,
            cold_nights: 0,
        }
    }

    /// The worst night's homes without heating.
    fn run(&mut self, cover: &Cover, first_day: usize, faults: &[Fault]) -> u32 {
        let mut waiting: Vec<Waiting> = Vec::new();
        let (mut next, mut worst) = (0, 0);
        for day in 0..NIGHTS {
            while let Some((_, gone, unit, part)) = faults.get(next).filter(|f| f.0 == day) {
                next += 1;
                // A unit that is down already cannot fail.
                if !self.down[*unit] {
                    self.set(*unit, true);
                    self.faults += 1;
                    waiting.push(Waiting {
                        from: day + usize::from(*gone >= SAME_DAY),
                        unit: *unit,
                        part: part.filter(|p| !self.estate.parts[*p].on_van),
                    });
                }
            }
            if !waiting.is_empty() {
                self.visit(visits_on(cover, first_day, day), day, &mut waiting);
            }
            worst = worst.max(self.cold);
            self.cold_nights += u64::from(self.cold);
        }
        worst
    }

    /// The day's visits, the longest ready first.
    fn visit(&mut self, visits: u32, day: usize, waiting: &mut Vec<Waiting>) {
        let mut left = visits;
        waiting.sort_by_key(|w| w.from);
        let mut after = Vec::with_capacity(waiting.len());
        for fault in waiting.drain(..) {
            if fault.from > day || left == 0 {
                after.push(fault);
                continue;
            }
            left -= 1;
            match fault.part {
                None => self.set(fault.unit, false),
                Some(part) => {
                    let lead = self.estate.parts[part].lead_days as usize;
                    after.push(Waiting {
                        from: day + lead.max(1),
                        part: None,
                        ..fault
                    });
                }
            }
        }
        *waiting = after;
    }

    fn set(&mut self, unit: usize, down: bool) {
        self.down[unit] = down;
        for place in &self.groups_of[unit] {
            let group = &self.estate.groups[*place];
            let was = self.up[*place] < group.needed;
            if down {
                self.up[*place] -= 1;
            } else {
                self.up[*place] += 1;
            }
            let is = self.up[*place] < group.needed;
            for home in group.homes.iter().filter(|_| was != is) {
                let short = &mut self.short[*home];
                if is {
                    *short += 1;
                    self.cold += u32::from(*short == 1);
                } else {
                    *short -= 1;
                    self.cold -= u32::from(*short == 0);
                }
            }
        }
    }
}

fn visits_on(cover: &Cover, first_day: usize, day: usize) -> u32 {
    let weekend = (first_day + day) % 7 >= 5 || HOLIDAYS.contains(&day);
    let engineers = if weekend {
        cover.weekend_engineers
    } else {
        cover.engineers
    };
    engineers * cover.visits_each
}
