//! An estate into which lists are brought, and two lists.
use chrono::NaiveDate;
use store::Acting;
use store::audit::ChainVerdict;
use store::units::Which;
use terms::unit::UnitCard;
use terms::{BuildingId, ImportId, UnitId};
use usecases::founding::found_estate;
use usecases::import::{self, Code, Counts, Preview, Remedy, SettleForm, Upload, View, Wish};
use usecases::register::{self, DrawBuilding, Heat};
use usecases::{Error, Seat, World};

use crate::support::TestDatabase;

/// An estate with a database of its own.
pub struct Estate {
    pub database: TestDatabase,
    pub seat: Seat,
}

/// A block of `storeys` × `flats`, its flats numbered from 1, with a plant room below.
pub fn block(world: &World, seat: &Seat, name: &str, (storeys, flats): (u32, u32)) -> BuildingId {
    let form = DrawBuilding {
        name: name.to_owned(),
        code: String::new(),
        address: String::new(),
        country: terms::Country::England,
        built_year: Some(1964),
        storeys,
        flats_a_storey: flats,
        differing: Vec::new(),
        first_number: 1,
        stairs_after: Vec::new(),
        plant_below: true,
        tank_on_roof: false,
        heat: Heat::Unknown,
        hardness_mg_l: None,
        asbestos_register: "unknown".to_owned(),
    };
    register::draw_building(world, seat, form, name).unwrap()
}

impl Estate {
    /// An estate with one block of ten flats, "Alder House".
    pub fn new() -> Self {
        let estate = Self::bare();
        block(estate.world(), &estate.seat, "Alder House", (5, 2));
        estate
    }

    /// An estate without a building.
    pub fn bare() -> Self {
        let database = TestDatabase::new();
        let seat = found_estate(&database.world, "Larkmoor Estate", true).unwrap();
        Self { database, seat }
    }

    pub fn world(&self) -> &World {
        &self.database.world
    }

    /// Sends a list; the name is its idempotency key too.
    pub fn send(&self, name: &str, bytes: &[u8]) -> ImportId {
        let form = Upload {
            name: name.to_owned(),
            bytes: bytes.to_vec(),
            kind: None,
            building: None,
            source: String::new(),
            sheet: String::new(),
        };
        import::upload(
            self.world(),
            &self.seat,
            form,
            &uuid::Uuid::new_v4().to_string(),
        )
        .unwrap()
    }

    pub fn view(&self, id: ImportId) -> View {
        import::view(self.world(), &self.seat, id).unwrap()
    }

    pub fn commit(&self, id: ImportId) -> Result<Counts, Error> {
        import::commit(
            self.world(),
            &self.seat,
            id,
            &uuid::Uuid::new_v4().to_string(),
        )
    }

    /// Sends a list that must be ready and brings it in.
    pub fn bring_in(&self, name: &str, text: &str) -> Counts {
        let id = self.send(name, text.as_bytes());
        let view = self.view(id);
        assert!(view.preview.ready, "{:#?}", view.preview.problems);
        self.commit(id).unwrap()
    }

    /// What a list would do, without keeping it.
    pub fn look(&self, name: &str, bytes: &[u8]) -> Preview {
        let wish = Wish {
            name,
            ..Wish::default()
        };
        import::command(self.world(), &self.seat, bytes, wish)
            .unwrap()
            .0
    }

    pub fn settle(&self, id: ImportId, code: Code, column: &str, remedy: Option<Remedy>) {
        let form = SettleForm {
            code,
            column: column.to_owned(),
            remedy,
        };
        let once = uuid::Uuid::new_v4().to_string();
        import::settle(self.world(), &self.seat, id, form, &once).unwrap();
    }

    pub fn units(&self) -> Vec<UnitCard> {
        self.world()
            .acting(&self.seat, |tx| Ok(tx.units(Which::All)?))
            .unwrap()
    }

    pub fn unit(&self, number: &str) -> UnitCard {
        let all = self.units();
        all.into_iter().find(|u| u.number == number).expect(number)
    }

    pub fn history(&self, unit: UnitId) -> store::history::History {
        self.world()
            .acting(&self.seat, |tx| Ok(tx.history(unit)?))
            .unwrap()
    }

    /// Links in the record of who did what; panics when it is broken.
    pub fn links(&self) -> i64 {
        let acting = Acting {
            estate: self.seat.estate(),
            who: self.seat.account(),
            at: self.world().now(),
        };
        let verdict = self
            .world()
            .pool
            .acting::<_, Error>(acting, |tx| Ok(tx.verify_chain()?))
            .unwrap();
        match verdict {
            ChainVerdict::Whole { entries, .. } => entries,
            ChainVerdict::BrokenAt(n) => panic!("broken at {n}"),
        }
    }

    pub fn open_duties(&self) -> usize {
        self.world()
            .acting(&self.seat, |tx| Ok(tx.open_duties()?.len()))
            .unwrap()
    }
}

/// The problems as (row, column, code, value).
pub fn told(preview: &Preview) -> Vec<(u32, &str, &str, &str)> {
    preview
        .problems
        .iter()
        .map(|p| (p.row, p.column.as_str(), p.code.code(), p.value.as_str()))
        .collect()
}

/// A day.
pub fn on(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Five units as people write them.
pub const UNITS: &str = "Number,Flat,Kind,Serial,Fitted,kW,Litres,Filter,Scale reducer,Warranty,Records since,Notes\n\
    B1,1,combi,8B5S-2114,2009?,24kW,,yes,no,,2015,by the window\n\
    B2,Flat 2,HIU,H-77-1,2005-2010,,,,,,13/04/2016,\n\
    B3,3,thermal store,,about 2012,,\"1,000 litres\",,,,,\n\
    B4,4,CB,K-9912,25/11/2014,30,,n,y,31/12/2027,2010,\n\
    B5,5,combi,,unknown,,,?,,,,\n";

/// What happened to two of them.
pub const HISTORY: &str = "Unit no;Date;What;Part;Function lost;Cost;At service;Same as;Words\n\
    B1;03/11/2019;failure;diverter valve;no hot water;;;a;stuck\n\
    B1;25/11/2019;call-out;;hot water;;;a;same again\n\
    B1;25/11/2019;part;diverter valve;;£310.00;;;new valve\n\
    B1;14/01/2020;service;;;\"£1,250.00\";;;with plate cleaned\n\
    B1;Mar 2021;failure;fan;both;;yes;;\n\
    B4;30/06/2022;no fault found;;heating;;;;timer set wrong\n\
    B1;28/02/2023;part;pump;;;;;planned\n";
