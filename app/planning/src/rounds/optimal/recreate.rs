//! Recreate: absent jobs go back in, each where it costs least, flatmates together where they can.
use super::diary::Diary;
use super::model::Span;
use super::package::Package;
use super::pairs::pair_place;
use super::seek::best_place;
use super::tables::Tables;
use crate::dice::Dice;

/// Share of places overlooked on purpose, so that the search does not always choose alike
/// (Christiaens and Vanden Berghe, "Slack Induction by String Removals", Transportation Science 2020).
pub const BLINK: f64 = 0.01;
/// How often absent flatmates go in as one visit.
const BUNDLE: f64 = 0.95;

/// More pence than anything costs.
const ANY_PRICE: i64 = i64::MAX / 4;

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
    let left_out =
        |jobs: &[usize]| -> i64 { jobs.iter().map(|j| tables.problem.jobs[*j].unplaced).sum() };
    if tables.problem.jobs[job].crew == 2 {
        if let Some(place) = pair_place(diary, dice, job, 0, left_out(&[job])) {
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
        && let Some(place) = best_place(diary, dice, &package, left_out(&package.jobs))
    {
        settle(diary, &package.jobs, place);
        return;
    }
    if let Some(place) = best_place(diary, dice, &alone, left_out(&alone.jobs)) {
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

/// The cheapest place for one job from a day on at whatever price, flatmates aside; a `share` below 1 looks at so many of
/// the days only.
pub fn place_from(
    diary: &Diary<'_>,
    dice: &mut Dice,
    job: usize,
    from: u32,
    share: f64,
) -> Option<Place> {
    if diary.tables.problem.jobs[job].crew == 2 {
        return pair_place(diary, dice, job, from, ANY_PRICE);
    }
    let mut package = Package::of(diary.tables, job);
    package
        .open
        .retain(|day| *day >= from && (share >= 1.0 || dice.unit() < share));
    best_place(diary, dice, &package, ANY_PRICE)
}
