//! Bags of weeks gone by, met with what happened.
use chrono::Days;
use serde::{Deserialize, Serialize};
use terms::{JobState, Role};

use super::{BagAnswer, week_of};
use crate::work::wall;
use crate::{Error, Seat, World};

/// Weeks looked back on.
const WEEKS: u64 = 52;

/// What came of the bags of the past year.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct BagRecord {
    /// Bags.
    pub bags: usize,
    /// Booked fault visits in them that were made.
    pub visits: usize,
    /// Of these, how many were said to be finished first time.
    pub said: f64,
    /// How many were: closed, with one attendance.
    pub happened: usize,
    /// Where 8 years in 10 would fall by luck alone: said ± 1.2816 √(Σ p (1 − p)).
    pub luck: (f64, f64),
}

/// Meets the bags of the past year with what happened to their booked faults.
///
/// # Errors
/// Not the agent, a supervisor or a landlord; the store's own.
pub fn record(world: &World, seat: &Seat) -> Result<BagRecord, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let this_week = week_of(wall::day(world.now()));
    world.acting(seat, |tx| {
        let (mut record, mut variance) = (BagRecord::default(), 0.0);
        let from = this_week - Days::new(7 * WEEKS);
        for row in tx.bags_between(from, this_week - Days::new(7))? {
            let answer: BagAnswer =
                serde_json::from_value(row.answer).map_err(store::Error::from)?;
            record.bags += 1;
            for (job, chance) in answer.jobs {
                let card = tx.job(job)?;
                if !seat.grant().reaches(card.building) {
                    continue;
                }
                let events = tx.job_events(job)?;
                let visits = events
                    .iter()
                    .filter(|e| e.state == JobState::OnSite)
                    .count();
                let closed = matches!(card.state, JobState::Done | JobState::Agreed);
                if visits == 0 {
                    continue;
                }
                record.visits += 1;
                record.said += chance;
                record.happened += usize::from(closed && visits == 1);
                variance += chance * (1.0 - chance);
            }
        }
        let reach = 1.2816 * f64::sqrt(variance);
        record.luck = ((record.said - reach).max(0.0), record.said + reach);
        Ok(record)
    })
}
