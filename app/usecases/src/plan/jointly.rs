//! One programme for several buildings of an estate that pay from one purse, each from one of its own besides where one
//! is stated. Each building's part is kept as a plan of that building, so that it is read, adopted and turned into jobs
//! like any other; what they share is kept beside them.
use std::collections::BTreeMap;
use std::time::Instant;

use chrono::{DateTime, Utc};
use inspection::calendar::date_words;
use planning::programme::optimal::{
    Joint, Part, PlainWay, Proven, Settings, SharedPurse, Verdict, plain_jointly, prove_jointly,
};
use serde_json::json;
use store::Tx;
use terms::place::BuildingCard;
use terms::{Pence, Role, UnitId};
use uuid::Uuid;

use super::adopting::{adopt_in, reason};
use super::asking::{Gathered, WhatIf, gather_for};
use super::figures::figures;
use super::making::{AT_ONCE, Made, SECONDS, TASK, allowance};
use super::money::first_year;
use super::more_money::THOUSAND;
use super::programme::READERS;
use super::shared::{
    Former, SharedMade, SharedMaking, SharedPart, SharedProgramme, SharedWish, SharedYear, check,
};
use super::shared_kept::{keep_it, last};
use crate::work::wall;
use crate::{Error, Seat, World};

type AllGathered = Vec<(BuildingCard, Gathered)>;

fn gathered(tx: &mut Tx<'_>, seat: &Seat, wish: &SharedWish) -> Result<AllGathered, Error> {
    let today = tx.today();
    let mut all = Vec::new();
    for id in wish.buildings.iter().copied() {
        seat.must_reach(id)?;
        let card = tx.building(id)?;
        let what_if = WhatIf::Shared {
            buildings: wish.buildings.len() as u32,
            of: None,
        };
        let found = gather_for(tx, &card, what_if, (today, Some(wish.years)))?;
        all.push((card, found));
    }
    Ok(all)
}

/// Makes the programme of several buildings and keeps it, or has a task make it where they are large.
///
/// # Errors
/// [`Error::Invalid`] at the field; [`Error::NotFound`] for a building outside the seat's reach.
pub fn make_shared_plan(
    world: &World,
    seat: &Seat,
    mut wish: SharedWish,
    once: &str,
) -> Result<SharedMaking, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    wish.buildings.sort_unstable();
    wish.buildings.dedup();
    check(&wish)?;
    let (all, at_once) = world.acting(seat, |tx| {
        let at_once = match tx.setting("plan_at_once_units")? {
            Some(text) => text.parse().unwrap_or(AT_ONCE),
            None => AT_ONCE,
        };
        Ok((gathered(tx, seat, &wish)?, at_once))
    })?;
    if all.iter().map(|(_, g)| g.units.len()).sum::<usize>() > at_once {
        return world.acting(seat, |tx| {
            tx.once(once, &wish, |tx| {
                let key = format!("{TASK} shared");
                if !tx.queue(TASK, json!({ "shared": wish }), Some(&key))? {
                    return Err(Error::Conflict(
                        "A programme of several buildings is being made already. Ask again when it is done; nothing was \
                         asked for by you."
                            .to_owned(),
                    ));
                }
                Ok(SharedMaking::Waits)
            })
        });
    }
    make_and_keep(world, seat, (&wish, &all), SECONDS.0, once)?;
    Ok(SharedMaking::Made)
}

/// The same in a task; `told` hears the step in words and may fail when the lease is lost.
pub fn make_shared_plan_slowly(
    world: &World,
    seat: &Seat,
    wish: &SharedWish,
    told: &mut dyn FnMut(u32, &str) -> Result<(), Error>,
) -> Result<String, Error> {
    let all = world.acting(seat, |tx| gathered(tx, seat, wish))?;
    let buildings = all.len();
    told(
        1,
        &format!("{buildings} buildings together: step 1 of 2, the plan at least cost is sought"),
    )?;
    let once = format!("{TASK} shared {}", Uuid::new_v4());
    make_and_keep(world, seat, (wish, &all), SECONDS.1, &once)?;
    told(
        2,
        &format!("{buildings} buildings together: step 2 of 2, it is kept"),
    )?;
    Ok(format!("the programme of {buildings} buildings is made"))
}

/// The purse that was asked for.
pub(super) fn purse(wish: &SharedWish) -> SharedPurse {
    let years = wish.years.unsigned_abs() as usize;
    SharedPurse {
        opening: wish.opening,
        floor: wish.floor,
        comes_in: vec![wish.comes_in; years],
        cap: wish.cap,
        held: Vec::new(),
    }
}

fn make_and_keep(
    world: &World,
    seat: &Seat,
    (wish, all): (&SharedWish, &AllGathered),
    seconds: f64,
    once: &str,
) -> Result<(), Error> {
    let begun = Instant::now();
    let parts: Vec<Part<'_>> = all
        .iter()
        .map(|(_, found)| Part {
            input: &found.asked.input,
            limits: &found.asked.limits,
            own_purse: !found.asked.unlimited,
        })
        .collect();
    let purse = purse(wish);
    let settings = Settings::default();
    let left = allowance(seconds * 0.6);
    let joint = prove_jointly(&parts, &purse, settings, &left);
    let stands = !joint.parts.is_empty();
    let ways = [
        PlainWay::OldestFirst,
        PlainWay::OnFailure,
        PlainWay::Nothing,
    ];
    let beside = ways.into_iter().filter(|_| stands).map(|way| {
        let (cost, undone) = plain_jointly(&parts, &purse, way);
        (way, cost, undone)
    });
    let beside: Vec<(PlainWay, Pence, u32)> = beside.collect();
    let thousand_saves = stands.then(|| {
        let mut richer = purse.clone();
        richer.opening.0 += THOUSAND;
        let left = allowance(seconds * 0.3);
        let again = prove_jointly(&parts, &richer, settings, &left);
        // The plan as it stands keeps the richer purse too: a search without a plan, or with a dearer one, found nothing.
        if again.parts.is_empty() {
            return Pence(0);
        }
        Pence((joint.cost.0 - again.cost.0).max(0))
    });
    let kept = SharedMade {
        wish: wish.clone(),
        first_year: first_year(wall::day(world.now())),
        made_at: world.now(),
        parts: Vec::new(),
        years: lines(wish, all, &joint),
        verdict: joint.verdict,
        cost: joint.cost,
        bound: joint.bound,
        unbound: joint.unbound,
        beside,
        thousand_saves,
        called: called(all, &joint),
        clash: joint.clash.clone(),
        fewest: joint.fewest,
        seconds: begun.elapsed().as_secs_f64(),
        before: None,
    };
    keep(world, seat, kept, (all, &joint), once)
}

fn lines(wish: &SharedWish, all: &AllGathered, joint: &Joint) -> Vec<SharedYear> {
    let mut opening = wish.opening;
    let first = all.first().map_or(0, |(_, g)| g.asked.input.first_year);
    let mut lines = Vec::new();
    for (t, paid) in joint.paid.iter().enumerate() {
        let years = all.iter().filter_map(|(_, g)| g.asked.input.years.get(t));
        let set_aside = Pence(years.map(|y| y.set_aside.0).sum());
        let reserve = Pence(opening.0 + wish.comes_in.0 - set_aside.0 - paid.0);
        lines.push(SharedYear {
            year: first + t as i32,
            opening,
            comes_in: wish.comes_in,
            set_aside,
            paid: *paid,
            reserve,
        });
        opening = reserve;
    }
    lines
}

/// What units of the clash are called.
fn called(all: &AllGathered, joint: &Joint) -> BTreeMap<UnitId, String> {
    let mut called = BTreeMap::new();
    if joint.clash.is_empty() {
        return called;
    }
    for (card, found) in all {
        let units = found.units.values();
        called.extend(units.map(|u| {
            let name = format!("{} {}, {}", u.space_name, u.number, card.name);
            (u.unit, name)
        }));
    }
    let named = format!("{:?}", joint.clash);
    called.retain(|unit, _| named.contains(&format!("{unit:?}")));
    called
}

/// One building's part as a plan of that building.
fn made_of(
    found: &Gathered,
    part: &planning::programme::optimal::JointPart,
    joint: &Joint,
) -> Made {
    Made {
        figures: figures(found, &part.programme, part.cost),
        proven: Proven {
            programme: part.programme.clone(),
            verdict: match joint.verdict {
                Verdict::Optimal if part.cost == part.at_least => Verdict::Optimal,
                _ => Verdict::WithinGap,
            },
            cost: part.cost,
            bound: part.at_least,
            unbound: part.at_least,
            clash: Vec::new(),
            fewest: false,
        },
        optimised: true,
        beside: Vec::new(),
        more: None,
        gives_way: Vec::new(),
        seconds: 0.0,
    }
}

fn keep(
    world: &World,
    seat: &Seat,
    mut kept: SharedMade,
    (all, joint): (&AllGathered, &Joint),
    once: &str,
) -> Result<(), Error> {
    let written = |e: serde_json::Error| Error::Internal(format!("a plan cannot be written: {e}"));
    let name = kept.wish.name.trim().to_owned();
    let wish = kept.wish.clone();
    world.acting(seat, |tx| {
        tx.once(once, &wish, |tx| {
            kept.before = last(tx)?.map(|made| made.brief());
            kept.parts.clear();
            let id: Uuid = tx.fresh();
            for ((card, found), part) in all.iter().zip(&joint.parts) {
                seat.must_reach(card.id)?;
                let ask = WhatIf::Shared {
                    buildings: all.len() as u32,
                    of: Some(id),
                };
                let made = made_of(found, part, joint);
                let ask = serde_json::to_value(ask).map_err(written)?;
                let asked = serde_json::to_value(&found.asked).map_err(written)?;
                let answer = serde_json::to_value(&made).map_err(written)?;
                let plan = tx.keep_plan(card.id, Some(&name), (&ask, &asked, &answer))?;
                let years = &part.programme.years;
                kept.parts.push(SharedPart {
                    building: card.id,
                    plan,
                    cost: part.cost,
                    paid: years.iter().map(|l| Pence(l.spent.0 + l.set_up.0)).collect(),
                    replaced: years.iter().map(|l| l.replacements.len() as u32).collect(),
                    own_purse: !found.asked.unlimited,
                });
            }
            keep_it(tx, id, &kept)?;
            tx.note(
                "shared programme made",
                "estate",
                &json!({
                    "name": name, "buildings": wish.buildings, "verdict": kept.verdict, "cost": kept.cost,
                    "at_least": kept.bound,
                }),
            );
            Ok(())
        })
    })
}

/// The last programme of several buildings, and what is needed to ask for another.
///
/// # Errors
/// [`Error::Forbidden`] for whoever does not read programmes.
pub fn shared_programme(world: &World, seat: &Seat) -> Result<SharedProgramme, Error> {
    seat.must_be(&READERS)?;
    let tasks = crate::tasks::recent(world, seat, 20)?;
    world.acting(seat, |tx| {
        let mut buildings = tx.buildings()?;
        buildings.retain(|b| seat.grant().reaches(b.id));
        let reached = |made: &SharedMade| {
            let mut all = made.wish.buildings.iter();
            all.all(|id| seat.grant().reaches(*id))
        };
        let made = last(tx)?.filter(reached);
        let mut adopted = Vec::new();
        for part in made.iter().flat_map(|m| &m.parts) {
            if tx
                .adoption(part.building)?
                .is_some_and(|a| a.plan == part.plan)
            {
                adopted.push(part.building);
            }
        }
        let waits = tasks
            .into_iter()
            .find(|t| t.kind == TASK && t.done_at.is_none());
        Ok(SharedProgramme {
            made,
            buildings,
            adopted,
            under_way: waits.map(|t| t.progress.unwrap_or_default()),
            may_state: seat.role() != Role::Landlord,
        })
    })
}

/// Adopts every building's part of the programme that was made at `read`, with one reason. What is adopted already is not
/// adopted again.
///
/// # Errors
/// [`Error::Invalid`] at `why`; [`Error::NotFound`] while there is none; [`Error::Conflict`] where it has no plan, or was
/// made anew since it was read.
pub fn adopt_shared_plan(
    world: &World,
    seat: &Seat,
    (read, why): (DateTime<Utc>, &str),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&READERS)?;
    let why = reason(why)?;
    world.acting(seat, |tx| {
        tx.once(once, &("adopt shared", read, &why), |tx| {
            let made = last(tx)?.ok_or(Error::NotFound("programme"))?;
            for building in &made.wish.buildings {
                seat.must_reach(*building)?;
            }
            if made.made_at != read {
                return Err(Error::Conflict(changed(&made, read)));
            }
            if made.parts.is_empty() {
                return Err(Error::Conflict(
                    "What is asked of these buildings cannot all be kept, so there is nothing to adopt."
                        .to_owned(),
                ));
            }
            for part in &made.parts {
                let adopted = tx.adoption(part.building)?;
                if adopted.is_none_or(|a| a.plan != part.plan) {
                    adopt_in(tx, seat, part.plan, &why)?;
                }
            }
            Ok(())
        })
    })
}

/// What differs from the programme that was read, in sentences.
fn changed(made: &SharedMade, read: DateTime<Utc>) -> String {
    let now = made.brief();
    let told = |what: &Former| {
        format!(
            "{} replacements in {} buildings, {} paid, {} expected over the years",
            what.replaced,
            what.buildings.len(),
            what.paid,
            what.cost
        )
    };
    let then = match made.before.as_ref().filter(|b| b.made_at == read) {
        Some(before) => format!(" What you read came to {}.", told(before)),
        None => String::new(),
    };
    let at = wall::local(made.made_at);
    format!(
        "This programme was made anew on {} at {}, after you had read it.{then} It now comes to {}. Read it again; nothing was \
         adopted.",
        date_words(at.date()),
        at.format("%H:%M"),
        told(&now)
    )
}
