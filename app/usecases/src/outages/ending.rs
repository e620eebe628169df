//! The end of an outage: one re-test per home, or a stated sample; it stops every home's clock.
use chrono::{DateTime, Utc};
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::outages::OutageCard;
use terms::{OutageId, Role, SpaceId};

use super::joining::one;
use crate::work::must_reach_job;
use crate::{Error, FieldError, Seat, World};

/// How an outage ended.
#[derive(Clone, Debug, Serialize)]
pub struct EndForm {
    /// The outage.
    pub outage: OutageId,
    /// When; `None`: now.
    pub until: Option<DateTime<Utc>>,
    /// What it was.
    pub cause: String,
    /// What was found in each home tested again: "51 °C at the tap". Homes not tested are left out.
    pub found: Vec<(SpaceId, String)>,
    /// How the sample was chosen; may be empty when every home was tested.
    pub sample: String,
}

/// Ends an outage. Every home's clock stops.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field; [`Error::Conflict`] when it has ended already.
pub fn end_outage(world: &World, seat: &Seat, form: EndForm, once: &str) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Contractor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let card = one(tx, form.outage)?;
            must_end(tx, seat, &card)?;
            if card.until_at.is_some() {
                return Err(Error::Conflict(
                    "This outage has ended already. Nothing was changed by you.".to_owned(),
                ));
            }
            let until = form.until.unwrap_or(tx.at());
            let proof = proof_of(&card, &form, (until, tx.at()))?;
            for (space, found) in form.found.iter().filter(|(_, f)| !f.trim().is_empty()) {
                tx.retest_home(card.id, *space, (until, found.trim()))?;
            }
            tx.end_outage(card.id, until, (form.cause.trim(), &proof))?;
            tx.note(
                "outage ended",
                &format!("outage {}", card.id),
                &json!({
                    "until": until, "cause": form.cause.trim(), "homes": card.homes.len(),
                    "tested": form.found.len(), "sample": proof,
                }),
            );
            Ok(())
        })
    })
}

/// The desk, or the firm whose job it is; else it is as if the outage were not there.
pub(super) fn must_end(tx: &mut Tx<'_>, seat: &Seat, card: &OutageCard) -> Result<(), Error> {
    match seat.role() {
        Role::Contractor | Role::Office => {
            let job = tx.job(card.job.ok_or(Error::NotFound("outage"))?)?;
            must_reach_job(tx, seat, &job).or(Err(Error::NotFound("outage")))
        }
        _ => seat
            .must_reach(card.building)
            .or(Err(Error::NotFound("outage"))),
    }
}

/// How the sample was chosen; empty when every home was tested.
fn proof_of(
    card: &OutageCard,
    form: &EndForm,
    (until, now): (DateTime<Utc>, DateTime<Utc>),
) -> Result<String, Error> {
    let mut wrongs = Vec::new();
    if form.cause.trim().is_empty() {
        wrongs.push(FieldError::at(
            "cause",
            "Say what it was: the next outage is compared with it.",
        ));
    }
    if until < card.from_at || until > now {
        wrongs.push(FieldError::at(
            "until",
            "It ended between its beginning and now.",
        ));
    }
    let tested: Vec<SpaceId> = form
        .found
        .iter()
        .filter(|(_, found)| !found.trim().is_empty())
        .map(|(space, _)| *space)
        .collect();
    let left = card
        .homes
        .iter()
        .filter(|h| !tested.contains(&h.space))
        .count();
    let sample = form.sample.trim();
    if tested.is_empty() {
        wrongs.push(FieldError::at(
            "sample",
            "Nothing was tested again. Test every home, or a sample you can state.",
        ));
    } else if left > 0 && sample.is_empty() {
        wrongs.push(FieldError::at(
            "sample",
            format!(
                "{left} of {} homes were not tested again. Test them, or say how the sample was chosen: “top and bottom of the riser”.",
                card.homes.len()
            ),
        ));
    }
    Error::unless_empty(wrongs)?;
    Ok(if left > 0 {
        sample.to_owned()
    } else {
        String::new()
    })
}
