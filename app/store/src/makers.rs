//! A maker's own figures for a unit: facts, stated anew or taken back, never overwritten.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::prelude::*;
use terms::{AccountId, MakerFigure, UnitId};
use uuid::Uuid;

use crate::estate_schema::maker_figures;
use crate::register::read_code;
use crate::{Db, Error, Tx};

impl Tx<'_> {
    /// States a figure; the one that stood for the same name of the same limit stays readable. `id` and the
    /// `recorded_…` fields are made here.
    pub fn state_maker_figure(&mut self, figure: &MakerFigure) -> Result<Uuid, Error> {
        self.take_back_maker_figure(figure.unit, &figure.row, &figure.name)?;
        let id: Uuid = self.fresh();
        let row = (
            (
                maker_figures::estate_id.eq(Db(self.estate())),
                maker_figures::id.eq(id),
                maker_figures::unit_id.eq(Db(figure.unit)),
            ),
            (
                maker_figures::limit_row.eq(&figure.row),
                maker_figures::name.eq(&figure.name),
                maker_figures::value.eq(figure.value),
            ),
            (
                maker_figures::source.eq(figure.source.code()),
                maker_figures::reference.eq(&figure.reference),
                maker_figures::happened_on.eq(figure.read_on),
            ),
            (
                maker_figures::recorded_at.eq(self.at()),
                maker_figures::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(maker_figures::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// Takes a figure back; answers how many stood.
    pub fn take_back_maker_figure(
        &mut self,
        unit: UnitId,
        row: &str,
        name: &str,
    ) -> Result<usize, Error> {
        let (estate, at) = (self.estate(), self.at());
        Ok(diesel::update(
            maker_figures::table.filter(
                maker_figures::estate_id
                    .eq(Db(estate))
                    .and(maker_figures::unit_id.eq(Db(unit)))
                    .and(maker_figures::limit_row.eq(row))
                    .and(maker_figures::name.eq(name))
                    .and(maker_figures::superseded_at.is_null()),
            ),
        )
        .set(maker_figures::superseded_at.eq(at))
        .execute(self.conn())?)
    }

    /// The figures of a unit by limit and name, those taken back too when `all`.
    pub fn maker_figures(&mut self, unit: UnitId, all: bool) -> Result<Vec<MakerFigure>, Error> {
        let estate = self.estate();
        type Row = (
            (Uuid, Db<UnitId>, String, String, f64),
            (String, String, NaiveDate),
            (DateTime<Utc>, Db<AccountId>, Option<DateTime<Utc>>),
        );
        let mut query = maker_figures::table
            .filter(
                maker_figures::estate_id
                    .eq(Db(estate))
                    .and(maker_figures::unit_id.eq(Db(unit))),
            )
            .into_boxed();
        if !all {
            query = query.filter(maker_figures::superseded_at.is_null());
        }
        let rows: Vec<Row> = query
            .order((
                maker_figures::limit_row,
                maker_figures::name,
                maker_figures::id,
            ))
            .select((
                (
                    maker_figures::id,
                    maker_figures::unit_id,
                    maker_figures::limit_row,
                    maker_figures::name,
                    maker_figures::value,
                ),
                (
                    maker_figures::source,
                    maker_figures::reference,
                    maker_figures::happened_on,
                ),
                (
                    maker_figures::recorded_at,
                    maker_figures::recorded_by,
                    maker_figures::superseded_at,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(a, b, c)| {
                Ok(MakerFigure {
                    id: a.0,
                    unit: a.1.0,
                    row: a.2,
                    name: a.3,
                    value: a.4,
                    source: read_code(&b.0)?,
                    reference: b.1,
                    read_on: b.2,
                    recorded_at: c.0,
                    recorded_by: c.1.0,
                    superseded_at: c.2,
                })
            })
            .collect()
    }
}
