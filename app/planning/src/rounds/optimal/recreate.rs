//! Recreate: absent jobs go back in, each where it costs least, flatmates together where they can.
use super::diary::Diary;
use super::model::Span;
use super::tables::{Tables, first_start};
use crate::dice::Dice;

/// Share of places overlooked on purpose, so that the search does not always choose alike
/// (Christiaens and Vanden Berghe, "Slack Induction by String Removals", Transportation Science 2020).
const BLINK: f64 = 0.01;
/// How often absent flatmates go in as one visit.
const BUNDLE: f64 = 0.95;

/// A place for a visit.
#[derive(Clone, Debug)]
pub struct Place {
    /// More pence than leaving it out (without the price of leaving out).
    pub delta: i64,
    /// Rounds and positions: one, or two for a pair.
    pub at: Vec<(usize, usize)>,
    /// Whether it joins the visit that stands there.
    pub joins: bool,
    /// When the visit may start.
    pub starts: Vec<Span>,
}

/// A visit to be placed.
struct Package {
    jobs: Vec<usize>,
    length: i32,
    open: Vec<u32>,
    able: Vec<usize>,
}

fn both<T: PartialEq + Copy>(a: &[T], b: &[T]) -> Vec<T> {
    a.iter().copied().filter(|x| b.contains(x)).collect()
}

fn both_days(a: &[u32], b: &[u32]) -> Vec<u32> {
    a.iter()
        .copied()
        .filter(|x| b.binary_search(x).is_ok())
        .collect()
}

impl Package {
    fn of(tables: &Tables<'_>, job: usize) -> Self {
        let named = tables.problem.jobs[job]
            .fixed
            .as_ref()
            .and_then(|f| f.engineer);
        let able = tables.leads[job].iter().copied();
        Self {
            jobs: vec![job],
            length: tables.length(&[job]),
            open: tables.open[job].clone(),
            able: able.filter(|e| named.is_none_or(|n| n == *e)).collect(),
        }
    }

    /// With another job of the space, if one visit can do both.
    fn with(&self, tables: &Tables<'_>, mate: usize) -> Option<Self> {
        let other = Self::of(tables, mate);
        let open = both_days(&self.open, &other.open);
        let able = both(&self.able, &other.able);
        let first = *open.first()?;
        if able.is_empty() {
            return None;
        }
        let mut jobs = self.jobs.clone();
        jobs.push(mate);
        tables.starts(&jobs, first as usize)?;
        Some(Self {
            length: tables.length(&jobs),
            jobs,
            open,
            able,
        })
    }
}

/// The orders in which absent jobs are taken up.
fn order(tables: &Tables<'_>, dice: &mut Dice, absent: &mut [usize]) {
    dice.shuffle(absent);
    let job = |j: &usize| &tables.problem.jobs[*j];
    match dice.below(8) {
        0 | 1 => {}
        2 | 3 => absent.sort_by_key(|j| -job(j).minutes),
        4 => absent.sort_by_key(|j| tables.open[*j].len() * tables.leads[*j].len()),
        5 => absent.sort_by_key(|j| job(j).latest),
        6 => absent.sort_by_key(|j| job(j).earliest),
        _ => absent.sort_by_key(|j| job(j).building),
    }
    // Pairs need two engineers at once and promises one moment: first while there is room.
    if dice.below(4) > 0 {
        absent.sort_by_key(|j| (job(j).crew == 1, job(j).fixed.is_none()));
    }
}

/// Puts every absent job back that finds a place cheaper than leaving it out.
pub fn recreate(diary: &mut Diary<'_>, dice: &mut Dice) {
    let tables = diary.tables;
    let mut waiting = std::mem::take(&mut diary.absent);
    order(tables, dice, &mut waiting);
    for &job in &waiting {
        if diary.places[job][0].is_none() {
            place_with_mates(diary, dice, job);
        }
    }
    waiting.retain(|job| diary.places[*job][0].is_none());
    diary.absent = waiting;
}

fn place_with_mates(diary: &mut Diary<'_>, dice: &mut Dice, job: usize) {
    let tables = diary.tables;
    if tables.problem.jobs[job].crew == 2 {
        if let Some(place) = pair_place(diary, dice, job, 0) {
            settle(diary, &[job], place);
        }
        return;
    }
    let alone = Package::of(tables, job);
    if alone.open.is_empty() || alone.able.is_empty() {
        return;
    }
    let mut package = None;
    let space = &tables.spaces[tables.space_of[job]];
    for &mate in space {
        if mate != job && diary.places[mate][0].is_none() && dice.unit() < BUNDLE {
            let grown = package.as_ref().unwrap_or(&alone).with(tables, mate);
            package = grown.or(package);
        }
    }
    if let Some(package) = package
        && let Some(place) = best_place(diary, dice, &package)
    {
        settle(diary, &package.jobs, place);
        return;
    }
    if let Some(place) = best_place(diary, dice, &alone) {
        settle(diary, &alone.jobs, place);
    }
}

/// Writes a place into the diary.
pub fn settle(diary: &mut Diary<'_>, jobs: &[usize], place: Place) {
    if place.joins {
        let (r, at) = place.at[0];
        diary.join(r, at, jobs, place.starts);
        return;
    }
    for (r, at) in place.at {
        diary.insert(r, at, jobs.to_vec(), place.starts.clone());
    }
}

/// The cheapest place for one job from a day on, flatmates aside; a `share` below 1 looks at so many of
/// the days only.
pub fn place_from(
    diary: &Diary<'_>,
    dice: &mut Dice,
    job: usize,
    from: u32,
    share: f64,
) -> Option<Place> {
    if diary.tables.problem.jobs[job].crew == 2 {
        return pair_place(diary, dice, job, from);
    }
    let mut package = Package::of(diary.tables, job);
    package
        .open
        .retain(|day| *day >= from && (share >= 1.0 || dice.unit() < share));
    best_place(diary, dice, &package)
}

fn best_place(diary: &Diary<'_>, dice: &mut Dice, package: &Package) -> Option<Place> {
    let tables = diary.tables;
    let costs = &tables.problem.costs;
    let spot = tables.place(package.jobs[0]);
    let by_day = tables.day_matters(&package.jobs);
    // A promise is kept even where it takes more of a week than is given.
    let promised = package
        .jobs
        .iter()
        .any(|j| tables.problem.jobs[*j].fixed.is_some());
    let usual = tables.starts(&package.jobs, *package.open.first()? as usize);
    let price: i64 = package
        .jobs
        .iter()
        .map(|j| tables.problem.jobs[*j].unplaced)
        .sum();
    let mut best = (price, i32::MAX, None);
    for &day in &package.open {
        let day = day as usize;
        let late = diary.delay(&package.jobs, day) + costs.visit;
        if late > best.0 {
            continue;
        }
        let starts = if by_day {
            tables.starts(&package.jobs, day)
        } else {
            usual.clone()
        };
        let Some(starts) = starts else { continue };
        for &engineer in &package.able {
            let r = tables.round(engineer, day);
            let round = &diary.rounds[r];
            let slack = round.slack();
            let room = slack >= package.length && (promised || diary.has_week(r, package.length));
            if !room || dice.unit() < BLINK {
                continue;
            }
            let Some(gap) = round.best_gap(tables, spot, package.length, &starts) else {
                continue;
            };
            let delta =
                late + costs.travel * i64::from(gap.detour) + diary.week_costs(day, package.length);
            // Of places alike the fullest day: what is left free stays in one piece.
            if (delta, slack) < (best.0, best.1) {
                best = (delta, slack, Some((r, gap.at)));
            }
        }
    }
    let joined = join_place(diary, package, best.0);
    if joined.is_some() {
        return joined;
    }
    let (delta, _, spot) = best;
    let (r, at) = spot?;
    let starts = tables.starts(&package.jobs, diary.day(r))?;
    Some(Place {
        delta,
        at: vec![(r, at)],
        joins: false,
        starts,
    })
}

/// Joining a visit of flatmates, if that costs less than `most`.
fn join_place(diary: &Diary<'_>, package: &Package, most: i64) -> Option<Place> {
    let tables = diary.tables;
    let mut best: Option<Place> = None;
    for &mate in &tables.spaces[tables.space_of[package.jobs[0]]] {
        let Some(r) = diary.places[mate][0] else {
            continue;
        };
        let day = diary.day(r);
        let fits = package.open.binary_search(&(day as u32)).is_ok()
            && package.able.contains(&diary.engineer(r));
        if !fits || package.jobs.contains(&mate) {
            continue;
        }
        let round = &diary.rounds[r];
        let Some(at) = round.stops.iter().position(|s| s.jobs.contains(&mate)) else {
            continue;
        };
        let mut jobs = round.stops[at].jobs.clone();
        jobs.extend_from_slice(&package.jobs);
        let length = tables.length(&jobs);
        let Some(starts) = tables.starts(&jobs, day) else {
            continue;
        };
        let more = length - round.stops[at].length;
        let delta = diary.delay(&package.jobs, day) + diary.week_costs(day, more);
        let cheaper = delta < best.as_ref().map_or(most, |b| b.delta);
        let room = round.slack() >= more && diary.has_week(r, more);
        if cheaper && room && round.stretches(tables, at, length, &starts) {
            best = Some(Place {
                delta,
                at: vec![(r, at)],
                joins: true,
                starts,
            });
        }
    }
    best
}

/// The cheapest place for a pair: two rounds of one day, one start, one of the two able to lead.
fn pair_place(diary: &Diary<'_>, dice: &mut Dice, job: usize, from: u32) -> Option<Place> {
    let tables = diary.tables;
    let problem = tables.problem;
    let costs = &problem.costs;
    let card = &problem.jobs[job];
    let (spot, length) = (tables.place(job), tables.length(&[job]));
    let serves = &tables.serves[card.building];
    let named = card.fixed.as_ref().and_then(|f| f.engineer);
    let mut best: Option<Place> = None;
    let mut most = card.unplaced;
    for &day in tables.open[job].iter().filter(|day| **day >= from) {
        let day = day as usize;
        let late = diary.delay(&[job], day) + 2 * costs.visit;
        if late >= most {
            continue;
        }
        let Some(starts) = tables.starts(&[job], day) else {
            continue;
        };
        let late = late + diary.week_costs(day, 2 * length);
        let mut gaps = Vec::new();
        for &engineer in serves {
            let r = tables.round(engineer, day);
            let round = &diary.rounds[r];
            let room = round.slack() >= length && diary.has_week(r, length);
            if !room || dice.unit() < BLINK {
                continue;
            }
            let leads = tables.leads[job].contains(&engineer);
            for at in 0..=round.stops.len() {
                if let Some(gap) = round.gap(tables, at, spot, length, &starts) {
                    gaps.push((engineer, leads, r, gap));
                }
            }
        }
        for (i, a) in gaps.iter().enumerate() {
            for b in &gaps[i + 1..] {
                let together = a.0 != b.0 && (a.1 || b.1);
                // A named engineer binds every visit of the job: no pair can keep that.
                if !together || named.is_some() {
                    continue;
                }
                let delta = late + costs.travel * i64::from(a.3.detour + b.3.detour);
                let from = a.3.from.max(b.3.from);
                let start = first_start(&starts, from).filter(|s| *s <= a.3.until.min(b.3.until));
                if let Some(start) = start
                    && delta < most
                {
                    most = delta;
                    best = Some(Place {
                        delta,
                        at: vec![(a.2, a.3.at), (b.2, b.3.at)],
                        joins: false,
                        starts: vec![[start, start]],
                    });
                }
            }
        }
    }
    best
}
