//! What a figure rests on: the kind's record, its fit and how that ended.
use usecases::forecast::{Around, Ends, FitSaid, MOST_FAILURES, ThinData, Verdict};
use wording::Row;
use wording::sentences::{chances, counted, outlook, plural};

use crate::when;

/// What may be said of so thin or thick a record, in one sentence.
pub(super) fn thin(fit: &FitSaid, plural_name: &str) -> String {
    match fit.thin {
        ThinData::PublishedOnly => outlook::published_only(plural_name),
        ThinData::Few => outlook::few(fit.failures, plural_name),
        ThinData::Mixed => outlook::rests(fit.weight.rate),
        // FORECAST §11: above 150 failures of its own the banner is off.
        ThinData::Own => outlook::own(fit.failures, plural_name),
    }
}

/// How a fit ended.
pub(super) fn verdict(verdict: &Verdict) -> String {
    match verdict {
        Verdict::Converged => outlook::converged(),
        Verdict::Boundary(held) => outlook::boundary(held),
        Verdict::NotEnough { .. } => outlook::not_enough(),
        Verdict::Failed(why) => outlook::failed(why),
    }
}

/// The fit of a kind as rows: its record, its verdict, its buildings.
pub(super) fn rows(fit: &FitSaid, (code, plural_name): (&str, &str)) -> Vec<Row> {
    let mut record = vec![format!(
        "{} of your {plural_name}, watched for {} unit-years, had {}.",
        wording::sentences::capital(&plural(fit.units as u64, "unit", "units")),
        outlook::number(fit.unit_years),
        counted(u64::from(fit.failures), "failure", "failures"),
    )];
    if fit.merged > 0 {
        record.push(format!(
            "{} within 30 days of the visit before, or on the same job, {} counted with it.",
            wording::sentences::capital(&counted(
                u64::from(fit.merged),
                "repeat visit",
                "repeat visits"
            )),
            if fit.merged == 1 { "is" } else { "are" },
        ));
    }
    if fit.left_out > 0 {
        record.push(format!(
            "{} left out: what is on record of {} cannot be.",
            wording::sentences::capital(&counted(fit.left_out as u64, "unit is", "units are")),
            if fit.left_out == 1 { "it" } else { "them" },
        ));
    }
    let mut ended = vec![match fit.verdict {
        Verdict::NotEnough { failures } if failures > 0 && fit.units == 1 => outlook::one_unit(),
        _ => verdict(&fit.verdict),
    }];
    ended.push(format!(
        "At ten years of age such a unit fails {} times a year{}; before your own records spoke it was {}.",
        rate(fit.rate_10y),
        ninety_five(fit.rate95, fit.profiled.map(|p| p.rate))
            .map_or_else(String::new, |range| format!(" ({range})")),
        rate(fit.rate_before),
    ));
    ended.extend(shape(fit));
    ended.push(format!("Fitted on {}.", when::day_words(fit.made_at)));
    if let Some(said) = recording(fit, plural_name) {
        ended.push(said);
    }
    vec![
        Row::plain(format!("record-{code}"), record.join(" ")).figure(
            fit.failures.to_string(),
            if fit.failures == 1 {
                "failure"
            } else {
                "failures"
            },
        ),
        Row::plain(format!("fit-{code}"), ended.join(" ")),
        Row::plain(format!("houses-{code}"), buildings(fit)),
    ]
}

/// "95 in 100: 0.12 to 0.31": by profile where that was made, its open ends said, else by the curvature.
fn ninety_five(around: Option<Around>, profiled: Option<Ends>) -> Option<String> {
    let range = match (profiled, around) {
        (Some((Some(low), Some(high))), _) | (None, Some((_, low, high))) => {
            format!("{} to {}", rate(low), rate(high))
        }
        (Some((None, Some(high))), _) => format!("{} at most", rate(high)),
        (Some((Some(low), None)), _) => format!("{} at least", rate(low)),
        (Some((None, None)), _) => "it may be anything".to_owned(),
        (None, None) => return None,
    };
    Some(format!("95 in 100: {range}"))
}

/// How fast units age and how unlike they are, with their intervals; below fifteen failures neither is said (FORECAST §11).
fn shape(fit: &FitSaid) -> Option<String> {
    if fit.thin <= ThinData::Few {
        return None;
    }
    let mut said = Vec::new();
    let figures = [
        (
            "How fast units age, the power β of their age (1 is not at all)",
            fit.beta95,
            fit.profiled.and_then(|p| p.beta),
        ),
        (
            "How unlike units are, the variance θ of each one's own factor (0 is all alike)",
            fit.theta95,
            fit.profiled.map(|p| p.theta),
        ),
    ];
    for (what, around, profiled) in figures {
        if let (Some(at), Some(range)) = (around, ninety_five(around, profiled)) {
            said.push(format!("{what}: {} ({range}).", rate(at.0)));
        }
    }
    if said.is_empty() {
        return None;
    }
    said.push(
        if fit.profiled.is_some() {
            "These ranges are by profile, each with all else fitted anew, the published figures in them; they need not reach as far up as down."
        } else if fit.failures >= MOST_FAILURES {
            "These ranges are by the curvature at the fit on the log scale, the published figures in them; of so many failures a profile would say the same."
        } else {
            "These ranges are by the curvature at the fit on the log scale, the published figures in them; no profile was made with this fit."
        }
        .to_owned(),
    );
    Some(said.join(" "))
}

/// How the record itself changed from year to year, and what cannot be told apart; nothing below fifteen failures.
fn recording(fit: &FitSaid, plural_name: &str) -> Option<String> {
    if fit.thin <= ThinData::Few {
        return None;
    }
    let mut said = Vec::new();
    if let Some(drift) = fit.drift {
        said.push(outlook::drift(drift, fit.drift_weight));
    }
    said.push(match fit.ageing {
        Some(own) => outlook::ageing(own),
        None => outlook::ageing_of_parts(),
    });
    if fit.one_age {
        said.push(outlook::one_age(plural_name));
    }
    if fit.sooner {
        said.push(outlook::sooner(plural_name));
    }
    Some(said.join(" "))
}

/// "0.18": a rate to two figures.
fn rate(value: f64) -> String {
    if value < 0.995 {
        format!("{value:.2}")
    } else {
        outlook::number(value)
    }
}

fn buildings(fit: &FitSaid) -> String {
    let Some(buildings) = &fit.buildings else {
        return "Buildings are not told apart yet; the next night does it.".to_owned();
    };
    let seen = counted(buildings.seen.len() as u64, "building", "buildings");
    match (&buildings.spread, &buildings.verdict) {
        (Some(spread), _) => {
            // τ as the ratio of a bad building to a good one: 10 and 90 % points of exp(e), e^(2 · 1.2816 τ) apart.
            let ratio = (2.0 * 1.2816 * spread.ln_tau.exp()).exp();
            format!(
                "Units of {seen} were compared: in one of the worst tenth they fail {} as in one of the best tenth. That rests {}{}% on your own records. All units of a building share its factor, so its totals are as doubtful as that makes them.",
                outlook::often(ratio),
                (spread.data_weight * 100.0).round(),
                wording::sentences::GLUE,
            )
        }
        (None, Verdict::Failed(why)) => format!(
            "Units of {seen} could not be compared ({why}); totals of a building are somewhat too sure of themselves until that succeeds."
        ),
        (None, _) => format!(
            "Such units were watched in {seen} only; what is particular to it is in the figures. A building new to us is taken to differ as buildings usually do, {} in 8 cases of 10.",
            outlook::factor_range((-1.2816_f64 * 0.3).exp(), (1.2816_f64 * 0.3).exp()),
        ),
    }
}

/// "about 1 in 20 over the season (1 in 40 to 1 in 10)".
pub(super) fn over((chance, low, high): (f64, f64, f64), when: &str) -> String {
    format!("{when}: {}.", chances::with_range(chance, low, high))
}
