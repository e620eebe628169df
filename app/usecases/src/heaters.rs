//! Heaters to lend: stock, where each is kept, who has it, what it draws, back.
use chrono::NaiveDate;
use serde::Serialize;
use serde_json::json;
use store::Tx;
pub use store::heaters::{Heater, Loan};
use store::jobs::{Job, Which};
use terms::place::SpaceCard;
use terms::{HeaterId, JobKind, Role, SpaceId, UsedAs};
use uuid::Uuid;

use crate::{Error, FieldError, Seat, World};

/// Who lends.
const LENDERS: [Role; 4] = [Role::Agent, Role::Supervisor, Role::OutOfHours, Role::Site];
/// What one socket outlet carries, W: 13 A at 230 V. Common practice, no source.
pub const MOST_WATTS: i32 = 3000;

/// A heater about to be entered.
#[derive(Clone, Debug, Serialize)]
pub struct NewHeater {
    /// "oil-filled radiator"
    pub what: String,
    /// What it draws at its highest setting, W.
    pub watts: i32,
    /// Where it is kept.
    pub kept_at: String,
}

/// A heater about to be lent.
#[derive(Clone, Debug, Serialize)]
pub struct LendForm {
    /// Which.
    pub heater: HeaterId,
    /// To which home.
    pub space: SpaceId,
    /// The day.
    pub on: NaiveDate,
    /// In words.
    pub words: String,
}

/// A heater with what follows from who has it.
#[derive(Clone, Debug)]
pub struct HeaterLine {
    /// The heater.
    pub heater: Heater,
    /// The job it was lent for.
    pub job: Option<Job>,
}

/// A home to lend to.
#[derive(Clone, Debug)]
pub struct LendTo {
    /// The home.
    pub space: SpaceCard,
    /// What the heaters there draw already, W.
    pub drawn: i32,
    /// What its supply has to spare, W; `None`: not known.
    pub spare: Option<i32>,
    /// The job that leaves it without heat.
    pub job: Option<Job>,
}

/// Every heater, and the home asked for.
#[derive(Clone, Debug)]
pub struct HeatersView {
    /// By number.
    pub heaters: Vec<HeaterLine>,
    /// The home to lend to.
    pub to: Option<LendTo>,
    /// Today.
    pub today: NaiveDate,
}

/// Every heater with who has it; a home only when it is in reach.
///
/// # Errors
/// Not one who lends; [`Error::NotFound`] for a home not theirs.
pub fn heaters_view(
    world: &World,
    seat: &Seat,
    space: Option<SpaceId>,
) -> Result<HeatersView, Error> {
    seat.must_be(&LENDERS)?;
    world.acting(seat, |tx| {
        let all = tx.heaters()?;
        let to = match space {
            Some(id) => Some(lend_to(tx, seat, (id, &all))?),
            None => None,
        };
        let mut heaters = Vec::new();
        for heater in all {
            let theirs = heater
                .lent
                .as_ref()
                .is_none_or(|loan| seat.grant().reaches(loan.building));
            if theirs {
                let job = heater.lent.as_ref().and_then(|loan| loan.job);
                let job = job.map(|id| tx.job(id)).transpose()?;
                heaters.push(HeaterLine { heater, job });
            }
        }
        Ok(HeatersView {
            heaters,
            to,
            today: tx.today(),
        })
    })
}

fn lend_to(tx: &mut Tx<'_>, seat: &Seat, (id, all): (SpaceId, &[Heater])) -> Result<LendTo, Error> {
    let space = tx.space(id)?;
    seat.must_reach(space.building)
        .or(Err(Error::NotFound("space")))?;
    if space.used_as != UsedAs::Flat {
        return Err(Error::field("space", "A heater is lent to a home."));
    }
    let drawn = all
        .iter()
        .filter(|h| h.lent.as_ref().is_some_and(|loan| loan.space == id))
        .map(|h| h.watts)
        .sum();
    let spare = space
        .site
        .get("electric_kw_spare")
        .and_then(serde_json::Value::as_f64)
        .map(|kw| (kw * 1000.0) as i32);
    let job = tx
        .jobs(&Which::Space(id))?
        .into_iter()
        .rfind(|j| j.kind == JobKind::Repair && j.closed_at.is_none());
    Ok(LendTo {
        space,
        drawn,
        spare,
        job,
    })
}

/// Enters a heater under the next number.
///
/// # Errors
/// [`Error::Invalid`] with a sentence a field.
pub fn add_heater(
    world: &World,
    seat: &Seat,
    form: NewHeater,
    once: &str,
) -> Result<HeaterId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let mut wrongs = Vec::new();
    if form.what.trim().is_empty() {
        wrongs.push(FieldError::at(
            "what",
            "Say what it is: “oil-filled radiator”.",
        ));
    }
    if form.kept_at.trim().is_empty() {
        wrongs.push(FieldError::at("kept_at", "Say where it is kept."));
    }
    if !(100..=MOST_WATTS).contains(&form.watts) {
        wrongs.push(FieldError::at(
            "watts",
            "Between 100 and 3,000 W: a 13 A plug carries no more.",
        ));
    }
    Error::unless_empty(wrongs)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let count = tx.heaters()?.len();
            let heater = Heater {
                id: HeaterId(Uuid::nil()),
                number: format!("H-{}", count + 1),
                what: form.what.trim().to_owned(),
                watts: form.watts,
                kept_at: form.kept_at.trim().to_owned(),
                ended_on: None,
                lent: None,
            };
            let id = tx.add_heater(&heater)?;
            let body = json!({"number": heater.number, "watts": heater.watts});
            tx.note("heater entered", &format!("heater {id}"), &body);
            Ok(id)
        })
    })
}

/// Lends a heater to a home. What it draws with those there already must not be more than the supply has to spare.
///
/// # Errors
/// [`Error::Conflict`] when somebody has it; [`Error::Invalid`] at `heater` when the supply does not carry it.
pub fn lend_heater(world: &World, seat: &Seat, form: LendForm, once: &str) -> Result<(), Error> {
    seat.must_be(&LENDERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let all = tx.heaters()?;
            let to = lend_to(tx, seat, (form.space, &all))?;
            let heater = all
                .iter()
                .find(|h| h.id == form.heater && h.ended_on.is_none())
                .ok_or(Error::NotFound("heater"))?;
            if let Some(loan) = &heater.lent {
                return Err(Error::Conflict(format!(
                    "{} is with {}, {}. Nothing was changed.",
                    heater.number, loan.space_name, loan.building_name
                )));
            }
            if form.on > tx.today() {
                return Err(Error::field("on", "That day is to come."));
            }
            let draws = to.drawn + heater.watts;
            if let Some(spare) = to.spare.filter(|spare| draws > *spare) {
                return Err(Error::field(
                    "heater",
                    format!(
                        "With it the heaters there draw {draws} W; the supply has {spare} W to spare. Lend a smaller one."
                    ),
                ));
            }
            let job = to.job.as_ref().map(|j| j.id);
            tx.lend_heater(form.heater, (form.space, job), (form.on, form.words.trim()))?;
            let body = json!({"space": form.space, "job": job, "on": form.on, "draws": draws});
            tx.note("heater lent", &format!("heater {}", form.heater), &body);
            Ok(())
        })
    })
}

/// A heater came back.
///
/// # Errors
/// [`Error::Conflict`] when nobody has it; [`Error::Invalid`] at `back` for a day before it was lent or to come.
pub fn take_back_heater(
    world: &World,
    seat: &Seat,
    (heater, on): (HeaterId, NaiveDate),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&LENDERS)?;
    world.acting(seat, |tx| {
        tx.once(once, &(heater, on), |tx| {
            let all = tx.heaters()?;
            let found = all
                .into_iter()
                .find(|h| h.id == heater)
                .ok_or(Error::NotFound("heater"))?;
            let Some(loan) = found.lent else {
                return Err(Error::Conflict(format!(
                    "{} is back already. Nothing was changed.",
                    found.number
                )));
            };
            seat.must_reach(loan.building)
                .or(Err(Error::NotFound("heater")))?;
            if on < loan.lent_on || on > tx.today() {
                return Err(Error::field(
                    "back",
                    "It came back on a day between when it was lent and today.",
                ));
            }
            tx.take_back_heater(heater, &loan, on)?;
            let body = json!({"space": loan.space, "on": on});
            tx.note("heater back", &format!("heater {heater}"), &body);
            Ok(())
        })
    })
}
