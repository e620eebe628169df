//! A small estate for the stories of work and visits: one block, two firms, a combi in Flat 14 and a cylinder in Flat 15.
use chrono::NaiveDate;
use diesel::sql_types::BigInt;
use diesel::{Connection, PgConnection, QueryableByName, RunQueryDsl};
use terms::place::{BuildingCard, Need, SpaceCard};
use terms::unit::UnitCard;
use terms::{
    BuildingId, Country, Covers, DutyId, EngineerId, Fate, FirmId, JobId, JobKind, JobState,
    LevelId, Qualification, Role, SpaceId, UnitId, UsedAs,
};
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{
    NewEngineer, NewPerson, add_engineer, add_firm, add_person, found_estate,
};
use usecases::work::{self, Job, OfferForm, OpenJob};
use usecases::{Error, Seat, World};

use crate::support::{Client, TestApp};

pub const AGENT: &str = "agent@example.test";
pub const DESK_AT_NIGHT: &str = "night@example.test";
pub const ANNA: &str = "anna@example.test";
pub const ARNO: &str = "arno@example.test";
pub const BELLA: &str = "bella@example.test";
pub const LAPSED: &str = "lapsed@example.test";

/// The estate with everybody in it.
pub struct Loop {
    pub app: TestApp,
    pub seat: Seat,
    pub flat: SpaceId,
    pub boiler: UnitId,
    pub cylinder: UnitId,
    pub firm_a: FirmId,
    pub firm_b: FirmId,
    pub anna: EngineerId,
    pub lapsed: EngineerId,
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn person(
    world: &World,
    seat: &Seat,
    (email, name): (&str, &str),
    role: Role,
    firm: Option<FirmId>,
) -> terms::AccountId {
    add_person(
        world,
        &NewPerson {
            email: email.to_owned(),
            name: name.to_owned(),
            password: DEMO_PASSWORD.to_owned(),
            demo: true,
            estate: seat.estate(),
            role,
            firm,
            buildings: None,
        },
    )
    .unwrap()
}

fn engineer(
    world: &World,
    (firm, name): (FirmId, &str),
    account: terms::AccountId,
    gas_until: &str,
) -> EngineerId {
    let paper = |covers| Qualification {
        covers,
        number: "200417".to_owned(),
        from_on: day("2020-01-01"),
        until_on: day(gas_until),
    };
    add_engineer(
        world,
        &NewEngineer {
            firm,
            name: name.to_owned(),
            account: Some(account),
            qualifications: vec![paper(Covers::Gas), paper(Covers::Unvented)],
            instruments: vec![("Analyser FG-3".to_owned(), day("2027-06-30"))],
        },
    )
    .unwrap()
}

pub fn unit_card(number: &str, kind: &str, space: SpaceId) -> UnitCard {
    UnitCard {
        id: UnitId(uuid::Uuid::nil()),
        number: number.to_owned(),
        kind: kind.to_owned(),
        serial: String::new(),
        installed: Some((day("2014-05-01"), day("2014-05-01"))),
        rated_kw: Some(28.0),
        litres: None,
        filter_fitted: Some(false),
        reducer_fitted: Some(false),
        warranty_until: None,
        fate: Fate::InService,
        fate_on: None,
        note: String::new(),
        space,
        space_name: String::new(),
        building: BuildingId(uuid::Uuid::nil()),
        building_name: String::new(),
        placed_from: Some(day("2014-05-01")),
        watched_from: day("2018-01-01"),
        hardness_mg_l: None,
    }
}

impl Loop {
    pub fn start() -> Self {
        let app = TestApp::start();
        let world = app.database.world.clone();
        let seat = found_estate(&world, "Test Estate", true).unwrap();
        let (flat, boiler, cylinder) = world
            .acting(&seat, |tx| {
                let building = tx.add_building(&BuildingCard {
                    id: BuildingId(uuid::Uuid::nil()),
                    code: "AH".to_owned(),
                    name: "Alder House".to_owned(),
                    address: "1 Alder Way".to_owned(),
                    country: Country::England,
                    built_year: Some(1965),
                    higher_risk: Some(false),
                    hardness_mg_l: Some(280.0),
                    asbestos_register: "clear".to_owned(),
                    note: String::new(),
                })?;
                let level = tx.add_level(building, 2, "2")?;
                let space = |name: &str, place| SpaceCard {
                    id: SpaceId(uuid::Uuid::nil()),
                    building,
                    building_name: String::new(),
                    level: LevelId(level.0),
                    ordinal: 2,
                    place,
                    name: name.to_owned(),
                    used_as: UsedAs::Flat,
                    stair: None,
                    let_short: Some(true),
                    site: serde_json::json!({}),
                };
                let flat = tx.add_space(&space("Flat 14", 0), None)?;
                let other = tx.add_space(&space("Flat 15", 1), None)?;
                let boiler = tx.add_unit(&unit_card("AH-14-1", "CB", flat), None)?;
                let cylinder = tx.add_unit(&unit_card("AH-15-1", "UV", other), None)?;
                for id in [boiler, cylinder] {
                    let card = tx.unit(id)?;
                    usecases::duties::ensure_for_unit(tx, &card)?;
                }
                tx.add_resident(flat, "Peregrine Quill", "01632 960014", day("2020-01-01"))?;
                tx.add_need(&Need {
                    space: flat,
                    words: "needs heat the same day".to_owned(),
                    same_day: true,
                    from_on: day("2024-01-01"),
                })?;
                let way = store::register::WayIn {
                    how: "Second floor, stair 2.".to_owned(),
                    code: "C4417".to_owned(),
                    ..store::register::WayIn::default()
                };
                tx.state_way_in(flat, &way)?;
                Ok::<_, Error>((flat, boiler, cylinder))
            })
            .unwrap();
        let firm = |name: &str| add_firm(&world, seat.estate(), name, 2400).unwrap();
        let (firm_a, firm_b) = (firm("Firm A"), firm("Firm B"));
        person(&world, &seat, (AGENT, "Ada Agent"), Role::Agent, None);
        person(
            &world,
            &seat,
            (DESK_AT_NIGHT, "Nat Night"),
            Role::OutOfHours,
            None,
        );
        let road = |email: &str, name: &str, firm| {
            person(&world, &seat, (email, name), Role::Contractor, Some(firm))
        };
        let account = road(ANNA, "Anna Arrow", firm_a);
        let anna = engineer(&world, (firm_a, "Anna Arrow"), account, "2028-01-01");
        let account = road(ARNO, "Arno Alder", firm_a);
        engineer(&world, (firm_a, "Arno Alder"), account, "2028-01-01");
        let account = road(BELLA, "Bella Birch", firm_b);
        engineer(&world, (firm_b, "Bella Birch"), account, "2028-01-01");
        let account = road(LAPSED, "Lars Lapsed", firm_a);
        let lapsed = engineer(&world, (firm_a, "Lars Lapsed"), account, "2026-11-24");
        Self {
            app,
            seat,
            flat,
            boiler,
            cylinder,
            firm_a,
            firm_b,
            anna,
            lapsed,
        }
    }

    pub fn world(&self) -> &World {
        &self.app.database.world
    }

    /// The seat of somebody by their sign-in name.
    pub fn seat_of(&self, email: &str) -> Seat {
        let world = self.world();
        let person = world
            .pool
            .at_door::<_, Error>(|door| {
                let account = door.account(email)?.expect("the account is there");
                Ok(door
                    .person_of(account.id, world.now().date_naive())?
                    .expect("the person is there"))
            })
            .unwrap();
        Seat::of(&person, person.grants[0].id).unwrap()
    }

    pub fn client(&self, email: &str) -> Client {
        self.app.signed_in(email)
    }

    pub fn job(&self, id: JobId) -> Job {
        self.world()
            .acting(&self.seat, |tx| Ok(tx.job(id)?))
            .unwrap()
    }

    /// A job opened by the desk.
    pub fn open(&self, kind: JobKind, unit: UnitId, duties: Vec<DutyId>) -> JobId {
        let space = self
            .world()
            .acting(&self.seat, |tx| Ok(tx.unit(unit)?.space))
            .unwrap();
        let form = OpenJob {
            kind,
            space,
            unit: Some(unit),
            words: "as the test asks".to_owned(),
            due_on: None,
            duties,
            minutes: None,
        };
        work::open_job(self.world(), &self.seat, form, &fresh()).unwrap()
    }

    /// Puts a job on offer to a firm.
    pub fn offer(&self, job: JobId, firm: FirmId) {
        let form = OfferForm {
            job,
            firm,
            until: self.world().now() + chrono::TimeDelta::hours(4),
            proposed: None,
            version: None,
        };
        work::offer(self.world(), &self.seat, form, &fresh()).unwrap();
    }

    /// Gives Anna papers for more sorts of work.
    pub fn anna_may(&self, covers: &[&str]) {
        for sort in covers {
            self.app.database.as_owner(&format!(
                "INSERT INTO door.qualifications VALUES \
                 (gen_random_uuid(), '{}', '{sort}', '200417', '2020-01-01', '2028-01-01')",
                self.anna
            ));
        }
    }

    /// Takes her papers for one sort of work away again.
    pub fn anna_may_no_longer(&self, sort: &str) {
        self.app.database.as_owner(&format!(
            "DELETE FROM door.qualifications WHERE engineer = '{}' AND covers = '{sort}'",
            self.anna
        ));
    }

    /// A job that Anna has taken.
    pub fn annas(&self, kind: JobKind, unit: UnitId, duties: Vec<DutyId>) -> JobId {
        let job = self.open(kind, unit, duties);
        self.offer(job, self.firm_a);
        work::take(self.world(), &self.seat_of(ANNA), job, None, &fresh()).unwrap();
        assert_eq!(self.job(job).state, JobState::Taken);
        job
    }

    /// The duty of a unit under a rule.
    pub fn duty(&self, unit: UnitId, rule: &str) -> DutyId {
        let duties = self
            .world()
            .acting(&self.seat, |tx| Ok(tx.duties_of_units(&[unit])?))
            .unwrap();
        duties
            .into_iter()
            .find(|d| d.rule == rule && d.ended_on.is_none())
            .map_or_else(|| panic!("no duty {rule}"), |d| d.id)
    }

    /// A number from the database, past the program.
    pub fn count(&self, sql: &str) -> i64 {
        #[derive(QueryableByName)]
        struct Count {
            #[diesel(sql_type = BigInt)]
            n: i64,
        }
        let sql = format!("SELECT count(*) AS n FROM {sql}");
        diesel::sql_query(sql)
            .get_result::<Count>(&mut self.as_owner())
            .unwrap()
            .n
    }

    /// Takes a duty rule away, past the program: as in an estate that was founded before it was shipped.
    pub fn forget_rule(&self, code: &str) {
        let sql = format!("DELETE FROM estate.duty_rules WHERE rule_code = '{code}'");
        let gone = diesel::sql_query(sql).execute(&mut self.as_owner());
        assert_eq!(gone, Ok(1), "{code}");
    }

    /// The owner of the tables, who is bound by the walls too and so says for which estate it looks.
    fn as_owner(&self) -> PgConnection {
        let url = self.app.database.owner_url.clone();
        let mut conn = PgConnection::establish(&url).unwrap();
        let set = format!(
            "SELECT set_config('app.estate_id', '{}', false)",
            self.seat.estate()
        );
        diesel::sql_query(set).execute(&mut conn).unwrap();
        conn
    }
}

/// A fresh once-key.
pub fn fresh() -> String {
    uuid::Uuid::new_v4().to_string()
}
