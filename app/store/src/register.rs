//! Buildings, storeys and spaces: identities once, facts added and superseded.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::place::{BuildingCard, LevelCard, SpaceCard};
use terms::{BuildingId, ImportId, LevelId, SpaceId, UsedAs};
use uuid::Uuid;

use crate::estate_schema::{building_facts, buildings, levels, space_facts, spaces};
pub use crate::residents::WayIn;
use crate::{Db, Error, Tx};

impl Tx<'_> {
    /// Adds a building with what is known of it; its id is made here and `card.id` is not used.
    pub fn add_building(&mut self, card: &BuildingCard) -> Result<BuildingId, Error> {
        let id: BuildingId = self.fresh();
        let row = (
            (
                buildings::estate_id.eq(Db(self.estate())),
                buildings::id.eq(Db(id)),
            ),
            (
                buildings::code.eq(&card.code),
                buildings::made_at.eq(self.at()),
            ),
        );
        diesel::insert_into(buildings::table)
            .values(row)
            .execute(self.conn())?;
        self.state_building(id, card)?;
        Ok(id)
    }

    /// States anew what is known of a building; what was known stays readable.
    pub fn state_building(&mut self, id: BuildingId, card: &BuildingCard) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            building_facts::table.filter(
                building_facts::estate_id
                    .eq(Db(estate))
                    .and(building_facts::building_id.eq(Db(id)))
                    .and(building_facts::superseded_at.is_null()),
            ),
        )
        .set(building_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        let fact: Uuid = self.fresh();
        let row = (
            (
                building_facts::estate_id.eq(Db(estate)),
                building_facts::id.eq(fact),
            ),
            (
                building_facts::building_id.eq(Db(id)),
                building_facts::name.eq(&card.name),
            ),
            building_facts::address.eq(&card.address),
            building_facts::country.eq(card.country.code()),
            building_facts::built_year.eq(card.built_year),
            building_facts::higher_risk.eq(card.higher_risk),
            building_facts::hardness_mg_l.eq(card.hardness_mg_l),
            building_facts::asbestos_register.eq(&card.asbestos_register),
            building_facts::note.eq(&card.note),
            (
                building_facts::happened_on.eq(self.today()),
                building_facts::recorded_at.eq(at),
            ),
            building_facts::recorded_by.eq(Db(self.who())),
        );
        diesel::insert_into(building_facts::table)
            .values(row)
            .execute(self.conn())?;
        self.index_words("building", id.0, &format!("{} {}", card.name, card.code))
    }

    /// Every building, by name.
    pub fn buildings(&mut self) -> Result<Vec<BuildingCard>, Error> {
        let estate = self.estate();
        type Row = (
            (Db<BuildingId>, String, String, String, String),
            (Option<i32>, Option<bool>, Option<f64>, String, String),
        );
        let rows: Vec<Row> = buildings::table
            .inner_join(
                building_facts::table.on(building_facts::estate_id
                    .eq(buildings::estate_id)
                    .and(building_facts::building_id.eq(buildings::id))),
            )
            .filter(
                buildings::estate_id
                    .eq(Db(estate))
                    .and(building_facts::superseded_at.is_null()),
            )
            .order((building_facts::name, buildings::id))
            .select((
                (
                    buildings::id,
                    buildings::code,
                    building_facts::name,
                    building_facts::address,
                    building_facts::country,
                ),
                (
                    building_facts::built_year,
                    building_facts::higher_risk,
                    building_facts::hardness_mg_l,
                    building_facts::asbestos_register,
                    building_facts::note,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(a, b)| {
                Ok(BuildingCard {
                    id: a.0.0,
                    code: a.1,
                    name: a.2,
                    address: a.3,
                    country: read_code(&a.4)?,
                    built_year: b.0,
                    higher_risk: b.1,
                    hardness_mg_l: b.2,
                    asbestos_register: b.3,
                    note: b.4,
                })
            })
            .collect()
    }

    /// One building.
    pub fn building(&mut self, id: BuildingId) -> Result<BuildingCard, Error> {
        self.buildings()?
            .into_iter()
            .find(|b| b.id == id)
            .ok_or(Error::NotFound("building"))
    }

    /// Adds a storey, or finds the one with this ordinal.
    pub fn add_level(
        &mut self,
        building: BuildingId,
        ordinal: i32,
        label: &str,
    ) -> Result<LevelId, Error> {
        let estate = self.estate();
        let there: Option<Db<LevelId>> = levels::table
            .filter(
                levels::estate_id
                    .eq(Db(estate))
                    .and(levels::building_id.eq(Db(building)))
                    .and(levels::ordinal.eq(ordinal)),
            )
            .select(levels::id)
            .first(self.conn())
            .optional()?;
        if let Some(Db(id)) = there {
            return Ok(id);
        }
        let id: LevelId = self.fresh();
        let row = (
            (levels::estate_id.eq(Db(estate)), levels::id.eq(Db(id))),
            (
                levels::building_id.eq(Db(building)),
                levels::ordinal.eq(ordinal),
            ),
            levels::label.eq(label),
        );
        diesel::insert_into(levels::table)
            .values(row)
            .execute(self.conn())?;
        Ok(id)
    }

    /// The storeys of a building, lowest first.
    pub fn levels_of(&mut self, building: BuildingId) -> Result<Vec<LevelCard>, Error> {
        let estate = self.estate();
        let rows: Vec<(Db<LevelId>, i32, String)> = levels::table
            .filter(
                levels::estate_id
                    .eq(Db(estate))
                    .and(levels::building_id.eq(Db(building))),
            )
            .order(levels::ordinal)
            .select((levels::id, levels::ordinal, levels::label))
            .load(self.conn())?;
        Ok(rows
            .into_iter()
            .map(|(id, ordinal, label)| LevelCard {
                id: id.0,
                ordinal,
                label,
            })
            .collect())
    }

    /// Adds a space; its id is made here. `card.building_name` and `card.ordinal` are not used.
    pub fn add_space(
        &mut self,
        card: &SpaceCard,
        import: Option<ImportId>,
    ) -> Result<SpaceId, Error> {
        let id: SpaceId = self.fresh();
        let row = (
            (
                spaces::estate_id.eq(Db(self.estate())),
                spaces::id.eq(Db(id)),
            ),
            (
                spaces::building_id.eq(Db(card.building)),
                spaces::level_id.eq(Db(card.level)),
            ),
            (spaces::place.eq(card.place), spaces::made_at.eq(self.at())),
            spaces::import_id.eq(import.map(Db)),
        );
        diesel::insert_into(spaces::table)
            .values(row)
            .execute(self.conn())?;
        self.state_space(id, card, import)?;
        Ok(id)
    }

    /// States anew what is known of a space, as of today.
    pub fn state_space(
        &mut self,
        id: SpaceId,
        card: &SpaceCard,
        import: Option<ImportId>,
    ) -> Result<(), Error> {
        let today = self.today();
        self.state_space_as_of(id, card, (import, today))
    }

    /// The same as of another day: the one on which somebody was there.
    pub fn state_space_as_of(
        &mut self,
        id: SpaceId,
        card: &SpaceCard,
        (import, on): (Option<ImportId>, NaiveDate),
    ) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            space_facts::table.filter(
                space_facts::estate_id
                    .eq(Db(estate))
                    .and(space_facts::space_id.eq(Db(id)))
                    .and(space_facts::superseded_at.is_null()),
            ),
        )
        .set(space_facts::superseded_at.eq(at))
        .execute(self.conn())?;
        let fact: Uuid = self.fresh();
        let row = (
            (
                space_facts::estate_id.eq(Db(estate)),
                space_facts::id.eq(fact),
            ),
            (
                space_facts::space_id.eq(Db(id)),
                space_facts::name.eq(&card.name),
            ),
            space_facts::used_as.eq(card.used_as.code()),
            (
                space_facts::stair.eq(&card.stair),
                space_facts::let_short.eq(card.let_short),
            ),
            space_facts::site.eq(&card.site),
            (
                space_facts::happened_on.eq(on),
                space_facts::recorded_at.eq(at),
            ),
            space_facts::recorded_by.eq(Db(self.who())),
            space_facts::import_id.eq(import.map(Db)),
        );
        diesel::insert_into(space_facts::table)
            .values(row)
            .execute(self.conn())?;
        let building = self.building(card.building)?;
        self.index_words("space", id.0, &format!("{} {}", card.name, building.name))
    }

    /// The spaces of a building, or of the whole estate, lowest storey first, left to right.
    pub fn spaces(&mut self, of: Option<BuildingId>) -> Result<Vec<SpaceCard>, Error> {
        let estate = self.estate();
        let mut query = spaces::table
            .inner_join(
                space_facts::table.on(space_facts::estate_id
                    .eq(spaces::estate_id)
                    .and(space_facts::space_id.eq(spaces::id))),
            )
            .inner_join(
                levels::table.on(levels::estate_id
                    .eq(spaces::estate_id)
                    .and(levels::id.eq(spaces::level_id))),
            )
            .inner_join(
                building_facts::table.on(building_facts::estate_id
                    .eq(spaces::estate_id)
                    .and(building_facts::building_id.eq(spaces::building_id))),
            )
            .filter(
                spaces::estate_id
                    .eq(Db(estate))
                    .and(space_facts::superseded_at.is_null())
                    .and(building_facts::superseded_at.is_null()),
            )
            .into_boxed();
        if let Some(building) = of {
            query = query.filter(spaces::building_id.eq(Db(building)));
        }
        let rows: Vec<SpaceRow> = query
            .order((building_facts::name, levels::ordinal, spaces::place))
            .select((
                (
                    spaces::id,
                    spaces::building_id,
                    building_facts::name,
                    spaces::level_id,
                    levels::ordinal,
                    spaces::place,
                ),
                (
                    space_facts::name,
                    space_facts::used_as,
                    space_facts::stair,
                    space_facts::let_short,
                    space_facts::site,
                ),
            ))
            .load(self.conn())?;
        rows.into_iter().map(read_space).collect()
    }

    /// One space.
    pub fn space(&mut self, id: SpaceId) -> Result<SpaceCard, Error> {
        let estate = self.estate();
        let building: Db<BuildingId> = spaces::table
            .filter(spaces::estate_id.eq(Db(estate)).and(spaces::id.eq(Db(id))))
            .select(spaces::building_id)
            .first(self.conn())
            .optional()?
            .ok_or(Error::NotFound("space"))?;
        self.spaces(Some(building.0))?
            .into_iter()
            .find(|space| space.id == id)
            .ok_or(Error::NotFound("space"))
    }
}

type SpaceRow = (
    (Db<SpaceId>, Db<BuildingId>, String, Db<LevelId>, i32, i32),
    (
        String,
        String,
        Option<String>,
        Option<bool>,
        serde_json::Value,
    ),
);

fn read_space((a, b): SpaceRow) -> Result<SpaceCard, Error> {
    Ok(SpaceCard {
        id: a.0.0,
        building: a.1.0,
        building_name: a.2,
        level: a.3.0,
        ordinal: a.4,
        place: a.5,
        name: b.0,
        used_as: read_code::<UsedAs>(&b.1)?,
        stair: b.2,
        let_short: b.3,
        site: b.4,
    })
}

/// Reads a stored code.
pub(crate) fn read_code<T: std::str::FromStr<Err = terms::codes::UnknownCode>>(
    code: &str,
) -> Result<T, Error> {
    code.parse()
        .map_err(|e: terms::codes::UnknownCode| Error::Unreadable(e.to_string()))
}
