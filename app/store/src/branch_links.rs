//! What fed a branch and what hung on it, over time; a branch stated anew.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{BranchId, BuildingId, FactId, SpaceId, UnitId};
use uuid::Uuid;

use crate::branches::{BranchCard, End};
use crate::estate_schema::{branch_facts, branch_links, branches};
use crate::{Db, Error, Tx};

/// One link of a branch with its days.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LinkStay {
    /// Its id.
    pub id: FactId,
    /// The other end.
    pub end: End,
    /// First day.
    pub from_on: NaiveDate,
    /// The day it was taken off; `None` while it lasts.
    pub until_on: Option<NaiveDate>,
}

type Row = (
    Db<FactId>,
    (
        Option<Db<UnitId>>,
        Option<Db<SpaceId>>,
        Option<Db<BranchId>>,
    ),
    (NaiveDate, Option<NaiveDate>),
);

fn read((id, (unit, space, other), (from_on, until_on)): Row) -> Option<LinkStay> {
    let end = match (unit, space, other) {
        (Some(unit), _, _) => End::FedBy(unit.0),
        (_, Some(space), _) => End::Space(space.0),
        (_, _, Some(other)) => End::FedByBranch(other.0),
        (None, None, None) => return None,
    };
    Some(LinkStay {
        id: id.0,
        end,
        from_on,
        until_on,
    })
}

impl Tx<'_> {
    /// One branch as it stands on `day`.
    pub fn branch(&mut self, id: BranchId, day: NaiveDate) -> Result<BranchCard, Error> {
        let estate = self.estate();
        let building: Db<BuildingId> = branches::table
            .filter(
                branches::estate_id
                    .eq(Db(estate))
                    .and(branches::id.eq(Db(id))),
            )
            .select(branches::building_id)
            .first(self.conn())
            .optional()?
            .ok_or(Error::NotFound("branch"))?;
        self.branches(building.0, day)?
            .into_iter()
            .find(|b| b.id == id)
            .ok_or(Error::NotFound("branch"))
    }

    /// States anew what is known of a branch.
    pub fn state_branch(
        &mut self,
        id: BranchId,
        (name, kind, needed): (&str, &str, Option<i32>),
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            branch_facts::table.filter(
                branch_facts::estate_id
                    .eq(Db(estate))
                    .and(branch_facts::branch_id.eq(Db(id)))
                    .and(branch_facts::superseded_at.is_null()),
            ),
        )
        .set(branch_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        let fact: Uuid = self.fresh();
        diesel::insert_into(branch_facts::table)
            .values((
                (
                    branch_facts::estate_id.eq(Db(estate)),
                    branch_facts::id.eq(fact),
                ),
                (
                    branch_facts::branch_id.eq(Db(id)),
                    branch_facts::name.eq(name),
                ),
                (branch_facts::kind.eq(kind), branch_facts::needed.eq(needed)),
                (
                    branch_facts::happened_on.eq(self.today()),
                    branch_facts::recorded_at.eq(at),
                ),
                branch_facts::recorded_by.eq(Db(self.who())),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// Every link a branch ever had, the oldest first.
    pub fn links_over_time(&mut self, branch: BranchId) -> Result<Vec<LinkStay>, Error> {
        let estate = self.estate();
        let rows: Vec<Row> = branch_links::table
            .filter(
                branch_links::estate_id
                    .eq(Db(estate))
                    .and(branch_links::branch_id.eq(Db(branch)))
                    .and(branch_links::superseded_at.is_null()),
            )
            .order((branch_links::from_on, branch_links::id))
            .select((
                branch_links::id,
                (
                    branch_links::unit_id,
                    branch_links::space_id,
                    branch_links::other_branch_id,
                ),
                (branch_links::from_on, branch_links::until_on),
            ))
            .load(self.conn())?;
        Ok(rows.into_iter().filter_map(read).collect())
    }

    /// Takes a link off on a day: its row is superseded by one with its end.
    pub fn end_link(
        &mut self,
        branch: BranchId,
        link: LinkStay,
        until_on: NaiveDate,
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        let ended = diesel::update(
            branch_links::table.filter(
                branch_links::estate_id
                    .eq(Db(estate))
                    .and(branch_links::id.eq(Db(link.id)))
                    .and(branch_links::superseded_at.is_null()),
            ),
        )
        .set(branch_links::superseded_at.eq(at))
        .execute(self.conn())?;
        if ended == 0 {
            return Err(Error::Conflict("the pipe was changed".to_owned()));
        }
        let id: FactId = self.fresh();
        let (side, unit, space, other) = match link.end {
            End::FedBy(unit) => ("feeds", Some(unit), None, None),
            End::FedByBranch(other) => ("feeds", None, None, Some(other)),
            End::Space(space) => ("hangs_on", None, Some(space), None),
        };
        diesel::insert_into(branch_links::table)
            .values((
                (
                    branch_links::estate_id.eq(Db(estate)),
                    branch_links::id.eq(Db(id)),
                ),
                (
                    branch_links::branch_id.eq(Db(branch)),
                    branch_links::side.eq(side),
                ),
                (
                    branch_links::unit_id.eq(unit.map(Db)),
                    branch_links::space_id.eq(space.map(Db)),
                    branch_links::other_branch_id.eq(other.map(Db)),
                ),
                (
                    branch_links::from_on.eq(link.from_on),
                    branch_links::until_on.eq(Some(until_on)),
                ),
                (
                    branch_links::recorded_at.eq(at),
                    branch_links::recorded_by.eq(Db(self.who())),
                ),
            ))
            .execute(self.conn())?;
        Ok(())
    }
}
