//! What is said of a round, at once and later.
use chrono::NaiveDate;
use inspection::outlets::{OutletFinding, judge_outlet};
use store::Tx;
use terms::place::BuildingCard;
use terms::{BuildingId, Temperature, TemperatureRound, TemperatureRoundId};

use super::round::book;
use super::{WALKERS, monthly};
use crate::{Error, Seat, World};

/// One temperature with what is said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct SaidLine {
    /// The temperature.
    pub temperature: Temperature,
    /// What is done about it; empty when nothing is.
    pub what_to_do: &'static str,
}

/// A round as it is said back, at once and later.
#[derive(Clone, Debug)]
pub struct RoundSaid {
    /// The building.
    pub building: BuildingCard,
    /// The round.
    pub round: TemperatureRound,
    /// Its temperatures, the gravest first.
    pub lines: Vec<SaidLine>,
    /// The duties it met, with what that did to the date, in a sentence each.
    pub duties: Vec<String>,
    /// Who walked.
    pub by: String,
}

/// A round with what is said of it.
///
/// # Errors
/// [`Error::NotFound`] outside the seat's reach.
pub fn round_said(
    world: &World,
    seat: &Seat,
    (building, round): (BuildingId, TemperatureRoundId),
) -> Result<RoundSaid, Error> {
    seat.must_be(&WALKERS)?;
    let mut said = world.acting(seat, |tx| {
        seat.must_reach(building)?;
        let card = tx.building(building)?;
        let round = tx
            .temperature_rounds(Some(building), NaiveDate::default())?
            .into_iter()
            .find(|r| r.id == round)
            .ok_or(Error::NotFound("round"))?;
        let mut lines = Vec::new();
        for temperature in tx.temperatures_of(&[round.id], false)? {
            lines.push(SaidLine {
                what_to_do: said_of(&temperature)?.map_or("", |said| said.what_to_do),
                temperature,
            });
        }
        lines.sort_by_key(|l| std::cmp::Reverse(l.temperature.level));
        Ok::<_, Error>(RoundSaid {
            building: card,
            duties: duties_said(tx, &round)?,
            lines,
            round,
            by: String::new(),
        })
    })?;
    said.by = crate::door::names(world, &[said.round.taken_by])?
        .pop()
        .map_or_else(|| "the program".to_owned(), |(_, name)| name);
    Ok(said)
}

/// What the rule says of a temperature on record.
pub(super) fn said_of(temperature: &Temperature) -> Result<Option<OutletFinding>, Error> {
    let Some(temp) = temperature.temp_c else {
        return Ok(None);
    };
    judge_outlet(
        book()?,
        temperature.place.code(),
        temp,
        temperature.seconds_run.map(i64::from),
    )
    .map(Some)
    .map_err(|e| Error::Internal(e.to_string()))
}

/// What the round did to the dates of its duties.
fn duties_said(tx: &mut Tx<'_>, round: &TemperatureRound) -> Result<Vec<String>, Error> {
    let mut said = Vec::new();
    for (duty, rule) in monthly::duties_of(tx, round.building)? {
        let row = tx
            .completions_of(&[duty.id], false)?
            .into_iter()
            .rfind(|row| row.done_on == Some(round.taken_on));
        said.extend(row.map(|row| format!("{}: {}", rule.name, row.reason)));
    }
    Ok(said)
}
