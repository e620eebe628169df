//! Branches: pipes that carry heat or water, what feeds them and what hangs on them, dated.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::{BranchId, BuildingId, SpaceId, UnitId};
use uuid::Uuid;

use crate::estate_schema::{branch_facts, branch_links, branches};
use crate::{Db, Error, Tx};

/// What is known of a branch.
#[derive(Clone, Debug, PartialEq)]
pub struct BranchCard {
    /// Its id.
    pub id: BranchId,
    /// The building.
    pub building: BuildingId,
    /// "Riser 4"
    pub name: String,
    /// "riser", "zone" or "header".
    pub kind: String,
    /// How many of its feeding units it needs on the coldest day.
    pub needed: Option<i32>,
    /// Units that feed it.
    pub fed_by: Vec<UnitId>,
    /// Branches that feed it.
    pub fed_by_branches: Vec<BranchId>,
    /// Spaces that hang on it.
    pub spaces: Vec<SpaceId>,
}

/// The other end of a link of a branch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// A unit that feeds the branch.
    FedBy(UnitId),
    /// A branch that feeds the branch.
    FedByBranch(BranchId),
    /// A space that hangs on it.
    Space(SpaceId),
}

impl Tx<'_> {
    /// Adds a branch.
    pub fn add_branch(
        &mut self,
        building: BuildingId,
        name: &str,
        kind: &str,
        needed: Option<i32>,
    ) -> Result<BranchId, Error> {
        let id: BranchId = self.fresh();
        diesel::insert_into(branches::table)
            .values((
                (
                    branches::estate_id.eq(Db(self.estate())),
                    branches::id.eq(Db(id)),
                ),
                (
                    branches::building_id.eq(Db(building)),
                    branches::made_at.eq(self.at()),
                ),
            ))
            .execute(self.conn())?;
        let fact: Uuid = self.fresh();
        diesel::insert_into(branch_facts::table)
            .values((
                (
                    branch_facts::estate_id.eq(Db(self.estate())),
                    branch_facts::id.eq(fact),
                ),
                (
                    branch_facts::branch_id.eq(Db(id)),
                    branch_facts::name.eq(name),
                ),
                (branch_facts::kind.eq(kind), branch_facts::needed.eq(needed)),
                (
                    branch_facts::happened_on.eq(self.today()),
                    branch_facts::recorded_at.eq(self.at()),
                ),
                branch_facts::recorded_by.eq(Db(self.who())),
            ))
            .execute(self.conn())?;
        Ok(id)
    }

    /// Links a branch with what feeds it or hangs on it, from a day.
    pub fn link_branch(
        &mut self,
        branch: BranchId,
        end: End,
        from_on: NaiveDate,
    ) -> Result<(), Error> {
        let id: Uuid = self.fresh();
        let (side, unit, space, other) = match end {
            End::FedBy(unit) => ("feeds", Some(unit), None, None),
            End::FedByBranch(other) => ("feeds", None, None, Some(other)),
            End::Space(space) => ("hangs_on", None, Some(space), None),
        };
        diesel::insert_into(branch_links::table)
            .values((
                (
                    branch_links::estate_id.eq(Db(self.estate())),
                    branch_links::id.eq(id),
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
                branch_links::from_on.eq(from_on),
                (
                    branch_links::recorded_at.eq(self.at()),
                    branch_links::recorded_by.eq(Db(self.who())),
                ),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// The branches of a building as they stand on `day`, by name.
    pub fn branches(
        &mut self,
        building: BuildingId,
        day: NaiveDate,
    ) -> Result<Vec<BranchCard>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<BranchId>, String, String, Option<i32>)> = branches::table
            .inner_join(
                branch_facts::table.on(branch_facts::estate_id
                    .eq(branches::estate_id)
                    .and(branch_facts::branch_id.eq(branches::id))),
            )
            .filter(
                branches::estate_id
                    .eq(Db(estate))
                    .and(branches::building_id.eq(Db(building)))
                    .and(branch_facts::superseded_at.is_null()),
            )
            .order((branch_facts::name, branches::id))
            .select((
                branches::id,
                branch_facts::name,
                branch_facts::kind,
                branch_facts::needed,
            ))
            .load(self.conn())?;
        let mut cards: Vec<BranchCard> = rows
            .into_iter()
            .map(|(id, name, kind, needed)| BranchCard {
                id: id.0,
                building,
                name,
                kind,
                needed,
                fed_by: Vec::new(),
                fed_by_branches: Vec::new(),
                spaces: Vec::new(),
            })
            .collect();
        for (branch, end) in self.links_of(building, day)? {
            let Some(card) = cards.iter_mut().find(|c| c.id == branch) else {
                continue;
            };
            match end {
                End::FedBy(unit) => card.fed_by.push(unit),
                End::FedByBranch(other) => card.fed_by_branches.push(other),
                End::Space(space) => card.spaces.push(space),
            }
        }
        Ok(cards)
    }

    fn links_of(
        &mut self,
        building: BuildingId,
        day: NaiveDate,
    ) -> Result<Vec<(BranchId, End)>, Error> {
        let estate = self.estate();
        type Row = (
            Db<BranchId>,
            Option<Db<UnitId>>,
            Option<Db<SpaceId>>,
            Option<Db<BranchId>>,
        );
        let rows: Vec<Row> = branch_links::table
            .inner_join(
                branches::table.on(branches::estate_id
                    .eq(branch_links::estate_id)
                    .and(branches::id.eq(branch_links::branch_id))),
            )
            .filter(
                branch_links::estate_id
                    .eq(Db(estate))
                    .and(branches::building_id.eq(Db(building)))
                    .and(branch_links::superseded_at.is_null())
                    .and(branch_links::from_on.le(day))
                    .and(
                        branch_links::until_on
                            .is_null()
                            .or(branch_links::until_on.gt(day)),
                    ),
            )
            .order(branch_links::id)
            .select((
                branch_links::branch_id,
                branch_links::unit_id,
                branch_links::space_id,
                branch_links::other_branch_id,
            ))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .filter_map(|(branch, unit, space, other)| {
                let end = match (unit, space, other) {
                    (Some(unit), _, _) => End::FedBy(unit.0),
                    (_, Some(space), _) => End::Space(space.0),
                    (_, _, Some(other)) => End::FedByBranch(other.0),
                    (None, None, None) => return None,
                };
                Some((branch.0, end))
            })
            .collect())
    }
}
