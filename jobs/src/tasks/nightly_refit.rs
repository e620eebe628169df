//! Every kind fitted anew, every unit forecast anew, where facts changed.
use usecases::{Seat, World, forecast};

use super::Trouble;

pub(super) fn run(world: &World, seat: &Seat) -> Result<String, Trouble> {
    let report = forecast::refit(world, seat)?;
    let failed: Vec<String> = report
        .failed()
        .into_iter()
        .map(|(kind, why)| format!("{kind}: {why}"))
        .collect();
    if failed.is_empty() {
        Ok(format!("{} forecasts written", report.forecasts()))
    } else {
        Err(Trouble::Partly(failed.join("; ")))
    }
}
