//! Who holds a home, from a day on: stated, corrected, and what it does to open repairs there.
use chrono::NaiveDate;
use inspection::calendar::add_months;
use inspection::clock::WorkingDays;
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::jobs::Which;
use store::tenures::TenureRow;
use terms::{SpaceId, Tenure, UsedAs};

use super::WRITERS;
use crate::work::{bring_forward, wall, working_days};
use crate::{Error, FieldError, Seat, World};

/// How a home is held, from a day on.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct TenureForm {
    /// The home.
    pub space: SpaceId,
    /// How; that nobody knows is an answer too.
    pub tenure: Tenure,
    /// From this day on.
    pub from_on: NaiveDate,
}

/// States how a home is held. A repair open there is brought forward where the law now sets an earlier day.
///
/// # Errors
/// [`Error::Invalid`] at `tenure` or `tenure_from`; [`Error::NotFound`] for another estate's home.
pub fn state_tenure(world: &World, seat: &Seat, form: TenureForm, once: &str) -> Result<(), Error> {
    seat.must_be(&WRITERS)?;
    let days = working_days(world)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let card = tx.space(form.space)?;
            seat.must_reach(card.building)?;
            let today = wall::day(tx.at());
            let mut wrongs = Vec::new();
            if card.used_as != UsedAs::Flat {
                wrongs.push(FieldError::at("tenure", "Only a home is held by anybody."));
            }
            if form.from_on > add_months(today, 12) || form.from_on < add_months(today, -12 * 100) {
                wrongs.push(FieldError::at(
                    "tenure_from",
                    "Say from which day on: within the last hundred years, or the next twelve months.",
                ));
            }
            Error::unless_empty(wrongs)?;
            tx.state_tenure(
                &TenureRow {
                    space: form.space,
                    tenure: form.tenure,
                    from_on: form.from_on,
                },
                None,
            )?;
            hurry(tx, &days, form.space)?;
            tx.note(
                "tenure stated",
                &format!("space {}", form.space),
                &json!({ "tenure": form.tenure, "from": form.from_on }),
            );
            Ok(())
        })
    })
}

/// Open jobs of a home go by the law's day where that comes first.
fn hurry(tx: &mut Tx<'_>, days: &WorkingDays, space: SpaceId) -> Result<(), Error> {
    for job in tx.jobs(&Which::Space(space))? {
        if job.closed_at.is_none() {
            bring_forward(tx, days, job.id)?;
        }
    }
    Ok(())
}
