//! Who may come in, and as what.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::codes::code_list;
use crate::{AccountId, BuildingId, EngineerId, EstateId, FirmId, GrantId, InstrumentId};

code_list! {
    /// What an account is in an estate.
    Role, "role" {
        /// The managing agent's desk.
        Agent = "agent", "managing agent";
        /// An engineer of a firm.
        Contractor = "contractor", "contractor";
        /// Who decides and pays.
        Landlord = "landlord", "landlord";
        /// The firm's office: takes offers, names engineers, quotes.
        Office = "office", "contractor's office";
        /// Calls only, outside hours.
        OutOfHours = "out_of_hours", "out-of-hours desk";
        /// Monthly temperatures, flushing, keys.
        Site = "site", "site staff";
        /// May override the blocks that can be overridden.
        Supervisor = "supervisor", "supervisor";
    }
}

code_list! {
    /// What an engineer's qualification covers, and a job asks for.
    Covers, "qualification" {
        /// Fixed wiring and live tests.
        Electric = "electric", "electrical work";
        /// Gas-carrying, combustion, flue and case parts.
        Gas = "gas", "gas work";
        /// Gas plant of a plant room: a domestic registration does not cover it.
        GasPlant = "gas_plant", "gas plant";
        /// Heat interface units.
        Hiu = "hiu", "heat interface units";
        /// Unvented hot water.
        Unvented = "unvented", "unvented hot water";
        /// Wet heating and plumbing.
        Water = "water", "wet heating";
    }
}

/// What one account may do in one estate.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Grant {
    /// Its id.
    pub id: GrantId,
    /// Where it holds.
    pub estate: EstateId,
    /// The estate's name.
    pub estate_name: String,
    /// As what.
    pub role: Role,
    /// For a contractor or a firm's office: the firm.
    pub firm: Option<FirmId>,
    /// For a contractor: who of the firm.
    pub engineer: Option<EngineerId>,
    /// `None`: every building of the estate.
    pub buildings: Option<Vec<BuildingId>>,
}

impl Grant {
    /// Whether the grant reaches `building`.
    pub fn reaches(&self, building: BuildingId) -> bool {
        self.buildings
            .as_ref()
            .is_none_or(|list| list.contains(&building))
    }
}

/// Somebody signed in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// The account.
    pub account: AccountId,
    /// As shown.
    pub name: String,
    /// The sign-in name.
    pub email: String,
    /// An account of the demo estate.
    pub demo: bool,
    /// Grants in force today.
    pub grants: Vec<Grant>,
}

code_list! {
    /// The papers a firm itself needs.
    FirmPaperSort, "firm's paper" {
        /// The business's registration for gas work.
        GasRegistration = "gas_registration", "registration for gas work";
        /// Its insurance against what it does to others.
        Insurance = "insurance", "liability insurance";
    }
}

/// A contractor's firm and its time for one estate.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Firm {
    /// Its id.
    pub id: FirmId,
    /// As shown.
    pub name: String,
    /// Minutes a week it gives this estate.
    pub minutes_a_week: i32,
    /// Its own papers as they stand.
    pub papers: Vec<FirmPaper>,
}

impl Firm {
    /// Whether a visit on `day` is stopped by a paper of this sort: one is on record and none covers the day. A firm of
    /// which none is on record is not stopped: nobody has asked it yet, which the list of papers says.
    pub fn stopped_by(&self, what: FirmPaperSort, day: NaiveDate) -> bool {
        let mut of_sort = self.papers.iter().filter(|p| p.what == what).peekable();
        of_sort.peek().is_some() && !of_sort.any(|p| p.from_on <= day && day <= p.until_on)
    }
}

/// A paper of a firm itself.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FirmPaper {
    /// Which.
    pub what: FirmPaperSort,
    /// Its number.
    pub number: String,
    /// First day.
    pub from_on: NaiveDate,
    /// Last day.
    pub until_on: NaiveDate,
}

/// Somebody who attends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Engineer {
    /// Its id.
    pub id: EngineerId,
    /// The firm.
    pub firm: FirmId,
    /// As shown.
    pub name: String,
    /// Their account, when they sign in.
    pub account: Option<AccountId>,
    /// Working minutes a week.
    pub minutes_a_week: i32,
    /// What they may work on.
    pub qualifications: Vec<Qualification>,
}

impl Engineer {
    /// The qualification that covers `what` on `day`.
    pub fn covers(&self, what: Covers, day: NaiveDate) -> Option<&Qualification> {
        self.qualifications
            .iter()
            .find(|q| q.covers == what && q.from_on <= day && day <= q.until_on)
    }
}

/// What an engineer may work on, with number and dates.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Qualification {
    /// The field.
    pub covers: Covers,
    /// Registration number.
    pub number: String,
    /// First day.
    pub from_on: NaiveDate,
    /// Last day.
    pub until_on: NaiveDate,
}

/// A measuring instrument.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Instrument {
    /// Its id.
    pub id: InstrumentId,
    /// As written on it.
    pub name: String,
    /// Last day of its calibration.
    pub calibrated_until: NaiveDate,
}
