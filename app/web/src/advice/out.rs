//! How far out our forecasts were, beside how far this unit's would have to be to turn its advice.
use usecases::advice::{AdvicePage, Param};
use wording::sentences::{dates, plural};

use super::turning;

/// That being as far out as our forecasts were would turn this advice, in one sentence; nothing where it would not.
pub(super) fn record_would_turn(page: &AdvicePage) -> Option<String> {
    let so_far = page.so_far?;
    would_turn(
        (so_far.said.round(), so_far.happened),
        turning_times(page)?,
        &dates::day(so_far.period.1),
    )
}

fn would_turn((said, happened): (f64, u64), turn: f64, until: &str) -> Option<String> {
    let out = happened as f64 / said;
    if !out.is_finite() || out <= 0.0 || !reached(out, turn) {
        return None;
    }
    Some(format!(
        "Our forecasts of the year to {until} said {}, and {happened} happened: being as far out here would turn it, too.",
        plural(said.round() as u64, "failure", "failures")
    ))
}

/// How many times as often as reckoned this unit would have to fail to turn the advice.
fn turning_times(page: &AdvicePage) -> Option<f64> {
    let rows = &page.listed.answer.advice.tornado;
    rows.iter()
        .find(|row| row.param == Param::FaultsOld)
        .and_then(|row| row.switch_multiplier)
}

/// Whether being out so many times goes as far as the turn, on its side.
fn reached(out: f64, turn: f64) -> bool {
    if turn > 1.0 { out >= turn } else { out <= turn }
}

/// How far the forecasts were out, beside how far this unit's would have to be to turn the advice.
pub(super) fn beside_the_turn(page: &AdvicePage, out: f64) -> String {
    if !out.is_finite() || out <= 0.0 {
        return String::new();
    }
    let ways = ("more", "fewer");
    let beside = turning_times(page).map_or_else(String::new, |by| {
        format!(
            "; this advice turns with {} of this unit than reckoned, so being as far out here {} turn it",
            turning::percent(by, ("more failures", "fewer failures")),
            if reached(out, by) { "would" } else { "would not" }
        )
    });
    format!(" That is {}{beside}.", turning::percent(out, ways))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_far_out_as_our_forecasts_is_said_where_it_would_turn_it() {
        // 54/39 = 1.38: past 1.08, not past 1.9.
        let said = |turn| would_turn((39.0, 54), turn, "28 November 2026");
        assert_eq!(
            said(1.08).as_deref(),
            Some(
                "Our forecasts of the year to 28 November 2026 said 39\u{a0}failures, and 54 happened: being as far out here would turn it, too."
            )
        );
        assert_eq!(said(1.9), None);
        // Too many happened: what turns with fewer failures does not turn.
        assert_eq!(said(0.8), None);
        assert!(would_turn((50.0, 39), 0.8, "then").is_some());
        assert_eq!(would_turn((0.0, 3), 1.1, "then"), None);
    }
}
