//! What keeps a unit from the year in which it would cost least, found by letting one limit go after the other and
//! making the whole plan again.
use planning::programme::optimal::{OptimalProgramme, Proven, Settings};
use planning::programme::{Consultation, ProgrammeLimits, ProgrammeUnit};
use planning::{Allowance, Programme, ProgrammeInput};
use terms::{Pence, UnitId};

use super::figures::years_of;
use super::making::allowance;
use super::programme::PlanCard;

/// Seconds for all of it, so that a page is not kept waiting.
const SECONDS: f64 = 4.0;
/// A difference in expected cost that counts as none.
const NONE: i64 = 100;

/// A sort of limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Binds {
    /// The floor of the reserve: with none there would be room.
    Floor,
    /// The money there is.
    Purse,
    /// The most that may be paid in a year.
    Cap,
    /// The most replacements in a year.
    Homes,
    /// Coming to the building and setting up at a stair, paid once for all that is done in a year.
    SettingUp,
    /// Consultation: what it costs, or the first year it can be finished by.
    Consultation,
    /// Plant that must not all be out at once.
    Apart,
    /// It goes together with another.
    Together,
    /// A person keeps it out of that year.
    Forbidden,
    /// It must go by a year.
    Latest,
}

const ALL: [Binds; 10] = [
    Binds::Forbidden,
    Binds::Latest,
    Binds::Together,
    Binds::Apart,
    Binds::Homes,
    Binds::Cap,
    Binds::Floor,
    Binds::Purse,
    Binds::Consultation,
    Binds::SettingUp,
];

/// What a plan was asked, and the unit it is about with the year it would have by itself.
#[derive(Clone, Copy)]
struct Question<'a> {
    input: &'a ProgrammeInput,
    limits: &'a ProgrammeLimits,
    unit: UnitId,
    /// Place of the year; `None` = kept beyond.
    target: Option<u32>,
}

/// How far a sort of limit gives way.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Gives {
    /// It is let go.
    Wholly,
    /// One step: one replacement more, the price of the unit more, one year more; what is paid or bound once is let go.
    OneStep,
}

/// What keeps the unit from `target` (place of a year; `None` = kept beyond): every sort of limit that suffices alone,
/// else a set of them of which none can be left out. A sort that betters nothing when it gives way by one step is not
/// named. `None` where the time did not settle it.
pub(super) fn what_binds(plan: &PlanCard, unit: UnitId, target: Option<u32>) -> Option<Vec<Binds>> {
    let left = allowance(SECONDS);
    let question = Question {
        input: &plan.asked.input,
        limits: &plan.asked.limits,
        unit,
        target,
    };
    let programme = &plan.made.proven.programme;
    found(question, plan.asked.unlimited, programme, &left)
}

fn found(
    question: Question<'_>,
    unlimited: bool,
    programme: &Programme,
    left: &dyn Allowance,
) -> Option<Vec<Binds>> {
    let there: Vec<Binds> = ALL
        .into_iter()
        .filter(|sort| *sort != Binds::Purse || !unlimited)
        .filter(|sort| {
            let (input, limits) = question.without(&[*sort], Gives::Wholly);
            (&input, &limits) != (question.input, question.limits)
        })
        .collect();
    let free = |gone: &[Binds]| question.is_free(gone, left);
    // Where it costs nothing to have it there as things stand, nothing keeps it from there.
    if free(&[])? {
        return Some(Vec::new());
    }
    let mut alone = Vec::new();
    for sort in &there {
        if free(&[*sort])? && question.betters(&[*sort], programme, left)? {
            alone.push(*sort);
        }
    }
    // A lower floor is money too: where the floor suffices it is the floor.
    if alone.contains(&Binds::Floor) {
        alone.retain(|sort| *sort != Binds::Purse);
    }
    if !alone.is_empty() {
        return Some(alone);
    }
    let mut set = there;
    if !free(&set)? {
        return Some(Vec::new());
    }
    let mut at = 0;
    while at < set.len() {
        let fewer: Vec<Binds> = set.iter().copied().filter(|s| *s != set[at]).collect();
        if free(&fewer)? {
            set = fewer;
        } else {
            at += 1;
        }
    }
    let betters = question.betters(&set, programme, left)?;
    Some(if betters { set } else { Vec::new() })
}

impl Question<'_> {
    /// Whether the unit stands at its target at no more cost once these are let go.
    fn is_free(&self, gone: &[Binds], left: &dyn Allowance) -> Option<bool> {
        let (input, limits) = self.without(gone, Gives::Wholly);
        let there = prove(&input, &held(&limits, &input, self.unit, self.target), left);
        if left.spent() {
            return None;
        }
        if !there.stands() {
            return Some(false);
        }
        let best = prove(&input, &limits, left);
        (!left.spent()).then_some(best.stands() && there.cost.0 - best.cost.0 < NONE)
    }

    /// Whether another plan than the one that stands is better once these give way by one step.
    fn betters(&self, gone: &[Binds], plan: &Programme, left: &dyn Allowance) -> Option<bool> {
        let (input, limits) = self.without(gone, Gives::OneStep);
        let years = years_of(plan);
        let mut as_it_is = limits.clone();
        for one in &input.units {
            let place = years.get(&one.unit).map(|year| year - input.first_year);
            let place = place.and_then(|t| u32::try_from(t).ok());
            as_it_is = held(&as_it_is, &input, one.unit, place);
        }
        let stands = prove(&input, &as_it_is, left);
        let best = prove(&input, &limits, left);
        if left.spent() {
            return None;
        }
        Some(best.stands() && stands.stands() && stands.cost.0 - best.cost.0 >= NONE)
    }

    /// What is asked with these sorts of limit giving way.
    fn without(&self, gone: &[Binds], how: Gives) -> (ProgrammeInput, ProgrammeLimits) {
        let (mut input, mut limits) = (self.input.clone(), self.limits.clone());
        let price = self.most(how);
        let wholly = how == Gives::Wholly;
        for sort in gone {
            match sort {
                Binds::Floor => {
                    let lower = if wholly { 0 } else { input.floor.0 - price };
                    input.floor = Pence(input.floor.0.min(lower.max(0)));
                }
                Binds::Purse => input.opening.0 += price,
                Binds::Cap => {
                    for year in &mut input.years {
                        year.cap = year.cap.filter(|_| !wholly).map(|c| Pence(c.0 + price));
                    }
                }
                Binds::Homes => {
                    limits.homes_a_year = limits.homes_a_year.filter(|_| !wholly).map(|n| n + 1);
                }
                Binds::SettingUp => {
                    (limits.set_up, limits.stair_set_up) = (Pence(0), Pence(0));
                }
                Binds::Consultation => {
                    limits.consultation = limits.consultation.filter(|_| !wholly).map(|c| {
                        let from = c.from.saturating_sub(1);
                        Consultation {
                            costs: Pence(0),
                            from,
                            ..c
                        }
                    });
                }
                Binds::Apart if wholly => limits.apart.retain(|s| !s.units.contains(&self.unit)),
                Binds::Apart => {
                    for set in &mut limits.apart {
                        set.at_once += u32::from(set.units.contains(&self.unit));
                    }
                }
                // Let go, it alone: the others of its set stay together.
                Binds::Together => {
                    for set in &mut limits.together {
                        set.retain(|id| *id != self.unit);
                    }
                }
                Binds::Forbidden => limits
                    .forbidden
                    .retain(|(id, year)| *id != self.unit || Some(*year) != self.target),
                Binds::Latest => {
                    for one in input.units.iter_mut().filter(|u| u.unit == self.unit) {
                        let later = one.latest.filter(|_| !wholly).map(|t| t + 1);
                        one.latest = later.filter(|t| (*t as usize) < self.input.years.len());
                    }
                }
            }
        }
        (input, limits)
    }

    /// Enough money for everything; for one step, for the unit itself: less than its price lets nothing more be done.
    fn most(&self, how: Gives) -> i64 {
        let dearest = |u: &ProgrammeUnit| {
            let all = u.choices().into_iter().map(|c| c.cash.0);
            all.max().unwrap_or(0).max(0)
        };
        let (set_up, stair) = (self.limits.set_up.0, self.limits.stair_set_up.0);
        match how {
            Gives::Wholly => {
                let years = self.input.years.len() as i64;
                let consulting = self.limits.consultation.map_or(0, |c| c.costs.0);
                let besides = set_up + consulting + stair * self.input.units.len() as i64;
                self.input.units.iter().map(dearest).sum::<i64>() + besides * years
            }
            Gives::OneStep => {
                let mine = self.input.units.iter().find(|u| u.unit == self.unit);
                mine.map_or(0, dearest) + set_up + stair
            }
        }
    }
}

fn prove(input: &ProgrammeInput, limits: &ProgrammeLimits, left: &dyn Allowance) -> Proven {
    OptimalProgramme {
        limits,
        settings: Settings::default(),
        allowance: left,
    }
    .prove(input)
}

/// The limits with the unit held to its target.
fn held(
    limits: &ProgrammeLimits,
    input: &ProgrammeInput,
    unit: UnitId,
    target: Option<u32>,
) -> ProgrammeLimits {
    let mut held = limits.clone();
    // Of two pins the first would count.
    held.pinned.retain(|(id, _)| *id != unit);
    if let Some(year) = target {
        held.pinned.push((unit, year));
    } else {
        let years = 0..input.years.len() as u32;
        held.forbidden.extend(years.map(|year| (unit, year)));
    }
    held
}

#[cfg(test)]
mod tests {
    use planning::Unhurried;
    use planning::programme::YearMoney;
    use terms::{BuildingId, ExpectedPounds};
    use uuid::Uuid;

    use super::*;

    fn id(n: u128) -> UnitId {
        UnitId(Uuid::from_u128(n))
    }

    /// A unit that costs so many pounds over the years if replaced, for £500, in the first, second, third year or after.
    fn unit(n: u128, courses: [i32; 4], best: u32) -> ProgrammeUnit {
        ProgrammeUnit {
            unit: id(n),
            building: BuildingId(Uuid::from_u128(9)),
            stair: String::new(),
            age: 0,
            option: "like for like".to_owned(),
            cash: Pence(50_000),
            by_year: courses.map(|w| Some(ExpectedPounds(f64::from(w)))).to_vec(),
            best_year: Some(best),
            latest: None,
            fails: None,
            options: Vec::new(),
        }
    }

    /// Two units that would both go in the first year, one of them waits; money for all, and a cap far above both.
    fn asked(waits: [i32; 4]) -> ProgrammeInput {
        ProgrammeInput {
            first_year: 2027,
            opening: Pence(1_000_000),
            floor: Pence(10_000),
            years: vec![
                YearMoney {
                    cap: Some(Pence(900_000)),
                    ..YearMoney::default()
                };
                3
            ],
            units: vec![unit(1, [10, 900, 900, 900], 0), unit(2, waits, 0)],
        }
    }

    /// What keeps the second unit from the first year.
    fn named(input: &ProgrammeInput, limits: &ProgrammeLimits) -> Vec<Binds> {
        let proven = prove(input, limits, &Unhurried);
        let first = proven.programme.years[0].replacements.iter();
        assert_eq!(first.map(|r| r.unit).collect::<Vec<_>>(), [id(1)]);
        let question = Question {
            input,
            limits,
            unit: id(2),
            target: Some(0),
        };
        found(question, false, &proven.programme, &Unhurried).unwrap()
    }

    fn one_a_year() -> ProgrammeLimits {
        ProgrammeLimits {
            homes_a_year: Some(1),
            ..ProgrammeLimits::default()
        }
    }

    /// One a year is what makes it wait; cap, floor and purse hold far more and are not named.
    #[test]
    fn of_limits_that_stand_the_one_that_binds_is_named() {
        let input = asked([10, 200, 300, 400]);
        assert_eq!(named(&input, &one_a_year()), [Binds::Homes]);
        // With two a year and a cap for one it is the cap.
        let mut capped = input;
        capped.years[0].cap = Some(Pence(60_000));
        let two = ProgrammeLimits {
            homes_a_year: Some(2),
            ..ProgrammeLimits::default()
        };
        assert_eq!(named(&capped, &two), [Binds::Cap]);
    }

    /// Waiting costs nothing, so nothing keeps it from the first year: one more a year would better no plan.
    #[test]
    fn a_limit_that_betters_nothing_when_it_gives_way_is_not_named() {
        let input = asked([10, 10, 300, 400]);
        assert_eq!(named(&input, &one_a_year()), []);
    }

    /// The purse pays for one a year from its floor up; with the floor let go there is still only money for one, so the
    /// floor is not named.
    #[test]
    fn money_that_would_not_pay_for_it_is_not_named() {
        let mut input = asked([10, 200, 300, 400]);
        (input.opening, input.floor) = (Pence(60_000), Pence(10_000));
        for year in &mut input.years {
            year.comes_in = Pence(50_000);
        }
        input.years[0].comes_in = Pence(0);
        assert_eq!(named(&input, &ProgrammeLimits::default()), [Binds::Purse]);
    }
}
