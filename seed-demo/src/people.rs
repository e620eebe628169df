//! The people of the demo: all invented.
use chrono::{Days, NaiveDate};
use terms::{AccountId, BuildingId, Covers, EngineerId, FirmId, Qualification, Role};
use usecases::door::DEMO_PASSWORD;
use usecases::founding::{NewEngineer, NewPerson, add_engineer, add_firm, add_person};
use usecases::{Error, Seat, World};

/// The managing agent's sign-in name.
pub const AGENT: &str = "agent@demo.example";
/// The contractor's sign-in name.
pub const CONTRACTOR: &str = "engineer@demo.example";
/// The landlord's sign-in name.
pub const LANDLORD: &str = "landlord@demo.example";
/// The contractor's office.
pub const OFFICE: &str = "office@demo.example";

/// Who is who, once entered.
#[derive(Clone, Copy, Debug)]
pub struct People {
    /// The agent's account.
    pub agent: AccountId,
    /// The account of the engineer who signs in.
    pub on_the_road: AccountId,
    /// The firm most of the work goes to.
    pub firm: FirmId,
    /// A second firm, for plant and the tower.
    pub other_firm: FirmId,
    /// The engineer who signs in.
    pub engineer: EngineerId,
}

fn papers(list: &[(Covers, &str)], today: NaiveDate) -> Vec<Qualification> {
    list.iter()
        .map(|(covers, number)| Qualification {
            covers: *covers,
            number: (*number).to_owned(),
            from_on: today - Days::new(900),
            until_on: today + Days::new(400),
        })
        .collect()
}

/// Enters the demo's people; the landlord owns every building.
///
/// Papers and instruments are in date on `today`, the day the demo is made.
pub fn enter(
    world: &World,
    seat: &Seat,
    buildings: &[BuildingId],
    today: NaiveDate,
) -> Result<People, Error> {
    let firm = add_firm(world, seat.estate(), "Quillet Heating", 4 * 2100)?;
    let other_firm = add_firm(
        world,
        seat.estate(),
        "Farrow & Tew, Plant and Pipes",
        2 * 2100,
    )?;
    let person = |email: &str, name: &str, role, firm, buildings: Option<Vec<BuildingId>>| {
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
                buildings,
            },
        )
    };
    let agent = person(
        AGENT,
        "Nell Askwith, managing agent",
        Role::Agent,
        None,
        None,
    )?;
    let on_the_road = person(
        CONTRACTOR,
        "Joss Tarrow, engineer",
        Role::Contractor,
        Some(firm),
        None,
    )?;
    let own = Some(buildings.to_vec());
    person(
        LANDLORD,
        "Imre Calverdale, landlord",
        Role::Landlord,
        None,
        own,
    )?;
    person(OFFICE, "Quillet’s office", Role::Office, Some(firm), None)?;
    let all = [
        (Covers::Gas, "540117"),
        (Covers::Unvented, "UV-2207"),
        (Covers::Hiu, "H-118"),
        (Covers::Electric, "E-9031"),
        (Covers::Water, "W-77"),
    ];
    let engineer = |name: &str, account, firm, list: &[(Covers, &str)]| {
        add_engineer(
            world,
            &NewEngineer {
                firm,
                name: name.to_owned(),
                account,
                qualifications: papers(list, today),
                instruments: vec![
                    (format!("Analyser of {name}"), today + Days::new(200)),
                    (format!("Thermometer of {name}"), today + Days::new(150)),
                    (
                        format!("Electrical tester of {name}"),
                        today + Days::new(120),
                    ),
                ],
            },
        )
    };
    let first = engineer("Joss Tarrow", Some(on_the_road), firm, &all)?;
    let [gas, unvented, hiu, electric, water] = all;
    engineer("Priddy Vane", None, firm, &[gas, water])?;
    engineer("Osk Lindell", None, firm, &[hiu, water, electric])?;
    engineer("Bea Thornley", None, firm, &[gas, unvented, water])?;
    engineer("Wyn Farrow", None, other_firm, &[gas, hiu, water, electric])?;
    Ok(People {
        agent,
        on_the_road,
        firm,
        other_firm,
        engineer: first,
    })
}
