//! What each role, or one person, may agree without asking.
use chrono::NaiveDate;
use diesel::prelude::*;
use terms::trade::Authority;
use terms::{AccountId, Pence, Role};
use uuid::Uuid;

use crate::estate_schema::authorities;
use crate::register::read_code;
use crate::{Db, Error, Tx};

impl Tx<'_> {
    /// States what a role, or one person in it, may agree; the former statement stays readable.
    pub fn state_authority(&mut self, authority: &Authority) -> Result<(), Error> {
        let (estate, at) = (self.estate(), self.at());
        diesel::update(
            authorities::table.filter(
                authorities::estate_id
                    .eq(Db(estate))
                    .and(authorities::role.eq(authority.role.code()))
                    .and(authorities::account.is_not_distinct_from(authority.account.map(Db)))
                    .and(authorities::superseded_at.is_null()),
            ),
        )
        .set(authorities::superseded_at.eq(at))
        .execute(self.conn())?;
        let id: Uuid = self.fresh();
        let row = (
            (
                authorities::estate_id.eq(Db(estate)),
                authorities::id.eq(id),
            ),
            (
                authorities::role.eq(authority.role.code()),
                authorities::account.eq(authority.account.map(Db)),
            ),
            (
                authorities::limit_pence.eq(authority.limit.0),
                authorities::emergency_pence.eq(authority.emergency.0),
            ),
            (
                authorities::from_on.eq(authority.from_on),
                authorities::until_on.eq(authority.until_on),
            ),
            authorities::happened_on.eq(authority.from_on),
            (
                authorities::recorded_at.eq(at),
                authorities::recorded_by.eq(Db(self.who())),
            ),
        );
        diesel::insert_into(authorities::table)
            .values(row)
            .execute(self.conn())?;
        Ok(())
    }

    /// The authorities in force on `day`, by role; a person's own after the role's.
    pub fn authorities(&mut self, day: NaiveDate) -> Result<Vec<Authority>, Error> {
        let estate = self.estate();
        type Row = (
            String,
            Option<Db<AccountId>>,
            i64,
            i64,
            NaiveDate,
            Option<NaiveDate>,
        );
        let rows: Vec<Row> = authorities::table
            .filter(
                authorities::estate_id
                    .eq(Db(estate))
                    .and(authorities::superseded_at.is_null())
                    .and(authorities::from_on.le(day))
                    .and(
                        authorities::until_on
                            .is_null()
                            .or(authorities::until_on.ge(day)),
                    ),
            )
            .order((
                authorities::role,
                authorities::account.asc().nulls_first(),
                authorities::id,
            ))
            .select((
                authorities::role,
                authorities::account,
                authorities::limit_pence,
                authorities::emergency_pence,
                authorities::from_on,
                authorities::until_on,
            ))
            .load(self.conn())?;
        rows.into_iter()
            .map(|(role, account, limit, emergency, from_on, until_on)| {
                Ok(Authority {
                    role: read_code(&role)?,
                    account: account.map(|a| a.0),
                    limit: Pence(limit),
                    emergency: Pence(emergency),
                    from_on,
                    until_on,
                })
            })
            .collect()
    }

    /// What `account` may agree in `role` on `day`: their own statement before the role's; `None` when
    /// nothing was ever stated.
    pub fn authority_of(
        &mut self,
        role: Role,
        account: AccountId,
        day: NaiveDate,
    ) -> Result<Option<Authority>, Error> {
        let (mut own, mut general) = (None, None);
        for authority in self.authorities(day)? {
            if authority.role == role && authority.account == Some(account) {
                own = Some(authority);
            } else if authority.role == role && authority.account.is_none() {
                general = Some(authority);
            }
        }
        Ok(own.or(general))
    }
}
