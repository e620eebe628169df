//! What is said of a list before it comes in: which way round its dates are, what becomes of rows that cannot be read,
//! what the source means by its names.
use serde::Serialize;
use serde_json::json;
use store::Tx;
use terms::ImportId;

use super::dates::Order;
use super::fields::Field;
use super::lists::{MAY, in_preview, kind_of, look};
use super::memory;
use super::problem::{Code, Matching, Preview, Remedy, Settled, meaning_key};
use crate::{Error, Seat, World};

/// A cause and what to do with its rows.
#[derive(Clone, Debug, Serialize)]
pub struct SettleForm {
    /// The code.
    pub code: Code,
    /// The column.
    pub column: String,
    /// What to do; `None` takes a choice back.
    pub remedy: Option<Remedy>,
}

/// A word of the source and what it means here.
#[derive(Clone, Debug, Serialize)]
pub struct NameForm {
    /// The field it stands under.
    pub field: Field,
    /// The word of the source.
    pub said: String,
    /// The register's word for it; empty takes it back.
    pub meant: String,
}

/// Says which way round the dates of one column are, and looks again.
pub fn say_order(
    world: &World,
    seat: &Seat,
    id: ImportId,
    (place, order): (usize, Order),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&MAY)?;
    world.acting(seat, |tx| {
        tx.once(once, &(id, place, order), |tx| {
            let (card, mut matching) = in_preview(tx, seat, id)?;
            let field = matching.columns.get(place).copied().flatten();
            if !field.is_some_and(Field::is_date) {
                return Err(Error::NotFound("column of dates"));
            }
            matching.orders.insert(place, order);
            let looked = look(tx, seat, id, &matching)?;
            let of = (kind_of(&card.head)?, card.head.source.as_str());
            memory::remember(tx, of, &looked.sheet, &matching)?;
            tx.note(
                "order of dates said",
                &format!("import {id}"),
                &json!({ "order": order }),
            );
            Ok(())
        })
    })
}

/// Settles one cause, or takes that choice back, and looks again.
pub fn settle(
    world: &World,
    seat: &Seat,
    id: ImportId,
    form: SettleForm,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&MAY)?;
    world.acting(seat, |tx| {
        let about = (id, form);
        tx.once(once, &about, |tx| {
            let form = &about.1;
            let (_, mut matching) = in_preview(tx, seat, id)?;
            choose(&mut matching, form.code, &form.column, form.remedy);
            look(tx, seat, id, &matching)?;
            tx.note(
                "cause settled",
                &format!("import {id}"),
                &json!({ "code": form.code, "column": form.column, "remedy": form.remedy }),
            );
            Ok(())
        })
    })
}

fn choose(matching: &mut Matching, code: Code, column: &str, remedy: Option<Remedy>) {
    matching
        .settled
        .retain(|s| s.code != code || s.column != column);
    if let Some(remedy) = remedy {
        matching.settled.push(Settled {
            code,
            column: column.to_owned(),
            remedy,
        });
    }
}

/// Leaves out the rows of every cause that is not settled yet.
pub fn leave_rest_out(world: &World, seat: &Seat, id: ImportId, once: &str) -> Result<(), Error> {
    seat.must_be(&MAY)?;
    world.acting(seat, |tx| {
        tx.once(once, &(id, "leave the rest out"), |tx| {
            let (_, mut matching) = in_preview(tx, seat, id)?;
            let looked = look(tx, seat, id, &matching)?;
            leave_out_all(&mut matching, &looked.preview);
            look(tx, seat, id, &matching)?;
            tx.note("rest left out", &format!("import {id}"), &json!({}));
            Ok(())
        })
    })
}

/// Chooses to leave out for every cause without a choice; a list that lacks a column is not helped by it.
fn leave_out_all(matching: &mut Matching, preview: &Preview) {
    if !preview.missing.is_empty() {
        return;
    }
    for cause in preview.causes(matching) {
        if cause.remedy.is_none() {
            choose(matching, cause.code, &cause.column, Some(Remedy::LeaveOut));
        }
    }
}

/// Says what the source means by one of its names, remembers it for the lists of this source, and looks again.
///
/// # Errors
/// [`Error::Invalid`] at `meant` when the register does not know that word either.
pub fn say_name(
    world: &World,
    seat: &Seat,
    id: ImportId,
    form: NameForm,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&MAY)?;
    world.acting(seat, |tx| {
        let about = (id, form);
        tx.once(once, &about, |tx| named(tx, seat, (id, &about.1)))
    })
}

fn named(tx: &mut Tx<'_>, seat: &Seat, (id, form): (ImportId, &NameForm)) -> Result<(), Error> {
    let (card, mut matching) = in_preview(tx, seat, id)?;
    let key = meaning_key(&form.said);
    let meant = form.meant.trim().to_owned();
    let names = matching.names.entry(form.field).or_default();
    if meant.is_empty() {
        names.remove(&key);
    } else {
        names.insert(key, meant.clone());
    }
    matching.names.retain(|_, names| !names.is_empty());
    let looked = look(tx, seat, id, &matching)?;
    let place = matching.place(form.field);
    let column = place.map_or_else(String::new, |p| looked.sheet.name(p));
    let unknown = looked.preview.problems.iter().any(|p| {
        p.column == column
            && p.value == meant
            && matches!(p.code, Code::PlaceUnknown | Code::KindUnknown)
    });
    if unknown && !meant.is_empty() {
        return Err(Error::field(
            "meant",
            format!(
                "The register does not know “{meant}” as {} either.",
                form.field.label().to_lowercase()
            ),
        ));
    }
    let of = (kind_of(&card.head)?, card.head.source.as_str());
    memory::remember(tx, of, &looked.sheet, &matching)?;
    tx.note(
        "name of a source said",
        &format!("import {id}"),
        &json!({ "field": form.field, "said": form.said, "meant": meant }),
    );
    Ok(())
}
