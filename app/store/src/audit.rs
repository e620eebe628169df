//! The audit chain of an estate.
//!
//! `link(n) = SHA-256(link(n−1) ‖ n ‖ at ‖ who ‖ act ‖ about ‖ commitment(n))`,
//! `commitment = SHA-256(salt ‖ body)`; link(0) is 32 zero bytes. n is 8 bytes big-endian, `at` whole
//! microseconds since 1970 as 8 bytes big-endian, `who` the 16 bytes of the id, each text is preceded
//! by its length as 8 bytes. Bodies and salts lie apart: stripped, the chain stays whole.
use chrono::{DateTime, Utc};
use diesel::prelude::*;
use sha2::{Digest, Sha256};
use terms::{AccountId, hex};
use uuid::Uuid;

use crate::estate_schema::{audit_bodies, audit_entries};
use crate::{Db, Error, Tx};

/// One thing done, before it is linked.
#[derive(Clone, Debug)]
pub(crate) struct Note {
    act: String,
    about: String,
    body: String,
}

/// What [`Tx::verify_chain`] found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ChainVerdict {
    /// The entry numbered here does not fit its neighbours or its body.
    BrokenAt(i64),
    /// Every link fits; the number of entries, the head in hexadecimal, and how many bodies are stripped.
    Whole {
        /// Entries in the chain.
        entries: i64,
        /// The last link, in hexadecimal.
        head: String,
        /// Bodies taken away for a person's sake.
        stripped: i64,
    },
}

impl Tx<'_> {
    /// Notes that `act` was done about `about`; linked just before the transaction commits.
    pub fn note(&mut self, act: &str, about: &str, body: &serde_json::Value) {
        self.notes.push(Note {
            act: act.to_owned(),
            about: about.to_owned(),
            body: body.to_string(),
        });
    }

    /// Links the notes under the estate's own lock: the last statements before commit.
    #[expect(
        clippy::disallowed_methods,
        reason = "advisory locks have no typed form in Diesel"
    )]
    pub(crate) fn chain_notes(&mut self) -> Result<(), Error> {
        let notes = std::mem::take(&mut self.notes);
        if notes.is_empty() {
            return Ok(());
        }
        let name = format!("audit {}", self.estate());
        diesel::sql_query("SELECT pg_advisory_xact_lock(hashtextextended($1, 0))")
            .bind::<diesel::sql_types::Text, _>(name)
            .execute(self.conn())?;
        let (mut n, mut link) = self.chain_head()?;
        for note in notes {
            n += 1;
            let salt = Uuid::new_v4().into_bytes();
            let commitment = commit(&salt, &note.body);
            link = next_link(
                &link,
                n,
                self.at(),
                self.who(),
                (&note.act, &note.about),
                &commitment,
            );
            self.write_entry(n, &note, (&salt, &commitment, &link))?;
        }
        Ok(())
    }

    /// The number and link of the last entry; (0, 32 zero bytes) for an empty chain.
    ///
    /// # Errors
    /// The store's own.
    pub fn chain_head(&mut self) -> Result<(i64, Vec<u8>), Error> {
        let estate = self.estate();
        let last: Option<(i64, Vec<u8>)> = audit_entries::table
            .filter(audit_entries::estate_id.eq(Db(estate)))
            .order(audit_entries::n.desc())
            .select((audit_entries::n, audit_entries::link))
            .first(self.conn())
            .optional()?;
        Ok(last.unwrap_or((0, vec![0; 32])))
    }

    /// The head as printed on papers.
    ///
    /// # Errors
    /// The store's own.
    pub fn chain_head_text(&mut self) -> Result<String, Error> {
        self.chain_head()
            .map(|(n, link)| format!("{n}-{}", hex(&link)))
    }

    fn write_entry(
        &mut self,
        n: i64,
        note: &Note,
        (salt, commitment, link): (&[u8], &[u8], &[u8]),
    ) -> Result<(), Error> {
        let (estate, at, who) = (self.estate(), self.at(), self.who());
        diesel::insert_into(audit_entries::table)
            .values((
                audit_entries::estate_id.eq(Db(estate)),
                audit_entries::n.eq(n),
                audit_entries::at.eq(at),
                audit_entries::who.eq(Db(who)),
                audit_entries::act.eq(&note.act),
                audit_entries::about.eq(&note.about),
                audit_entries::commitment.eq(commitment),
                audit_entries::link.eq(link),
            ))
            .execute(self.conn())?;
        diesel::insert_into(audit_bodies::table)
            .values((
                audit_bodies::estate_id.eq(Db(estate)),
                audit_bodies::n.eq(n),
                audit_bodies::salt.eq(salt),
                audit_bodies::body.eq(&note.body),
            ))
            .execute(self.conn())?;
        Ok(())
    }

    /// Walks the whole chain of this estate.
    ///
    /// # Errors
    /// The store's own; a broken chain is a verdict, not an error.
    pub fn verify_chain(&mut self) -> Result<ChainVerdict, Error> {
        let estate = self.estate();
        let (mut link, mut entries, mut stripped) = (vec![0_u8; 32], 0_i64, 0_i64);
        loop {
            let rows: Vec<EntryRow> = audit_entries::table
                .left_join(
                    audit_bodies::table.on(audit_bodies::estate_id
                        .eq(audit_entries::estate_id)
                        .and(audit_bodies::n.eq(audit_entries::n))),
                )
                .filter(
                    audit_entries::estate_id
                        .eq(Db(estate))
                        .and(audit_entries::n.gt(entries)),
                )
                .order(audit_entries::n)
                .limit(2000)
                .select(EntryRow::as_select())
                .load(self.conn())?;
            if rows.is_empty() {
                return Ok(ChainVerdict::Whole {
                    entries,
                    head: hex(&link),
                    stripped,
                });
            }
            for row in rows {
                entries += 1;
                match row.checked(entries, &link) {
                    None => return Ok(ChainVerdict::BrokenAt(entries)),
                    Some(is_stripped) => stripped += i64::from(is_stripped),
                }
                link = row.link;
            }
        }
    }

    /// Takes away the bodies and salts of every entry about `about`; the chain stays whole.
    ///
    /// # Errors
    /// The store's own.
    pub fn strip_bodies(&mut self, about: &str) -> Result<usize, Error> {
        let estate = self.estate();
        let numbers: Vec<i64> = audit_entries::table
            .filter(
                audit_entries::estate_id
                    .eq(Db(estate))
                    .and(audit_entries::about.eq(about)),
            )
            .select(audit_entries::n)
            .load(self.conn())?;
        let at = self.at();
        Ok(diesel::update(
            audit_bodies::table.filter(
                audit_bodies::estate_id
                    .eq(Db(estate))
                    .and(audit_bodies::n.eq_any(numbers)),
            ),
        )
        .set((
            audit_bodies::salt.eq(None::<Vec<u8>>),
            audit_bodies::body.eq(None::<String>),
            audit_bodies::stripped_at.eq(Some(at)),
        ))
        .execute(self.conn())?)
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = audit_entries)]
struct EntryRow {
    n: i64,
    at: DateTime<Utc>,
    #[diesel(deserialize_as = Db<AccountId>)]
    who: AccountId,
    act: String,
    about: String,
    commitment: Vec<u8>,
    link: Vec<u8>,
    #[diesel(embed)]
    kept: Option<BodyRow>,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = audit_bodies)]
struct BodyRow {
    salt: Option<Vec<u8>>,
    body: Option<String>,
    stripped_at: Option<DateTime<Utc>>,
}

impl EntryRow {
    /// `None` when something does not fit; else whether its body was stripped.
    fn checked(&self, expected_n: i64, before: &[u8]) -> Option<bool> {
        let link = next_link(
            before,
            self.n,
            self.at,
            self.who,
            (&self.act, &self.about),
            &self.commitment,
        );
        if self.n != expected_n || link != self.link {
            return None;
        }
        let kept = self.kept.as_ref()?;
        match (&kept.salt, &kept.body) {
            (Some(salt), Some(body)) => (commit(salt, body) == self.commitment).then_some(false),
            (None, None) => kept.stripped_at.map(|_| true),
            _ => None,
        }
    }
}

fn commit(salt: &[u8], body: &str) -> Vec<u8> {
    Sha256::new()
        .chain_update(salt)
        .chain_update(body.as_bytes())
        .finalize()
        .to_vec()
}

fn next_link(
    before: &[u8],
    n: i64,
    at: DateTime<Utc>,
    who: AccountId,
    (act, about): (&str, &str),
    commitment: &[u8],
) -> Vec<u8> {
    let text = |hash: Sha256, text: &str| {
        hash.chain_update((text.len() as u64).to_be_bytes())
            .chain_update(text.as_bytes())
    };
    let hash = Sha256::new()
        .chain_update(before)
        .chain_update(n.to_be_bytes())
        .chain_update(at.timestamp_micros().to_be_bytes())
        .chain_update(who.0.as_bytes());
    text(text(hash, act), about)
        .chain_update(commitment)
        .finalize()
        .to_vec()
}
