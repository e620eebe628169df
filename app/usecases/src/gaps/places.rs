//! Gaps of homes, ways in and units: each with the places it is about.
use std::collections::BTreeSet;

use store::Tx;
use terms::UsedAs;
use terms::place::{BuildingCard, SpaceCard};
use terms::unit::UnitCard;

use super::found::{Gap, listed};
use crate::Error;

/// Kinds whose rated output says what a new one must give.
const RATED: [&str; 7] = ["CB", "GB", "EB", "PB", "HIU", "HP", "TS"];

fn names(of: &[&SpaceCard], unknown: impl Fn(&SpaceCard) -> bool) -> Vec<String> {
    of.iter()
        .filter(|s| unknown(s))
        .map(|s| s.name.clone())
        .collect()
}

fn numbers(units: &[UnitCard], unknown: impl Fn(&UnitCard) -> bool) -> Vec<String> {
    units
        .iter()
        .filter(|u| unknown(u))
        .map(|u| u.number.clone())
        .collect()
}

fn flats(spaces: &[SpaceCard]) -> Vec<&SpaceCard> {
    spaces
        .iter()
        .filter(|s| s.used_as == UsedAs::Flat)
        .collect()
}

/// What stands in each home, how it is held, what could stand there.
pub(super) fn of_homes(
    card: &BuildingCard,
    (spaces, units): (&[SpaceCard], &[UnitCard]),
) -> Vec<Gap> {
    let flats = flats(spaces);
    let empty = names(&flats, |s| units.iter().all(|u| u.space != s.id));
    let held = names(&flats, |s| s.let_short.is_none());
    let site = names(&flats, |s| {
        s.site.as_object().is_none_or(serde_json::Map::is_empty)
    });
    let href = format!("/buildings/{}", card.id);
    let found = [
        listed(
            "units",
            (
                "What heats these homes is not known.",
                "Nothing is forecast and no duty is kept for them.",
            ),
            (empty, flats.len()),
            "/import".to_owned(),
        ),
        listed(
            "held",
            (
                "How these homes are held is not known.",
                "Whether their gas check is ours turns on it.",
            ),
            (held, flats.len()),
            href.clone(),
        ),
        listed(
            "site",
            (
                "Nothing is stated of what could stand there.",
                "No other option can be weighed: unknown is never “fits”.",
            ),
            (site, flats.len()),
            href,
        ),
    ];
    found.into_iter().flatten().collect()
}

/// How to get in, and what to shut off.
pub(super) fn of_ways(
    tx: &mut Tx<'_>,
    card: &BuildingCard,
    spaces: &[SpaceCard],
) -> Result<Vec<Gap>, Error> {
    let flats = flats(spaces);
    let reached: Vec<&SpaceCard> = spaces
        .iter()
        .filter(|s| matches!(s.used_as, UsedAs::Flat | UsedAs::Plant | UsedAs::Roof))
        .collect();
    let ways = tx.ways_stated(card.id)?;
    let way = names(&reached, |s| ways.iter().all(|(id, _)| *id != s.id));
    let tap = names(&flats, |s| {
        ways.iter().all(|(id, stated)| *id != s.id || !stated)
    });
    let href = format!("/buildings/{}", card.id);
    let found = [
        listed(
            "way",
            (
                "How to get in is not stated.",
                "An engineer stands before a locked door.",
            ),
            (way, reached.len()),
            href.clone(),
        ),
        listed(
            "tap",
            (
                "Where the stop tap is, is not stated.",
                "A leak runs while somebody looks for it.",
            ),
            (tap, flats.len()),
            href,
        ),
    ];
    Ok(found.into_iter().flatten().collect())
}

/// What papers would tell: the last check, the year of fitting.
pub(super) fn of_papers(
    tx: &mut Tx<'_>,
    card: &BuildingCard,
    units: &[UnitCard],
) -> Result<Vec<Gap>, Error> {
    let undated: BTreeSet<_> = tx
        .duties_now(Some(card.id))?
        .into_iter()
        .filter(|d| d.deadline.is_none())
        .map(|d| d.unit)
        .collect();
    let papers = numbers(units, |u| undated.contains(&u.id));
    let fitted = numbers(units, |u| {
        u.installed
            .is_none_or(|(first, last)| (last - first).num_days() > 366)
    });
    let found = [
        listed(
            "papers",
            (
                "When these were last checked or serviced is not known.",
                "Their duties have no date until the papers come.",
            ),
            (papers, units.len()),
            "/duties".to_owned(),
        ),
        listed(
            "fitted",
            (
                "When these were fitted is not known to a year.",
                "Their age is a guess, and the doubt is in their forecast.",
            ),
            (fitted, units.len()),
            format!("/buildings/{}", card.id),
        ),
    ];
    Ok(found.into_iter().flatten().collect())
}

/// What the plate and the eye would tell.
pub(super) fn of_plates(card: &BuildingCard, units: &[UnitCard]) -> Vec<Gap> {
    let serial = numbers(units, |u| u.serial.trim().is_empty());
    let rated = numbers(units, |u| {
        u.rated_kw.is_none() && RATED.contains(&u.kind.as_str())
    });
    let water = numbers(units, |u| u.reducer_fitted.is_none());
    let (of, href) = (units.len(), format!("/buildings/{}", card.id));
    let found = [
        listed(
            "serial",
            (
                "The serial of these is not known.",
                "Nobody can be sure which one a paper speaks of.",
            ),
            (serial, of),
            href.clone(),
        ),
        listed(
            "rated",
            (
                "The output of these is not known.",
                "Readings cannot be held against it.",
            ),
            (rated, of),
            href.clone(),
        ),
        listed(
            "water",
            (
                "Whether these have a scale reducer is not known.",
                "Hard water and no reducer moves the forecast.",
            ),
            (water, of),
            href,
        ),
    ];
    found.into_iter().flatten().collect()
}
