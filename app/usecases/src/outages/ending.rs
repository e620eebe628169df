//! The end of an outage: one re-test per home, or a stated sample; it stops every home's clock.
use chrono::{DateTime, Utc};
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::outages::OutageCard;
use terms::{OutageId, Role, SpaceId};

use super::joining::one;
use crate::duties::network_is_back;
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
    /// The homes tested again; one that is left out, or says nothing, was not.
    pub tested: Vec<Retest>,
    /// How the sample was chosen; may be empty when every home was tested.
    pub sample: String,
}

/// One home tested again.
#[derive(Clone, Debug, Serialize)]
pub struct Retest {
    /// The home.
    pub space: SpaceId,
    /// Whether it works there; `None`: nobody said.
    pub works: Option<bool>,
    /// What was found: "51 °C at the tap".
    pub found: String,
}

/// Ends an outage. Every home's clock stops. While one of the homes tested does not work, it is not over.
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
            let works = form.tested.iter().filter(|t| t.works == Some(true));
            for test in works.clone() {
                tx.retest_home(card.id, test.space, (until, test.found.trim()))?;
            }
            tx.end_outage(card.id, until, (form.cause.trim(), &proof))?;
            network_is_back(tx, &card, (until, form.cause.trim()))?;
            tx.note(
                "outage ended",
                &format!("outage {}", card.id),
                &json!({
                    "until": until, "cause": form.cause.trim(), "homes": card.homes.len(),
                    "tested": works.count(), "sample": proof,
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

/// What is wrong with the tests. A home that does not work keeps its clock, and the outage goes on with it.
fn wrong_tests(card: &OutageCard, tests: &[Retest]) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    for test in tests {
        let Some(home) = card.homes.iter().find(|h| h.space == test.space) else {
            continue;
        };
        let name = &home.space_name;
        let said = !test.found.trim().is_empty();
        match test.works {
            None if said => wrongs.push(FieldError::at(
                format!("works-{}", test.space),
                format!("{name}: say whether it works there."),
            )),
            Some(true) if !said => wrongs.push(FieldError::at(
                format!("found-{}", test.space),
                format!("{name}: say what was found there, such as “51 °C at the kitchen tap”."),
            )),
            Some(false) => wrongs.push(FieldError::at(
                format!("works-{}", test.space),
                format!(
                    "{name} does not work yet, so the outage is not over and its clock runs on. End it when it works there."
                ),
            )),
            None | Some(true) => {}
        }
    }
    wrongs
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
    wrongs.extend(wrong_tests(card, &form.tested));
    let tested: Vec<SpaceId> = form
        .tested
        .iter()
        .filter(|test| test.works.is_some())
        .map(|test| test.space)
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
