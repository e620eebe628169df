//! Sending a list, looking at it, matching its columns, settling what is wrong. Nothing here touches the register.
use std::collections::BTreeMap;

use serde::Serialize;
use serde_json::json;
use sha2::{Digest, Sha256};
use store::Tx;
use store::imports::{ImportCard, ImportHead, NewImport, Progress, Undone};
use terms::{BuildingId, ImportId, Role, hex};

use super::apart;
use super::dates::Order;
use super::fields::{Field, How, ListKind, guess_kind};
use super::files::{self, Chosen};
use super::known::Known;
use super::memory;
use super::plan::{self, Writes};
use super::problem::{Matching, Preview};
use super::reading::Sheet;
use crate::{Error, FieldError, Seat, World};

/// A list as sent.
#[derive(Clone, Debug)]
pub struct Upload {
    /// The file's name.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// Which kind; `None`: told by its headings.
    pub kind: Option<ListKind>,
    /// The building of rows that name none.
    pub building: Option<BuildingId>,
    /// Whose list it is: how its columns and names are matched is remembered under it. May be empty.
    pub source: String,
    /// The sheet of a workbook with several; empty: the one whose headings say most.
    pub sheet: String,
}

/// A list with everything its page shows.
#[derive(Clone, Debug)]
pub struct View {
    /// What is known of it.
    pub head: ImportHead,
    /// How it is read.
    pub matching: Matching,
    /// What the preview says.
    pub preview: Preview,
    /// Who sent it.
    pub sent_by: String,
    /// What taking it back would do; `None` when it is not in the register.
    pub undo: Option<Undone>,
}

/// Columns as chosen on the page.
#[derive(Clone, Debug, Serialize)]
pub struct MatchForm {
    /// The field of each column, left to right; `None` leaves it out.
    pub columns: Vec<Option<Field>>,
    /// The order of day and month, by column place, where it was asked.
    pub orders: BTreeMap<usize, Order>,
}

/// Who may bring in lists.
pub(super) const MAY: [Role; 2] = [Role::Agent, Role::Supervisor];

/// Keeps a list and makes its first preview. A workbook, or a large list, is read by a task and waits until it was. The
/// very same file again leads to the list it already is.
///
/// # Errors
/// [`Error::Invalid`] at `file` with the sentence why it cannot be taken.
pub fn upload(world: &World, seat: &Seat, form: Upload, once: &str) -> Result<ImportId, Error> {
    seat.must_be(&MAY)?;
    if let Some(building) = form.building {
        seat.must_reach(building)?;
    }
    if apart::must_wait(&form.bytes) {
        return apart::send(world, seat, &form, once);
    }
    let chosen = read(&form.bytes, &form.sheet)?;
    let kind = form
        .kind
        .unwrap_or_else(|| guess_kind(&chosen.list.headings));
    let name = short_name(&form.name);
    let digest = digest(&form.bytes, Some(kind), form.building);
    world.acting(seat, |tx| {
        tx.once(once, &(&name, &digest), |tx| {
            if let Some(there) = same_list(tx, &digest)? {
                return Ok(there);
            }
            let new = NewImport {
                name: &name,
                digest: &digest,
                kind: kind.code(),
                building: form.building,
                body: &chosen.text,
                state: "preview",
                sheet: &chosen.sheet,
                source: form.source.trim(),
            };
            let id = keep(tx, &new)?;
            let remembered = memory::remembered(tx, (kind, &form.source), &chosen.list)?;
            let matching = plan::first_matching(&chosen.list, kind, remembered);
            look(tx, seat, id, &matching)?;
            Ok(id)
        })
    })
}

/// The list of this very content that waits or has come in.
pub(super) fn same_list(tx: &mut Tx<'_>, digest: &str) -> Result<Option<ImportId>, Error> {
    let same = tx.imports_of_digest(digest)?;
    let there = same.iter().find(|head| {
        matches!(
            head.state.as_str(),
            "preview" | "done" | "reading" | "coming_in"
        )
    });
    Ok(there.map(|head| head.id))
}

/// Keeps a list; nothing of it is looked at yet.
pub(super) fn keep(tx: &mut Tx<'_>, new: &NewImport<'_>) -> Result<ImportId, Error> {
    let id = tx.add_import(new)?;
    tx.note(
        "list sent",
        &format!("import {id}"),
        &json!({ "kind": new.kind, "digest": new.digest }),
    );
    Ok(id)
}

/// The list of a file, read in this process.
pub(super) fn read(bytes: &[u8], sheet: &str) -> Result<Chosen, Error> {
    let refused = |sentence: String| Error::field("file", sentence);
    let sheets = files::read_here(bytes).map_err(refused)?;
    files::choose(sheets, sheet).map_err(refused)
}

/// SHA-256 of a file, its kind and its building.
pub(super) fn digest(bytes: &[u8], kind: Option<ListKind>, building: Option<BuildingId>) -> String {
    let mut hash = Sha256::new();
    hash.update(bytes);
    hash.update(kind.map_or("", ListKind::code));
    if let Some(building) = building {
        hash.update(building.0);
    }
    hex(&hash.finalize())
}

/// The last part of a path, at most 120 characters, without control characters.
pub(super) fn short_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or(name);
    let short: String = last.chars().filter(|c| !c.is_control()).take(120).collect();
    if short.trim().is_empty() {
        "list.csv".to_owned()
    } else {
        short
    }
}

/// A kept list read again and held against the register as it is now.
pub(super) struct Looked {
    pub(super) head: ImportHead,
    pub(super) sheet: Sheet,
    pub(super) preview: Preview,
    pub(super) writes: Writes,
}

/// Looks at a kept list with a matching, and keeps what was found.
pub(super) fn look(
    tx: &mut Tx<'_>,
    seat: &Seat,
    id: ImportId,
    matching: &Matching,
) -> Result<Looked, Error> {
    let card = tx.import(id)?;
    let kind = kind_of(&card.head)?;
    let sheet = files::titled(&card.body, &card.head.sheet).map_err(Error::Internal)?;
    let mut known = Known::load(tx, seat, card.head.building)?;
    known.look_up(tx, kind, (&sheet, matching))?;
    let (mut preview, writes) = plan::check((&card.head.name, kind), &sheet, matching, &known);
    preview.findings =
        serde_json::from_value(card.findings).map_err(|e| Error::Internal(e.to_string()))?;
    let stored = (
        serde_json::to_value(matching).map_err(|e| Error::Internal(e.to_string()))?,
        serde_json::to_value(&preview).map_err(|e| Error::Internal(e.to_string()))?,
    );
    let rows = i32::try_from(preview.rows).unwrap_or(i32::MAX);
    tx.keep_preview(id, (&stored.0, &stored.1), rows)?;
    Ok(Looked {
        head: card.head,
        sheet,
        preview,
        writes,
    })
}

pub(super) fn kind_of(head: &ImportHead) -> Result<ListKind, Error> {
    head.kind.parse().map_err(Error::Internal)
}

/// A list that is still in preview, held until the transaction ends.
pub(super) fn in_preview(
    tx: &mut Tx<'_>,
    seat: &Seat,
    id: ImportId,
) -> Result<(ImportCard, Matching), Error> {
    let card = tx.import_held(id)?;
    reaches(seat, &card.head)?;
    if card.head.state != "preview" {
        return Err(Error::Conflict(match card.head.state.as_str() {
            "done" => "This list has come in already. Nothing was changed by you.".to_owned(),
            "undone" => "This list was taken back. Send it again to bring it in.".to_owned(),
            "reading" | "coming_in" => {
                "This list is being worked on. Look again in a moment.".to_owned()
            }
            _ => "This list was put away. Send it again to bring it in.".to_owned(),
        }));
    }
    let matching = matching_of(&card)?;
    Ok((card, matching))
}

pub(super) fn reaches(seat: &Seat, head: &ImportHead) -> Result<(), Error> {
    match head.building {
        Some(building) if !seat.grant().reaches(building) => Err(Error::NotFound("list")),
        _ => Ok(()),
    }
}

pub(super) fn matching_of(card: &ImportCard) -> Result<Matching, Error> {
    serde_json::from_value(card.mapping.clone()).map_err(|e| Error::Internal(e.to_string()))
}

/// Everything the page of a list shows.
pub fn view(world: &World, seat: &Seat, id: ImportId) -> Result<View, Error> {
    seat.must_be(&MAY)?;
    let (card, undo) = world.acting(seat, |tx| {
        let card = tx.import(id)?;
        reaches(seat, &card.head)?;
        let undo = match card.head.state.as_str() {
            "done" => Some(tx.undo_would(id)?),
            _ => None,
        };
        Ok((card, undo))
    })?;
    if matches!(card.head.state.as_str(), "reading" | "refused") {
        return Err(Error::Conflict(
            "This list was not read yet. Open its page to see how far it is.".to_owned(),
        ));
    }
    let matching = matching_of(&card)?;
    let preview =
        serde_json::from_value(card.report).map_err(|e| Error::Internal(e.to_string()))?;
    let names = crate::door::names(world, &[card.head.made_by])?;
    Ok(View {
        sent_by: names
            .into_iter()
            .next()
            .map_or_else(|| "the program".to_owned(), |n| n.1),
        head: card.head,
        matching,
        preview,
        undo,
    })
}

/// A list and how far a task is with it.
pub fn standing(
    world: &World,
    seat: &Seat,
    id: ImportId,
) -> Result<(ImportHead, Option<Progress>), Error> {
    seat.must_be(&MAY)?;
    world.acting(seat, |tx| {
        let head = tx.import(id)?.head;
        reaches(seat, &head)?;
        let progress = tx.import_progress(id)?;
        Ok((head, progress))
    })
}

/// The latest lists, newest first.
pub fn lists(world: &World, seat: &Seat) -> Result<Vec<ImportHead>, Error> {
    seat.must_be(&MAY)?;
    let mut heads = world.acting(seat, |tx| Ok(tx.imports(30)?))?;
    heads.retain(|h| reaches(seat, h).is_ok());
    Ok(heads)
}

/// Takes the columns as chosen, remembers them for lists with the same headings, and looks again.
///
/// # Errors
/// [`Error::Invalid`] at the column (`c0`, `c1` …) that holds what another holds already.
pub fn match_columns(
    world: &World,
    seat: &Seat,
    id: ImportId,
    form: MatchForm,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&MAY)?;
    world.acting(seat, |tx| {
        let about = (id, form);
        tx.once(once, &about, |tx| {
            let form = &about.1;
            let (card, before) = in_preview(tx, seat, id)?;
            let kind = kind_of(&card.head)?;
            Error::unless_empty(twice(form, kind, before.columns.len()))?;
            let how = |place: usize| match form.columns[place] {
                None => How::LeftOut,
                field if before.columns.get(place) == Some(&field) => {
                    before.how.get(place).copied().unwrap_or(How::Chosen)
                }
                Some(_) => How::Chosen,
            };
            let matching = Matching {
                how: (0..form.columns.len()).map(how).collect(),
                columns: form.columns.clone(),
                orders: form.orders.clone(),
                settled: before.settled,
                names: before.names,
            };
            let looked = look(tx, seat, id, &matching)?;
            memory::remember(tx, (kind, &card.head.source), &looked.sheet, &matching)?;
            tx.note(
                "columns matched",
                &format!("import {id}"),
                &json!({ "columns": matching.columns }),
            );
            Ok(())
        })
    })
}

fn twice(form: &MatchForm, kind: ListKind, columns: usize) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    if form.columns.len() != columns {
        wrongs.push(FieldError::at(
            "c0",
            "The list has other columns than this form.",
        ));
    }
    for (place, field) in form.columns.iter().enumerate() {
        let Some(field) = field else { continue };
        if !Field::of(kind).contains(field) {
            wrongs.push(FieldError::at(
                format!("c{place}"),
                format!("A list of this kind has no “{}”.", field.label()),
            ));
        } else if form.columns[..place].contains(&Some(*field)) {
            wrongs.push(FieldError::at(
                format!("c{place}"),
                format!(
                    "Two columns cannot both be “{}”: leave one out.",
                    field.label()
                ),
            ));
        }
    }
    wrongs
}

/// The buildings a list may be sent for, by name.
pub fn building_choices(world: &World, seat: &Seat) -> Result<Vec<(BuildingId, String)>, Error> {
    seat.must_be(&MAY)?;
    let mut all = world.acting(seat, |tx| Ok(tx.buildings()?))?;
    all.retain(|b| seat.grant().reaches(b.id));
    Ok(all.into_iter().map(|b| (b.id, b.name)).collect())
}

/// Puts a list away that nobody wants to bring in.
pub fn drop_list(world: &World, seat: &Seat, id: ImportId, once: &str) -> Result<(), Error> {
    seat.must_be(&MAY)?;
    world.acting(seat, |tx| {
        tx.once(once, &(id, "drop"), |tx| {
            in_preview(tx, seat, id)?;
            tx.set_import_state(id, "dropped")?;
            tx.note("list put away", &format!("import {id}"), &json!({}));
            Ok(())
        })
    })
}

/// The rows that are held or left out, as CSV with a column that says why; the file's name with them.
pub fn bad_rows(world: &World, seat: &Seat, id: ImportId) -> Result<(String, Vec<u8>), Error> {
    seat.must_be(&MAY)?;
    let card = world.acting(seat, |tx| Ok(tx.import(id)?))?;
    reaches(seat, &card.head)?;
    let sheet = files::titled(&card.body, &card.head.sheet).map_err(Error::Internal)?;
    let preview: Preview =
        serde_json::from_value(card.report).map_err(|e| Error::Internal(e.to_string()))?;
    let bytes = plan::rows_with_problems(&sheet, &preview)
        .map_err(|e| Error::Internal(format!("rows could not be written: {e}")))?;
    let stem = card
        .head
        .name
        .rsplit_once('.')
        .map_or(card.head.name.as_str(), |s| s.0);
    Ok((format!("{stem} to mend.csv"), bytes))
}
