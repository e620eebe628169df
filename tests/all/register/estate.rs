//! An estate whose agent is signed in, and what is entered into it.
use terms::{BuildingId, Role, SpaceId, UnitId};
use usecases::Seat;
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{NewPerson, add_firm, add_person, found_estate};
use usecases::register::{self, DrawBuilding, Heat, NewUnit, UnitFacts};

use crate::support::{Client, TestApp};

pub struct Estate {
    pub app: TestApp,
    pub seat: Seat,
    pub agent: Client,
}

pub fn sign_up(app: &TestApp, email: &str, seat: &Seat, role: Role, of: Option<Vec<BuildingId>>) {
    let firm = (role == Role::Contractor).then(|| {
        add_firm(
            &app.database.world,
            seat.estate(),
            "Fenwright Heating",
            2_400,
        )
        .unwrap()
    });
    add_person(
        &app.database.world,
        &NewPerson {
            email: email.to_owned(),
            name: "Ada Agent".to_owned(),
            password: DEMO_PASSWORD.to_owned(),
            demo: true,
            estate: seat.estate(),
            role,
            firm,
            buildings: of,
        },
    )
    .unwrap();
}

pub fn estate() -> Estate {
    let app = TestApp::start();
    let seat = found_estate(&app.database.world, "Larkmoor Estate", true).unwrap();
    sign_up(&app, "agent@example.test", &seat, Role::Agent, None);
    let agent = app.signed_in("agent@example.test");
    Estate { app, seat, agent }
}

pub fn house(name: &str, storeys: u32) -> DrawBuilding {
    DrawBuilding {
        name: name.to_owned(),
        code: String::new(),
        address: String::new(),
        country: terms::Country::England,
        built_year: Some(1964),
        storeys,
        flats_a_storey: 4,
        differing: Vec::new(),
        first_number: 1,
        stairs_after: vec![2],
        plant_below: false,
        tank_on_roof: false,
        heat: Heat::Unknown,
        hardness_mg_l: Some(286.0),
        asbestos_register: "unknown".to_owned(),
    }
}

pub fn boiler(serial: &str) -> UnitFacts {
    UnitFacts {
        kind: "CB".to_owned(),
        serial: serial.to_owned(),
        installed: Some(("2011-10-01".parse().unwrap(), "2012-03-31".parse().unwrap())),
        rated_kw: Some(30.0),
        litres: None,
        filter_fitted: Some(true),
        reducer_fitted: Some(false),
        warranty_until: None,
        note: String::new(),
    }
}

impl Estate {
    pub fn draw(&self, form: DrawBuilding) -> BuildingId {
        let once = form.name.clone();
        register::draw_building(&self.app.database.world, &self.seat, form, &once).unwrap()
    }

    pub fn flat(&self, building: BuildingId, name: &str) -> SpaceId {
        let view = register::building_view(&self.app.database.world, &self.seat, building).unwrap();
        let flat = view.flats.iter().find(|f| f.space.name == name);
        flat.expect(name).space.id
    }

    pub fn fit(&self, space: SpaceId, serial: &str) -> UnitId {
        let form = NewUnit {
            space,
            facts: boiler(serial),
            placed_from: None,
            watched_from: None,
        };
        register::add_unit(&self.app.database.world, &self.seat, form, serial).unwrap()
    }
}
