//! How lists were matched before, remembered for the source they come from: its columns by their headings, its names
//! whatever the headings.
use std::collections::BTreeMap;

use sha2::{Digest, Sha256};
use store::Tx;
use terms::hex;

use super::fields::{Field, ListKind};
use super::problem::{Matching, meaning_key};
use super::reading::Sheet;
use crate::Error;

type Names = BTreeMap<Field, BTreeMap<String, String>>;

/// Under which the columns of a source's list are remembered.
fn columns_key((kind, source): (ListKind, &str), sheet: &Sheet) -> String {
    let headings = sheet.headings.join("\u{1f}").to_lowercase();
    let digest = hex(&Sha256::digest(headings));
    match meaning_key(source).as_str() {
        "" => format!("import columns {} {digest}", kind.code()),
        source => format!("import columns {} {digest} of {source}", kind.code()),
    }
}

/// Under which a source's names are remembered; none are without a source.
fn names_key(source: &str) -> Option<String> {
    let source = meaning_key(source);
    (!source.is_empty()).then(|| format!("import names of {source}"))
}

/// The matching of the last list of this source with these headings, with what the source is known to mean by its
/// names. `None` when neither is known.
pub fn remembered(
    tx: &mut Tx<'_>,
    of: (ListKind, &str),
    sheet: &Sheet,
) -> Result<Option<Matching>, Error> {
    let kept = tx.setting(&columns_key(of, sheet))?;
    let columns: Option<Matching> = kept.and_then(|text| serde_json::from_str(&text).ok());
    let names: Names = match names_key(of.1) {
        Some(key) => tx
            .setting(&key)?
            .and_then(|text| serde_json::from_str(&text).ok())
            .unwrap_or_default(),
        None => BTreeMap::new(),
    };
    if columns.is_none() && names.is_empty() {
        return Ok(None);
    }
    let mut matching = columns.unwrap_or_default();
    if !names.is_empty() {
        matching.names = names;
    }
    Ok(Some(matching))
}

/// Remembers a matching for lists of this source with the same headings, and its names for all of its lists.
pub fn remember(
    tx: &mut Tx<'_>,
    of: (ListKind, &str),
    sheet: &Sheet,
    matching: &Matching,
) -> Result<(), Error> {
    let kept = Matching {
        settled: Vec::new(),
        how: Vec::new(),
        ..matching.clone()
    };
    set_if_other(tx, &columns_key(of, sheet), &kept)?;
    match names_key(of.1) {
        Some(key) => set_if_other(tx, &key, &matching.names),
        None => Ok(()),
    }
}

fn set_if_other<T: serde::Serialize>(tx: &mut Tx<'_>, key: &str, value: &T) -> Result<(), Error> {
    let text = serde_json::to_string(value).map_err(|e| Error::Internal(e.to_string()))?;
    if tx.setting(key)?.as_deref() != Some(text.as_str()) {
        tx.set(key, &text)?;
    }
    Ok(())
}
