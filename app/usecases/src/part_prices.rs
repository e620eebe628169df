//! Parts as a van carries them: what one costs, and how often a unit's next failure is of each.
use std::collections::{BTreeMap, BTreeSet};

use store::Tx;
use terms::Pence;

use crate::Error;
use crate::forecast::Told;

/// Share of a repair's price that is the part, where nothing else is known (judgement, no source).
const PART_SHARE: f64 = 0.35;

/// (kind, code) → name with the kind's, price of one to carry. A part nobody has a repair price for needs nothing carried.
pub(crate) fn part_prices(
    tx: &mut Tx<'_>,
    kinds: &BTreeSet<String>,
) -> Result<BTreeMap<(String, String), (String, Pence)>, Error> {
    let names: BTreeMap<String, String> =
        tx.kinds()?.into_iter().map(|k| (k.code, k.name)).collect();
    let mut found = BTreeMap::new();
    let shares = tx.part_shares()?;
    for kind in kinds {
        let prices = tx.prices_of(kind)?;
        for share in shares.iter().filter(|s| s.kind == *kind) {
            let item = format!("repair:{}", share.code);
            if let Some(price) = prices.iter().find(|p| p.item == item) {
                let of = names.get(kind).map_or("", String::as_str);
                let name = format!("{}, {of}", share.name);
                let to_five = (price.likely.0 as f64 * PART_SHARE / 500.0).round() as i64 * 500;
                let key = (kind.clone(), share.code.clone());
                found.insert(key, (name, Pence(to_five.max(500))));
            }
        }
    }
    Ok(found)
}

/// Share of a unit's failures to come that are each part's.
pub(crate) fn shares_of(told: &Told) -> impl Iterator<Item = (&str, f64)> {
    let parts = told
        .kept
        .forecast
        .horizons
        .first()
        .map_or(&[][..], |h| h.parts.as_slice());
    let whole: f64 = parts.iter().map(|p| p.chance).sum();
    parts
        .iter()
        .filter(move |_| whole > 0.0)
        .filter_map(move |p| Some((p.part.as_deref()?, p.chance / whole)))
}
