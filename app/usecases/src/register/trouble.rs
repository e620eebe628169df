//! What is wrong in a space now: an open job that answers a loss, or an outage it is in.
use chrono::{DateTime, Utc};
use store::Tx;
use store::outages::{OutageCard, WhichOutages};
use store::standing::JobNow;
use terms::unit::UnitCard;
use terms::{BuildingId, FunctionLost, JobId, JobState, SpaceId};

use crate::Error;

/// Something is wrong in a flat now.
#[derive(Clone, Debug, PartialEq)]
pub struct Trouble {
    /// The job that answers it.
    pub job: Option<JobId>,
    /// What is lost, when said.
    pub function: Option<FunctionLost>,
    /// Since the job was opened, or since the home said.
    pub since: DateTime<Utc>,
    /// One cause takes it from several homes.
    pub shared: bool,
}

/// The open jobs and outages troubles are read from.
pub(super) struct Troubles {
    jobs: Vec<JobNow>,
    outages: Vec<OutageCard>,
}

impl Troubles {
    /// Those of a building, or of the estate.
    pub(super) fn load(tx: &mut Tx<'_>, of: Option<BuildingId>) -> Result<Self, Error> {
        Ok(Self {
            jobs: tx.open_jobs_now(of)?,
            outages: tx.outages(WhichOutages::Open)?,
        })
    }

    /// What is wrong in a space; an outage comes before a job of the home's own.
    pub(super) fn of(&self, space: SpaceId) -> Option<Trouble> {
        let shared = self.outages.iter().find_map(|outage| {
            let home = outage.homes.iter().find(|h| h.space == space)?;
            Some(Trouble {
                job: outage.job,
                function: Some(outage.lost),
                since: home.since_at,
                shared: true,
            })
        });
        shared.or_else(|| self.own(space, |_| true))
    }

    /// What is wrong on one unit of a plant room: a job that names it. One that names none speaks of a unit only where it
    /// stands alone; a riser's strainer is looked for in the plant room and is no fault of each boiler there.
    pub(super) fn of_unit(&self, unit: &UnitCard, alone: bool) -> Option<Trouble> {
        self.own(unit.space, |job| {
            job.unit == Some(unit.id) || (alone && job.unit.is_none())
        })
    }

    fn own(&self, space: SpaceId, speaks: impl Fn(&JobNow) -> bool) -> Option<Trouble> {
        self.jobs
            .iter()
            .filter(|job| job.space == space && !job.state.is_closed())
            .filter(|job| speaks(job))
            .find(|job| job.function_lost.is_some() || job.state == JobState::LeftIsolated)
            .map(|job| Trouble {
                job: Some(job.id),
                function: job.function_lost.as_deref().and_then(|f| f.parse().ok()),
                since: job.opened_at,
                shared: false,
            })
    }
}
