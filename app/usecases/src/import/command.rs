//! The same by command: look at a file, or bring it in at once.
use std::collections::BTreeMap;

use sha2::{Digest, Sha256};
use store::imports::NewImport;
use terms::hex;

use super::dates::Order;
use super::fields::{Field, How, ListKind, guess_kind};
use super::files::{Chosen, SheetText, choose};
use super::known::Known;
use super::lists::{digest, keep, look, read, short_name};
use super::memory::remembered;
use super::plan;
use super::problem::{Code, Matching, Preview, Remedy, Settled};
use super::reading::Sheet;
use crate::{Error, Seat, World};

/// What is asked of a file.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wish<'a> {
    /// The file's name.
    pub name: &'a str,
    /// Which kind; `None`: told by its headings.
    pub kind: Option<ListKind>,
    /// The building of rows that name none, by name or code.
    pub building: Option<&'a str>,
    /// A JSON object of heading to field (`null` leaves a column out). Beside headings it may hold `"dates"`
    /// (`"day_first"` or `"month_first"`) and `"leave_out"`, a list of codes whose rows stay out.
    pub mapping: Option<&'a str>,
    /// Bring it in; else only look.
    pub bring_in: bool,
    /// The sheet of a workbook; empty: the one whose headings say most.
    pub sheet: &'a str,
    /// Whose list it is; may be empty.
    pub source: &'a str,
}

/// Looks at a file, or brings it in; true in the answer when it came in. A list that came in before changes nothing.
///
/// # Errors
/// [`Error::Invalid`] with the sentence: the file or the mapping cannot be read, or something stands in the way.
pub fn command(
    world: &World,
    seat: &Seat,
    bytes: &[u8],
    wish: Wish<'_>,
) -> Result<(Preview, bool), Error> {
    seat.must_be(&super::lists::MAY)?;
    let chosen = read(bytes, wish.sheet)?;
    command_chosen(world, seat, (bytes, chosen), wish)
}

/// The same for a file whose sheets another process has read.
///
/// # Errors
/// As [`command`].
pub fn command_read(
    world: &World,
    seat: &Seat,
    (bytes, sheets): (&[u8], Vec<SheetText>),
    wish: Wish<'_>,
) -> Result<(Preview, bool), Error> {
    seat.must_be(&super::lists::MAY)?;
    let chosen = choose(sheets, wish.sheet).map_err(|sentence| Error::field("file", sentence))?;
    command_chosen(world, seat, (bytes, chosen), wish)
}

fn command_chosen(
    world: &World,
    seat: &Seat,
    (bytes, chosen): (&[u8], Chosen),
    wish: Wish<'_>,
) -> Result<(Preview, bool), Error> {
    let sheet = chosen.list;
    let kind = wish.kind.unwrap_or_else(|| guess_kind(&sheet.headings));
    let name = short_name(wish.name);
    let (preview, building, matching) = world.acting(seat, |tx| {
        let building = match wish.building {
            None => None,
            Some(said) => {
                let all = Known::load(tx, seat, None)?;
                Some(all.building(said).ok_or_else(|| {
                    Error::field("building", format!("There is no building called {said}."))
                })?)
            }
        };
        let before = remembered(tx, (kind, wish.source), &sheet)?;
        let mut matching = plan::first_matching(&sheet, kind, before);
        if let Some(mapping) = wish.mapping {
            apply(&mut matching, mapping, &sheet, kind)?;
        }
        let mut known = Known::load(tx, seat, building)?;
        known.look_up(tx, kind, (&sheet, &matching))?;
        let (mut preview, _) = plan::check((&name, kind), &sheet, &matching, &known);
        if settle_by_code(&mut matching, &preview, wish.mapping)? {
            preview = plan::check((&name, kind), &sheet, &matching, &known).0;
        }
        preview.findings.clone_from(&chosen.findings);
        Ok((preview, building, matching))
    })?;
    if !wish.bring_in || preview.counts.coming() == 0 && preview.ready {
        return Ok((preview, false));
    }
    let digest = digest(bytes, Some(kind), building);
    let findings =
        serde_json::to_value(&chosen.findings).map_err(|e| Error::Internal(e.to_string()))?;
    let id = world.acting(seat, |tx| {
        let new = NewImport {
            name: &name,
            digest: &digest,
            kind: kind.code(),
            building,
            body: &chosen.text,
            state: "preview",
            sheet: &chosen.sheet,
            source: wish.source,
        };
        let id = keep(tx, &new)?;
        let named = (kind.code(), chosen.sheet.as_str(), chosen.text.as_str());
        tx.keep_import_body(id, named, &findings)?;
        look(tx, seat, id, &matching)?;
        Ok(id)
    })?;
    let once = hex(&Sha256::digest(id.0));
    match super::writing::commit(world, seat, id, &once) {
        Ok(_) => Ok((preview, true)),
        Err(error) => {
            super::lists::drop_list(world, seat, id, &format!("drop {once}"))?;
            Err(error)
        }
    }
}

fn object(mapping: &str) -> Result<BTreeMap<String, serde_json::Value>, Error> {
    serde_json::from_str(mapping).map_err(|e| {
        Error::field(
            "mapping",
            format!("The mapping is not a JSON object of heading to field: {e}."),
        )
    })
}

/// Takes over what a mapping file says of columns and dates.
fn apply(
    matching: &mut Matching,
    mapping: &str,
    sheet: &Sheet,
    kind: ListKind,
) -> Result<(), Error> {
    let wrong = |sentence: String| Error::field("mapping", sentence);
    for (key, value) in object(mapping)? {
        let place = sheet.headings.iter().position(|h| *h == key);
        match (place, key.as_str(), &value) {
            (Some(place), _, serde_json::Value::Null) => {
                matching.columns[place] = None;
                matching.how[place] = How::LeftOut;
            }
            (Some(place), _, serde_json::Value::String(code)) => {
                let field = Field::from_code(code)
                    .filter(|f| Field::of(kind).contains(f))
                    .ok_or_else(|| {
                        wrong(format!(
                            "“{code}” is not a field of a list of {}.",
                            kind.code()
                        ))
                    })?;
                for other in 0..matching.columns.len() {
                    if matching.columns[other] == Some(field) {
                        matching.columns[other] = None;
                        matching.how[other] = How::LeftOut;
                    }
                }
                matching.columns[place] = Some(field);
                matching.how[place] = How::Chosen;
            }
            (None, "dates", serde_json::Value::String(order)) => {
                let order: Order = serde_json::from_value(order.as_str().into())
                    .ok()
                    .ok_or_else(|| {
                        wrong(format!("“{order}” is neither day_first nor month_first."))
                    })?;
                matching.orders = (0..matching.columns.len()).map(|p| (p, order)).collect();
            }
            (None, "leave_out", serde_json::Value::Array(_)) => {}
            (None, _, _) => return Err(wrong(format!("The list has no column “{key}”."))),
            (Some(_), _, _) => {
                return Err(wrong(format!("“{key}” needs a field's name, or null.")));
            }
        }
    }
    Ok(())
}

/// Leaves out the rows of the codes a mapping file names; whether it names any that occur.
fn settle_by_code(
    matching: &mut Matching,
    preview: &Preview,
    mapping: Option<&str>,
) -> Result<bool, Error> {
    let Some(mapping) = mapping else {
        return Ok(false);
    };
    let Some(codes) = object(mapping)?.remove("leave_out") else {
        return Ok(false);
    };
    let codes: Vec<Code> = serde_json::from_value(codes).map_err(|e| {
        Error::field(
            "mapping",
            format!("“leave_out” holds something that is not a code: {e}."),
        )
    })?;
    let mut any = false;
    for cause in preview.causes(matching) {
        if codes.contains(&cause.code) && cause.remedy.is_none() {
            any = true;
            matching.settled.push(Settled {
                code: cause.code,
                column: cause.column,
                remedy: Remedy::LeaveOut,
            });
        }
    }
    Ok(any)
}
