//! The trade's dated data an advice reckons with, loaded once: kinds, part shares, prices, rate, assumptions.
use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, NaiveDate, Utc};
use dependability::KindPrior;
use serde::{Deserialize, Serialize};
use store::Tx;
use store::forecasts::FitRow;
use terms::trade::{Kind, PartShare, Price, RealRate};
use terms::unit::UnitCard;
use terms::{BuildingId, FirmId, UnitId};

use super::as_fitted::AsFitted;
use super::assumptions::assumptions_in;
use super::outlook::prior_of;
use super::write_offs::{Ended, ended};
use crate::Error;
use crate::forecast::{Alike, AllAlike, MakeUp};
use crate::founding::{StaysWith, WorkAsked, stays, works, write_offs};

/// A year in days, as everywhere.
const YEAR: f64 = 365.25;

/// What a figure of an advice is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Days.
    Days,
    /// Expected failures in a year.
    FailuresAYear,
    /// Kilowatt-hours a year.
    KwhAYear,
    /// Pence a kilowatt-hour.
    PenceAKwh,
    /// Pounds.
    Pounds,
    /// Pounds a year.
    PoundsAYear,
    /// A real yearly rate.
    Rate,
    /// A share from 0 to 1.
    Share,
    /// A ratio to the mean.
    Spread,
    /// A variance.
    Variance,
    /// Years.
    Years,
}

/// One figure that went into an advice, with where it comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct InputLine {
    /// Short code: "rate", "quote", "capex", …
    pub code: String,
    /// Which option, when it speaks of one; else empty.
    pub option: String,
    /// The figure.
    pub value: f64,
    /// What it is measured in.
    pub measure: Measure,
    /// Where it comes from.
    pub source: String,
    /// How it is known.
    pub status: String,
}

/// Everything of the trade that an advice needs.
#[derive(Debug)]
pub(crate) struct Book {
    kinds: BTreeMap<String, Kind>,
    shares: BTreeMap<String, Vec<PartShare>>,
    prices: Vec<Price>,
    /// What a reason of the feasibility table asks for.
    pub works: Vec<WorkAsked>,
    /// The yearly real rate in force on the day of the advice.
    pub rate: RealRate,
    assumed: BTreeMap<String, InputLine>,
    /// By kind: what its last fit says of buildings.
    fitted: BTreeMap<String, FittedIn>,
    /// By kind: units written off and failures behind the same fit.
    ended: Ended,
    /// Parts that stay in the home when a unit is replaced.
    pub stays: Vec<StaysWith>,
    /// As firmly as so many failures is held what is believed of write-offs.
    pub write_off_weight: f64,
    /// Units on which something that a maker asks for is overdue, with its name.
    overdue: BTreeMap<UnitId, String>,
    /// What units are alike in, beside their cards.
    alike: AllAlike,
}

/// What a kind's record says of one building.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum InBuilding {
    /// Its units fail so many times as often there as in the median building.
    Times(f64),
    /// Units of the kind were watched there, but they do not tell whether the building differs: it is the only one, or
    /// nothing has failed.
    Watched,
    /// None was watched there.
    NotWatched,
    /// No record of the kind has gone into a fit: the published figures stand alone.
    NotFitted,
}

/// What a kept fit says of its kind and of the buildings.
#[derive(Debug, Default)]
struct FittedIn {
    /// `None` where the published figures stand alone.
    own: Option<AsFitted>,
    seen: BTreeSet<String>,
    times: BTreeMap<String, f64>,
}

/// The part of a kept fit that speaks of buildings.
#[derive(Deserialize)]
struct BuildingsKept {
    #[serde(default)]
    seen: BTreeSet<String>,
    #[serde(default)]
    effects: Vec<EffectKept>,
}

/// The part of a kept fit that speaks of one building: e of its level in logarithm, and how unsure it is.
#[derive(Deserialize)]
struct EffectKept {
    building: String,
    mean: f64,
    sd: f64,
}

/// What each kind's fit says; of a building's effect e the mean of e^e, e being about normal.
fn fitted(fits: BTreeMap<String, FitRow>) -> Result<BTreeMap<String, FittedIn>, Error> {
    let mut found = BTreeMap::new();
    for (kind, fit) in fits {
        let kept = fit.body.pointer("/fit/buildings").cloned();
        let kept: Option<BuildingsKept> =
            serde_json::from_value(kept.unwrap_or_default()).map_err(store::Error::from)?;
        let Some(kept) = kept else {
            continue;
        };
        let seen = kept.seen;
        let times = kept
            .effects
            .into_iter()
            .map(|e| (e.building, (e.mean + e.sd * e.sd / 2.0).exp()))
            .filter(|(_, times)| times.is_finite())
            .collect();
        let own = AsFitted::read(&fit);
        found.insert(kind, FittedIn { own, seen, times });
    }
    Ok(found)
}

/// What makers ask for that is overdue today, by unit.
fn overdue(tx: &mut Tx<'_>) -> Result<BTreeMap<UnitId, String>, Error> {
    let rules: BTreeMap<String, String> = tx
        .duty_rules()?
        .into_iter()
        .filter(|rule| rule.basis == "maker")
        .map(|rule| (rule.code, rule.name))
        .collect();
    let codes: Vec<String> = rules.keys().cloned().collect();
    let today = tx.today();
    Ok(tx
        .overdue_under(&codes, today)?
        .into_iter()
        .filter_map(|d| Some((d.unit?, rules.get(&d.rule)?.clone())))
        .collect())
}

impl Book {
    /// Loads it; settings `advice.KEY` stand before the program's own starting figures.
    pub fn load(tx: &mut Tx<'_>) -> Result<Self, Error> {
        let list = tx.kinds()?;
        let mut shares: BTreeMap<String, Vec<PartShare>> = BTreeMap::new();
        for share in tx.part_shares()? {
            shares.entry(share.kind.clone()).or_default().push(share);
        }
        let mut prices = Vec::new();
        for kind in &list {
            prices.extend(tx.prices_of(&kind.code)?);
        }
        // A price agreed for next year is no price yet.
        let today = tx.today();
        prices.retain(|price| price.as_at <= today);
        let fits = tx.last_fits()?;
        let assumed = assumptions_in(tx)?
            .into_iter()
            .map(|line| (line.code.clone(), line))
            .collect();
        Ok(Self {
            kinds: list.into_iter().map(|k| (k.code.clone(), k)).collect(),
            shares,
            prices,
            works: works()?,
            rate: tx.rate_on(today)?,
            stays: stays(today)?,
            write_off_weight: write_offs(today)?.counts_as,
            ended: ended(&fits),
            fitted: fitted(fits)?,
            overdue: overdue(tx)?,
            alike: {
                let at = tx.at();
                AllAlike::load(tx, None, at)?
            },
            assumed,
        })
    }

    /// A kind.
    pub fn kind(&self, code: &str) -> Result<&Kind, Error> {
        self.kinds.get(code).ok_or(Error::NotFound("kind of unit"))
    }

    /// The same with the fits, the rate and what was known to stay at a moment, for a look back.
    pub fn know_fits_of(&mut self, tx: &mut Tx<'_>, at: DateTime<Utc>) -> Result<(), Error> {
        let fits = tx.fits_known(at)?;
        self.ended = ended(&fits);
        self.fitted = fitted(fits)?;
        let day = crate::work::wall::day(at);
        self.rate = tx.rate_on(day)?;
        self.stays = stays(day)?;
        self.alike = AllAlike::load(tx, None, at)?;
        Ok(())
    }

    /// Units of a kind written off, and failures, behind its fit.
    pub(super) fn ended(&self, kind: &str) -> (u32, u32) {
        self.ended.get(kind).copied().unwrap_or((0, 0))
    }

    /// A kind's figures for units of this make-up: as its own records leave them where a fit stands, else as
    /// published.
    pub fn figures(&self, kind: &Kind, of: &MakeUp) -> (KindPrior, Option<&AsFitted>) {
        let own = self.fitted.get(&kind.code).and_then(|f| f.own.as_ref());
        let fitted = own.and_then(|own| Some((own.prior(of)?, own)));
        match fitted {
            Some((prior, own)) => (prior, Some(own)),
            None => (prior_of(kind, self.shares(&kind.code)), None),
        }
    }

    /// What a unit is alike with others in, beside its card.
    pub fn alike(&self, card: &UnitCard) -> Alike {
        self.alike.of(card)
    }

    /// How many times as often as in the median building a unit of a kind is reckoned to fail in this one; in a building
    /// where none was watched, the mean over what such a building may be, as in a forecast.
    pub fn times_in(&self, kind: &str, building: BuildingId) -> f64 {
        let own = self.fitted.get(kind).and_then(|f| f.own.as_ref());
        match self.in_building(kind, building) {
            InBuilding::Times(times) => times,
            InBuilding::NotWatched => own.map_or(1.0, AsFitted::elsewhere),
            InBuilding::Watched | InBuilding::NotFitted => 1.0,
        }
    }

    /// Years that a unit's own warranty still runs from a day, with its last day and what its maker asks for that is overdue:
    /// then no year is reckoned with. `None` out of warranty.
    pub fn cover_left(
        &self,
        unit: &UnitCard,
        on: NaiveDate,
    ) -> Option<(f64, NaiveDate, Option<&str>)> {
        let until = unit.warranty_until.filter(|until| *until > on)?;
        let overdue = self.overdue.get(&unit.id).map(String::as_str);
        let years = (until - on).num_days() as f64 / YEAR;
        Some((if overdue.is_some() { 0.0 } else { years }, until, overdue))
    }

    /// What the record of a kind says of a building.
    pub fn in_building(&self, kind: &str, building: BuildingId) -> InBuilding {
        let Some(fitted) = self.fitted.get(kind) else {
            return InBuilding::NotFitted;
        };
        let building = building.to_string();
        match fitted.times.get(&building) {
            Some(times) => InBuilding::Times(*times),
            None if fitted.seen.contains(&building) => InBuilding::Watched,
            None => InBuilding::NotWatched,
        }
    }

    /// Its part shares, in the trade's order; empty for none.
    pub fn shares(&self, kind: &str) -> &[PartShare] {
        self.shares.get(kind).map_or(&[], Vec::as_slice)
    }

    /// The latest price of `item` for a kind: agreed with `firm` before general.
    pub fn price(&self, kind: &str, item: &str, firm: Option<FirmId>) -> Option<&Price> {
        let of = |firm: Option<FirmId>| {
            self.prices
                .iter()
                .filter(|p| p.kind == kind && p.item == item && p.firm == firm)
                .max_by_key(|p| p.as_at)
        };
        firm.and_then(|firm| of(Some(firm))).or_else(|| of(None))
    }

    /// The options that have a price for a kind, in order.
    pub fn priced_options(&self, kind: &str) -> Vec<String> {
        let mut codes: Vec<String> = self
            .prices
            .iter()
            .filter(|p| p.kind == kind)
            .filter_map(|p| p.item.strip_prefix("replace:"))
            .map(str::to_owned)
            .collect();
        codes.sort();
        codes.dedup();
        codes
    }

    /// An assumption.
    pub fn assumed(&self, key: &str) -> f64 {
        self.assumed.get(key).map_or(0.0, |line| line.value)
    }

    /// Looks at least so many years ahead, for a plan that does.
    pub fn look_ahead(&mut self, years: u32) {
        if let Some(line) = self.assumed.get_mut("horizon") {
            line.value = line.value.max(f64::from(years));
        }
    }

    /// The same with its source.
    pub fn assumed_line(&self, key: &str) -> Option<InputLine> {
        self.assumed.get(key).cloned()
    }
}
