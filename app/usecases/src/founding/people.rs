//! Firms, engineers and people who sign in. Asked for by the program's own commands and the demo, so
//! these take no seat; pages do not call them.
use chrono::NaiveDate;
use store::door::NewGrant;
use terms::{
    AccountId, BuildingId, EngineerId, EstateId, FirmId, GrantId, Instrument, Qualification, Role,
};

use crate::door::hash_password;
use crate::{Error, FieldError, World};

/// A person about to get an account and a place in an estate.
#[derive(Clone, Debug)]
pub struct NewPerson {
    /// The sign-in name.
    pub email: String,
    /// As shown.
    pub name: String,
    /// In clear; kept only as its argon2id hash.
    pub password: String,
    /// A demo account, which works on loopback only.
    pub demo: bool,
    /// Where.
    pub estate: EstateId,
    /// As what.
    pub role: Role,
    /// The firm of a contractor or its office.
    pub firm: Option<FirmId>,
    /// `None`: every building.
    pub buildings: Option<Vec<BuildingId>>,
}

/// An engineer about to be entered.
#[derive(Clone, Debug)]
pub struct NewEngineer {
    /// The firm.
    pub firm: FirmId,
    /// As shown.
    pub name: String,
    /// Their account, when they sign in.
    pub account: Option<AccountId>,
    /// What they may work on.
    pub qualifications: Vec<Qualification>,
    /// Their instruments: name and last day of calibration.
    pub instruments: Vec<(String, NaiveDate)>,
}

/// Makes an account with one grant, in force from today.
///
/// # Errors
/// [`Error::Invalid`] with a sentence for each field; the sign-in name is taken.
pub fn add_person(world: &World, form: &NewPerson) -> Result<AccountId, Error> {
    Error::unless_empty(wrongs(form))?;
    let hash = hash_password(&form.password)?;
    let (at, email) = (world.now(), form.email.trim().to_lowercase());
    world.pool.at_door(|door| {
        if door.account(&email)?.is_some() {
            return Err(Error::field(
                "email",
                format!("{email} already has an account: give it a further grant instead."),
            ));
        }
        let account = door.add_account(&email, form.name.trim(), &hash, form.demo, at)?;
        let grant = NewGrant {
            account,
            estate: form.estate,
            role: form.role,
            firm: form.firm,
            buildings: form.buildings.clone(),
            from_on: at.date_naive(),
        };
        door.add_grant(&grant, at)?;
        Ok(account)
    })
}

fn wrongs(form: &NewPerson) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    let email = form.email.trim();
    let named = email
        .split_once('@')
        .is_some_and(|(a, b)| !a.is_empty() && !b.is_empty() && !b.contains('@'));
    if !named || email.contains(char::is_whitespace) {
        wrongs.push(FieldError::at(
            "email",
            format!("“{email}” is not an e-mail address."),
        ));
    }
    if form.name.trim().is_empty() {
        wrongs.push(FieldError::at("name", "A person needs a name."));
    }
    if form.password.chars().count() < 10 {
        wrongs.push(FieldError::at(
            "password",
            "A password has at least ten characters.",
        ));
    }
    if matches!(form.role, Role::Contractor | Role::Office) && form.firm.is_none() {
        wrongs.push(FieldError::at("firm", "A contractor belongs to a firm."));
    }
    wrongs
}

/// Gives an account a further grant, in another estate or role.
pub fn add_grant(world: &World, grant: &NewGrant) -> Result<GrantId, Error> {
    let at = world.now();
    world
        .pool
        .at_door(|door| door.add_grant(grant, at))
        .map_err(Error::from)
}

/// Enters a firm that gives an estate `minutes_a_week`.
///
/// # Errors
/// [`Error::Invalid`] when the name is empty or the week has not so many minutes.
pub fn add_firm(
    world: &World,
    estate: EstateId,
    name: &str,
    minutes_a_week: i32,
) -> Result<FirmId, Error> {
    if name.trim().is_empty() {
        return Err(Error::field("name", "A firm needs a name."));
    }
    if !(0..=10_080).contains(&minutes_a_week) {
        return Err(Error::field(
            "minutes_a_week",
            format!("{minutes_a_week} is not between 0 and 10,080 minutes a week."),
        ));
    }
    let at = world.now();
    world.pool.at_door(|door| {
        let firm = door.add_firm(name.trim(), at)?;
        door.give_hours(firm, estate, minutes_a_week)?;
        Ok(firm)
    })
}

/// Enters an engineer of a firm with qualifications and instruments.
///
/// # Errors
/// [`Error::Invalid`] when the name is empty or a paper ends before it begins.
pub fn add_engineer(world: &World, form: &NewEngineer) -> Result<EngineerId, Error> {
    if form.name.trim().is_empty() {
        return Err(Error::field("name", "An engineer needs a name."));
    }
    if let Some(paper) = form.qualifications.iter().find(|q| q.until_on < q.from_on) {
        return Err(Error::field(
            "qualifications",
            format!(
                "The qualification for {} ends before it begins.",
                paper.covers
            ),
        ));
    }
    let at = world.now();
    world.pool.at_door(|door| {
        let id = door.add_engineer(
            form.firm,
            form.name.trim(),
            form.account,
            &form.qualifications,
            at,
        )?;
        for (name, until) in &form.instruments {
            door.add_instrument(form.firm, Some(id), name, *until, at)?;
        }
        Ok(id)
    })
}

/// The instruments an engineer of a firm may use.
pub fn instruments(
    world: &World,
    firm: FirmId,
    engineer: Option<EngineerId>,
) -> Result<Vec<Instrument>, Error> {
    world
        .pool
        .at_door(|door| door.instruments_of(firm, engineer))
        .map_err(Error::from)
}
