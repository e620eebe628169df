//! Who may see a job: the desk those of its buildings; a firm those it was offered or has taken.
use store::Tx;
use store::jobs::Job;
use terms::{JobId, Role};

use crate::{Error, Seat, World};

/// Passes when this seat may see the job; else it is as if the job were not there.
pub(crate) fn must_see(tx: &mut Tx<'_>, seat: &Seat, job: &Job) -> Result<(), Error> {
    if !seat.grant().reaches(job.building) || seat.only_job().is_some_and(|only| only != job.id) {
        return Err(Error::NotFound("job"));
    }
    match seat.role() {
        Role::Agent | Role::Supervisor => Ok(()),
        Role::Contractor | Role::Office => {
            let firm = seat.firm()?;
            if job.firm == Some(firm) {
                return Ok(());
            }
            let now = tx.at();
            let offered = tx
                .offers_of(job.id)?
                .iter()
                .any(|o| o.firm == firm && o.is_open(now));
            if offered {
                Ok(())
            } else {
                Err(Error::NotFound("job"))
            }
        }
        Role::Landlord | Role::OutOfHours | Role::Site => Err(Error::NotFound("job")),
    }
}

/// Passes when this seat may work on the job: the desk, or the firm that has it.
pub(crate) fn must_reach_job(tx: &mut Tx<'_>, seat: &Seat, job: &Job) -> Result<(), Error> {
    must_see(tx, seat, job)?;
    match seat.role() {
        Role::Contractor | Role::Office if job.firm != seat.grant().firm => {
            Err(Error::NotFound("job"))
        }
        _ => Ok(()),
    }
}

/// The one of these seats that may see the job; a contractor has one for each estate.
pub fn seat_for(world: &World, seats: &[Seat], job: JobId) -> Result<Seat, Error> {
    for seat in seats {
        let seen = world.acting(seat, |tx| {
            let job = tx.job(job)?;
            must_see(tx, seat, &job)
        });
        match seen {
            Ok(()) => return Ok(seat.clone()),
            Err(Error::NotFound(_) | Error::Forbidden(_)) => {}
            Err(other) => return Err(other),
        }
    }
    Err(Error::NotFound("job"))
}
