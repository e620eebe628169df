//! Entering a building: said in a few numbers, laid out as a section, kept as levels and spaces.
mod layout;
mod wrongs;

use chrono::Datelike;
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::branches::End;
use terms::place::{BuildingCard, SpaceCard};
use terms::{BuildingId, Country, SpaceId, UsedAs};
use uuid::Uuid;

use super::WRITERS;
use super::section::SectionLevel;
use crate::{Error, Seat, World};

pub(super) use layout::label;
use layout::lay_out;
use wrongs::wrongs;

/// Where heat comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub enum Heat {
    /// A unit in each flat.
    Flats,
    /// A plant room, by risers: one for each stack.
    Plant,
    /// Nobody said yet.
    #[default]
    Unknown,
}

/// A storey that differs from the rest.
#[derive(Clone, Debug, Serialize)]
pub struct StoreyForm {
    /// 0 is the ground.
    pub ordinal: u32,
    /// Flats on it.
    pub flats: u32,
    /// Rooms that are not flats, by name: the first stands left, the second right, and so on.
    pub rooms: Vec<String>,
}

/// A building said in a few numbers.
#[derive(Clone, Debug, Serialize)]
pub struct DrawBuilding {
    /// "Withy Court"
    pub name: String,
    /// Starts its units' numbers; made from the name when empty.
    pub code: String,
    /// Where it stands.
    pub address: String,
    /// Whose rule set applies.
    pub country: Country,
    /// Year it was built.
    pub built_year: Option<i32>,
    /// With the ground storey.
    pub storeys: u32,
    /// On each storey that is not listed below.
    pub flats_a_storey: u32,
    /// Storeys that differ.
    pub differing: Vec<StoreyForm>,
    /// The number of the lowest, leftmost flat.
    pub first_number: u32,
    /// Stairs stand after so many bays from the left.
    pub stairs_after: Vec<u32>,
    /// A plant room below the ground.
    pub plant_below: bool,
    /// A tank under the roof.
    pub tank_on_roof: bool,
    /// Where heat comes from.
    pub heat: Heat,
    /// Hardness of the cold main, mg/l as calcium carbonate.
    pub hardness_mg_l: Option<f64>,
    /// "unknown", "none", "clear" or "present".
    pub asbestos_register: String,
}

/// The building as it would be kept, without keeping it.
///
/// # Errors
/// [`Error::Invalid`] with a sentence for each field.
pub fn preview(form: &DrawBuilding) -> Result<Vec<SectionLevel>, Error> {
    Error::unless_empty(wrongs(form))?;
    Ok(lay_out(form))
}

/// Keeps a building with its storeys, spaces and, where heat comes from a plant room, risers.
///
/// # Errors
/// [`Error::Invalid`] with a sentence for each field; code or name already taken.
pub fn draw_building(
    world: &World,
    seat: &Seat,
    form: DrawBuilding,
    once: &str,
) -> Result<BuildingId, Error> {
    seat.must_be(&WRITERS)?;
    let section = preview(&form)?;
    let year = world.now().year();
    if form.built_year.is_some_and(|built| built > year + 5) {
        return Err(Error::field("built", "That year is too far ahead."));
    }
    world.acting(seat, |tx| {
        tx.once(once, &form, |tx| {
            let code = free_code(tx, &form)?;
            let id = tx.add_building(&card(&form, &code))?;
            let flats = keep_section(tx, id, &form.name, &section)?;
            if form.heat == Heat::Plant {
                keep_risers(tx, id, &flats)?;
            }
            let body = json!({"name": form.name, "code": code, "storeys": form.storeys, "flats": flats.len()});
            tx.note("building entered", &format!("building {id}"), &body);
            Ok(id)
        })
    })
}

fn card(form: &DrawBuilding, code: &str) -> BuildingCard {
    BuildingCard {
        id: BuildingId(Uuid::nil()),
        code: code.to_owned(),
        name: form.name.trim().to_owned(),
        address: form.address.trim().to_owned(),
        country: form.country,
        built_year: form.built_year,
        // Building Safety Act 2022 Part 4: seven storeys or more (or 18 metres, which a form does not know).
        higher_risk: (form.storeys >= 7).then_some(true),
        hardness_mg_l: form.hardness_mg_l,
        asbestos_register: form.asbestos_register.clone(),
        note: String::new(),
    }
}

fn free_code(tx: &mut Tx<'_>, form: &DrawBuilding) -> Result<String, Error> {
    let known = tx.buildings()?;
    let name = form.name.trim();
    if known.iter().any(|b| b.name.eq_ignore_ascii_case(name)) {
        return Err(Error::field(
            "name",
            format!("There is already a building called {name}."),
        ));
    }
    let taken = |code: &str| known.iter().any(|b| b.code == code);
    let asked = form.code.trim().to_ascii_uppercase();
    if !asked.is_empty() {
        return if taken(&asked) {
            Err(Error::field(
                "code",
                format!("The code {asked} already starts the numbers of another building."),
            ))
        } else {
            Ok(asked)
        };
    }
    let initials: String = name
        .split_whitespace()
        .filter_map(|word| word.chars().find(char::is_ascii_alphanumeric))
        .take(4)
        .collect::<String>()
        .to_ascii_uppercase();
    let stem = if initials.is_empty() {
        "B".to_owned()
    } else {
        initials
    };
    let free = std::iter::once(stem.clone())
        .chain((2..1000).map(|n| format!("{stem}{n}")))
        .find(|code| !taken(code));
    free.ok_or_else(|| Error::field("code", "Say a code of up to six letters and digits."))
}

/// A flat with the bay it stands in, counting flats and rooms from the left.
type Kept = (usize, SpaceId);

fn keep_section(
    tx: &mut Tx<'_>,
    building: BuildingId,
    building_name: &str,
    section: &[SectionLevel],
) -> Result<Vec<Kept>, Error> {
    let mut flats = Vec::new();
    for storey in section {
        let level = tx.add_level(building, storey.ordinal, &storey.label)?;
        let mut bay = 0;
        for (place, space) in storey.spaces.iter().enumerate() {
            let card = SpaceCard {
                id: SpaceId(Uuid::nil()),
                building,
                building_name: building_name.to_owned(),
                level,
                ordinal: storey.ordinal,
                place: i32::try_from(place).unwrap_or(i32::MAX),
                name: space.name.clone(),
                used_as: space.used_as,
                stair: space.stair.clone(),
                let_short: None,
                site: json!({}),
            };
            let id = tx.add_space(&card, None)?;
            if space.used_as == UsedAs::Flat {
                flats.push((bay, id));
            }
            bay += usize::from(space.used_as != UsedAs::Stair);
        }
    }
    Ok(flats)
}

/// A header from the plant room, and a riser for each stack.
fn keep_risers(tx: &mut Tx<'_>, building: BuildingId, flats: &[Kept]) -> Result<(), Error> {
    let today = tx.today();
    let header = tx.add_branch(building, "Header", "header", None)?;
    let last = flats.iter().map(|(bay, _)| *bay).max().unwrap_or_default();
    let mut number = 0;
    for stack in 0..=last {
        let here: Vec<SpaceId> = flats
            .iter()
            .filter(|(bay, _)| *bay == stack)
            .map(|(_, id)| *id)
            .collect();
        if here.is_empty() {
            continue;
        }
        number += 1;
        let riser = tx.add_branch(building, &format!("Riser {number}"), "riser", None)?;
        tx.link_branch(riser, End::FedByBranch(header), today)?;
        for space in here {
            tx.link_branch(riser, End::Space(space), today)?;
        }
    }
    Ok(())
}
