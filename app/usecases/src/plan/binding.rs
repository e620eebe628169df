//! What keeps a unit from the year in which it would cost least, found by letting one limit go after the other and
//! making the whole plan again.
use planning::programme::optimal::{OptimalProgramme, Part, Settings, SharedPurse, prove_jointly};
use planning::programme::{Consultation, ProgrammeLimits, ProgrammeUnit};
use planning::{Allowance, Programme, ProgrammeInput};
use terms::{Pence, UnitId};

use super::binds::{ALL, Binds};
use super::figures::years_of;
use super::making::allowance;
use super::programme::PlanCard;

/// Seconds for all of it, so that a page is not kept waiting.
const SECONDS: f64 = 4.0;
/// A difference in expected cost that counts as none.
const NONE: i64 = 100;

/// What a plan was asked.
#[derive(Clone, PartialEq)]
struct Given {
    input: ProgrammeInput,
    limits: ProgrammeLimits,
    /// The purse it shares, with what the others take of it, and whether its own binds too; `None` = its own alone.
    shared: Option<(SharedPurse, bool)>,
}

/// What a plan was asked, and the unit it is about with the year it would have by itself.
struct Question {
    given: Given,
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
/// named. `None` where the time did not settle it. Of a purse that is `shared` the other buildings keep what they take.
pub(super) fn what_binds(
    plan: &PlanCard,
    shared: Option<SharedPurse>,
    (unit, target): (UnitId, Option<u32>),
) -> Option<Vec<Binds>> {
    let left = allowance(SECONDS);
    let unlimited = plan.asked.unlimited;
    let question = Question {
        given: Given {
            input: plan.asked.input.clone(),
            limits: plan.asked.limits.clone(),
            shared: shared.map(|purse| (purse, !unlimited)),
        },
        unit,
        target,
    };
    found(&question, unlimited, &plan.made.proven.programme, &left)
}

fn found(
    question: &Question,
    unlimited: bool,
    programme: &Programme,
    left: &dyn Allowance,
) -> Option<Vec<Binds>> {
    let there: Vec<Binds> = ALL
        .into_iter()
        .filter(|sort| !matches!(sort, Binds::Purse | Binds::Floor) || !unlimited)
        .filter(|sort| question.without(&[*sort], Gives::Wholly) != question.given)
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
    for (floor, purse) in [
        (Binds::Floor, Binds::Purse),
        (Binds::SharedFloor, Binds::SharedPurse),
    ] {
        if alone.contains(&floor) {
            alone.retain(|sort| *sort != purse);
        }
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

impl Question {
    /// Whether the unit stands at its target at no more cost once these are let go.
    fn is_free(&self, gone: &[Binds], left: &dyn Allowance) -> Option<bool> {
        let given = self.without(gone, Gives::Wholly);
        let there = held(&given.limits, &given.input, self.unit, self.target);
        let there = cost(&given, &there, left);
        if left.spent() {
            return None;
        }
        let Some(there) = there else {
            return Some(false);
        };
        let best = cost(&given, &given.limits, left);
        (!left.spent()).then_some(best.is_some_and(|best| there - best < NONE))
    }

    /// Whether another plan than the one that stands is better once these give way by one step.
    fn betters(&self, gone: &[Binds], plan: &Programme, left: &dyn Allowance) -> Option<bool> {
        let given = self.without(gone, Gives::OneStep);
        let input = &given.input;
        let years = years_of(plan);
        let mut as_it_is = given.limits.clone();
        for one in &input.units {
            let place = years.get(&one.unit).map(|year| year - input.first_year);
            let place = place.and_then(|t| u32::try_from(t).ok());
            as_it_is = held(&as_it_is, input, one.unit, place);
        }
        let stands = cost(&given, &as_it_is, left);
        let best = cost(&given, &given.limits, left);
        if left.spent() {
            return None;
        }
        Some(
            stands
                .zip(best)
                .is_some_and(|(stands, best)| stands - best >= NONE),
        )
    }

    /// What is asked with these sorts of limit giving way.
    fn without(&self, gone: &[Binds], how: Gives) -> Given {
        let Given {
            mut input,
            mut limits,
            mut shared,
        } = self.given.clone();
        let price = self.most(how);
        let years = input.years.len();
        let wholly = how == Gives::Wholly;
        for sort in gone {
            match sort {
                Binds::Floor => {
                    let lower = if wholly { 0 } else { input.floor.0 - price };
                    input.floor = Pence(input.floor.0.min(lower.max(0)));
                }
                Binds::Purse => input.opening.0 += price,
                Binds::SharedFloor | Binds::SharedPurse | Binds::SharedCap => {
                    if let Some((purse, _)) = &mut shared {
                        ease(purse, *sort, (price, wholly));
                    }
                }
                Binds::Cap => {
                    for year in &mut input.years {
                        year.cap = year.cap.filter(|_| !wholly).map(|c| Pence(c.0 + price));
                    }
                }
                Binds::Homes => {
                    limits.homes_a_year = limits.homes_a_year.filter(|_| !wholly).map(|n| n + 1);
                }
                Binds::Hours => {
                    let step = self.home_hours();
                    limits.hours_a_year = limits.hours_a_year.filter(|_| !wholly).map(|n| n + step);
                }
                Binds::SettingUp => {
                    (limits.set_up, limits.stair_set_up) = (Pence(0), Pence(0));
                }
                Binds::Consultation => {
                    let eased = limits.consultation.map(sooner);
                    limits.consultation = eased.filter(|_| !wholly);
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
                        one.latest = later.filter(|t| (*t as usize) < years);
                    }
                }
            }
        }
        Given {
            input,
            limits,
            shared,
        }
    }

    /// Home-hours of the unit with the option that takes longest.
    fn home_hours(&self) -> u32 {
        let mut units = self.given.input.units.iter();
        let choices = units
            .find(|u| u.unit == self.unit)
            .map(ProgrammeUnit::choices);
        let all = choices.into_iter().flatten().map(|c| c.home_hours);
        all.max().unwrap_or(1)
    }

    /// Enough money for everything; for one step, for the unit itself: less than its price lets nothing more be done.
    fn most(&self, how: Gives) -> i64 {
        let dearest = |u: &ProgrammeUnit| {
            let all = u.choices().into_iter().map(|c| c.cash.0);
            all.max().unwrap_or(0).max(0)
        };
        let Given { input, limits, .. } = &self.given;
        let (set_up, stair) = (limits.set_up.0, limits.stair_set_up.0);
        match how {
            Gives::Wholly => {
                let years = input.years.len() as i64;
                let consulting = limits.consultation.map_or(0, |c| c.costs.0);
                let besides = set_up + consulting + stair * input.units.len() as i64;
                input.units.iter().map(dearest).sum::<i64>() + besides * years
            }
            Gives::OneStep => {
                let mine = input.units.iter().find(|u| u.unit == self.unit);
                mine.map_or(0, dearest) + set_up + stair
            }
        }
    }
}

/// A consultation that costs nothing and can be finished a year sooner.
fn sooner(consultation: Consultation) -> Consultation {
    Consultation {
        costs: Pence(0),
        from: consultation.from.saturating_sub(1),
        ..consultation
    }
}

/// A shared purse in which one sort of limit gives way.
fn ease(purse: &mut SharedPurse, sort: Binds, (price, wholly): (i64, bool)) {
    match sort {
        Binds::SharedFloor => {
            let lower = if wholly { 0 } else { purse.floor.0 - price };
            purse.floor = Pence(purse.floor.0.min(lower.max(0)));
        }
        Binds::SharedPurse => purse.opening.0 += price,
        _ => purse.cap = purse.cap.filter(|_| !wholly).map(|c| Pence(c.0 + price)),
    }
}

/// Pence of the best plan of what is given under these limits; `None` where there is none.
fn cost(given: &Given, limits: &ProgrammeLimits, left: &dyn Allowance) -> Option<i64> {
    let settings = Settings::default();
    if let Some((purse, own_purse)) = &given.shared {
        let alone = Part {
            input: &given.input,
            limits,
            own_purse: *own_purse,
        };
        let joint = prove_jointly(&[alone], purse, settings, left);
        return (!joint.parts.is_empty()).then_some(joint.cost.0);
    }
    let proven = OptimalProgramme {
        limits,
        settings,
        allowance: left,
    }
    .prove(&given.input);
    proven.stands().then_some(proven.cost.0)
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
    use planning::programme::optimal::Taken;
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
            home_hours: 1,
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
        let proven = OptimalProgramme {
            limits,
            settings: Settings::default(),
            allowance: &Unhurried,
        }
        .prove(input);
        let first = proven.programme.years[0].replacements.iter();
        assert_eq!(first.map(|r| r.unit).collect::<Vec<_>>(), [id(1)]);
        let question = Question {
            given: Given {
                input: input.clone(),
                limits: limits.clone(),
                shared: None,
            },
            unit: id(2),
            target: Some(0),
        };
        found(&question, false, &proven.programme, &Unhurried).unwrap()
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

    /// Two buildings' units pay from one purse of £500 a year: the other building's takes the first year's, so this one waits,
    /// and what keeps it is that purse; with a cap as tight, either alone would not let it go.
    #[test]
    fn of_a_shared_purse_what_the_others_leave_is_named() {
        let mut input = asked([10, 200, 300, 400]);
        input.units.remove(0);
        let purse = SharedPurse {
            opening: Pence(0),
            floor: Pence(0),
            comes_in: vec![Pence(50_000); 3],
            cap: None,
            held: vec![Taken {
                paid: Pence(50_000),
                set_aside: Pence(0),
            }],
        };
        let named = |purse: &SharedPurse| {
            let limits = ProgrammeLimits::default();
            let alone = Part {
                input: &input,
                limits: &limits,
                own_purse: false,
            };
            let joint = prove_jointly(&[alone], purse, Settings::default(), &Unhurried);
            let programme = &joint.parts[0].programme;
            assert_eq!(years_of(programme).get(&id(2)), Some(&2028));
            let question = Question {
                given: Given {
                    input: input.clone(),
                    limits: limits.clone(),
                    shared: Some((purse.clone(), false)),
                },
                unit: id(2),
                target: Some(0),
            };
            found(&question, true, programme, &Unhurried).unwrap()
        };
        assert_eq!(named(&purse), [Binds::SharedPurse]);
        let mut capped = purse.clone();
        capped.cap = Some(Pence(50_000));
        assert_eq!(named(&capped), [Binds::SharedCap, Binds::SharedPurse]);
        capped.opening = Pence(900_000);
        assert_eq!(named(&capped), [Binds::SharedCap]);
    }
}
