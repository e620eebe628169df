//! One flat or many: do the calls of a stretch of hours point to a shared fault? A proposal; every
//! rate is a setting. Common practice, no source.
use serde::{Deserialize, Serialize};

use crate::InspectionError;
use crate::coded::coded;

/// A set of flats that one fault could take out together: a riser, a block.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Group {
    /// Its name.
    pub id: String,
    /// Flats served, n.
    pub flats_served: u32,
    /// Different flats that called for the same lost function in the window, k.
    pub called: u32,
    /// Other flats asked that are off too, a.
    pub asked_off: u32,
    /// Other flats asked that are fine, b.
    pub asked_ok: u32,
    /// Shared faults a year.
    pub shared_faults_per_year: f64,
}

/// The calls and the rates.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ManyQuery {
    /// Window w, hours.
    pub window_hours: f64,
    /// Shares of affected flats that report in time, several because some faults everyone notices.
    pub report_shares: Vec<f64>,
    /// Time scale τ of reporting, hours.
    pub report_time_hours: f64,
    /// Calls a flat and year, r.
    pub calls_per_flat_year: f64,
    /// Season factor on r.
    pub season_factor: f64,
    /// Chance s that a flat asked is off if the fault is shared.
    pub off_if_shared: f64,
    /// The groups.
    pub groups: Vec<Group>,
}

coded! {
    /// What is proposed.
    ManyVerdict {
        /// One shared fault: one visit, not many.
        Shared = "shared",
        /// Ask neighbours first.
        AskNeighbours = "ask_neighbours",
        /// One flat.
        Flat = "flat",
    }
}

/// One group's evidence.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GroupAnswer {
    /// Its name.
    pub id: String,
    /// Likelihood ratio, log to base 10.
    pub log10_likelihood_ratio: f64,
    /// Chance that the fault is shared.
    pub chance_shared: f64,
}

/// What is proposed, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ManyAnswer {
    /// Each group, as asked.
    pub groups: Vec<GroupAnswer>,
    /// The proposal.
    pub answer: ManyVerdict,
    /// The group it points to.
    pub points_to: Option<String>,
}

/// A chance kept off 0 and 1, so that its logarithms are finite.
fn clamp(chance: f64) -> f64 {
    chance.clamp(1e-300, 1.0 - 1e-15)
}

fn check(query: &ManyQuery) -> Result<(), InspectionError> {
    let wrong = |why: &str| Err(InspectionError::impossible("one flat or many", why));
    let positive = |x: f64| x > 0.0 && x.is_finite();
    if !(positive(query.window_hours) && positive(query.report_time_hours)) {
        return wrong("the window and the reporting time must be above 0");
    }
    if !(positive(query.calls_per_flat_year) && positive(query.season_factor)) {
        return wrong("the rate of calls must be above 0");
    }
    let share = |x: &f64| (0.0..=1.0).contains(x);
    if query.report_shares.is_empty()
        || !query.report_shares.iter().all(share)
        || !share(&query.off_if_shared)
    {
        return wrong("shares must lie between 0 and 1");
    }
    for group in &query.groups {
        let told = u64::from(group.called) + u64::from(group.asked_off) + u64::from(group.asked_ok);
        if told > u64::from(group.flats_served) {
            return wrong("more flats called or were asked than are served");
        }
        if !(group.shared_faults_per_year >= 0.0 && group.shared_faults_per_year.is_finite()) {
            return wrong("the rate of shared faults cannot be below 0");
        }
    }
    Ok(())
}

fn group_answer(query: &ManyQuery, group: &Group) -> GroupAnswer {
    let years = query.window_hours / 8760.0;
    let p0 = clamp(-(-query.calls_per_flat_year * query.season_factor * years).exp_m1());
    let reported = -(-query.window_hours / query.report_time_hours).exp_m1();
    let (k, a, b) = (
        f64::from(group.called),
        f64::from(group.asked_off),
        f64::from(group.asked_ok),
    );
    let silent = f64::from(group.flats_served) - k - a - b;
    let terms: Vec<f64> = query
        .report_shares
        .iter()
        .map(|share| {
            let q = clamp(share * reported);
            k * (q / p0).ln() + silent * ((-q).ln_1p() - (-p0).ln_1p())
        })
        .collect();
    let largest = terms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mean = terms.iter().map(|t| (t - largest).exp()).sum::<f64>() / terms.len() as f64;
    let s = clamp(query.off_if_shared);
    let log_ratio = largest + mean.ln() + a * (s / p0).ln() + b * ((-s).ln_1p() - (-p0).ln_1p());
    let prior = clamp(-(-group.shared_faults_per_year * years).exp_m1());
    let log_odds = (prior / (1.0 - prior)).ln() + log_ratio;
    GroupAnswer {
        id: group.id.clone(),
        log10_likelihood_ratio: log_ratio / std::f64::consts::LN_10,
        chance_shared: 1.0 / (1.0 + (-log_odds).exp()),
    }
}

/// Judges the groups. A shared answer counts as `neighbours_too` for the interface unit's table.
///
/// # Errors
/// Rates, shares or counts that cannot be.
pub fn many(query: &ManyQuery) -> Result<ManyAnswer, InspectionError> {
    check(query)?;
    let groups: Vec<GroupAnswer> = query
        .groups
        .iter()
        .map(|g| group_answer(query, g))
        .collect();
    let nine = |chance: f64| (chance * 1e9).round();
    // Largest chance; of equal ones the group with fewer flats.
    let best = query
        .groups
        .iter()
        .zip(&groups)
        .filter(|(g, _)| g.called + g.asked_off >= 2)
        .reduce(|best, next| {
            let (old, new) = (nine(best.1.chance_shared), nine(next.1.chance_shared));
            let fewer = next.0.flats_served < best.0.flats_served;
            if new > old || (new == old && fewer) {
                next
            } else {
                best
            }
        });
    let (answer, points_to) = match best {
        Some((_, a)) if a.chance_shared >= 0.5 => (ManyVerdict::Shared, Some(a.id.clone())),
        _ if groups.iter().any(|a| a.chance_shared >= 0.02) => (ManyVerdict::AskNeighbours, None),
        _ => (ManyVerdict::Flat, None),
    };
    Ok(ManyAnswer {
        groups,
        answer,
        points_to,
    })
}
