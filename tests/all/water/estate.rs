//! A building with a store in its plant room, outlets on a round, and site staff who walk it.
use chrono::NaiveDate;
use terms::place::{BuildingCard, SpaceCard};
use terms::unit::UnitCard;
use terms::{
    BuildingId, Country, Fate, LevelId, OutletId, OutletPlace, Role, SpaceId, UnitId, UsedAs,
};
use usecases::founding::{self, NewPerson};
use usecases::water::{self, NewOutlet};
use usecases::{Error, Seat, World};
use uuid::Uuid;

use crate::support::{Client, TestApp};

pub const AGENT: &str = "agent@water.test";
pub const SITE: &str = "site@water.test";
pub const ELSEWHERE: &str = "elsewhere@water.test";
pub const OWNER: &str = "owner@water.test";

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// The estate with its people, served over HTTP.
pub struct Water {
    pub app: TestApp,
    pub seat: Seat,
    pub building: BuildingId,
    pub store: UnitId,
    pub outlets: Vec<OutletId>,
}

fn building(tx: &mut store::Tx<'_>, code: &str, name: &str) -> Result<BuildingId, Error> {
    Ok(tx.add_building(&BuildingCard {
        id: BuildingId(Uuid::nil()),
        code: code.to_owned(),
        name: name.to_owned(),
        address: "2 Rush Lane".to_owned(),
        country: Country::England,
        built_year: Some(1971),
        higher_risk: None,
        hardness_mg_l: None,
        asbestos_register: "clear".to_owned(),
        note: String::new(),
    })?)
}

fn store_in(tx: &mut store::Tx<'_>, building: BuildingId) -> Result<UnitId, Error> {
    let level = tx.add_level(building, -1, "B")?;
    let space = tx.add_space(
        &SpaceCard {
            id: SpaceId(Uuid::nil()),
            building,
            building_name: String::new(),
            level: LevelId(level.0),
            ordinal: -1,
            place: 0,
            name: "Plant room".to_owned(),
            used_as: UsedAs::Plant,
            stair: None,
            let_short: None,
            site: serde_json::json!({}),
        },
        None,
    )?;
    let unit = tx.add_unit(
        &UnitCard {
            id: UnitId(Uuid::nil()),
            number: "RH-P-1".to_owned(),
            kind: "VC".to_owned(),
            serial: String::new(),
            installed: None,
            rated_kw: None,
            litres: Some(400.0),
            filter_fitted: None,
            reducer_fitted: None,
            warranty_until: None,
            fate: Fate::InService,
            fate_on: None,
            note: String::new(),
            space,
            space_name: String::new(),
            building,
            building_name: String::new(),
            placed_from: None,
            watched_from: day("2020-01-01"),
            hardness_mg_l: None,
        },
        None,
    )?;
    let card = tx.unit(unit)?;
    usecases::duties::ensure_for_unit(tx, &card)?;
    Ok(unit)
}

impl Water {
    pub fn start() -> Self {
        let app = TestApp::start();
        let world = app.database.world.clone();
        let seat = founding::found_estate(&world, "Test Estate", true).unwrap();
        let (building, other, store) = world
            .acting(&seat, |tx| {
                let one = building(tx, "RH", "Rush House")?;
                let other = building(tx, "SH", "Sedge House")?;
                Ok::<_, Error>((one, other, store_in(tx, one)?))
            })
            .unwrap();
        let person = |email: &str, name: &str, role, buildings: Option<Vec<BuildingId>>| {
            founding::add_person(
                &world,
                &NewPerson {
                    email: email.to_owned(),
                    name: name.to_owned(),
                    password: usecases::door::DEMO_PASSWORD.to_owned(),
                    demo: true,
                    estate: seat.estate(),
                    role,
                    firm: None,
                    buildings,
                },
            )
            .unwrap();
        };
        person(AGENT, "Ada Agent", Role::Agent, None);
        person(
            SITE,
            "Sim Sitter, caretaker",
            Role::Site,
            Some(vec![building]),
        );
        person(ELSEWHERE, "Els Where", Role::Site, Some(vec![other]));
        person(OWNER, "Olla Owner", Role::Landlord, Some(vec![building]));
        let mut estate = Self {
            app,
            seat,
            building,
            store,
            outlets: Vec::new(),
        };
        estate.outlets = [
            ("Pipe leaving the store", OutletPlace::StoreOutflow, false),
            ("Pipe coming back", OutletPlace::StoreReturn, false),
            ("Hall sink, hot", OutletPlace::HotSentinel, false),
            ("Hall sink, cold", OutletPlace::ColdSentinel, false),
            ("Yard tap", OutletPlace::Other, true),
        ]
        .into_iter()
        .map(|(name, place, little_used)| estate.outlet(name, place, little_used))
        .collect();
        estate
    }

    pub fn world(&self) -> &World {
        &self.app.database.world
    }

    pub fn outlet(&self, name: &str, place: OutletPlace, little_used: bool) -> OutletId {
        let at_store = matches!(place, OutletPlace::StoreOutflow | OutletPlace::StoreReturn);
        let form = NewOutlet {
            building: self.building,
            name: name.to_owned(),
            place,
            space: None,
            unit: at_store.then_some(self.store),
            little_used,
        };
        water::add_outlet(self.world(), &self.seat, form, &format!("outlet {name}")).unwrap()
    }

    pub fn client(&self, email: &str) -> Client {
        self.app.signed_in(email)
    }

    pub fn address(&self) -> String {
        format!("/temperatures/{}", self.building)
    }

    /// The fields of a round: the temperatures of the five outlets, the last of them flushed.
    pub fn fields(&self, temps: [&str; 5], once: &str) -> Vec<(String, String)> {
        let mut fields = vec![
            ("once".to_owned(), once.to_owned()),
            ("thermometer".to_owned(), "Probe 7".to_owned()),
        ];
        for (outlet, temp) in self.outlets.iter().zip(temps) {
            fields.push((format!("t.{outlet}"), temp.to_owned()));
        }
        fields.push((format!("s.{}", self.outlets[2]), "55".to_owned()));
        fields.push((format!("s.{}", self.outlets[3]), "120".to_owned()));
        fields.push((format!("s.{}", self.outlets[4]), "90".to_owned()));
        fields.push((format!("f.{}", self.outlets[4]), "yes".to_owned()));
        fields
    }
}

/// Posts a form of owned fields.
pub fn post(
    client: &Client,
    path: &str,
    fields: &[(String, String)],
) -> reqwest::blocking::Response {
    let fields: Vec<(&str, &str)> = fields
        .iter()
        .map(|(k, v)| (k.as_str(), v.as_str()))
        .collect();
    client.post(path, &fields)
}

/// Words of a page with no-break spaces as spaces.
pub fn plain(page: &str) -> String {
    page.replace('\u{a0}', " ")
}
