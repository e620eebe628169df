//! The gaps themselves: one row a sort, with where they are.
use std::collections::BTreeSet;

use chrono::NaiveDate;
use store::Tx;
use store::gaps::GapFinder;
use store::units::Which;
use terms::place::BuildingCard;
use terms::unit::UnitCard;
use terms::{BuildingId, Fate, counting_order};

use super::places;
use crate::cover;
use crate::{Error, Seat};

/// One sort of thing that is not known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gap {
    /// Its key; who finds it out is kept under it.
    pub key: &'static str,
    /// "When it was fitted is not known."
    pub sentence: String,
    /// What follows from not knowing it.
    pub matters: &'static str,
    /// Where: units or spaces by name; empty for the building itself.
    pub places: Vec<String>,
    /// Out of how many; 0 for the building itself.
    pub of: usize,
    /// Where it is written down.
    pub href: String,
    /// Who finds it out, and by when.
    pub finder: Option<GapFinder>,
}

/// What is not known of a building, what matters most first.
pub(super) fn gaps(
    tx: &mut Tx<'_>,
    (seat, card): (&Seat, &BuildingCard),
    (day, holidays): (NaiveDate, &BTreeSet<NaiveDate>),
) -> Result<Vec<Gap>, Error> {
    let spaces = tx.spaces(Some(card.id))?;
    let units = in_service(tx, card.id)?;
    let mut found = of_building(card);
    let covered = cover::buildings(tx, seat, (day, 7), holidays)?
        .into_iter()
        .any(|b| b.building.id == card.id && b.gaps.is_empty());
    if !covered {
        found.push(building_gap(
            "cover",
            "Who comes at night and at weekends is not stated for every day.",
            "A home without heat on a Saturday then waits for Monday.",
            "/cover".to_owned(),
        ));
    }
    found.extend(of_pipes(tx, card, &units)?);
    found.extend(places::of_homes(card, (&spaces, &units)));
    found.extend(places::of_ways(tx, card, &spaces)?);
    found.extend(places::of_papers(tx, card, &units)?);
    found.extend(places::of_plates(card, &units));
    let finders = tx.gap_finders(card.id)?;
    for gap in &mut found {
        gap.finder = finders.iter().find(|f| f.gap == gap.key).cloned();
    }
    Ok(found)
}

/// The units of a building in service.
pub(super) fn in_service(tx: &mut Tx<'_>, building: BuildingId) -> Result<Vec<UnitCard>, Error> {
    let mut units: Vec<UnitCard> = tx
        .units(Which::Building(building))?
        .into_iter()
        .filter(|u| u.fate == Fate::InService)
        .collect();
    units.sort_by_cached_key(|u| counting_order(&u.number));
    Ok(units)
}

fn building_gap(key: &'static str, sentence: &str, matters: &'static str, href: String) -> Gap {
    Gap {
        key,
        sentence: sentence.to_owned(),
        matters,
        places: Vec::new(),
        of: 0,
        href,
        finder: None,
    }
}

fn of_building(card: &BuildingCard) -> Vec<Gap> {
    let href = format!("/buildings/{}/facts", card.id);
    let mut found = Vec::new();
    if card.asbestos_register == "unknown" && card.built_year.is_none_or(|year| year < 2000) {
        found.push(building_gap(
            "asbestos",
            "Whether an asbestos register exists is not known.",
            "No drilling and no lifting of old panels or lagging before it was seen.",
            href.clone(),
        ));
    }
    if card.built_year.is_none() {
        found.push(building_gap(
            "built",
            "When it was built is not known.",
            "It decides what must be looked for before any work.",
            href.clone(),
        ));
    }
    if card.hardness_mg_l.is_none() {
        found.push(building_gap(
            "hardness",
            "The hardness of its water is not known.",
            "Scale moves the forecast of everything that heats water.",
            href.clone(),
        ));
    }
    if card.higher_risk.is_none() {
        found.push(building_gap(
            "height",
            "Whether it is 18 metres or higher is not known.",
            "In a higher-risk building every change is recorded.",
            href,
        ));
    }
    found
}

/// A gap with its places, when there are any.
pub(super) fn listed(
    key: &'static str,
    (sentence, matters): (&str, &'static str),
    (places, of): (Vec<String>, usize),
    href: String,
) -> Option<Gap> {
    (!places.is_empty()).then(|| Gap {
        places,
        of,
        ..building_gap(key, sentence, matters, href)
    })
}

fn of_pipes(tx: &mut Tx<'_>, card: &BuildingCard, units: &[UnitCard]) -> Result<Vec<Gap>, Error> {
    let today = tx.today();
    let branches = tx.branches(card.id, today)?;
    let fed_from_outside = units
        .iter()
        .any(|u| matches!(u.kind.as_str(), "HIU" | "PB" | "PX"));
    let href = format!("/buildings/{}?ask=pipes", card.id);
    if branches.is_empty() {
        return Ok(if fed_from_outside {
            vec![building_gap(
                "pipes",
                "Which pipe feeds which home is not known.",
                "When several homes go cold together, nobody can say what they share.",
                format!("/buildings/{}/branches/new", card.id),
            )]
        } else {
            Vec::new()
        });
    }
    let unfed: Vec<String> = branches
        .iter()
        .filter(|b| b.fed_by.is_empty() && b.fed_by_branches.is_empty())
        .map(|b| b.name.clone())
        .collect();
    let uncounted: Vec<String> = branches
        .iter()
        .filter(|b| !b.fed_by.is_empty() && b.needed.is_none())
        .map(|b| b.name.clone())
        .collect();
    let of = branches.len();
    Ok([
        listed(
            "feeders",
            (
                "What feeds these pipes is not known.",
                "A unit that fails may take more homes than anybody thinks.",
            ),
            (unfed, of),
            href.clone(),
        ),
        listed(
            "needed",
            (
                "How many of the units that feed these pipes they need on the coldest day is not known.",
                "Whether one may be taken out in winter cannot be said.",
            ),
            (uncounted, of),
            href,
        ),
    ]
    .into_iter()
    .flatten()
    .collect())
}
