//! Asking for a quote of the unit that would be fitted: a survey of the place, which a firm answers.
use serde_json::json;
use store::Tx;
use store::jobs::{NewJob, Which};
use terms::{AdviceId, Fate, JobId, JobKind, Role};

use super::reading::Listed;
use crate::work::{covers_of, open_in};
use crate::{Error, Seat, World};

/// How long a survey for a quote takes, minutes (common practice, no source).
const MINUTES: i32 = 60;

/// How a quote of the new unit stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NewUnitQuote {
    /// A survey of the unit that is open: it can be quoted there.
    pub survey: Option<(JobId, String)>,
    /// Whether the reader may ask for one here.
    pub may_ask: bool,
}

/// How it stands for an advice; `old`: a newer one stands in its place.
pub(super) fn stands(
    tx: &mut Tx<'_>,
    seat: &Seat,
    listed: &Listed,
    old: bool,
) -> Result<NewUnitQuote, Error> {
    let survey = open_survey(tx, listed.unit.id)?;
    let asks = seat
        .must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])
        .is_ok();
    let open = !old && listed.decision.is_none() && listed.unit.fate == Fate::InService;
    Ok(NewUnitQuote {
        may_ask: asks && open && survey.is_none() && listed.instead().is_some(),
        survey,
    })
}

fn open_survey(tx: &mut Tx<'_>, unit: terms::UnitId) -> Result<Option<(JobId, String)>, Error> {
    let jobs = tx.jobs(&Which::Unit(unit))?.into_iter();
    let mut surveys = jobs.filter(|job| job.kind == JobKind::Survey && !job.state.is_closed());
    Ok(surveys.next().map(|job| (job.id, job.number)))
}

/// Opens a survey at which a firm quotes the unit that would be fitted, for the desk to place. Answers its number.
///
/// # Errors
/// [`Error::Conflict`] where a survey of the unit is open already, or nothing would be fitted; nothing there for a seat that does
/// not reach the building.
pub fn ask_new_quote(
    world: &World,
    seat: &Seat,
    advice: AdviceId,
    once: &str,
) -> Result<String, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    world.acting(seat, |tx| {
        let row = tx.advice(advice)?;
        let unit = tx.unit(row.unit)?;
        if seat.must_reach(unit.building).is_err() {
            return Err(Error::NotFound("advice"));
        }
        tx.once(once, &("quote of a new one", advice), |tx| {
            let answer = super::deciding::answer_of(&row)?;
            let code = answer.advice.replace_with.as_deref();
            let option = answer
                .options
                .iter()
                .find(|o| Some(o.code.as_str()) == code);
            let Some(option) = option.filter(|_| unit.fate == Fate::InService) else {
                let words = "Nothing would be fitted in its place, so there is nothing to quote.";
                return Err(Error::Conflict(words.to_owned()));
            };
            if let Some((_, number)) = open_survey(tx, unit.id)? {
                return Err(Error::Conflict(format!(
                    "A survey of it is open already: job {number}. The new one can be quoted there."
                )));
            }
            let new = NewJob {
                kind: JobKind::Survey,
                building: unit.building,
                space: unit.space,
                unit: Some(unit.id),
                function_lost: None,
                words: format!(
                    "Look at the place and quote a new {}, fitted, VAT shown apart.",
                    option.name
                ),
                source: "advice",
                covers: covers_of(tx, Some(&unit))?,
                minutes: MINUTES,
                due_at: None,
                due_why: String::new(),
                duties: Vec::new(),
            };
            let (job, number) = open_in(tx, &new)?;
            tx.note(
                "quote of a new unit asked for",
                &unit.id.to_string(),
                &json!({ "advice": advice, "job": job, "option": option.code }),
            );
            Ok(number)
        })
    })
}
