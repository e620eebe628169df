//! Fits of kinds and forecasts of units: each as it stood when made, superseded and never changed.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{FitId, ForecastId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{briefs, fits, forecasts};
use crate::{Db, Error, Tx};

/// Rows of one INSERT: 18 columns each, well under the 65,535 values a statement may carry.
const BATCH: usize = 1000;

/// A kind's fit as kept.
#[derive(Clone, Debug, PartialEq)]
pub struct FitRow {
    /// Its id.
    pub id: FitId,
    /// The kind.
    pub kind: String,
    /// When it was reckoned.
    pub made_at: DateTime<Utc>,
    /// From what was known then.
    pub known_at: DateTime<Utc>,
    /// "converged", "boundary", "not_enough" or "failed".
    pub verdict: String,
    /// Units it rests on.
    pub units: i32,
    /// Failures it rests on.
    pub failures: i32,
    /// Repeat visits merged before.
    pub merged_away: i32,
    /// The fit whole, as JSON.
    pub body: serde_json::Value,
    /// SHA-256 of the facts it used.
    pub digest: String,
}

/// A chance with its 80 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// Chance of at least one failure.
    pub chance: f64,
    /// 10 % point.
    pub low: f64,
    /// 90 % point.
    pub high: f64,
}

/// A unit's forecast as kept.
#[derive(Clone, Debug, PartialEq)]
pub struct ForecastRow {
    /// Its id.
    pub id: ForecastId,
    /// The unit.
    pub unit: UnitId,
    /// The fit it came from.
    pub fit: FitId,
    /// When it was reckoned.
    pub made_at: DateTime<Utc>,
    /// From what was known then.
    pub known_at: DateTime<Utc>,
    /// The day its periods begin.
    pub made_on: NaiveDate,
    /// Over the next 12 months.
    pub year: Chance,
    /// Failures expected in 12 months.
    pub expected_12m: f64,
    /// Over the heating season.
    pub season: Chance,
    /// First day of that season still ahead.
    pub season_from: NaiveDate,
    /// Its last day.
    pub season_until: NaiveDate,
    /// The forecast whole, as JSON.
    pub body: serde_json::Value,
    /// SHA-256 of the facts and the fit it used.
    pub facts_digest: String,
    /// When another took its place.
    pub superseded_at: Option<DateTime<Utc>>,
}

type FitColumns = (
    (Db<FitId>, String, DateTime<Utc>, DateTime<Utc>, String),
    (i32, i32, i32, serde_json::Value, String),
);
type ForecastColumns = (
    (
        Db<ForecastId>,
        Db<UnitId>,
        Db<FitId>,
        DateTime<Utc>,
        DateTime<Utc>,
        NaiveDate,
    ),
    (f64, f64, f64, f64, f64, f64, f64),
    (
        NaiveDate,
        NaiveDate,
        serde_json::Value,
        String,
        Option<DateTime<Utc>>,
    ),
);

fn read_fit((a, b): FitColumns) -> FitRow {
    FitRow {
        id: a.0.0,
        kind: a.1,
        made_at: a.2,
        known_at: a.3,
        verdict: a.4,
        units: b.0,
        failures: b.1,
        merged_away: b.2,
        body: b.3,
        digest: b.4,
    }
}

fn read_forecast((a, b, c): ForecastColumns) -> ForecastRow {
    ForecastRow {
        id: a.0.0,
        unit: a.1.0,
        fit: a.2.0,
        made_at: a.3,
        known_at: a.4,
        made_on: a.5,
        year: Chance {
            chance: b.0,
            low: b.1,
            high: b.2,
        },
        expected_12m: b.3,
        season: Chance {
            chance: b.4,
            low: b.5,
            high: b.6,
        },
        season_from: c.0,
        season_until: c.1,
        body: c.2,
        facts_digest: c.3,
        superseded_at: c.4,
    }
}

macro_rules! fit_columns {
    () => {
        (
            (
                fits::id,
                fits::kind_code,
                fits::made_at,
                fits::known_at,
                fits::verdict,
            ),
            (
                fits::units,
                fits::failures,
                fits::merged_away,
                fits::body,
                fits::digest,
            ),
        )
    };
}

macro_rules! forecast_columns {
    () => {
        (
            (
                forecasts::id,
                forecasts::unit_id,
                forecasts::fit_id,
                forecasts::made_at,
                forecasts::known_at,
                forecasts::made_on,
            ),
            (
                forecasts::chance_12m,
                forecasts::chance_12m_low,
                forecasts::chance_12m_high,
                forecasts::expected_12m,
                forecasts::chance_season,
                forecasts::chance_season_low,
                forecasts::chance_season_high,
            ),
            (
                forecasts::season_from,
                forecasts::season_until,
                forecasts::body,
                forecasts::facts_digest,
                forecasts::superseded_at,
            ),
        )
    };
}

impl Tx<'_> {
    /// Puts writers of forecasts in order: two at once would leave a unit with two present forecasts.
    #[expect(
        clippy::disallowed_methods,
        reason = "advisory locks have no typed form in Diesel"
    )]
    pub fn hold_forecasts(&mut self) -> Result<(), Error> {
        let name = format!("forecasts {}", self.estate());
        diesel::sql_query("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))")
            .bind::<diesel::sql_types::Text, _>(name)
            .execute(self.conn())?;
        Ok(())
    }

    /// Keeps a fit; `row.id` is not used.
    pub fn add_fit(&mut self, row: &FitRow) -> Result<FitId, Error> {
        let id: FitId = self.fresh();
        let values = (
            (fits::estate_id.eq(Db(self.estate())), fits::id.eq(Db(id))),
            (fits::kind_code.eq(&row.kind), fits::made_at.eq(row.made_at)),
            (
                fits::known_at.eq(row.known_at),
                fits::verdict.eq(&row.verdict),
            ),
            (fits::units.eq(row.units), fits::failures.eq(row.failures)),
            fits::merged_away.eq(row.merged_away),
            (fits::body.eq(&row.body), fits::digest.eq(&row.digest)),
        );
        diesel::insert_into(fits::table)
            .values(values)
            .execute(self.conn())?;
        Ok(id)
    }

    /// The last fit of each kind.
    pub fn last_fits(&mut self) -> Result<BTreeMap<String, FitRow>, Error> {
        let estate = self.estate();
        let rows: Vec<FitColumns> = fits::table
            .filter(fits::estate_id.eq(Db(estate)))
            .distinct_on(fits::kind_code)
            .order((fits::kind_code, fits::made_at.desc(), fits::id.desc()))
            .select(fit_columns!())
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(read_fit)
            .map(|row| (row.kind.clone(), row))
            .collect())
    }

    /// The fit of each kind that stood at a moment.
    pub fn fits_known(&mut self, at: DateTime<Utc>) -> Result<BTreeMap<String, FitRow>, Error> {
        let estate = self.estate();
        let rows: Vec<FitColumns> = fits::table
            .filter(fits::estate_id.eq(Db(estate)).and(fits::made_at.le(at)))
            .distinct_on(fits::kind_code)
            .order((fits::kind_code, fits::made_at.desc(), fits::id.desc()))
            .select(fit_columns!())
            .load(self.conn())?;
        let kept = rows.into_iter().map(read_fit);
        Ok(kept.map(|row| (row.kind.clone(), row)).collect())
    }

    /// The last fit of one kind.
    pub fn last_fit(&mut self, kind: &str) -> Result<Option<FitRow>, Error> {
        let estate = self.estate();
        let row: Option<FitColumns> = fits::table
            .filter(fits::estate_id.eq(Db(estate)).and(fits::kind_code.eq(kind)))
            .order((fits::made_at.desc(), fits::id.desc()))
            .select(fit_columns!())
            .first(self.conn())
            .optional()?;
        Ok(row.map(read_fit))
    }

    /// Ends the present forecasts of these units.
    pub fn supersede_forecasts(&mut self, of: &[UnitId]) -> Result<usize, Error> {
        let (estate, at) = (self.estate(), self.at());
        let mut ended = 0;
        for chunk in of.chunks(5000) {
            let ids: Vec<Uuid> = chunk.iter().map(|u| u.0).collect();
            ended += diesel::update(
                forecasts::table.filter(
                    forecasts::estate_id
                        .eq(Db(estate))
                        .and(forecasts::unit_id.eq_any(ids))
                        .and(forecasts::superseded_at.is_null()),
                ),
            )
            .set(forecasts::superseded_at.eq(at))
            .execute(self.conn())?;
        }
        Ok(ended)
    }

    /// Keeps forecasts; `id` and `superseded_at` of each are not used.
    pub fn add_forecasts(&mut self, rows: &[ForecastRow]) -> Result<(), Error> {
        for chunk in rows.chunks(BATCH) {
            let values: Vec<_> = chunk
                .iter()
                .map(|row| {
                    let id: ForecastId = self.fresh();
                    (
                        (
                            forecasts::estate_id.eq(Db(self.estate())),
                            forecasts::id.eq(Db(id)),
                            forecasts::unit_id.eq(Db(row.unit)),
                            forecasts::fit_id.eq(Db(row.fit)),
                        ),
                        (
                            forecasts::made_at.eq(row.made_at),
                            forecasts::known_at.eq(row.known_at),
                            forecasts::made_on.eq(row.made_on),
                        ),
                        (
                            forecasts::chance_12m.eq(row.year.chance),
                            forecasts::chance_12m_low.eq(row.year.low),
                            forecasts::chance_12m_high.eq(row.year.high),
                            forecasts::expected_12m.eq(row.expected_12m),
                        ),
                        (
                            forecasts::chance_season.eq(row.season.chance),
                            forecasts::chance_season_low.eq(row.season.low),
                            forecasts::chance_season_high.eq(row.season.high),
                        ),
                        (
                            forecasts::season_from.eq(row.season_from),
                            forecasts::season_until.eq(row.season_until),
                            forecasts::body.eq(&row.body),
                            forecasts::facts_digest.eq(&row.facts_digest),
                        ),
                    )
                })
                .collect();
            diesel::insert_into(forecasts::table)
                .values(values)
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// The forecast of a unit that stood at `at`: with the transaction's own instant, the present one.
    pub fn forecast_known(
        &mut self,
        unit: UnitId,
        at: DateTime<Utc>,
    ) -> Result<Option<ForecastRow>, Error> {
        let estate = self.estate();
        let row: Option<ForecastColumns> = forecasts::table
            .filter(
                forecasts::estate_id
                    .eq(Db(estate))
                    .and(forecasts::unit_id.eq(Db(unit)))
                    .and(forecasts::made_at.le(at))
                    .and(
                        forecasts::superseded_at
                            .is_null()
                            .or(forecasts::superseded_at.gt(at)),
                    ),
            )
            .order((forecasts::made_at.desc(), forecasts::id.desc()))
            .select(forecast_columns!())
            .first(self.conn())
            .optional()?;
        Ok(row.map(read_forecast))
    }

    /// The present forecasts of these units.
    pub fn forecasts_of(&mut self, of: &[UnitId]) -> Result<BTreeMap<UnitId, ForecastRow>, Error> {
        let estate = self.estate();
        let mut found = BTreeMap::new();
        for chunk in of.chunks(5000) {
            let ids: Vec<Uuid> = chunk.iter().map(|u| u.0).collect();
            let rows: Vec<ForecastColumns> = forecasts::table
                .filter(
                    forecasts::estate_id
                        .eq(Db(estate))
                        .and(forecasts::unit_id.eq_any(ids))
                        .and(forecasts::superseded_at.is_null()),
                )
                .select(forecast_columns!())
                .load(self.conn())?;
            found.extend(rows.into_iter().map(read_forecast).map(|r| (r.unit, r)));
        }
        Ok(found)
    }

    /// The ids of the present forecasts of these units, each with the digest of the facts it rests on.
    pub fn standing_forecasts(
        &mut self,
        of: &[UnitId],
    ) -> Result<BTreeMap<UnitId, (ForecastId, String)>, Error> {
        let estate = self.estate();
        let mut found = BTreeMap::new();
        for chunk in of.chunks(5000) {
            let ids: Vec<Uuid> = chunk.iter().map(|u| u.0).collect();
            let rows: Vec<(Db<UnitId>, Db<ForecastId>, String)> = forecasts::table
                .filter(
                    forecasts::estate_id
                        .eq(Db(estate))
                        .and(forecasts::unit_id.eq_any(ids))
                        .and(forecasts::superseded_at.is_null()),
                )
                .select((forecasts::unit_id, forecasts::id, forecasts::facts_digest))
                .load(self.conn())?;
            found.extend(rows.into_iter().map(|(u, id, facts)| (u.0, (id.0, facts))));
        }
        Ok(found)
    }

    /// The present forecasts of kinds with at least `least` failures on record, most likely in the season first.
    pub fn likeliest_forecasts(
        &mut self,
        least: i32,
        limit: i64,
    ) -> Result<Vec<ForecastRow>, Error> {
        let estate = self.estate();
        let rows: Vec<ForecastColumns> = forecasts::table
            .inner_join(
                fits::table.on(fits::estate_id
                    .eq(forecasts::estate_id)
                    .and(fits::id.eq(forecasts::fit_id))),
            )
            .filter(
                forecasts::estate_id
                    .eq(Db(estate))
                    .and(forecasts::superseded_at.is_null())
                    .and(fits::failures.ge(least)),
            )
            .order((
                forecasts::chance_season.desc(),
                forecasts::expected_12m.desc(),
                forecasts::unit_id,
            ))
            .limit(limit)
            .select(forecast_columns!())
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_forecast).collect())
    }

    /// Every forecast that stood at `at`.
    pub fn forecasts_standing(&mut self, at: DateTime<Utc>) -> Result<Vec<ForecastRow>, Error> {
        let estate = self.estate();
        let rows: Vec<ForecastColumns> = forecasts::table
            .filter(
                forecasts::estate_id
                    .eq(Db(estate))
                    .and(forecasts::made_at.le(at))
                    .and(
                        forecasts::superseded_at
                            .is_null()
                            .or(forecasts::superseded_at.gt(at)),
                    ),
            )
            .order((forecasts::unit_id, forecasts::made_at, forecasts::id))
            .select(forecast_columns!())
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_forecast).collect())
    }

    /// Keeps the brief of a day; the first one stands.
    pub fn add_brief(&mut self, on: NaiveDate, body: &str) -> Result<bool, Error> {
        let id: Uuid = self.fresh();
        let values = (
            (briefs::estate_id.eq(Db(self.estate())), briefs::id.eq(id)),
            (briefs::made_on.eq(on), briefs::made_at.eq(self.at())),
            briefs::body.eq(body),
        );
        let added = diesel::insert_into(briefs::table)
            .values(values)
            .on_conflict_do_nothing()
            .execute(self.conn())?;
        Ok(added == 1)
    }

    /// The brief of a day.
    pub fn brief(&mut self, on: NaiveDate) -> Result<Option<String>, Error> {
        let estate = self.estate();
        Ok(briefs::table
            .filter(briefs::estate_id.eq(Db(estate)).and(briefs::made_on.eq(on)))
            .select(briefs::body)
            .first(self.conn())
            .optional()?)
    }
}
