//! Lists that wait: a workbook or a large list is read by a task in a process of its own, a long list comes in by a
//! task. The page can be left and come back to.
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::imports::NewImport;
use terms::{AccountId, EstateId, GrantId, ImportId};

use super::fields::{ListKind, guess_kind};
use super::files::{self, ARCHIVE, Chosen, SheetText};
use super::lists::{self, MAY};
use super::problem::Counts;
use super::reading::MOST_BYTES;
use super::{memory, plan, writing};
use crate::{Error, Seat, THE_PROGRAM, World, door, tasks};

/// The task that reads a file.
pub const READ_TASK: &str = "read_list";
/// The task that brings a list in.
pub const BRING_IN_TASK: &str = "bring_in_list";

/// A list in text up to this size is read while its sender waits, bytes.
const AT_ONCE_BYTES: usize = 1024 * 1024;
/// A list up to this length comes in while one waits, rows.
const AT_ONCE_ROWS: i32 = 2_000;

/// What a task of a list needs to know. It acts as whoever asked, with what that person may reach now.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Errand {
    import: ImportId,
    account: AccountId,
    grant: GrantId,
    kind: Option<ListKind>,
    sheet: String,
}

/// What bringing a list in came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BroughtIn {
    /// It is in.
    Now(Counts),
    /// A task brings it in.
    Waits,
}

/// Whether a file is read by a task.
pub(super) fn must_wait(bytes: &[u8]) -> bool {
    bytes.len() > AT_ONCE_BYTES || bytes.starts_with(ARCHIVE)
}

fn errand(seat: &Seat, import: ImportId) -> Errand {
    Errand {
        import,
        account: seat.account(),
        grant: seat.grant().id,
        kind: None,
        sheet: String::new(),
    }
}

fn seat_of(world: &World, estate: EstateId, errand: &Errand) -> Result<Seat, Error> {
    if errand.account == THE_PROGRAM {
        return tasks::seat(world, estate)?.ok_or(Error::NotFound("estate"));
    }
    let person = door::person_of(world, errand.account)?;
    let seat = Seat::of(&person, errand.grant)?;
    seat.must_be(&MAY)?;
    Ok(seat)
}

/// Says how far a task is; that it cannot be said stops nothing.
fn say(world: &World, seat: &Seat, id: ImportId, (words, done, all): (&str, i32, i32)) {
    let said = world.acting(seat, |tx| {
        Ok(tx.say_import_progress(id, words, (done, all))?)
    });
    if let Err(error) = said {
        tracing::warn!(%error, "how far a list is could not be said");
    }
}

/// Keeps a file to be read by a task.
pub(super) fn send(
    world: &World,
    seat: &Seat,
    form: &lists::Upload,
    once: &str,
) -> Result<ImportId, Error> {
    if form.bytes.len() > MOST_BYTES {
        return Err(Error::field(
            "file",
            format!(
                "The file has {:.1} MB; at most 32 MB can be taken. Cut it into several lists.",
                form.bytes.len() as f64 / (1024.0 * 1024.0)
            ),
        ));
    }
    let name = lists::short_name(&form.name);
    let digest = lists::digest(&form.bytes, form.kind, form.building);
    world.acting(seat, |tx| {
        tx.once(once, &(&name, &digest), |tx| {
            if let Some(there) = lists::same_list(tx, &digest)? {
                return Ok(there);
            }
            let new = NewImport {
                name: &name,
                digest: &digest,
                kind: form.kind.unwrap_or(ListKind::Units).code(),
                building: form.building,
                body: "",
                state: "reading",
                sheet: "",
                source: form.source.trim(),
            };
            let id = lists::keep(tx, &new)?;
            tx.keep_import_file(id, &form.bytes)?;
            tx.say_import_progress(id, "It waits to be read.", (0, 0))?;
            let errand = Errand {
                kind: form.kind,
                sheet: form.sheet.trim().to_owned(),
                ..errand(seat, id)
            };
            tx.queue(READ_TASK, json!(errand), Some(&format!("{READ_TASK} {id}")))?;
            Ok(id)
        })
    })
}

/// Reads a kept file with `read`, which answers its sheets or why it cannot be taken, and makes the first preview.
/// Answers what became of it in words.
pub fn read_list(
    world: &World,
    estate: EstateId,
    errand: &Errand,
    read: &dyn Fn(&[u8]) -> Result<Vec<SheetText>, String>,
) -> Result<String, Error> {
    let (seat, id) = (seat_of(world, estate, errand)?, errand.import);
    let (head, bytes) = world.acting(&seat, |tx| Ok((tx.import(id)?.head, tx.import_file(id)?)))?;
    let Some(bytes) = bytes.filter(|_| head.state == "reading") else {
        return Ok("the list was read before".to_owned());
    };
    say(world, &seat, id, ("It is being read.", 0, 0));
    let chosen = read(&bytes).and_then(|sheets| files::choose(sheets, &errand.sheet));
    drop(bytes);
    match chosen {
        Ok(chosen) => {
            keep_read(world, &seat, errand, &chosen)?;
            Ok(format!("{} rows were read", chosen.list.rows.len()))
        }
        Err(sentence) => {
            refuse(world, &seat, id, &sentence)?;
            Ok(format!("the list was refused: {sentence}"))
        }
    }
}

fn keep_read(world: &World, seat: &Seat, errand: &Errand, chosen: &Chosen) -> Result<(), Error> {
    let id = errand.import;
    let findings =
        serde_json::to_value(&chosen.findings).map_err(|e| Error::Internal(e.to_string()))?;
    let rows = i32::try_from(chosen.list.rows.len()).unwrap_or(i32::MAX);
    world.acting(seat, |tx| {
        let head = tx.import_held(id)?.head;
        if head.state != "reading" {
            return Ok(());
        }
        let kind = errand
            .kind
            .unwrap_or_else(|| guess_kind(&chosen.list.headings));
        tx.keep_import_body(id, (kind.code(), &chosen.sheet, &chosen.text), &findings)?;
        tx.forget_import_file(id)?;
        let remembered = memory::remembered(tx, (kind, &head.source), &chosen.list)?;
        let matching = plan::first_matching(&chosen.list, kind, remembered);
        lists::look(tx, seat, id, &matching)?;
        tx.say_import_progress(id, "It was read.", (rows, rows))?;
        tx.note(
            "list read",
            &format!("import {id}"),
            &json!({ "rows": rows, "sheet": chosen.sheet, "findings": chosen.findings.len() }),
        );
        Ok(())
    })
}

fn refuse(world: &World, seat: &Seat, id: ImportId, sentence: &str) -> Result<(), Error> {
    world.acting(seat, |tx| {
        tx.import_held(id)?;
        tx.set_import_state(id, "refused")?;
        tx.forget_import_file(id)?;
        tx.say_import_progress(id, sentence, (0, 0))?;
        tx.note(
            "list refused",
            &format!("import {id}"),
            &json!({ "why": sentence }),
        );
        Ok(())
    })
}

/// Brings a list in at once, or, when it is long, leaves that to a task.
///
/// # Errors
/// [`Error::Invalid`] at `rows`, with what stands in the way.
pub fn bring_in(world: &World, seat: &Seat, id: ImportId, once: &str) -> Result<BroughtIn, Error> {
    seat.must_be(&MAY)?;
    let head = world.acting(seat, |tx| Ok(tx.import(id)?.head))?;
    if head.rows <= AT_ONCE_ROWS {
        return writing::commit(world, seat, id, once).map(BroughtIn::Now);
    }
    world.acting(seat, |tx| {
        tx.once(once, &(id, "bring in"), |tx| {
            let (card, matching) = lists::in_preview(tx, seat, id)?;
            writing::must_be_ready(&lists::look(tx, seat, id, &matching)?.preview)?;
            tx.set_import_state(id, "coming_in")?;
            tx.say_import_progress(id, "It waits to come in.", (0, card.head.rows))?;
            let errand = errand(seat, id);
            let key = format!("{BRING_IN_TASK} {id}");
            tx.queue(BRING_IN_TASK, json!(errand), Some(&key))?;
            Ok(())
        })
    })?;
    Ok(BroughtIn::Waits)
}

/// Brings a list in whose turn has come: all of it in one transaction, or nothing. How far it is stands in a row of
/// its own meanwhile. Answers what became of it in words.
pub fn bring_in_list(world: &World, estate: EstateId, errand: &Errand) -> Result<String, Error> {
    let (seat, id) = (seat_of(world, estate, errand)?, errand.import);
    let mut told = |done: usize, all: usize| {
        let words = ("Its rows are being written.", done as i32, all as i32);
        say(world, &seat, id, words);
    };
    let brought = world.acting(&seat, |tx| {
        let card = tx.import_held(id)?;
        if card.head.state != "coming_in" {
            return Ok(None);
        }
        let matching = lists::matching_of(&card)?;
        writing::bring_in_held(tx, &seat, (id, &matching), &mut told).map(Some)
    });
    match brought {
        Ok(None) => Ok("the list came in before".to_owned()),
        Ok(Some(counts)) => {
            let rows = counts.coming() as i32;
            say(world, &seat, id, ("It is in.", rows, rows));
            Ok(format!("{} rows came in", counts.coming()))
        }
        Err(Error::Invalid(wrongs)) => {
            let sentence = wrongs
                .first()
                .map_or("", |w| w.sentence.as_str())
                .to_owned();
            world.acting(&seat, |tx| {
                tx.import_held(id)?;
                tx.set_import_state(id, "preview")?;
                Ok(tx.say_import_progress(id, &sentence, (0, 0))?)
            })?;
            Ok(format!("the list did not come in: {sentence}"))
        }
        Err(other) => Err(other),
    }
}
