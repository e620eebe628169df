//! Bringing a list in, whole or not at all, and taking it back.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::json;
use store::Tx;
use store::imports::{Arrivals, BuiltUpon, ImportHead, Undone};
use store::tenures::TenureRow;
use store::unit_likes::LikeRow;
use store::units::Which;
use terms::place::SpaceCard;
use terms::unit::UnitCard;
use terms::{ImportId, SpaceId, UnitId};

use super::lists::{self, MAY};
use super::plan::Writes;
use super::problem::{Counts, Matching, Preview};
use super::records::RecordsPlan;
use super::units::UnitsPlan;
use crate::work::wall;
use crate::{Error, Seat, World, duties, forecast, register};

/// For how long a list can be taken back.
const UNDO_DAYS: i64 = 30;

/// Until when a list that came in can be taken back.
pub fn undo_until(head: &ImportHead) -> Option<DateTime<Utc>> {
    head.done_at.map(|at| at + TimeDelta::days(UNDO_DAYS))
}

/// Brings a list in: every row that can come in, none if a row is neither readable nor left out by choice. The
/// register is looked at anew, so what changed since the preview counts.
///
/// # Errors
/// [`Error::Invalid`] at `rows`, with what stands in the way; the preview then shows it.
pub fn commit(world: &World, seat: &Seat, id: ImportId, once: &str) -> Result<Counts, Error> {
    seat.must_be(&MAY)?;
    // What stands in the way is kept for the page even though nothing comes in, so it is looked at first, apart.
    let preview = world.acting(seat, |tx| {
        let card = tx.import(id)?;
        if card.head.state != "preview" {
            return Ok(None);
        }
        let (_, matching) = lists::in_preview(tx, seat, id)?;
        Ok(Some(lists::look(tx, seat, id, &matching)?.preview))
    })?;
    if let Some(preview) = preview {
        must_be_ready(&preview)?;
    }
    world.acting(seat, |tx| {
        tx.once(once, &(id, "bring in"), |tx| {
            let (_, matching) = lists::in_preview(tx, seat, id)?;
            bring_in_held(tx, seat, (id, &matching), &mut |_, _| ())
        })
    })
}

/// Brings in a list that is held: looked at anew, written, and one link in the record. `told` hears how many records
/// of how many are written.
pub(super) fn bring_in_held(
    tx: &mut Tx<'_>,
    seat: &Seat,
    (id, matching): (ImportId, &Matching),
    told: &mut dyn FnMut(usize, usize),
) -> Result<Counts, Error> {
    let looked = lists::look(tx, seat, id, matching)?;
    must_be_ready(&looked.preview)?;
    // The rows as read are not needed any more, and may be many.
    drop(looked.sheet);
    bring_in(tx, (id, &looked.head.name), looked.writes, told)?;
    tx.set_import_state(id, "done")?;
    let counts = looked.preview.counts;
    tx.note(
        "list brought in",
        &format!("import {id}"),
        &json!({
            "kind": looked.head.kind,
            "digest": looked.head.digest,
            "rows": looked.preview.rows,
            "counts": counts,
            "settled": matching.settled,
        }),
    );
    Ok(counts)
}

/// Says what stands in the way.
pub(super) fn must_be_ready(preview: &Preview) -> Result<(), Error> {
    if preview.ready {
        return Ok(());
    }
    let sentence = if !preview.missing.is_empty() {
        let lacking: Vec<&str> = preview.missing.iter().map(|f| f.label()).collect();
        format!("Nothing came in: no column holds {}.", lacking.join(", "))
    } else if preview.counts.held > 0 {
        format!(
            "Nothing came in: {} of {} rows cannot be read. Settle each cause, or leave its rows out.",
            preview.counts.held, preview.rows
        )
    } else {
        "Nothing came in: say first whether the day or the month comes first in the dates."
            .to_owned()
    };
    Err(Error::field("rows", sentence))
}

/// Units told their forecast at once; with more of them the refit that is asked for does it.
const TELL_AT_ONCE: usize = 60;

fn bring_in(
    tx: &mut Tx<'_>,
    (id, name): (ImportId, &str),
    writes: Writes,
    told: &mut dyn FnMut(usize, usize),
) -> Result<(), Error> {
    let touched: BTreeSet<UnitId> = match writes {
        Writes::History(plan) => {
            let arrivals = plan.arrivals;
            let all = arrivals.failures.len() + arrivals.services.len() + arrivals.parts.len();
            tx.bring_in_history(&arrivals, id, &mut |done| told(done, all))?;
            duties::bring_in(tx, (id, name), &plan.dates)?;
            let failed = arrivals.failures.iter().map(|f| f.unit);
            failed
                .chain(arrivals.parts.iter().map(|p| p.0.unit))
                .collect()
        }
        Writes::Records(plan) => of_records(tx, id, plan, told)?,
        Writes::Units(plan) => of_units(tx, (id, name), plan)?,
    };
    if touched.is_empty() {
        return Ok(());
    }
    if touched.len() <= TELL_AT_ONCE {
        for unit in &touched {
            forecast::renew_unit(tx, *unit)?;
        }
    }
    tx.queue("nightly_refit", json!({}), Some("refit"))?;
    Ok(())
}

/// Times of records, and the failures counted in them; the units it speaks of one by one.
fn of_records(
    tx: &mut Tx<'_>,
    id: ImportId,
    plan: RecordsPlan,
    told: &mut dyn FnMut(usize, usize),
) -> Result<BTreeSet<UnitId>, Error> {
    let touched: BTreeSet<UnitId> = plan.units().collect();
    tx.add_record_windows(&plan.windows, id)?;
    let counted = Arrivals {
        failures: plan.failures,
        ..Arrivals::default()
    };
    let all = counted.failures.len();
    tx.bring_in_history(&counted, id, &mut |done| told(done, all))?;
    if touched.is_empty() && !plan.windows.is_empty() {
        // Times of buildings speak of all their units: the refit tells them.
        tx.queue("nightly_refit", json!({}), Some("refit"))?;
    }
    Ok(touched)
}

/// Units, and what the list says of their duties, their homes and what they are alike in; the units it touched.
fn of_units(
    tx: &mut Tx<'_>,
    (id, name): (ImportId, &str),
    mut plan: UnitsPlan,
) -> Result<BTreeSet<UnitId>, Error> {
    give_numbers(tx, &mut plan.new)?;
    let came = tx.bring_in_units(&plan.new, id)?;
    let new: BTreeSet<UnitId> = came.iter().copied().collect();
    tx.restate_units(&plan.changed, id)?;
    begin(tx, &new)?;
    for (place, mut brought) in plan.new_dates {
        brought.unit = *came.get(place).ok_or(Error::NotFound("unit"))?;
        plan.dates.push(brought);
    }
    duties::bring_in(tx, (id, name), &plan.dates)?;
    let from_on = wall::day(tx.at());
    for (space, tenure) in plan.tenures {
        let row = TenureRow {
            space,
            tenure,
            from_on,
        };
        tx.state_tenure(&row, Some(id))?;
    }
    for (place, what, said) in plan.new_likes {
        let unit = *came.get(place).ok_or(Error::NotFound("unit"))?;
        plan.likes.push((unit, what, said));
    }
    let likes = plan.likes.into_iter().map(|(unit, what, said)| LikeRow {
        unit,
        what,
        said,
        from_on,
    });
    let likes: Vec<LikeRow> = likes.collect();
    tx.add_likes(&likes, Some(id))?;
    let changed = plan.changed.iter().map(|c| c.id);
    let alike = likes.iter().map(|row| row.unit);
    let mut touched: BTreeSet<UnitId> = new.into_iter().chain(changed).chain(alike).collect();
    touched.extend(people_of(tx, id, &plan.people)?);
    Ok(touched)
}

/// States how many people live in homes; the units that stand in them.
fn people_of(
    tx: &mut Tx<'_>,
    id: ImportId,
    people: &BTreeMap<SpaceId, u32>,
) -> Result<Vec<UnitId>, Error> {
    if people.is_empty() {
        return Ok(Vec::new());
    }
    let said = people
        .iter()
        .map(|(space, n)| (*space, json!(f64::from(*n))));
    let said: Vec<(SpaceId, serde_json::Value)> = said.collect();
    tx.restate_site_fact(forecast::PEOPLE_FACT, &said, id)?;
    let all = tx.units(Which::All)?.into_iter();
    let there = all.filter(|c| people.contains_key(&c.space));
    Ok(there.map(|c| c.id).collect())
}

/// Numbers units that came without one as the register does, never using a number again.
fn give_numbers(tx: &mut Tx<'_>, cards: &mut [UnitCard]) -> Result<(), Error> {
    let spaces: BTreeMap<SpaceId, SpaceCard> =
        tx.spaces(None)?.into_iter().map(|s| (s.id, s)).collect();
    let given: BTreeSet<String> = cards.iter().map(|c| c.number.clone()).collect();
    let mut last: BTreeMap<String, u32> = BTreeMap::new();
    for card in cards.iter_mut().filter(|c| c.number.is_empty()) {
        let space = spaces.get(&card.space).ok_or(Error::NotFound("space"))?;
        let free = register::next_number(tx, space)?;
        let (prefix, number) = free.rsplit_once('-').unwrap_or((&free, "1"));
        let first: u32 = number.parse().unwrap_or(1);
        let mut next = first.max(last.get(prefix).map_or(0, |n| n + 1));
        while given.contains(&format!("{prefix}-{next}")) {
            next += 1;
        }
        last.insert(prefix.to_owned(), next);
        card.number = format!("{prefix}-{next}");
    }
    Ok(())
}

/// Duties of units that are new to the register begin, and plant feeds its header.
fn begin(tx: &mut Tx<'_>, new: &BTreeSet<UnitId>) -> Result<(), Error> {
    if new.is_empty() {
        return Ok(());
    }
    let spaces: BTreeMap<SpaceId, SpaceCard> =
        tx.spaces(None)?.into_iter().map(|s| (s.id, s)).collect();
    let cards = tx.units(Which::All)?;
    for card in cards.iter().filter(|c| new.contains(&c.id)) {
        duties::ensure_for_unit(tx, card)?;
        if let Some(space) = spaces.get(&card.space) {
            register::feed_header(tx, space, &card.kind, card.id)?;
        }
    }
    Ok(())
}

/// Units named when others have built upon them.
const NAMED: usize = 8;

/// What stands on a list, unit by unit.
fn stands_on(tx: &mut Tx<'_>, built_upon: &BuiltUpon) -> Result<String, Error> {
    let numbers: BTreeMap<UnitId, String> = tx
        .units(Which::All)?
        .into_iter()
        .map(|unit| (unit.id, unit.number))
        .collect();
    let mut named: Vec<String> = built_upon
        .iter()
        .map(|(unit, what)| {
            let number = numbers.get(unit).map_or("a unit", String::as_str);
            let what: Vec<&str> = what.iter().copied().collect();
            format!("{number} ({})", what.join(", "))
        })
        .collect();
    named.sort();
    let more = named.len().saturating_sub(NAMED);
    named.truncate(NAMED);
    let rest = match more {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    Ok(format!(
        "{} of the units that came in have had work, history or corrections since: {}{rest}. Take those back first; nothing was changed.",
        built_upon.len(),
        named.join("; ")
    ))
}

/// Takes a list back: every fact it wrote is superseded, in one step and one link of the record.
///
/// # Errors
/// [`Error::Conflict`] when it is too late, or when others have built upon what came in.
pub fn undo(world: &World, seat: &Seat, id: ImportId, once: &str) -> Result<Undone, Error> {
    seat.must_be(&MAY)?;
    let now = world.now();
    let (units, restored, events, dates, statements) = world.acting(seat, |tx| {
        tx.once(once, &(id, "undo"), |tx| {
            let head = tx.import_held(id)?.head;
            if let Some(building) = head.building {
                seat.must_reach(building)?;
            }
            if head.state != "done" {
                return Err(Error::Conflict(
                    "This list is not in the register, so there is nothing to take back.".to_owned(),
                ));
            }
            if undo_until(&head).is_some_and(|until| now > until) {
                return Err(Error::Conflict(format!(
                    "This list came in more than {UNDO_DAYS} days ago and can no longer be taken back in one step."
                )));
            }
            let built_upon = tx.built_upon(id)?;
            if !built_upon.is_empty() {
                return Err(Error::Conflict(stands_on(tx, &built_upon)?));
            }
            let (dated, opened) = tx.duties_dated_by(id)?;
            let undone = tx.undo_import(id)?;
            duties::taken_back(tx, (&dated, &opened))?;
            tx.set_import_state(id, "undone")?;
            tx.queue("nightly_refit", json!({}), Some("refit"))?;
            tx.note(
                "list taken back",
                &format!("import {id}"),
                &json!({ "units": undone.units, "restored": undone.restored, "events": undone.events, "dates": undone.dates, "statements": undone.statements }),
            );
            let all = (undone.units, undone.restored, undone.events);
            Ok((all.0, all.1, all.2, undone.dates, undone.statements))
        })
    })?;
    Ok(Undone {
        units,
        restored,
        events,
        dates,
        statements,
    })
}
