//! Opening jobs: by the desk, from a duty, from a call.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use store::Tx;
use store::jobs::NewJob;
use store::units::Which;
use terms::trade::Kind;
use terms::unit::UnitCard;
use terms::{DutyId, Fate, FunctionLost, JobId, JobKind, Role, SpaceId, UnitId};

use super::wall;
use crate::{Error, Seat, World};

/// What the desk asks for.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct OpenJob {
    /// What sort of work.
    pub kind: JobKind,
    /// Where.
    pub space: SpaceId,
    /// At which unit.
    pub unit: Option<UnitId>,
    /// In words.
    pub words: String,
    /// To be done by the end of this day.
    pub due_on: Option<NaiveDate>,
    /// Duties it fulfils.
    pub duties: Vec<DutyId>,
    /// How long it takes; `None`: an hour.
    pub minutes: Option<i32>,
}

/// Opens a job.
///
/// # Errors
/// [`Error::Invalid`] when the unit does not stand in the space, or a field cannot be.
pub fn open_job(world: &World, seat: &Seat, form: OpenJob, once: &str) -> Result<JobId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let space = tx.space(form.space)?;
            seat.must_reach(space.building)?;
            if form.words.trim().is_empty() {
                return Err(Error::field(
                    "words",
                    "Say in a few words what is to be done.",
                ));
            }
            if form.minutes.is_some_and(|m| !(5..=2880).contains(&m)) {
                return Err(Error::field(
                    "minutes",
                    "Between 5 minutes and two days, please.",
                ));
            }
            let unit = form.unit.map(|id| tx.unit(id)).transpose()?;
            if unit.as_ref().is_some_and(|u| u.space != form.space) {
                return Err(Error::field(
                    "unit",
                    "That unit does not stand in this space.",
                ));
            }
            let covers = covers_of(tx, unit.as_ref())?;
            let new = NewJob {
                kind: form.kind,
                building: space.building,
                space: form.space,
                unit: form.unit,
                function_lost: None,
                words: form.words.trim().to_owned(),
                source: if form.duties.is_empty() {
                    "agent"
                } else {
                    "duty"
                },
                covers,
                minutes: form.minutes.unwrap_or(60),
                due_at: form.due_on.and_then(wall::end_of),
                due_why: form
                    .due_on
                    .map(|_| "The day named when the job was opened.".to_owned())
                    .unwrap_or_default(),
                duties: form.duties.clone(),
            };
            Ok(open_in(tx, &new)?.0)
        })
    })
}

/// Opens a job inside a transaction, and notes it.
pub(crate) fn open_in(tx: &mut Tx<'_>, new: &NewJob) -> Result<(JobId, String), Error> {
    let (id, number) = tx.add_job(new)?;
    tx.note(
        "job opened",
        &format!("job {id}"),
        &serde_json::json!({
            "number": number, "kind": new.kind.code(), "source": new.source,
            "space": new.space, "unit": new.unit, "due": new.due_at,
        }),
    );
    Ok((id, number))
}

/// The qualification codes work on this unit asks for; empty when the unit is not known.
pub(crate) fn covers_of(tx: &mut Tx<'_>, unit: Option<&UnitCard>) -> Result<String, Error> {
    let Some(unit) = unit else {
        return Ok(String::new());
    };
    let kinds = tx.kinds()?;
    Ok(kind_of(&kinds, &unit.kind)
        .map(|k| k.covers.clone())
        .unwrap_or_default())
}

fn kind_of<'a>(kinds: &'a [Kind], code: &str) -> Option<&'a Kind> {
    kinds.iter().find(|k| k.code == code)
}

/// The unit of a space that most likely lost the function: the only one, or the first kind that gives it.
pub(crate) fn unit_for(
    tx: &mut Tx<'_>,
    space: SpaceId,
    lost: FunctionLost,
) -> Result<Option<UnitCard>, Error> {
    let units: Vec<UnitCard> = tx
        .units(Which::Space(space))?
        .into_iter()
        .filter(|u| u.fate == Fate::InService && u.space == space)
        .collect();
    if let [only] = units.as_slice() {
        return Ok(Some(only.clone()));
    }
    let order: &[&str] = match lost {
        FunctionLost::HotWater => &["CB", "HIU", "UV", "VC", "TS", "GB", "EB"],
        FunctionLost::Heating | FunctionLost::HeatingAndHotWater => {
            &["CB", "GB", "EB", "HIU", "HP", "TS"]
        }
        FunctionLost::GasOrCo => &["CB", "GB", "PB"],
        FunctionLost::Leak | FunctionLost::Noise | FunctionLost::Other => &[],
    };
    Ok(order
        .iter()
        .find_map(|kind| units.iter().find(|u| u.kind == *kind))
        .cloned())
}
