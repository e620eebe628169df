//! Units entered, corrected, replaced and moved. Nothing is overwritten: a correction supersedes, a move
//! opens a new stay, a replaced unit keeps its history and its number.
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::branches::End;
use terms::place::SpaceCard;
use terms::unit::UnitCard;
use terms::{FactId, Fate, SpaceId, UnitId, UsedAs};
use uuid::Uuid;

use super::WRITERS;
use super::derived::{state_corrected, watched_since};
use crate::{Error, FieldError, Seat, World};

/// Kinds that feed the pipes when they stand in a plant room.
const FEEDERS: [&str; 5] = ["PB", "PX", "CP", "TS", "HP"];

/// What the plate and the eye say of a unit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct UnitFacts {
    /// "CB", "HIU", …
    pub kind: String,
    /// As on the plate; may be empty.
    pub serial: String,
    /// First and last day it may have been fitted; `None` when unknown.
    pub installed: Option<(NaiveDate, NaiveDate)>,
    /// Rated output, kW.
    pub rated_kw: Option<f64>,
    /// Stored water, litres.
    pub litres: Option<f64>,
    /// A filter is fitted on the system.
    pub filter_fitted: Option<bool>,
    /// A scale reducer is fitted.
    pub reducer_fitted: Option<bool>,
    /// Last day of the warranty.
    pub warranty_until: Option<NaiveDate>,
    /// Free words.
    pub note: String,
}

/// A unit about to be entered.
#[derive(Clone, Debug, Serialize)]
pub struct NewUnit {
    /// Where it stands.
    pub space: SpaceId,
    /// What is known of it.
    pub facts: UnitFacts,
    /// Since when it stands there, when known.
    pub placed_from: Option<NaiveDate>,
    /// From this day failures are on record; `None`: from its fitting if that is less than a month ago, else from
    /// today.
    pub watched_from: Option<NaiveDate>,
}

/// An old unit taken out and a new one put in its place.
#[derive(Clone, Debug, Serialize)]
pub struct Replacement {
    /// The unit that leaves.
    pub old: UnitId,
    /// The one that comes.
    pub facts: UnitFacts,
    /// The day.
    pub on: NaiveDate,
    /// How the old one ended.
    pub fate: Fate,
}

/// The next lasting number in a space: "AH-22-3". Numbers are never used again.
pub fn next_number(tx: &mut Tx<'_>, space: &SpaceCard) -> Result<String, Error> {
    let code = tx.building(space.building)?.code;
    let short = match space.used_as {
        UsedAs::Flat => space
            .name
            .split_whitespace()
            .next_back()
            .unwrap_or("F")
            .to_ascii_uppercase(),
        UsedAs::Plant => "P".to_owned(),
        UsedAs::Riser => "RC".to_owned(),
        UsedAs::Roof => "R".to_owned(),
        UsedAs::Common | UsedAs::Stair => "C".to_owned(),
    };
    let prefix = format!("{code}-{short}-");
    let used = tx.numbers_starting(&prefix)?;
    let last = used
        .iter()
        .filter_map(|number| number.strip_prefix(&prefix)?.parse::<u32>().ok())
        .max()
        .unwrap_or(0);
    Ok(format!("{prefix}{}", last + 1))
}

/// Enters a unit and opens the duties its kind brings.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; [`Error::NotFound`] for a space of another estate.
pub fn add_unit(world: &World, seat: &Seat, form: NewUnit, once: &str) -> Result<UnitId, Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let space = tx.space(form.space)?;
            seat.must_reach(space.building)?;
            check_facts(tx, &form.facts, None)?;
            let today = tx.today();
            let fitted = form.facts.installed.map(|(_, last)| last);
            let placed = form.placed_from.or(fitted);
            let watched = form
                .watched_from
                .unwrap_or_else(|| watched_since(fitted, today));
            check_days(today, placed, watched)?;
            let id = enter(tx, &space, &form.facts, placed, watched)?;
            feed_header(tx, &space, &form.facts.kind, id)?;
            Ok(id)
        })
    })
}

fn check_days(
    today: NaiveDate,
    placed: Option<NaiveDate>,
    watched: NaiveDate,
) -> Result<(), Error> {
    let mut wrongs = Vec::new();
    if placed.is_some_and(|day| day > today) {
        wrongs.push(FieldError::at(
            "placed",
            "It cannot stand there from a day to come.",
        ));
    }
    if watched > today {
        wrongs.push(FieldError::at(
            "watched",
            "Records cannot begin on a day to come.",
        ));
    }
    Error::unless_empty(wrongs)
}

fn enter(
    tx: &mut Tx<'_>,
    space: &SpaceCard,
    facts: &UnitFacts,
    placed: Option<NaiveDate>,
    watched: NaiveDate,
) -> Result<UnitId, Error> {
    let number = next_number(tx, space)?;
    let blank = UnitCard {
        id: UnitId(Uuid::nil()),
        number,
        kind: String::new(),
        serial: String::new(),
        installed: None,
        rated_kw: None,
        litres: None,
        filter_fitted: None,
        reducer_fitted: None,
        warranty_until: None,
        watched_from: watched,
        fate: Fate::InService,
        fate_on: None,
        note: String::new(),
        space: space.id,
        space_name: space.name.clone(),
        building: space.building,
        building_name: space.building_name.clone(),
        placed_from: placed,
        hardness_mg_l: None,
    };
    let card = with_facts(blank, facts);
    let id = tx.add_unit(&card, None)?;
    let card = tx.unit(id)?;
    crate::duties::ensure_for_unit(tx, &card)?;
    crate::forecast::renew_unit(tx, id)?;
    let body = json!({"number": card.number, "kind": card.kind, "space": space.id});
    tx.note("unit entered", &format!("unit {id}"), &body);
    Ok(id)
}

/// A feeder in a plant room with one header feeds that header; with several, somebody must say which.
pub(crate) fn feed_header(
    tx: &mut Tx<'_>,
    space: &SpaceCard,
    kind: &str,
    unit: UnitId,
) -> Result<(), Error> {
    if space.used_as != UsedAs::Plant || !FEEDERS.contains(&kind) {
        return Ok(());
    }
    let today = tx.today();
    let headers: Vec<_> = tx
        .branches(space.building, today)?
        .into_iter()
        .filter(|b| b.kind == "header")
        .collect();
    if let [header] = headers.as_slice() {
        tx.link_branch(header.id, End::FedBy(unit), today)?;
        tx.serve_branch(unit, header.id, Some(today))?;
    }
    Ok(())
}

fn with_facts(card: UnitCard, facts: &UnitFacts) -> UnitCard {
    UnitCard {
        kind: facts.kind.clone(),
        serial: facts.serial.trim().to_owned(),
        installed: facts.installed,
        rated_kw: facts.rated_kw,
        litres: facts.litres,
        filter_fitted: facts.filter_fitted,
        reducer_fitted: facts.reducer_fitted,
        warranty_until: facts.warranty_until,
        note: facts.note.trim().to_owned(),
        ..card
    }
}

/// States what is known of a unit anew, and what follows from the day it was fitted; what was stated before stays readable.
/// `seen` is the statement the form
/// was filled in from.
///
/// # Errors
/// [`Error::Conflict`] when somebody stated something else meanwhile; [`Error::Invalid`] as for entering.
pub fn correct_unit(
    world: &World,
    seat: &Seat,
    unit: UnitId,
    (facts, watched_from): (UnitFacts, Option<NaiveDate>),
    seen: Option<FactId>,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    let request = (unit, &facts, watched_from);
    world.acting(seat, |tx| {
        tx.once(once, &request, |tx| {
            let card = tx.unit(unit)?;
            seat.must_reach(card.building)?;
            let in_force = tx.statements_of(unit)?.first().map(|s| s.id);
            if seen.is_some() && seen != in_force {
                return Err(Error::Conflict(format!(
                    "Somebody else wrote something about {} while you did. Nothing of yours was kept; open the page again.",
                    card.number
                )));
            }
            check_facts(tx, &facts, Some(unit))?;
            // The form comes back with the day it was filled in with: only another one is stated.
            let stated = watched_from.filter(|day| *day != card.watched_from);
            check_days(tx.today(), None, stated.unwrap_or(card.watched_from))?;
            let corrected = with_facts(card.clone(), &facts);
            let corrected = state_corrected(tx, &card, corrected, stated)?;
            if card.kind != corrected.kind {
                crate::duties::ensure_for_unit(tx, &corrected)?;
            }
            crate::forecast::renew_unit(tx, unit)?;
            let body = json!({"facts": facts});
            tx.note("unit corrected", &format!("unit {unit}"), &body);
            Ok(())
        })
    })
}

/// Takes `old` out on a day and puts a new unit with its own number in the same space. The old one keeps its
/// history; its duties end, what the desk had opened on it by hand goes on; what it served and fed passes to the new one.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; [`Error::Conflict`] when the old one is out already.
pub fn replace_unit(
    world: &World,
    seat: &Seat,
    form: Replacement,
    once: &str,
) -> Result<UnitId, Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let old = tx.unit(form.old)?;
            seat.must_reach(old.building)?;
            replace_in(tx, &old, &form)
        })
    })
}

/// The same inside a transaction: the caller has checked who may, a job sheet for one.
pub(crate) fn replace_in(
    tx: &mut Tx<'_>,
    old: &UnitCard,
    form: &Replacement,
) -> Result<UnitId, Error> {
    if old.fate != Fate::InService {
        return Err(Error::Conflict(format!("{} is out already.", old.number)));
    }
    check_leaving(old, form.on, form.fate, tx.today())?;
    check_facts(tx, &form.facts, Some(form.old))?;
    let by_hand = crate::duties::opened_on(tx, form.old)?;
    take_out(tx, old, form.on, form.fate)?;
    let space = tx.space(old.space)?;
    let served = tx.end_serving(form.old, form.on)?;
    let new = enter(tx, &space, &form.facts, Some(form.on), form.on)?;
    for (other, branch) in served {
        match (other, branch) {
            (Some(other), _) if other != space.id => {
                tx.serve_space(new, other, Some(form.on), None)?;
            }
            (_, Some(branch)) => tx.serve_branch(new, branch, Some(form.on))?,
            _ => {}
        }
    }
    tx.hand_over_feeding(form.old, Some(new), form.on)?;
    tx.add_swap((form.old, new), form.on)?;
    crate::duties::hand_on(tx, (old, new), &by_hand)?;
    let body = json!({"on": form.on, "fate": form.fate, "by": new});
    tx.note("unit replaced", &format!("unit {}", form.old), &body);
    Ok(new)
}

pub(super) fn check_leaving(
    old: &UnitCard,
    on: NaiveDate,
    fate: Fate,
    today: NaiveDate,
) -> Result<(), Error> {
    let mut wrongs = Vec::new();
    if on > today {
        wrongs.push(FieldError::at(
            "on",
            "It cannot have left on a day to come.",
        ));
    }
    let since = old.placed_from.or(old.installed.map(|(first, _)| first));
    if since.is_some_and(|since| on < since) {
        wrongs.push(FieldError::at("on", "It cannot leave before it came."));
    }
    if fate == Fate::InService {
        wrongs.push(FieldError::at("fate", "Say how the old one ended."));
    }
    Error::unless_empty(wrongs)
}

pub(super) fn take_out(
    tx: &mut Tx<'_>,
    old: &UnitCard,
    on: NaiveDate,
    fate: Fate,
) -> Result<(), Error> {
    let gone = UnitCard {
        fate,
        fate_on: Some(on),
        ..old.clone()
    };
    tx.state_unit(old.id, &gone, None)?;
    tx.end_stay(old.id, on)?;
    crate::duties::ensure_for_unit(tx, &gone)?;
    crate::forecast::renew_unit(tx, old.id)
}

/// Moves a unit to another space of its building: a new stay, the same unit and history.
///
/// # Errors
/// [`Error::Invalid`] when the day or the space cannot be.
pub fn move_unit(
    world: &World,
    seat: &Seat,
    unit: UnitId,
    (to, on): (SpaceId, NaiveDate),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &(unit, to, on), |tx| {
            let card = tx.unit(unit)?;
            seat.must_reach(card.building)?;
            let space = tx.space(to)?;
            if card.fate != Fate::InService {
                return Err(Error::Conflict(format!("{} is out already.", card.number)));
            }
            let mut wrongs = Vec::new();
            if space.id == card.space {
                wrongs.push(FieldError::at("space", "It stands there now."));
            }
            if space.building != card.building {
                wrongs.push(FieldError::at(
                    "space",
                    "A unit moves within its building. Take it out here and enter it there.",
                ));
            }
            if on > tx.today() || card.placed_from.is_some_and(|since| on < since) {
                wrongs.push(FieldError::at(
                    "on",
                    "It was not there to be moved on that day.",
                ));
            }
            Error::unless_empty(wrongs)?;
            tx.end_stay(unit, on)?;
            tx.end_serving(unit, on)?;
            tx.place_unit(unit, to, Some(on), None)?;
            tx.serve_space(unit, to, Some(on), None)?;
            let body = json!({"from": card.space, "to": to, "on": on});
            tx.note("unit moved", &format!("unit {unit}"), &body);
            Ok(())
        })
    })
}

fn check_facts(tx: &mut Tx<'_>, facts: &UnitFacts, but: Option<UnitId>) -> Result<(), Error> {
    let today = tx.today();
    let mut wrongs = Vec::new();
    let mut say = |field: &str, sentence: String| wrongs.push(FieldError::at(field, sentence));
    if !tx.kinds()?.iter().any(|k| k.code == facts.kind) {
        say("kind", "Say what sort of unit it is.".to_owned());
    }
    if let Some((first, last)) = facts.installed {
        if first > last {
            say(
                "fitted",
                "The earliest day comes after the latest.".to_owned(),
            );
        }
        if first > today {
            say(
                "fitted",
                "It cannot have been fitted on a day to come.".to_owned(),
            );
        }
    }
    if facts
        .rated_kw
        .is_some_and(|kw| !(0.1..=5000.0).contains(&kw))
    {
        say(
            "rated_kw",
            "Output lies between 0.1 and 5,000 kW.".to_owned(),
        );
    }
    if facts
        .litres
        .is_some_and(|l| !(0.1..=100_000.0).contains(&l))
    {
        say(
            "litres",
            "Stored water lies between 0.1 and 100,000 litres.".to_owned(),
        );
    }
    let serial = facts.serial.trim();
    if serial.chars().count() > 60 {
        say(
            "serial",
            "A serial number has at most 60 characters.".to_owned(),
        );
    }
    if !serial.is_empty() {
        let others = tx.units_with_serial(serial)?;
        if let Some((_, number)) = others.iter().find(|(id, _)| Some(*id) != but) {
            say(
                "serial",
                format!("The serial {serial} is on {number} already."),
            );
        }
    }
    Error::unless_empty(wrongs)
}
