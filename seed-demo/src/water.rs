//! Water temperatures of the demo: a store for the tower's common taps, outlets on two rounds, six months of them taken.
use std::sync::Arc;

use chrono::{DateTime, Days, Months, NaiveDate, NaiveTime, Utc};
use terms::{BuildingId, FixedClock, OutletId, OutletPlace, Role, SpaceId, UnitId, UsedAs};
use usecases::past::{PastEntry, enter_past};
use usecases::register::{NewUnit, UnitFacts, add_unit, spaces_of};
use usecases::water::{
    NewOutlet, StateAction, TakeRound, TakenLine, add_outlet, out_of_limit, state_action,
    take_round,
};
use usecases::{Error, Seat, World};

use crate::people::People;
use crate::present::Units;

/// Months of rounds on record.
const MONTHS: u32 = 6;

/// One outlet of the demo: name, what it tells, seldom used, its temperature in the oldest month and the step a month.
type Tap = (&'static str, OutletPlace, bool, f64, f64);

/// The tower's: the store slowly loses its return, and a tap in the bin store stands.
const TOWER: [Tap; 7] = [
    (
        "Store, pipe leaving it",
        OutletPlace::StoreOutflow,
        false,
        63.4,
        -0.3,
    ),
    (
        "Store, pipe coming back",
        OutletPlace::StoreReturn,
        false,
        52.9,
        -0.7,
    ),
    (
        "Hall, cleaner’s sink, hot",
        OutletPlace::HotSentinel,
        false,
        55.2,
        -0.2,
    ),
    (
        "Hall, cleaner’s sink, cold",
        OutletPlace::ColdSentinel,
        false,
        13.1,
        0.2,
    ),
    (
        "Storey 23, riser cupboard, hot",
        OutletPlace::HotSentinel,
        false,
        52.6,
        -0.3,
    ),
    (
        "Storey 23, riser cupboard, cold",
        OutletPlace::ColdSentinel,
        false,
        14.0,
        0.3,
    ),
    ("Bin store, hose tap", OutletPlace::Other, true, 12.0, 0.1),
];
/// The mill's: each flat has its own store, so the round reads the cold water from the tank.
const MILL: [Tap; 4] = [
    (
        "Tank room, tap beside the tank",
        OutletPlace::ColdSentinel,
        false,
        15.2,
        0.4,
    ),
    (
        "Storey 2, cleaner’s sink, cold",
        OutletPlace::ColdSentinel,
        false,
        16.0,
        0.2,
    ),
    (
        "Ground floor, laundry, cold",
        OutletPlace::ColdSentinel,
        false,
        18.6,
        0.34,
    ),
    ("Yard, standpipe", OutletPlace::Other, true, 11.0, 0.0),
];

/// Keeps the water of the demo up to `now`: `buildings` are the slab, the tower and the mill.
///
/// # Errors
/// Whatever a use case refuses.
pub fn keep(
    (world, clock): (&World, &Arc<FixedClock>),
    seat: &Seat,
    people: &People,
    (buildings, units): (&[BuildingId], &Units),
    now: DateTime<Utc>,
) -> Result<(), Error> {
    let [slab, tower, mill] = *buildings else {
        return Err(Error::NotFound("building of the demo"));
    };
    let today = now.date_naive();
    let morning = |day: NaiveDate| {
        let at = day.and_time(NaiveTime::from_hms_opt(8, 20, 0).unwrap_or_default());
        clock.set(at.and_utc().min(now));
    };
    let first = today - Months::new(MONTHS);
    morning(first - Days::new(9));
    let store = the_towers_store(world, seat, tower, today)?;
    let tower_taps = on_a_round(world, seat, (tower, Some(store)), &TOWER)?;
    let mill_taps = on_a_round(world, seat, (mill, None), &MILL)?;
    let person = usecases::door::person_of(world, people.site)?;
    let walker = Seat::first(&person, &[Role::Site])?;
    for month in (1..=MONTHS).rev() {
        let on = today - Months::new(month);
        morning(on);
        for (building, taps) in [(tower, &tower_taps), (mill, &mill_taps)] {
            walk(world, &walker, (building, on), taps, MONTHS - month)?;
        }
    }
    what_was_done(world, &walker, mill)?;
    morning(today - Days::new(1));
    the_rest_is_proved(world, seat, (store, slab), units, today)
}

/// An unvented store in the tower's plant room, for the hall and the riser cupboards.
fn the_towers_store(
    world: &World,
    seat: &Seat,
    tower: BuildingId,
    today: NaiveDate,
) -> Result<UnitId, Error> {
    let plant = space_of(world, seat, tower, UsedAs::Plant)?;
    let fitted = today - Days::new(12 * 365 + 100);
    let form = NewUnit {
        space: plant,
        facts: UnitFacts {
            kind: "UV".to_owned(),
            serial: "W14-00817".to_owned(),
            installed: Some((fitted, fitted)),
            rated_kw: None,
            litres: Some(300.0),
            filter_fitted: None,
            reducer_fitted: None,
            warranty_until: None,
            note: "Serves the taps of the hall and the riser cupboards.".to_owned(),
        },
        placed_from: Some(fitted),
        watched_from: None,
    };
    add_unit(world, seat, form, "demo: the tower's store")
}

fn space_of(
    world: &World,
    seat: &Seat,
    building: BuildingId,
    used_as: UsedAs,
) -> Result<SpaceId, Error> {
    spaces_of(world, seat, building)?
        .iter()
        .find(|s| s.used_as == used_as)
        .map(|s| s.id)
        .ok_or(Error::NotFound("space of the demo"))
}

fn on_a_round(
    world: &World,
    seat: &Seat,
    (building, store): (BuildingId, Option<UnitId>),
    taps: &[Tap],
) -> Result<Vec<(OutletId, Tap)>, Error> {
    let at_store = |place| {
        matches!(
            place,
            OutletPlace::StoreOutflow | OutletPlace::StoreReturn | OutletPlace::HotSentinel
        )
    };
    taps.iter()
        .map(|tap| {
            let form = NewOutlet {
                building,
                name: tap.0.to_owned(),
                place: tap.1,
                space: None,
                unit: store.filter(|_| at_store(tap.1)),
                little_used: tap.2,
            };
            let once = format!("demo: outlet {building} {}", tap.0);
            Ok((add_outlet(world, seat, form, &once)?, *tap))
        })
        .collect()
}

fn walk(
    world: &World,
    walker: &Seat,
    (building, on): (BuildingId, NaiveDate),
    taps: &[(OutletId, Tap)],
    month: u32,
) -> Result<(), Error> {
    let lines = taps
        .iter()
        .map(|(outlet, (_, place, little_used, start, step))| TakenLine {
            outlet: *outlet,
            // A thermometer of the trade shows tenths.
            temp_c: Some(((start + step * f64::from(month)) * 10.0).round() / 10.0),
            seconds_run: match place {
                OutletPlace::HotSentinel => Some(60),
                OutletPlace::ColdSentinel | OutletPlace::Other => Some(120),
                _ => None,
            },
            flushed: little_used.then_some(true),
            why_not: String::new(),
        })
        .collect();
    let form = TakeRound {
        building,
        on,
        thermometer: "Probe 2".to_owned(),
        calibrated_until: Some(on + Months::new(7)),
        lines,
    };
    take_round(world, walker, form, &format!("demo: round {building} {on}")).map(drop)
}

/// What site staff wrote about the mill's warm tap; about the tower's return nobody has said anything yet.
fn what_was_done(world: &World, walker: &Seat, mill: BuildingId) -> Result<(), Error> {
    for found in out_of_limit(world, walker)? {
        if found.building == mill {
            let action = StateAction {
                temperature: found.temperature.id,
                words:
                    "Ran it five minutes: 19.2. The pipe runs beside the dryer; the office is told."
                        .to_owned(),
            };
            let once = format!("demo: action {}", found.temperature.id);
            state_action(world, walker, (mill, action), &once)?;
        }
    }
    Ok(())
}

/// The papers of what was not walked: the store's own checks, the slab's cold taps, each building's assessment.
fn the_rest_is_proved(
    world: &World,
    seat: &Seat,
    (store, slab): (UnitId, BuildingId),
    units: &Units,
    today: NaiveDate,
) -> Result<(), Error> {
    let done = |unit: UnitId, rule: &str, days: u64, evidence: &str| PastEntry::DutyDone {
        unit,
        rule: rule.to_owned(),
        on: today - Days::new(days),
        check_complete: true,
        evidence: evidence.to_owned(),
    };
    let mut entries: Vec<PastEntry> = [("U1", 140), ("L8", 140), ("L11", 120)]
        .into_iter()
        .map(|(rule, days)| done(store, rule, days, "service sheet of the visit"))
        .collect();
    entries.push(done(
        store,
        "L1",
        260,
        "assessment and drawing of the visit",
    ));
    for (place, kind) in units.keys().filter(|(_, kind)| kind == "CT") {
        let Some(tank) = units.get(&(place.clone(), kind.clone())) else {
            continue;
        };
        entries.push(done(
            *tank,
            "L1",
            300,
            "assessment and drawing of the visit",
        ));
        let in_slab = world.acting(seat, |tx| Ok::<_, Error>(tx.unit(*tank)?.building == slab))?;
        if in_slab {
            for month in (0..MONTHS).rev() {
                entries.push(PastEntry::DutyDone {
                    unit: *tank,
                    rule: "L4".to_owned(),
                    on: today - Months::new(month) - Days::new(9),
                    check_complete: true,
                    evidence: "log of the caretaker’s round".to_owned(),
                });
            }
        }
    }
    enter_past(world, seat, &entries, "demo: water is proved").map(drop)
}
