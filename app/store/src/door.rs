//! The schema `door`: who may come in, and to which estate. Reached only through these functions.
use chrono::{DateTime, NaiveDate, Utc};
use diesel::pg::PgConnection;
use diesel::prelude::*;
use terms::{
    AccountId, BuildingId, EngineerId, EstateId, Firm, FirmId, Grant, GrantId, Person, Role,
};
use uuid::Uuid;

use crate::door_schema::{
    accounts, engineers, estates, firm_hours, firms, grants, sessions, sign_in_attempts,
};
use crate::tx::fresh_uuid;
use crate::{Db, Error};

mod firm;
mod firm_papers;
mod reply_links;
mod second_device;

pub use reply_links::{NewReplyLink, ReplyLink};
pub use second_device::SecondDevice;

/// An open transaction on the schema `door`.
pub struct Door<'a> {
    conn: &'a mut PgConnection,
}

impl std::fmt::Debug for Door<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Door").finish_non_exhaustive()
    }
}

/// An account with what sign-in needs.
#[derive(Clone, Debug)]
pub struct Account {
    /// Its id.
    pub id: AccountId,
    /// As shown.
    pub name: String,
    /// The argon2id string.
    pub password_hash: String,
    /// A demo account.
    pub demo: bool,
}

/// One session of an account, as its owner sees it.
#[derive(Clone, Debug)]
pub struct SessionCard {
    /// SHA-256 of the token; names the session without giving it away.
    pub token_hash: Vec<u8>,
    /// When it began.
    pub made_at: DateTime<Utc>,
    /// When it was last used.
    pub seen_at: DateTime<Utc>,
    /// The device, in the browser's words.
    pub device: String,
}

/// A grant about to be made.
#[derive(Clone, Debug)]
pub struct NewGrant {
    /// To whom.
    pub account: AccountId,
    /// Where.
    pub estate: EstateId,
    /// As what.
    pub role: Role,
    /// The firm of a contractor or its office.
    pub firm: Option<FirmId>,
    /// `None`: every building.
    pub buildings: Option<Vec<BuildingId>>,
    /// First day.
    pub from_on: NaiveDate,
}

impl<'a> Door<'a> {
    pub(crate) fn new(conn: &'a mut PgConnection) -> Self {
        Self { conn }
    }

    pub(crate) fn conn(&mut self) -> &mut PgConnection {
        self.conn
    }

    /// Registers an estate.
    pub fn add_estate(
        &mut self,
        name: &str,
        demo: bool,
        at: DateTime<Utc>,
    ) -> Result<EstateId, Error> {
        let id = EstateId(fresh_uuid(at));
        diesel::insert_into(estates::table)
            .values((
                estates::id.eq(Db(id)),
                estates::name.eq(name),
                estates::demo.eq(demo),
                estates::made_at.eq(at),
            ))
            .execute(self.conn)?;
        Ok(id)
    }

    /// Every estate this server holds: id, name, whether it is the demo.
    pub fn estates(&mut self) -> Result<Vec<(EstateId, String, bool)>, Error> {
        let rows: Vec<(Db<EstateId>, String, bool)> = estates::table
            .order(estates::made_at)
            .select((estates::id, estates::name, estates::demo))
            .load(self.conn)?;
        Ok(rows
            .into_iter()
            .map(|(id, name, demo)| (id.0, name, demo))
            .collect())
    }

    /// Makes an account; the e-mail address is its sign-in name.
    pub fn add_account(
        &mut self,
        email: &str,
        name: &str,
        password_hash: &str,
        demo: bool,
        at: DateTime<Utc>,
    ) -> Result<AccountId, Error> {
        let id = AccountId(fresh_uuid(at));
        diesel::insert_into(accounts::table)
            .values((
                accounts::id.eq(Db(id)),
                accounts::email.eq(email.to_lowercase()),
                accounts::name.eq(name),
                accounts::password_hash.eq(password_hash),
                accounts::demo.eq(demo),
                accounts::made_at.eq(at),
            ))
            .execute(self.conn)?;
        Ok(id)
    }

    /// The open account of this sign-in name.
    pub fn account(&mut self, email: &str) -> Result<Option<Account>, Error> {
        let row: Option<(Db<AccountId>, String, String, bool)> = accounts::table
            .filter(
                accounts::email
                    .eq(email.to_lowercase())
                    .and(accounts::closed_at.is_null()),
            )
            .select((
                accounts::id,
                accounts::name,
                accounts::password_hash,
                accounts::demo,
            ))
            .first(self.conn)
            .optional()?;
        Ok(row.map(|(id, name, password_hash, demo)| Account {
            id: id.0,
            name,
            password_hash,
            demo,
        }))
    }

    /// The sign-in name and the argon2id string of an open account.
    pub fn credentials_of(&mut self, id: AccountId) -> Result<Option<(String, String)>, Error> {
        Ok(accounts::table
            .filter(accounts::id.eq(Db(id)).and(accounts::closed_at.is_null()))
            .select((accounts::email, accounts::password_hash))
            .first(self.conn)
            .optional()?)
    }

    /// The names of accounts, for showing who wrote something.
    pub fn account_names(&mut self, ids: &[AccountId]) -> Result<Vec<(AccountId, String)>, Error> {
        let ids: Vec<Uuid> = ids.iter().map(|id| id.0).collect();
        let rows: Vec<(Db<AccountId>, String)> = accounts::table
            .filter(accounts::id.eq_any(ids))
            .select((accounts::id, accounts::name))
            .load(self.conn)?;
        Ok(rows.into_iter().map(|(id, name)| (id.0, name)).collect())
    }

    /// The names of those who hold a role in an estate on a day and reach a building, each once, by name.
    pub fn names_with(
        &mut self,
        (estate, role): (EstateId, Role),
        building: BuildingId,
        day: NaiveDate,
    ) -> Result<Vec<String>, Error> {
        let rows: Vec<(String, Option<Vec<Option<Uuid>>>)> = grants::table
            .inner_join(accounts::table)
            .filter(
                grants::estate
                    .eq(Db(estate))
                    .and(grants::role.eq(role.code()))
                    .and(grants::from_on.le(day))
                    .and(grants::until_on.is_null().or(grants::until_on.ge(day)))
                    .and(accounts::closed_at.is_null()),
            )
            .order(accounts::name)
            .select((accounts::name, grants::buildings))
            .load(self.conn)?;
        let reaches = |only: &Option<Vec<Option<Uuid>>>| {
            only.as_ref()
                .is_none_or(|only| only.contains(&Some(building.0)))
        };
        let mut names: Vec<String> = rows
            .into_iter()
            .filter(|(_, only)| reaches(only))
            .map(|(name, _)| name)
            .collect();
        names.dedup();
        Ok(names)
    }

    /// The demo accounts: sign-in name, name.
    pub fn demo_accounts(&mut self) -> Result<Vec<(String, String)>, Error> {
        Ok(accounts::table
            .filter(accounts::demo.eq(true).and(accounts::closed_at.is_null()))
            .order(accounts::made_at)
            .select((accounts::email, accounts::name))
            .load(self.conn)?)
    }

    /// Notes a try to sign in.
    pub fn note_sign_in(
        &mut self,
        email: &str,
        address: &str,
        ok: bool,
        at: DateTime<Utc>,
    ) -> Result<(), Error> {
        diesel::insert_into(sign_in_attempts::table)
            .values((
                sign_in_attempts::id.eq(fresh_uuid(at)),
                sign_in_attempts::email.eq(email.to_lowercase()),
                sign_in_attempts::address.eq(address),
                sign_in_attempts::at.eq(at),
                sign_in_attempts::ok.eq(ok),
            ))
            .execute(self.conn)?;
        Ok(())
    }

    /// Failed tries since `since`: for this name, and from this address.
    pub fn failed_sign_ins(
        &mut self,
        email: &str,
        address: &str,
        since: DateTime<Utc>,
    ) -> Result<(i64, i64), Error> {
        let failed = || {
            sign_in_attempts::table
                .filter(
                    sign_in_attempts::ok
                        .eq(false)
                        .and(sign_in_attempts::at.gt(since)),
                )
                .into_boxed()
        };
        let by_name = failed()
            .filter(sign_in_attempts::email.eq(email.to_lowercase()))
            .count()
            .get_result(self.conn)?;
        let by_address = failed()
            .filter(sign_in_attempts::address.eq(address))
            .count()
            .get_result(self.conn)?;
        Ok((by_name, by_address))
    }

    /// Opens a session under the hash of its token.
    pub fn open_session(
        &mut self,
        token_hash: &[u8],
        account: AccountId,
        device: &str,
        at: DateTime<Utc>,
        until: DateTime<Utc>,
    ) -> Result<(), Error> {
        diesel::insert_into(sessions::table)
            .values((
                sessions::token_hash.eq(token_hash),
                sessions::account.eq(Db(account)),
                sessions::made_at.eq(at),
                sessions::seen_at.eq(at),
                sessions::until_at.eq(until),
                sessions::device.eq(device),
            ))
            .execute(self.conn)?;
        Ok(())
    }

    /// The person behind a token, with the grants in force, or `None`. Slides the session to `until`.
    pub fn person(
        &mut self,
        token_hash: &[u8],
        at: DateTime<Utc>,
        until: DateTime<Utc>,
    ) -> Result<Option<Person>, Error> {
        let account: Option<Db<AccountId>> = diesel::update(
            sessions::table.filter(
                sessions::token_hash
                    .eq(token_hash)
                    .and(sessions::ended_at.is_null())
                    .and(sessions::until_at.gt(at)),
            ),
        )
        .set((sessions::seen_at.eq(at), sessions::until_at.eq(until)))
        .returning(sessions::account)
        .get_result(self.conn)
        .optional()?;
        let Some(Db(account)) = account else {
            return Ok(None);
        };
        self.person_of(account, at.date_naive())
    }

    /// An account with its grants in force on `day`.
    pub fn person_of(
        &mut self,
        account: AccountId,
        day: NaiveDate,
    ) -> Result<Option<Person>, Error> {
        let row: Option<(String, String, bool)> = accounts::table
            .filter(
                accounts::id
                    .eq(Db(account))
                    .and(accounts::closed_at.is_null()),
            )
            .select((accounts::name, accounts::email, accounts::demo))
            .first(self.conn)
            .optional()?;
        let Some((name, email, demo)) = row else {
            return Ok(None);
        };
        let grants = self.grants_of(account, day)?;
        Ok(Some(Person {
            account,
            name,
            email,
            demo,
            grants,
        }))
    }

    fn grants_of(&mut self, account: AccountId, day: NaiveDate) -> Result<Vec<Grant>, Error> {
        let rows: Vec<GrantRow> = grants::table
            .inner_join(estates::table)
            .left_join(
                engineers::table.on(engineers::account
                    .eq(grants::account.nullable())
                    .and(engineers::firm.nullable().eq(grants::firm))),
            )
            .filter(
                grants::account
                    .eq(Db(account))
                    .and(grants::from_on.le(day))
                    .and(grants::until_on.is_null().or(grants::until_on.ge(day))),
            )
            .order((grants::from_on, grants::id))
            .select((
                grants::id,
                grants::estate,
                estates::name,
                grants::role,
                grants::firm,
                engineers::id.nullable(),
                grants::buildings,
            ))
            .load(self.conn)?;
        rows.into_iter().map(read_grant).collect()
    }

    /// Ends one session.
    pub fn end_session(&mut self, token_hash: &[u8], at: DateTime<Utc>) -> Result<(), Error> {
        diesel::update(sessions::table.filter(sessions::token_hash.eq(token_hash)))
            .set(sessions::ended_at.eq(at))
            .execute(self.conn)?;
        Ok(())
    }

    /// Ends every session of an account.
    pub fn end_all_sessions(
        &mut self,
        account: AccountId,
        at: DateTime<Utc>,
    ) -> Result<usize, Error> {
        Ok(diesel::update(
            sessions::table.filter(
                sessions::account
                    .eq(Db(account))
                    .and(sessions::ended_at.is_null()),
            ),
        )
        .set(sessions::ended_at.eq(at))
        .execute(self.conn)?)
    }

    /// The open sessions of an account, latest first.
    pub fn sessions_of(
        &mut self,
        account: AccountId,
        at: DateTime<Utc>,
    ) -> Result<Vec<SessionCard>, Error> {
        let rows: Vec<(Vec<u8>, DateTime<Utc>, DateTime<Utc>, String)> = sessions::table
            .filter(
                sessions::account
                    .eq(Db(account))
                    .and(sessions::ended_at.is_null())
                    .and(sessions::until_at.gt(at)),
            )
            .order(sessions::seen_at.desc())
            .select((
                sessions::token_hash,
                sessions::made_at,
                sessions::seen_at,
                sessions::device,
            ))
            .load(self.conn)?;
        Ok(rows
            .into_iter()
            .map(|(token_hash, made_at, seen_at, device)| SessionCard {
                token_hash,
                made_at,
                seen_at,
                device,
            })
            .collect())
    }

    /// Gives an account its place in an estate.
    pub fn add_grant(&mut self, grant: &NewGrant, at: DateTime<Utc>) -> Result<GrantId, Error> {
        let id = GrantId(fresh_uuid(at));
        let buildings: Option<Vec<Option<Uuid>>> = grant
            .buildings
            .as_ref()
            .map(|list| list.iter().map(|b| Some(b.0)).collect());
        diesel::insert_into(grants::table)
            .values((
                grants::id.eq(Db(id)),
                grants::account.eq(Db(grant.account)),
                grants::estate.eq(Db(grant.estate)),
                grants::role.eq(grant.role.code()),
                grants::firm.eq(grant.firm.map(Db)),
                grants::buildings.eq(buildings),
                grants::from_on.eq(grant.from_on),
            ))
            .execute(self.conn)?;
        Ok(id)
    }

    /// The firms that give an estate hours.
    pub fn firms_of(&mut self, estate: EstateId) -> Result<Vec<Firm>, Error> {
        let rows: Vec<(Db<FirmId>, String, i32)> = firm_hours::table
            .inner_join(firms::table)
            .filter(firm_hours::estate.eq(Db(estate)))
            .order((firms::made_at, firms::name))
            .select((firms::id, firms::name, firm_hours::minutes_a_week))
            .load(self.conn)?;
        let ids: Vec<FirmId> = rows.iter().map(|row| row.0.0).collect();
        let mut papers = self.firm_papers_of(&ids)?;
        Ok(rows
            .into_iter()
            .map(|(id, name, minutes_a_week)| Firm {
                papers: papers.remove(&id.0).unwrap_or_default(),
                id: id.0,
                name,
                minutes_a_week,
            })
            .collect())
    }
}

type GrantRow = (
    Db<GrantId>,
    Db<EstateId>,
    String,
    String,
    Option<Db<FirmId>>,
    Option<Db<EngineerId>>,
    Option<Vec<Option<Uuid>>>,
);

fn read_grant(row: GrantRow) -> Result<Grant, Error> {
    let (id, estate, estate_name, role, firm, engineer, buildings) = row;
    Ok(Grant {
        id: id.0,
        estate: estate.0,
        estate_name,
        role: role
            .parse()
            .map_err(|e: terms::codes::UnknownCode| Error::Unreadable(e.to_string()))?,
        firm: firm.map(|f| f.0),
        engineer: engineer.map(|e| e.0),
        buildings: buildings.map(|list| list.into_iter().flatten().map(BuildingId).collect()),
    })
}
