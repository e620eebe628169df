//! A kind's prior from the trade's dated data.
use dependability::recording;
use dependability::{CovariatePrior, KindPrior, Normal, PartClock, PartPrior};
use terms::trade::{Kind, PartShare};
use terms::unit::UnitCard;

/// Covariate: hard water with no scale reducer known to be fitted.
pub const HARD_WATER: &str = "hard_water";
/// Covariate: known to run without a filter.
pub const NO_FILTER: &str = "no_filter";
/// Covariate: more than 13 months since the last service on record.
pub const SERVICE_LAPSED: &str = "service_lapsed";
/// Failures during lapses below which nothing is said of what goes along with them (FORECAST §7).
pub const LEAST_IN_LAPSE: u32 = 10;
/// Water harder than this, mg/l as calcium carbonate, counts as hard (trade notes, adjusters; common practice, no source).
pub const HARD_MG_L: f64 = 200.0;

/// Effects of the covariates on the log rate: centred at none, hazard ratios within 0.37 to 2.7 (FORECAST §3, judgement).
const EFFECT: Normal = Normal { mean: 0.0, sd: 0.5 };

/// The prior of a kind: its rate at ten years, and its parts' shares.
pub(crate) fn prior_of(kind: &Kind, shares: &[PartShare]) -> KindPrior {
    let parts = shares
        .iter()
        .filter(|share| share.kind == kind.code)
        .map(|share| PartPrior {
            code: share.code.clone(),
            share: share.share,
            shape: share.shape,
            clock: match share.clock.as_str() {
                "part" => PartClock::Part,
                "event" => PartClock::Event,
                _ => PartClock::Unit,
            },
        })
        .collect();
    KindPrior {
        covariates: covariates(),
        ..KindPrior::around(kind.rate_10y, kind.rate_sd_log, parts)
    }
}

/// What is asked of every kind, in the order in which [`covariates_of`] states it. A new one goes to the end, and states
/// nought where a unit says nothing of it: fits stored before are read as if asked (`stored_fit.rs`).
pub(crate) fn covariates() -> Vec<CovariatePrior> {
    let mut all = [HARD_WATER, NO_FILTER]
        .map(|code| CovariatePrior {
            code: code.to_owned(),
            effect: EFFECT,
        })
        .to_vec();
    all.push(recording::covariate());
    all.push(CovariatePrior {
        code: SERVICE_LAPSED.to_owned(),
        effect: EFFECT,
    });
    all
}

/// Place of the calendar year among the covariates, after those of the unit's make-up.
pub(crate) const YEAR_PLACE: usize = 2;

/// Place of a lapsed service; filled in where the windows are cut (`lapse.rs`).
pub(crate) const LAPSE_PLACE: usize = 3;

/// The covariates of a unit, in the order of the prior. Those of its make-up hold for its whole record: the register does
/// not say since when. The calendar year is filled in where the windows are cut.
pub(crate) fn covariates_of(card: &UnitCard) -> Vec<f64> {
    let hard = card.hardness_mg_l.is_some_and(|h| h > HARD_MG_L);
    let flag = |yes: bool| f64::from(u8::from(yes));
    vec![
        flag(hard && card.reducer_fitted != Some(true)),
        flag(card.filter_fitted == Some(false)),
        0.0,
        0.0,
    ]
}
