//! Likely parts of a job before anybody went there: what the caller said, the unit's own history, the ages of its parts
//! and how often each part fails by the forecast's fit of the kind.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use inspection::RuleBook;
use inspection::suspects::{Learned, ObservationCount, PartHistory, RankQuery, Ranking, rank};
use store::Tx;
use store::history::History;
use terms::trade::PartShare;
use terms::unit::UnitCard;
use terms::{BuildingId, FunctionLost, JobId};

use crate::Error;
use crate::forecast::KeptFit;

/// The complaint a caller's words amount to, if the kind's table knows it.
pub(crate) fn complaint_of(
    book: &RuleBook,
    kind: &str,
    lost: Option<FunctionLost>,
) -> Option<String> {
    let codes: &[&str] = match lost? {
        FunctionLost::Heating => &["no_heat_hw_ok", "no_heat"],
        FunctionLost::HotWater => &["no_hw_heat_ok", "no_hot"],
        FunctionLost::HeatingAndHotWater => &["neither", "no_heat", "no_hot"],
        FunctionLost::Leak | FunctionLost::Noise | FunctionLost::GasOrCo | FunctionLost::Other => {
            &[]
        }
    };
    let table = book.table(kind).ok()?;
    codes
        .iter()
        .find(|code| table.observation(code).is_some())
        .map(|code| (*code).to_owned())
}

/// The observation that neighbours have lost it too.
pub(crate) const NEIGHBOURS: &str = "neighbours_too";
/// Years at which a part's hazard stands for itself in the priors: (age/10)^(shape − 1) as in the forecast.
const AT_YEARS: f64 = 10.0;
const DAYS_A_YEAR: f64 = 365.25;

/// How many times as often as the trade's figures have it each part of a kind fails, by part: the last fit's shares over
/// those it started from. Without a fit that found something, nothing: the trade's figures then stand.
pub(crate) type PartRates = BTreeMap<String, f64>;

/// What the fit of a kind says of its parts.
pub(crate) fn part_rates(tx: &mut Tx<'_>, kind: &str) -> Result<PartRates, Error> {
    let Some(row) = tx.last_fit(kind)? else {
        return Ok(PartRates::new());
    };
    if !matches!(row.verdict.as_str(), "converged" | "boundary") {
        return Ok(PartRates::new());
    }
    let kept: KeptFit = serde_json::from_value(row.body).map_err(store::Error::from)?;
    Ok(rates_of(&kept))
}

fn rates_of(kept: &KeptFit) -> PartRates {
    let parts = kept.prior.parts.iter().zip(kept.prior.shares());
    parts
        .zip(&kept.fit.shares)
        .map(|((part, before), after)| (part.code.clone(), after / before))
        .filter(|(_, times)| *times > 0.0 && times.is_finite())
        .collect()
}

/// What the ranking is told of one unit besides what was seen: its parts' ages, replacements and rates, the water, and
/// what finished jobs on its kind in its building turned out to be.
pub(crate) fn known_of(
    unit: &UnitCard,
    history: &History,
    (shares, learned, rates): (&[PartShare], Learned, &PartRates),
    today: NaiveDate,
) -> RankQuery {
    let parts = shares.iter().filter(|share| share.kind == unit.kind);
    RankQuery {
        unit_kind: unit.kind.clone(),
        today: Some(today),
        history: parts
            .map(|share| PartHistory {
                rate_factor: rates.get(&share.code).copied(),
                ..past_of(share, unit, history, today)
            })
            .collect(),
        learned: (learned.closed_jobs > 0.0).then_some(learned),
        hardness_mg_l: unit.hardness_mg_l,
        reducer_fitted: unit.reducer_fitted == Some(true),
        ..RankQuery::default()
    }
}

/// A part's last replacement and its age: since then, else since the unit was fitted; unknown while that is not known
/// to within a year.
fn past_of(share: &PartShare, unit: &UnitCard, history: &History, today: NaiveDate) -> PartHistory {
    let replaced = history.parts.iter().filter(|p| p.part == share.code);
    let replaced_on = replaced.map(|p| p.fitted_on).max();
    let fitted = unit
        .installed
        .filter(|(from, to)| (*to - *from).num_days() <= 366)
        .map(|(from, to)| from + (to - from) / 2);
    let since = replaced_on.filter(|_| share.clock == "part").or(fitted);
    let age = since.map(|on| (today - on).num_days() as f64 / DAYS_A_YEAR);
    PartHistory {
        part: share.code.clone(),
        replaced_on,
        age_years: age.filter(|age| *age >= 0.0),
        life_years: Some(AT_YEARS),
        beta: Some(share.shape),
        rate_factor: None,
    }
}

/// Counts from finished jobs on units of this kind in this building, the cause confirmed by a reading after the work.
pub(crate) fn learned_of(
    tx: &mut Tx<'_>,
    kind: &str,
    building: BuildingId,
) -> Result<Learned, Error> {
    let causes = tx.confirmed_causes(kind, building)?;
    let jobs: Vec<JobId> = causes.iter().map(|c| c.job).collect();
    let looked = tx.observations_of(&jobs)?;
    let mut part_counts: BTreeMap<String, f64> = BTreeMap::new();
    let mut pairs: BTreeMap<(&str, &str), (f64, f64)> = BTreeMap::new();
    for cause in &causes {
        *part_counts.entry(cause.part.clone()).or_default() += 1.0;
        for (_, code, seen) in looked.iter().filter(|(job, ..)| *job == cause.job) {
            let pair = (cause.part.as_str(), code.as_str());
            let counted = pairs.entry(pair).or_default();
            counted.0 += f64::from(u8::from(*seen));
            counted.1 += 1.0;
        }
    }
    let counted = |((part, observation), (seen, looked_for)): (&(&str, &str), &(f64, f64))| {
        ObservationCount {
            part: (*part).to_owned(),
            observation: (*observation).to_owned(),
            seen: *seen,
            looked_for: *looked_for,
        }
    };
    Ok(Learned {
        closed_jobs: causes.len() as f64,
        observation_counts: pairs.iter().map(counted).collect(),
        part_counts,
    })
}

/// The ranking before a visit; `None` for kinds without a table, or when nothing was said.
pub(crate) fn before_visit(
    tx: &mut Tx<'_>,
    unit: &UnitCard,
    history: &History,
    lost: Option<FunctionLost>,
) -> Result<Option<Ranking>, Error> {
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    let Some(complaint) = complaint_of(book, &unit.kind, lost) else {
        return Ok(None);
    };
    let learned = learned_of(tx, &unit.kind, unit.building)?;
    let rates = part_rates(tx, &unit.kind)?;
    let shares = tx.part_shares()?;
    let today = super::wall::day(tx.at());
    let mut seen = vec![complaint];
    let asks = book
        .table(&unit.kind)
        .is_ok_and(|table| table.observation(NEIGHBOURS).is_some());
    if asks && crate::outages::neighbours_too(tx, unit)? {
        seen.push(NEIGHBOURS.to_owned());
    }
    let query = RankQuery {
        seen,
        ..known_of(unit, history, (&shares, learned, &rates), today)
    };
    rank(book, &query)
        .map(Some)
        .map_err(|e| Error::Internal(e.to_string()))
}
