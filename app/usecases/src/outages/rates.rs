//! The rates behind "one flat or many". Every one is a setting of the estate; what is used without one is common
//! practice, no source, as at July 2026.
use chrono::Datelike;
use inspection::suspects::ManyQuery;
use store::Tx;

use crate::Error;
use crate::forecast::MONTH_SHARES;

/// Calls and faults are counted by these.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Rates {
    /// Window, hours.
    pub window_hours: f64,
    /// Shares of affected homes that report in time.
    pub report_shares: Vec<f64>,
    /// Time scale of reporting, hours.
    pub report_time_hours: f64,
    /// Calls a home and year.
    pub calls_per_flat_year: f64,
    /// Factor of the month on those calls.
    pub season_factor: f64,
    /// Chance that a home asked is off if the fault is shared.
    pub off_if_shared: f64,
    /// Shared faults a year of one riser or zone.
    pub riser_faults: f64,
    /// Shared faults a year of everything fed by one plant.
    pub plant_faults: f64,
    /// Shared faults a year of a building whose homes heat themselves: gas, water or electricity from outside. None is
    /// looked for unless an estate sets a rate.
    pub bare_faults: f64,
}

impl Rates {
    /// Reads the settings.
    ///
    /// # Errors
    /// A setting that is not a number.
    pub fn load(tx: &mut Tx<'_>) -> Result<Self, Error> {
        let month = tx.today().month0() as usize;
        let season = MONTH_SHARES.get(month).map_or(1.0, |share| 12.0 * share);
        let shares = numbers(tx, "many_report_shares")?;
        Ok(Self {
            window_hours: number(tx, "many_window_hours", 24.0)?,
            report_shares: shares.unwrap_or_else(|| vec![0.05, 0.15, 0.35, 0.6]),
            report_time_hours: number(tx, "many_report_time_hours", 8.0)?,
            calls_per_flat_year: number(tx, "many_calls_per_flat_year", 0.6)?,
            season_factor: season,
            off_if_shared: number(tx, "many_off_if_shared", 0.95)?,
            riser_faults: number(tx, "many_riser_faults_a_year", 1.0)?,
            plant_faults: number(tx, "many_plant_faults_a_year", 2.0)?,
            bare_faults: number(tx, "many_bare_faults_a_year", 0.0)?,
        })
    }

    /// The question without its groups.
    pub fn query(&self) -> ManyQuery {
        ManyQuery {
            window_hours: self.window_hours,
            report_shares: self.report_shares.clone(),
            report_time_hours: self.report_time_hours,
            calls_per_flat_year: self.calls_per_flat_year,
            season_factor: self.season_factor,
            off_if_shared: self.off_if_shared,
            groups: Vec::new(),
        }
    }

    /// The rates in words.
    pub fn words(&self) -> String {
        format!(
            "Reckoned with {} calls a home and year, {:.1} times as many in this month, and {} shared faults a year of a riser; calls of the last {:.0} hours count. Common practice, no source; each is a setting.",
            self.calls_per_flat_year, self.season_factor, self.riser_faults, self.window_hours
        )
    }
}

fn numbers(tx: &mut Tx<'_>, key: &str) -> Result<Option<Vec<f64>>, Error> {
    let Some(text) = tx.setting(key)? else {
        return Ok(None);
    };
    let read: Result<Vec<f64>, _> = text.split_whitespace().map(str::parse).collect();
    read.map(Some)
        .map_err(|e| Error::Internal(format!("the setting {key} is not numbers: {text}: {e}")))
}

fn number(tx: &mut Tx<'_>, key: &str, unset: f64) -> Result<f64, Error> {
    let read = numbers(tx, key)?;
    Ok(read.and_then(|all| all.first().copied()).unwrap_or(unset))
}
