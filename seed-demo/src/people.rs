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

/// Site staff's sign-in name.
pub const SITE: &str = "site@demo.example";

/// How the demo people sign in.
#[derive(Clone, Debug)]
pub struct SignIn {
    /// Everybody's password.
    pub password: String,
    /// Offered on the sign-in page, and then refused beyond this machine.
    pub offered: bool,
}

impl SignIn {
    /// The password everybody knows, for this machine alone.
    pub fn known() -> Self {
        Self {
            password: DEMO_PASSWORD.to_owned(),
            offered: true,
        }
    }

    /// A password nobody knows yet, for a demo that others on the network can reach.
    pub fn with_password(password: String) -> Self {
        Self {
            password,
            offered: false,
        }
    }
}

/// Who is who, once entered.
#[derive(Clone, Copy, Debug)]
pub struct People {
    /// The agent's account.
    pub agent: AccountId,
    /// The landlord's account.
    pub landlord: AccountId,
    /// The account of the engineer who signs in.
    pub on_the_road: AccountId,
    /// The account of site staff.
    pub site: AccountId,
    /// The firm most of the work goes to.
    pub firm: FirmId,
    /// A second firm, for plant and the tower.
    pub other_firm: FirmId,
    /// The engineer who signs in.
    pub engineer: EngineerId,
}

/// Enters people and firms into one estate.
struct Clerk<'a> {
    world: &'a World,
    seat: &'a Seat,
    sign_in: &'a SignIn,
    /// The day papers and instruments are in date on.
    today: NaiveDate,
}

impl Clerk<'_> {
    fn firm(&self, name: &str, minutes_a_week: i32) -> Result<FirmId, Error> {
        add_firm(self.world, self.seat.estate(), name, minutes_a_week)
    }

    fn person(
        &self,
        (email, name): (&str, &str),
        role: Role,
        firm: Option<FirmId>,
        buildings: Option<&[BuildingId]>,
    ) -> Result<AccountId, Error> {
        add_person(
            self.world,
            &NewPerson {
                email: email.to_owned(),
                name: name.to_owned(),
                password: self.sign_in.password.clone(),
                demo: self.sign_in.offered,
                estate: self.seat.estate(),
                role,
                firm,
                buildings: buildings.map(<[BuildingId]>::to_vec),
            },
        )
    }

    fn engineer(
        &self,
        firm: FirmId,
        (name, account): (&str, Option<AccountId>),
        papers: &[(Covers, &str)],
    ) -> Result<EngineerId, Error> {
        let instrument =
            |what: &str, days| (format!("{what} of {name}"), self.today + Days::new(days));
        add_engineer(
            self.world,
            &NewEngineer {
                firm,
                name: name.to_owned(),
                account,
                qualifications: papers.iter().map(|p| self.qualification(p)).collect(),
                instruments: vec![
                    instrument("Analyser", 200),
                    instrument("Thermometer", 150),
                    instrument("Electrical tester", 120),
                ],
            },
        )
    }

    fn qualification(&self, &(covers, number): &(Covers, &str)) -> Qualification {
        Qualification {
            covers,
            number: number.to_owned(),
            from_on: self.today - Days::new(900),
            until_on: self.today + Days::new(400),
        }
    }
}

/// Enters the demo's people; the landlord owns every building.
///
/// Papers and instruments are in date on `today`, the day the demo is made.
pub fn enter(
    world: &World,
    seat: &Seat,
    sign_in: &SignIn,
    (buildings, today): (&[BuildingId], NaiveDate),
) -> Result<People, Error> {
    let clerk = Clerk {
        world,
        seat,
        sign_in,
        today,
    };
    let firm = clerk.firm("Quillet Heating", 4 * 2100)?;
    let other_firm = clerk.firm("Farrow & Tew, Plant and Pipes", 2 * 2100)?;

    let agent = (AGENT, "Nell Askwith, managing agent");
    let agent = clerk.person(agent, Role::Agent, None, None)?;
    let on_the_road = (CONTRACTOR, "Joss Tarrow, engineer");
    let on_the_road = clerk.person(on_the_road, Role::Contractor, Some(firm), None)?;
    let landlord = (LANDLORD, "Imre Calverdale, landlord");
    let landlord = clerk.person(landlord, Role::Landlord, None, Some(buildings))?;
    // The tower and the mill have a caretaker; the slab's is somebody else's.
    let walked = buildings.get(1..).unwrap_or_default();
    let site = (SITE, "Dorrie Pell, caretaker");
    let site = clerk.person(site, Role::Site, None, Some(walked))?;
    clerk.person((OFFICE, "Quillet’s office"), Role::Office, Some(firm), None)?;

    let gas = (Covers::Gas, "540117");
    let plant = (Covers::GasPlant, "540117");
    let unvented = (Covers::Unvented, "UV-2207");
    let hiu = (Covers::Hiu, "H-118");
    let electric = (Covers::Electric, "E-9031");
    let water = (Covers::Water, "W-77");
    let all = [gas, plant, unvented, hiu, electric, water];
    let engineer = clerk.engineer(firm, ("Joss Tarrow", Some(on_the_road)), &all)?;
    clerk.engineer(firm, ("Priddy Vane", None), &[gas, water])?;
    clerk.engineer(firm, ("Osk Lindell", None), &[hiu, water, electric])?;
    clerk.engineer(firm, ("Bea Thornley", None), &[gas, unvented, water])?;
    let wide = [gas, plant, hiu, water, electric];
    clerk.engineer(other_firm, ("Wyn Farrow", None), &wide)?;
    Ok(People {
        agent,
        landlord,
        on_the_road,
        site,
        firm,
        other_firm,
        engineer,
    })
}
