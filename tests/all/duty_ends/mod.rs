//! The loose ends of duties: events with a time of their own, a first check lined up, reviews, care valves, one bearer a
//! building, and that every date says itself.
mod events;
mod pages;
mod reviews;
mod valves;

use terms::place::SpaceCard;
use terms::{LevelId, SpaceId, UnitId, UsedAs};
use usecases::Error;
use uuid::Uuid;

use crate::duties::Estate;

fn fields(error: Error) -> Vec<String> {
    match error {
        Error::Invalid(wrongs) => wrongs.into_iter().map(|w| w.field).collect(),
        other => panic!("{other}"),
    }
}

fn tank(estate: &Estate, number: &str) -> UnitId {
    let roof = SpaceCard {
        id: SpaceId(Uuid::nil()),
        building: estate.building,
        building_name: String::new(),
        level: LevelId(estate.level.0),
        ordinal: 0,
        // Each roof has a place of its own on the storey.
        place: 90 + number.bytes().last().map_or(0, i32::from),
        name: format!("Roof {number}"),
        used_as: UsedAs::Roof,
        stair: None,
        let_short: None,
        site: serde_json::json!({}),
    };
    let roof = estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(tx.add_space(&roof, None)?)
        })
        .unwrap();
    estate.unit("CT", number, roof, None)
}
