//! Coming in and going out. Guessing is slowed by account and by address; sessions live on the server.
use std::sync::OnceLock;

use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Argon2, PasswordHash};
use chrono::TimeDelta;
use rand::Rng;
use sha2::{Digest, Sha256};
use terms::{AccountId, BuildingId, Person, Role, hex};

use crate::{Error, Seat, World};

pub use store::door::SessionCard;

/// The password of every demo person; it works on loopback only.
pub const DEMO_PASSWORD: &str = "riser-demo-only";

/// Failed tries for one name in a quarter of an hour before it must wait.
const TRIES_A_NAME: i64 = 8;
/// Failed tries from one address in a quarter of an hour before it must wait.
const TRIES_AN_ADDRESS: i64 = 40;

/// What the browser keeps, once: 32 random bytes in hexadecimal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token(pub String);

impl Token {
    pub(crate) fn hash(&self) -> Vec<u8> {
        Sha256::digest(self.0.as_bytes()).to_vec()
    }
}

/// A try to sign in.
#[derive(Clone, Debug)]
pub struct SignIn {
    /// The sign-in name.
    pub email: String,
    /// As typed.
    pub password: String,
    /// Where the request came from.
    pub address: String,
    /// The browser's words about itself.
    pub device: String,
    /// Whether the request came over loopback: the only place demo passwords work.
    pub loopback: bool,
}

/// The argon2id string of a password.
pub fn hash_password(password: &str) -> Result<String, Error> {
    Argon2::default()
        .hash_password(password.as_bytes())
        .map(|hash| hash.to_string())
        .map_err(|e| Error::Internal(format!("argon2: {e}")))
}

/// Signs in; the same sentence whether the name or the password is wrong.
///
/// # Errors
/// [`Error::Invalid`] at `password`, or at `email` when it has to wait.
pub fn sign_in(world: &World, form: &SignIn) -> Result<(Token, Person), Error> {
    let now = world.now();
    let (by_name, by_address) = world.pool.at_door(|door| {
        door.failed_sign_ins(&form.email, &form.address, now - TimeDelta::minutes(15))
    })?;
    if by_name >= TRIES_A_NAME || by_address >= TRIES_AN_ADDRESS {
        return Err(Error::field(
            "email",
            "Too many tries. Wait a quarter of an hour, then try again.",
        ));
    }
    let account = world.pool.at_door(|door| door.account(&form.email))?;
    // A name that does not exist costs the same time as one that does.
    let stored = match &account {
        Some(account) => account.password_hash.clone(),
        None => nobodys_hash().to_owned(),
    };
    let fits = PasswordHash::new(&stored).is_ok_and(|hash| {
        Argon2::default()
            .verify_password(form.password.as_bytes(), &hash)
            .is_ok()
    });
    let account = account.filter(|a| fits && (!a.demo || form.loopback));
    world
        .pool
        .at_door(|door| door.note_sign_in(&form.email, &form.address, account.is_some(), now))?;
    let Some(account) = account else {
        return Err(Error::field(
            "password",
            "This name and password do not go together.",
        ));
    };
    let token = fresh_token();
    let person = world.pool.at_door(|door| {
        door.open_session(
            &token.hash(),
            account.id,
            &form.device,
            now,
            now + TimeDelta::days(30),
        )?;
        door.person_of(account.id, now.date_naive())
    })?;
    Ok((token, person.ok_or(Error::NotFound("account"))?))
}

/// Whether somebody signed in gave their own password again, before a large decision. Wrong tries count as tries to sign
/// in do.
///
/// # Errors
/// [`Error::Invalid`] at `password` after too many tries.
pub(crate) fn gave_own_password(
    world: &World,
    account: AccountId,
    password: &str,
) -> Result<bool, Error> {
    let known = world.pool.at_door(|door| door.credentials_of(account))?;
    let (email, stored) = known.ok_or(Error::NotFound("account"))?;
    may_try(world, &email)?;
    let fits = PasswordHash::new(&stored).is_ok_and(|hash| {
        Argon2::default()
            .verify_password(password.as_bytes(), &hash)
            .is_ok()
    });
    note_try(world, &email, fits)?;
    Ok(fits)
}

/// Whether somebody signed in may try a password or digits again.
///
/// # Errors
/// [`Error::Invalid`] at `password` after too many wrong tries.
pub(crate) fn may_try(world: &World, email: &str) -> Result<(), Error> {
    let since = world.now() - TimeDelta::minutes(15);
    let (tries, _) = world
        .pool
        .at_door(|door| door.failed_sign_ins(email, "signed in", since))?;
    if tries < TRIES_A_NAME {
        return Ok(());
    }
    Err(Error::field(
        "password",
        "Too many tries. Wait a quarter of an hour, then try again.",
    ))
}

/// Notes a try of somebody signed in.
pub(crate) fn note_try(world: &World, email: &str, fits: bool) -> Result<(), Error> {
    world
        .pool
        .at_door(|door| door.note_sign_in(email, "signed in", fits, world.now()))
        .map_err(Error::from)
}

/// A hash nobody's password fits, so that an unknown name costs the same time as a known one.
fn nobodys_hash() -> &'static str {
    static HASH: OnceLock<String> = OnceLock::new();
    HASH.get_or_init(|| hash_password(&fresh_token().0).unwrap_or_default())
}

pub(crate) fn fresh_token() -> Token {
    let mut bytes = [0_u8; 32];
    rand::rng().fill_bytes(&mut bytes);
    Token(hex(&bytes))
}

/// Who is behind a token. The desk's session ends after twelve hours unused, a contractor's after thirty days.
pub fn person(world: &World, token: &Token) -> Result<Option<Person>, Error> {
    let now = world.now();
    let found = world
        .pool
        .at_door(|door| door.person(&token.hash(), now, now + TimeDelta::days(30)))?;
    let Some(person) = found else { return Ok(None) };
    let on_the_road = person
        .grants
        .iter()
        .any(|g| matches!(g.role, Role::Contractor | Role::Site));
    if !on_the_road {
        world
            .pool
            .at_door(|door| door.person(&token.hash(), now, now + TimeDelta::hours(12)))?;
    }
    Ok(Some(person))
}

/// An account with its grants in force today; for the program's own errands, never for a request.
pub fn person_of(world: &World, account: AccountId) -> Result<Person, Error> {
    let today = world.now().date_naive();
    world
        .pool
        .at_door(|door| door.person_of(account, today))?
        .ok_or(Error::NotFound("account"))
}

/// Ends this session.
pub fn sign_out(world: &World, token: &Token) -> Result<(), Error> {
    world
        .pool
        .at_door(|door| door.end_session(&token.hash(), world.now()))
        .map_err(Error::from)
}

/// Ends every session of the account.
pub fn sign_out_everywhere(world: &World, person: &Person) -> Result<usize, Error> {
    world
        .pool
        .at_door(|door| door.end_all_sessions(person.account, world.now()))
        .map_err(Error::from)
}

/// The open sessions of the account.
pub fn sessions(world: &World, person: &Person) -> Result<Vec<SessionCard>, Error> {
    world
        .pool
        .at_door(|door| door.sessions_of(person.account, world.now()))
        .map_err(Error::from)
}

/// The demo people: sign-in name and name.
pub fn demo_people(world: &World) -> Result<Vec<(String, String)>, Error> {
    world.pool.at_door(|door| Ok(door.demo_accounts()?))
}

/// The names of those whose yes is the landlord's in a building today.
pub(crate) fn landlords_of(
    world: &World,
    seat: &Seat,
    building: BuildingId,
) -> Result<Vec<String>, Error> {
    let (estate, day) = (seat.estate(), crate::work::wall::day(world.now()));
    world
        .pool
        .at_door(|door| Ok(door.names_with((estate, Role::Landlord), building, day)?))
}

/// The names behind accounts, for showing who wrote something.
pub fn names(world: &World, ids: &[AccountId]) -> Result<Vec<(AccountId, String)>, Error> {
    world.pool.at_door(|door| {
        let mut names = door.account_names(ids)?;
        let firms = door.reply_link_firms(ids)?;
        names.extend(
            firms
                .into_iter()
                .map(|(id, firm)| (id, format!("{firm}, by the link in their mail"))),
        );
        Ok(names)
    })
}
