//! A small estate with an agent, two landlords, two firms and a boiler that asks for a repair.
use chrono::NaiveDate;
use terms::place::{BuildingCard, SpaceCard};
use terms::unit::UnitCard;
use terms::{
    AdviceId, BuildingId, Country, Fate, FirmId, FunctionLost, JobId, JobKind, JobState, Pence,
    Role, SpaceId, UnitId, UsedAs,
};
use usecases::advice::{self, NewQuote};
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{self, NewEngineer, NewPerson};
use usecases::{Seat, World};
use uuid::Uuid;

use crate::support::TestApp;

pub struct Estate {
    pub app: TestApp,
    /// The program's own seat.
    pub seat: Seat,
    pub building: BuildingId,
    pub flat: SpaceId,
    pub unit: UnitId,
    pub firm: FirmId,
}

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

impl Estate {
    pub fn new() -> Self {
        let app = TestApp::start();
        let world = &app.database.world;
        let seat = founding::found_estate(world, "Advice Estate", true).unwrap();
        let firm = founding::add_firm(world, seat.estate(), "Marl Heating", 2400).unwrap();
        let other = founding::add_firm(world, seat.estate(), "Other Heating", 2400).unwrap();
        let (building, flat) = a_building(world, &seat, "AH", "Alder House");
        let (elsewhere, _) = a_building(world, &seat, "OT", "Osier Tower");
        let unit = a_unit(world, &seat, "CB", "AH-22-B1", flat);
        let person = |email: &str, name: &str, role, firm, buildings| {
            let form = NewPerson {
                email: email.to_owned(),
                name: name.to_owned(),
                password: DEMO_PASSWORD.to_owned(),
                demo: true,
                estate: seat.estate(),
                role,
                firm,
                buildings,
            };
            founding::add_person(world, &form).unwrap()
        };
        person("agent@test", "Ada Agent", Role::Agent, None, None);
        person(
            "landlord@test",
            "Lou Landlord",
            Role::Landlord,
            None,
            Some(vec![building]),
        );
        person(
            "elsewhere@test",
            "Eve Elsewhere",
            Role::Landlord,
            None,
            Some(vec![elsewhere]),
        );
        for (email, firm) in [("engineer@test", firm), ("stranger@test", other)] {
            let account = person(email, "Pat Engineer", Role::Contractor, Some(firm), None);
            let engineer = NewEngineer {
                firm,
                name: "Pat Engineer".to_owned(),
                account: Some(account),
                qualifications: Vec::new(),
                instruments: Vec::new(),
            };
            founding::add_engineer(world, &engineer).unwrap();
        }
        Self {
            app,
            seat,
            building,
            flat,
            unit,
            firm,
        }
    }

    pub fn world(&self) -> &World {
        &self.app.database.world
    }

    /// A repair of the boiler, held by the firm, waiting for a decision.
    pub fn job(&self) -> JobId {
        let new = store::jobs::NewJob {
            kind: JobKind::Repair,
            building: self.building,
            space: self.flat,
            unit: Some(self.unit),
            function_lost: Some(FunctionLost::HotWater),
            words: "no hot water".to_owned(),
            source: "call",
            covers: "gas".to_owned(),
            minutes: 60,
            due_at: None,
            due_why: String::new(),
            duties: Vec::new(),
        };
        self.world()
            .acting(&self.seat, |tx| {
                let (id, _) = tx.add_job(&new)?;
                let mut job = tx.hold_job(id)?;
                job.state = JobState::WaitingForDecision;
                job.firm = Some(self.firm);
                tx.save_job(&job)?;
                Ok(id)
            })
            .unwrap()
    }

    /// A quote of exactly `pence`, no VAT in it, and the advice upon it.
    pub fn advised(&self, job: JobId, pence: i64) -> AdviceId {
        self.world()
            .acting(&self.seat, |tx| {
                let quote = advice::quote(tx, self.new_quote(job, pence))?;
                advice::advise(tx, self.unit, Some(job), Some(quote))
            })
            .unwrap()
    }

    pub fn new_quote(&self, job: JobId, pence: i64) -> NewQuote {
        NewQuote {
            job,
            unit: self.unit,
            firm: self.firm,
            part: Some("diverter_valve".to_owned()),
            lines: vec![("Diverter valve, fitted".to_owned(), Pence(pence), 0.0)],
            valid_until: day("2026-12-04"),
            words: String::new(),
        }
    }

    pub fn stored(&self, id: AdviceId) -> store::advices::Advice {
        self.world()
            .acting(&self.seat, |tx| Ok(tx.advice(id)?))
            .unwrap()
    }

    pub fn job_now(&self, id: JobId) -> store::jobs::Job {
        self.world()
            .acting(&self.seat, |tx| Ok(tx.job(id)?))
            .unwrap()
    }
}

fn a_building(world: &World, seat: &Seat, code: &str, name: &str) -> (BuildingId, SpaceId) {
    let card = BuildingCard {
        id: BuildingId(Uuid::nil()),
        code: code.to_owned(),
        name: name.to_owned(),
        address: String::new(),
        country: Country::England,
        built_year: Some(1964),
        higher_risk: None,
        hardness_mg_l: Some(286.0),
        asbestos_register: "unknown".to_owned(),
        note: String::new(),
    };
    world
        .acting(seat, |tx| {
            let building = tx.add_building(&card)?;
            let level = tx.add_level(building, 0, "G")?;
            let flat = SpaceCard {
                id: SpaceId(Uuid::nil()),
                building,
                building_name: String::new(),
                level,
                ordinal: 0,
                place: 0,
                name: "Flat 22".to_owned(),
                used_as: UsedAs::Flat,
                stair: None,
                let_short: None,
                site: serde_json::json!({ "discharge_route": "no" }),
            };
            Ok((building, tx.add_space(&flat, None)?))
        })
        .unwrap()
}

pub fn a_unit(world: &World, seat: &Seat, kind: &str, number: &str, space: SpaceId) -> UnitId {
    let fitted = Some(day("2012-01-10"));
    let card = UnitCard {
        id: UnitId(Uuid::nil()),
        number: number.to_owned(),
        kind: kind.to_owned(),
        serial: String::new(),
        installed: fitted.map(|d| (d, d)),
        rated_kw: None,
        litres: None,
        filter_fitted: None,
        reducer_fitted: None,
        warranty_until: None,
        fate: Fate::InService,
        fate_on: None,
        note: String::new(),
        space,
        space_name: String::new(),
        building: BuildingId(Uuid::nil()),
        building_name: String::new(),
        placed_from: fitted,
        watched_from: day("2017-11-01"),
        hardness_mg_l: None,
    };
    world
        .acting(seat, |tx| Ok(tx.add_unit(&card, None)?))
        .unwrap()
}

/// A page as text: tags gone, each block on a line of its own.
pub fn blocks(html: &str) -> Vec<String> {
    let mut text = String::new();
    let mut rest = html;
    while let Some(open) = rest.find('<') {
        text.push_str(&rest[..open]);
        let close = rest[open..]
            .find('>')
            .map_or(rest.len(), |at| open + at + 1);
        let tag = &rest[open..close];
        let ends = [
            "</p",
            "</li",
            "</h1",
            "</h2",
            "</h3",
            "</tr",
            "</label",
            "</dd",
            "</figcaption",
            "</svg",
        ];
        text.push_str(if ends.iter().any(|end| tag.starts_with(end)) {
            "\n"
        } else {
            " "
        });
        rest = &rest[close..];
    }
    text.push_str(rest);
    let text = text
        .replace("&nbsp;", " ")
        .replace('\u{a0}', " ")
        .replace("&#39;", "'")
        .replace("&#34;", "\"")
        .replace("&amp;", "&");
    text.lines()
        .map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "))
        .filter(|line| !line.is_empty())
        .collect()
}
