//! What every use case needs from outside.
use std::sync::Arc;

use chrono::{DateTime, Utc};
use store::{Acting, Pool, Tx};
use terms::Clock;

use crate::{Error, Seat};

/// The database and the clock.
#[derive(Clone, Debug)]
pub struct World {
    /// Connections.
    pub pool: Pool,
    /// Where "now" comes from.
    pub clock: Arc<dyn Clock>,
}

impl World {
    /// The present instant.
    pub fn now(&self) -> DateTime<Utc> {
        self.clock.now()
    }

    /// Runs `work` in one transaction for the seat's estate and account.
    pub fn acting<T>(
        &self,
        seat: &Seat,
        work: impl FnOnce(&mut Tx<'_>) -> Result<T, Error>,
    ) -> Result<T, Error> {
        let acting = Acting {
            estate: seat.estate(),
            who: seat.account(),
            at: self.now(),
        };
        self.pool.acting(acting, work)
    }
}
