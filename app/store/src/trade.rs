//! The trade's dated data of an estate: kinds, part shares, duty rules, prices, rates, settings.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use diesel::prelude::*;
use terms::trade::{Kind, PartShare, Price, RealRate};
use terms::{FirmId, Pence};
use uuid::Uuid;

use crate::estate_schema::{kind_facts, part_priors, prices, rates, rule_books, settings};
use crate::{Db, Error, Tx};

impl Tx<'_> {
    /// Writes kinds of unit as known now.
    pub fn add_kinds(&mut self, kinds: &[Kind]) -> Result<(), Error> {
        let (estate, who, at) = (self.estate(), self.who(), self.at());
        for kind in kinds {
            let id: Uuid = self.fresh();
            diesel::insert_into(kind_facts::table)
                .values((
                    (kind_facts::estate_id.eq(Db(estate)), kind_facts::id.eq(id)),
                    kind_facts::kind_code.eq(&kind.code),
                    kind_facts::name.eq(&kind.name),
                    kind_facts::plural.eq(&kind.plural),
                    kind_facts::life_median_years.eq(kind.life_median_years),
                    kind_facts::life_shape.eq(kind.life_shape),
                    (
                        kind_facts::rate_3y.eq(kind.rate_3y),
                        kind_facts::rate_10y.eq(kind.rate_10y),
                    ),
                    kind_facts::rate_15y.eq(kind.rate_15y),
                    kind_facts::rate_sd_log.eq(kind.rate_sd_log),
                    (
                        kind_facts::gas.eq(kind.gas),
                        kind_facts::covers.eq(&kind.covers),
                    ),
                    (
                        kind_facts::status.eq(&kind.status),
                        kind_facts::as_at.eq(kind.as_at),
                    ),
                    kind_facts::happened_on.eq(kind.as_at),
                    (
                        kind_facts::recorded_at.eq(at),
                        kind_facts::recorded_by.eq(Db(who)),
                    ),
                ))
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// The kinds of unit, by code.
    pub fn kinds(&mut self) -> Result<Vec<Kind>, Error> {
        let estate = self.estate();
        type Row = (
            (String, String, String, f64, f64),
            (f64, f64, f64, f64),
            (bool, String, String, NaiveDate),
        );
        let rows: Vec<Row> = kind_facts::table
            .filter(
                kind_facts::estate_id
                    .eq(Db(estate))
                    .and(kind_facts::superseded_at.is_null()),
            )
            .order(kind_facts::kind_code)
            .select((
                (
                    kind_facts::kind_code,
                    kind_facts::name,
                    kind_facts::plural,
                    kind_facts::life_median_years,
                    kind_facts::life_shape,
                ),
                (
                    kind_facts::rate_3y,
                    kind_facts::rate_10y,
                    kind_facts::rate_15y,
                    kind_facts::rate_sd_log,
                ),
                (
                    kind_facts::gas,
                    kind_facts::covers,
                    kind_facts::status,
                    kind_facts::as_at,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b, c)| Kind {
                code: a.0,
                name: a.1,
                plural: a.2,
                life_median_years: a.3,
                life_shape: a.4,
                rate_3y: b.0,
                rate_10y: b.1,
                rate_15y: b.2,
                rate_sd_log: b.3,
                gas: c.0,
                covers: c.1,
                status: c.2,
                as_at: c.3,
            })
            .collect())
    }

    /// Writes part shares as known now.
    pub fn add_part_shares(&mut self, shares: &[PartShare]) -> Result<(), Error> {
        let (estate, who, at) = (self.estate(), self.who(), self.at());
        for (place, share) in shares.iter().enumerate() {
            let id: Uuid = self.fresh();
            diesel::insert_into(part_priors::table)
                .values((
                    (
                        part_priors::estate_id.eq(Db(estate)),
                        part_priors::id.eq(id),
                    ),
                    part_priors::kind_code.eq(&share.kind),
                    part_priors::part_code.eq(&share.code),
                    part_priors::name.eq(&share.name),
                    (
                        part_priors::share.eq(share.share),
                        part_priors::shape.eq(share.shape),
                    ),
                    part_priors::clock.eq(&share.clock),
                    part_priors::place.eq(i32::try_from(place).unwrap_or(i32::MAX)),
                    (
                        part_priors::status.eq(&share.status),
                        part_priors::as_at.eq(share.as_at),
                    ),
                    part_priors::happened_on.eq(share.as_at),
                    (
                        part_priors::recorded_at.eq(at),
                        part_priors::recorded_by.eq(Db(who)),
                    ),
                ))
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// The part shares of every kind, in the order of the trade's table.
    pub fn part_shares(&mut self) -> Result<Vec<PartShare>, Error> {
        let estate = self.estate();
        type Row = (String, String, String, f64, f64, String, String, NaiveDate);
        let rows: Vec<Row> = part_priors::table
            .filter(
                part_priors::estate_id
                    .eq(Db(estate))
                    .and(part_priors::superseded_at.is_null()),
            )
            .order(part_priors::place)
            .select((
                part_priors::kind_code,
                part_priors::part_code,
                part_priors::name,
                part_priors::share,
                part_priors::shape,
                part_priors::clock,
                part_priors::status,
                part_priors::as_at,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(
                |(kind, code, name, share, shape, clock, status, as_at)| PartShare {
                    kind,
                    code,
                    name,
                    share,
                    shape,
                    clock,
                    status,
                    as_at,
                },
            )
            .collect())
    }

    /// Writes prices as known now.
    pub fn add_prices(&mut self, list: &[Price]) -> Result<(), Error> {
        let (estate, who, at) = (self.estate(), self.who(), self.at());
        for price in list {
            let id: Uuid = self.fresh();
            diesel::insert_into(prices::table)
                .values((
                    (prices::estate_id.eq(Db(estate)), prices::id.eq(id)),
                    prices::firm_id.eq(price.firm.map(Db)),
                    (
                        prices::kind_code.eq(&price.kind),
                        prices::item.eq(&price.item),
                    ),
                    prices::name.eq(&price.name),
                    (
                        prices::low_pence.eq(price.low.0),
                        prices::likely_pence.eq(price.likely.0),
                    ),
                    prices::high_pence.eq(price.high.0),
                    prices::vat_percent.eq(price.vat_percent),
                    (
                        prices::status.eq(&price.status),
                        prices::as_at.eq(price.as_at),
                    ),
                    prices::happened_on.eq(price.as_at),
                    (prices::recorded_at.eq(at), prices::recorded_by.eq(Db(who))),
                ))
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// The prices of a kind: agreed ones and general ones.
    pub fn prices_of(&mut self, kind: &str) -> Result<Vec<Price>, Error> {
        let estate = self.estate();
        type Row = (
            (Option<Db<FirmId>>, String, String, String),
            (i64, i64, i64, f64, String, NaiveDate),
        );
        let rows: Vec<Row> = prices::table
            .filter(
                prices::estate_id
                    .eq(Db(estate))
                    .and(prices::kind_code.eq(kind))
                    .and(prices::superseded_at.is_null()),
            )
            .order((prices::item, prices::id))
            .select((
                (
                    prices::firm_id,
                    prices::kind_code,
                    prices::item,
                    prices::name,
                ),
                (
                    prices::low_pence,
                    prices::likely_pence,
                    prices::high_pence,
                    prices::vat_percent,
                    prices::status,
                    prices::as_at,
                ),
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(a, b)| Price {
                firm: a.0.map(|f| f.0),
                kind: a.1,
                item: a.2,
                name: a.3,
                low: Pence(b.0),
                likely: Pence(b.1),
                high: Pence(b.2),
                vat_percent: b.3,
                status: b.4,
                as_at: b.5,
            })
            .collect())
    }

    /// Writes a yearly real rate, with those of later years.
    pub fn add_rate(&mut self, rate: &RealRate) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (rates::estate_id.eq(Db(self.estate())), rates::id.eq(id)),
            (
                rates::annual_real_rate.eq(rate.rate),
                rates::later.eq(serde_json::to_value(&rate.later)?),
                rates::status.eq(&rate.status),
                rates::as_at.eq(rate.as_at),
            ),
            (
                rates::happened_on.eq(rate.as_at),
                rates::recorded_at.eq(self.at()),
            ),
            rates::recorded_by.eq(Db(self.who())),
        );
        diesel::insert_into(rates::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The yearly real rate in force on a day: the latest that holds from that day or one before; before the first of all,
    /// the first.
    pub fn rate_on(&mut self, day: NaiveDate) -> Result<RealRate, Error> {
        let estate = self.estate();
        type Row = (f64, serde_json::Value, String, NaiveDate);
        let rows: Vec<Row> = rates::table
            .filter(
                rates::estate_id
                    .eq(Db(estate))
                    .and(rates::superseded_at.is_null()),
            )
            .order((rates::as_at, rates::recorded_at))
            .select((
                rates::annual_real_rate,
                rates::later,
                rates::status,
                rates::as_at,
            ))
            .load(self.conn())?;
        let (rate, later, status, as_at) = rows
            .iter()
            .rfind(|row| row.3 <= day)
            .or(rows.first())
            .cloned()
            .ok_or(Error::NotFound("discount rate"))?;
        Ok(RealRate {
            rate,
            later: serde_json::from_value(later)?,
            status,
            as_at,
        })
    }

    /// Keeps a rule book under its hash; the same book twice changes nothing.
    pub fn keep_rule_book(
        &mut self,
        hash: &str,
        body: &str,
        as_at: NaiveDate,
    ) -> Result<(), Error> {
        let row = (
            (
                rule_books::estate_id.eq(Db(self.estate())),
                rule_books::hash.eq(hash),
            ),
            (rule_books::body.eq(body), rule_books::as_at.eq(as_at)),
            rule_books::recorded_at.eq(self.at()),
        );
        diesel::insert_into(rule_books::table)
            .values(row)
            .on_conflict_do_nothing()
            .execute(self.conn())?;
        Ok(())
    }

    /// Sets a setting from today.
    pub fn set(&mut self, key: &str, value: &str) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            settings::table.filter(
                settings::estate_id
                    .eq(Db(estate))
                    .and(settings::key.eq(key))
                    .and(settings::superseded_at.is_null()),
            ),
        )
        .set(settings::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        let row = (
            (settings::estate_id.eq(Db(estate)), settings::id.eq(id)),
            (settings::key.eq(key), settings::value.eq(value)),
            (
                settings::from_on.eq(self.today()),
                settings::recorded_at.eq(at),
            ),
            settings::recorded_by.eq(Db(self.who())),
        );
        diesel::insert_into(settings::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// A setting, when set.
    pub fn setting(&mut self, key: &str) -> Result<Option<String>, Error> {
        let estate = self.estate();
        Ok(settings::table
            .filter(
                settings::estate_id
                    .eq(Db(estate))
                    .and(settings::key.eq(key))
                    .and(settings::superseded_at.is_null()),
            )
            .select(settings::value)
            .first(self.conn())
            .optional()?)
    }

    /// The settings whose key begins with `prefix`, by key.
    pub fn settings_under(&mut self, prefix: &str) -> Result<BTreeMap<String, String>, Error> {
        let estate = self.estate();
        let rows: Vec<(String, String)> = settings::table
            .filter(
                settings::estate_id
                    .eq(Db(estate))
                    // An underscore matches any letter here, so the keys are looked at once more below.
                    .and(settings::key.like(format!("{prefix}%")))
                    .and(settings::superseded_at.is_null()),
            )
            .select((settings::key, settings::value))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .filter(|(key, _)| key.starts_with(prefix))
            .collect())
    }
}
