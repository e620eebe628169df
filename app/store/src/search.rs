//! Finding by words: whole words of names, numbers and serials, matched by their beginnings.
//! Resident data is never among them.
use diesel::prelude::*;
use uuid::Uuid;

use crate::estate_schema::words;
use crate::{Db, Error, Tx};

/// Lower-case letters and digits, parted at everything else.
pub fn words_of(text: &str) -> Vec<String> {
    let mut found: Vec<String> = text
        .to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect();
    found.sort();
    found.dedup();
    found
}

impl Tx<'_> {
    /// Replaces the words under which something is found.
    pub fn index_words(&mut self, kind: &str, id: Uuid, text: &str) -> Result<(), Error> {
        let estate = self.estate();
        let about = words::estate_id
            .eq(Db(estate))
            .and(words::about_kind.eq(kind))
            .and(words::about_id.eq(id));
        diesel::delete(words::table.filter(about)).execute(self.conn())?;
        let rows: Vec<_> = words_of(text)
            .into_iter()
            .map(|word| {
                (
                    (words::estate_id.eq(Db(estate)), words::word.eq(word)),
                    (
                        words::about_kind.eq(kind.to_owned()),
                        words::about_id.eq(id),
                    ),
                )
            })
            .collect();
        diesel::insert_into(words::table)
            .values(rows)
            .execute(self.conn())?;
        Ok(())
    }

    /// What is found under every word of `text`, each taken as the beginning of a word.
    pub fn find(&mut self, text: &str, limit: usize) -> Result<Vec<(String, Uuid)>, Error> {
        let estate = self.estate();
        let mut found: Option<Vec<(String, Uuid)>> = None;
        for word in words_of(text) {
            let hits: Vec<(String, Uuid)> = words::table
                .filter(
                    words::estate_id
                        .eq(Db(estate))
                        .and(words::word.ge(word.clone()))
                        .and(words::word.lt(format!("{word}\u{10ffff}"))),
                )
                .select((words::about_kind, words::about_id))
                .distinct()
                .order((words::about_kind, words::about_id))
                .limit(2000)
                .load(self.conn())?;
            found = Some(match found {
                None => hits,
                Some(before) => before
                    .into_iter()
                    .filter(|hit| hits.contains(hit))
                    .collect(),
            });
        }
        let mut found = found.unwrap_or_default();
        found.truncate(limit);
        Ok(found)
    }
}
