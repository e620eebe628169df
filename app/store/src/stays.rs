//! Where units stand and what they serve, over time.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{BranchId, BuildingId, ImportId, PlacementId, SpaceId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{branch_links, placements, serves, spaces};
use crate::{Db, Error, Tx};

/// One stay of a unit in a space.
#[derive(Clone, Debug, PartialEq)]
pub struct Stay {
    /// The unit.
    pub unit: UnitId,
    /// The space.
    pub space: SpaceId,
    /// First day; `None` when unknown.
    pub from_on: Option<NaiveDate>,
    /// Last day; `None` while it stands there.
    pub until_on: Option<NaiveDate>,
}

impl Tx<'_> {
    /// Opens a stay of a unit in a space.
    pub fn place_unit(
        &mut self,
        unit: UnitId,
        space: SpaceId,
        from_on: Option<NaiveDate>,
        import: Option<ImportId>,
    ) -> Result<PlacementId, Error> {
        let id: PlacementId = self.fresh();
        let row = (
            (
                placements::estate_id.eq(Db(self.estate())),
                placements::id.eq(Db(id)),
            ),
            (
                placements::unit_id.eq(Db(unit)),
                placements::space_id.eq(Db(space)),
            ),
            (
                placements::from_on.eq(from_on),
                placements::recorded_at.eq(self.at()),
            ),
            placements::recorded_by.eq(Db(self.who())),
            placements::import_id.eq(import.map(Db)),
        );
        diesel::insert_into(placements::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// A unit serves a space from a day.
    pub fn serve_space(
        &mut self,
        unit: UnitId,
        space: SpaceId,
        from_on: Option<NaiveDate>,
        import: Option<ImportId>,
    ) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let row = (
            (serves::estate_id.eq(Db(self.estate())), serves::id.eq(id)),
            (
                serves::unit_id.eq(Db(unit)),
                serves::space_id.eq(Some(Db(space))),
            ),
            (
                serves::from_on.eq(from_on),
                serves::recorded_at.eq(self.at()),
            ),
            (
                serves::recorded_by.eq(Db(self.who())),
                serves::import_id.eq(import.map(Db)),
            ),
        );
        diesel::insert_into(serves::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// Closes the open stay of a unit on `until_on`: the open row is superseded by one with its end.
    pub fn end_stay(&mut self, unit: UnitId, until_on: NaiveDate) -> Result<(), Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        let open: Vec<(Db<SpaceId>, Option<NaiveDate>)> = diesel::update(
            placements::table.filter(
                placements::estate_id
                    .eq(Db(estate))
                    .and(placements::unit_id.eq(Db(unit)))
                    .and(placements::until_on.is_null())
                    .and(placements::superseded_at.is_null()),
            ),
        )
        .set(placements::superseded_at.eq(at))
        .returning((placements::space_id, placements::from_on))
        .get_results(self.conn())?;
        for (space, from_on) in open {
            let id: PlacementId = self.fresh();
            diesel::insert_into(placements::table)
                .values((
                    (
                        placements::estate_id.eq(Db(estate)),
                        placements::id.eq(Db(id)),
                    ),
                    (
                        placements::unit_id.eq(Db(unit)),
                        placements::space_id.eq(space),
                    ),
                    (
                        placements::from_on.eq(from_on),
                        placements::until_on.eq(Some(until_on)),
                    ),
                    (
                        placements::recorded_at.eq(at),
                        placements::recorded_by.eq(Db(who)),
                    ),
                ))
                .execute(self.conn())?;
        }
        Ok(())
    }

    /// Every stay in a space, oldest first.
    pub fn stays_in(&mut self, space: SpaceId) -> Result<Vec<Stay>, Error> {
        let estate = self.estate();
        let rows: Vec<StayRow> = placements::table
            .filter(
                placements::estate_id
                    .eq(Db(estate))
                    .and(placements::space_id.eq(Db(space)))
                    .and(placements::superseded_at.is_null()),
            )
            .order((placements::from_on.asc().nulls_first(), placements::id))
            .select((
                placements::unit_id,
                placements::space_id,
                placements::from_on,
                placements::until_on,
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_stay).collect())
    }

    /// Every stay of a unit, oldest first.
    pub fn stays_of(&mut self, unit: UnitId) -> Result<Vec<Stay>, Error> {
        let estate = self.estate();
        let rows: Vec<StayRow> = placements::table
            .filter(
                placements::estate_id
                    .eq(Db(estate))
                    .and(placements::unit_id.eq(Db(unit)))
                    .and(placements::superseded_at.is_null()),
            )
            .order((placements::from_on.asc().nulls_first(), placements::id))
            .select((
                placements::unit_id,
                placements::space_id,
                placements::from_on,
                placements::until_on,
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_stay).collect())
    }

    /// Every stay in the spaces of a building, oldest first.
    pub fn stays_in_building(&mut self, building: BuildingId) -> Result<Vec<Stay>, Error> {
        let estate = self.estate();
        let rows: Vec<StayRow> = placements::table
            .inner_join(
                spaces::table.on(spaces::estate_id
                    .eq(placements::estate_id)
                    .and(spaces::id.eq(placements::space_id))),
            )
            .filter(
                placements::estate_id
                    .eq(Db(estate))
                    .and(spaces::building_id.eq(Db(building)))
                    .and(placements::superseded_at.is_null()),
            )
            .order((placements::from_on.asc().nulls_first(), placements::id))
            .select((
                placements::unit_id,
                placements::space_id,
                placements::from_on,
                placements::until_on,
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().map(read_stay).collect())
    }

    /// What a unit serves now stops being served by it on `until_on`: the open rows are superseded by ones
    /// with their end. Answers the spaces and branches it served.
    pub fn end_serving(&mut self, unit: UnitId, until_on: NaiveDate) -> Result<Vec<Served>, Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        type Row = (Option<Db<SpaceId>>, Option<Db<BranchId>>, Option<NaiveDate>);
        let open: Vec<Row> = diesel::update(
            serves::table.filter(
                serves::estate_id
                    .eq(Db(estate))
                    .and(serves::unit_id.eq(Db(unit)))
                    .and(serves::until_on.is_null())
                    .and(serves::superseded_at.is_null()),
            ),
        )
        .set(serves::superseded_at.eq(at))
        .returning((serves::space_id, serves::branch_id, serves::from_on))
        .get_results(self.conn())?;
        for (space, branch, from_on) in &open {
            let id: Uuid = self.fresh();
            diesel::insert_into(serves::table)
                .values((
                    (serves::estate_id.eq(Db(estate)), serves::id.eq(id)),
                    (
                        serves::unit_id.eq(Db(unit)),
                        serves::space_id.eq(*space),
                        serves::branch_id.eq(*branch),
                    ),
                    (
                        serves::from_on.eq(*from_on),
                        serves::until_on.eq(Some(until_on)),
                    ),
                    (serves::recorded_at.eq(at), serves::recorded_by.eq(Db(who))),
                ))
                .execute(self.conn())?;
        }
        Ok(open
            .into_iter()
            .map(|(space, branch, _)| (space.map(|s| s.0), branch.map(|b| b.0)))
            .collect())
    }

    /// A unit serves a branch from a day.
    pub fn serve_branch(
        &mut self,
        unit: UnitId,
        branch: BranchId,
        from_on: Option<NaiveDate>,
    ) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        diesel::insert_into(serves::table)
            .values((
                (serves::estate_id.eq(Db(self.estate())), serves::id.eq(id)),
                (
                    serves::unit_id.eq(Db(unit)),
                    serves::branch_id.eq(Some(Db(branch))),
                ),
                (
                    serves::from_on.eq(from_on),
                    serves::recorded_at.eq(self.at()),
                ),
                serves::recorded_by.eq(Db(self.who())),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// What a unit serves on `day`: spaces and branches.
    pub fn served_by(&mut self, unit: UnitId, day: NaiveDate) -> Result<Vec<Served>, Error> {
        let estate = self.estate();
        let rows: Vec<ServedRow> = serves::table
            .filter(
                serves::estate_id
                    .eq(Db(estate))
                    .and(serves::unit_id.eq(Db(unit)))
                    .and(serves::superseded_at.is_null())
                    .and(serves::until_on.is_null().or(serves::until_on.ge(day))),
            )
            .order(serves::id)
            .select((serves::space_id, serves::branch_id))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(space, branch)| (space.map(|s| s.0), branch.map(|b| b.0)))
            .collect())
    }

    /// The branches `old` fed are fed by `new` from `on`; the old links are closed.
    pub fn hand_over_feeding(
        &mut self,
        old: UnitId,
        new: Option<UnitId>,
        on: NaiveDate,
    ) -> Result<(), Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        let open: Vec<(Db<BranchId>, NaiveDate)> = diesel::update(
            branch_links::table.filter(
                branch_links::estate_id
                    .eq(Db(estate))
                    .and(branch_links::unit_id.eq(Some(Db(old))))
                    .and(branch_links::until_on.is_null())
                    .and(branch_links::superseded_at.is_null()),
            ),
        )
        .set(branch_links::superseded_at.eq(at))
        .returning((branch_links::branch_id, branch_links::from_on))
        .get_results(self.conn())?;
        let mut rows = Vec::new();
        for (branch, from_on) in open {
            rows.push((branch, old, from_on, Some(on)));
            rows.extend(new.map(|new| (branch, new, on, None)));
        }
        for (branch, unit, from_on, until_on) in rows {
            let id: Uuid = self.fresh();
            diesel::insert_into(branch_links::table)
                .values((
                    (
                        branch_links::estate_id.eq(Db(estate)),
                        branch_links::id.eq(id),
                    ),
                    (
                        branch_links::branch_id.eq(branch),
                        branch_links::side.eq("feeds"),
                    ),
                    branch_links::unit_id.eq(Some(Db(unit))),
                    (
                        branch_links::from_on.eq(from_on),
                        branch_links::until_on.eq(until_on),
                    ),
                    (
                        branch_links::recorded_at.eq(at),
                        branch_links::recorded_by.eq(Db(who)),
                    ),
                ))
                .execute(self.conn())?;
        }
        Ok(())
    }
}

/// What a unit serves: a space or a branch.
pub type Served = (Option<SpaceId>, Option<BranchId>);

type ServedRow = (Option<Db<SpaceId>>, Option<Db<BranchId>>);

type StayRow = (
    Db<UnitId>,
    Db<SpaceId>,
    Option<NaiveDate>,
    Option<NaiveDate>,
);

fn read_stay((unit, space, from_on, until_on): StayRow) -> Stay {
    Stay {
        unit: unit.0,
        space: space.0,
        from_on,
        until_on,
    }
}
