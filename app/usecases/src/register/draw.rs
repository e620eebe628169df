//! Entering a building: said in a few numbers, laid out as a section, kept as levels and spaces.
use chrono::Datelike;
use serde::Serialize;
use serde_json::json;
use store::Tx;
use store::branches::End;
use terms::place::{BuildingCard, SpaceCard};
use terms::{BuildingId, Country, SpaceId, UsedAs};
use uuid::Uuid;

use super::WRITERS;
use super::section::{SectionLevel, SectionSpace};
use crate::{Error, FieldError, Seat, World};

/// Storeys a form may ask for.
const MOST_STOREYS: u32 = 60;
/// Flats a storey may have.
const MOST_FLATS: u32 = 40;

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

fn wrongs(form: &DrawBuilding) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    let mut say = |field: &str, sentence: String| wrongs.push(FieldError::at(field, sentence));
    if form.name.trim().is_empty() {
        say("name", "A building needs a name.".to_owned());
    }
    let code = form.code.trim();
    if code.len() > 6 || !code.chars().all(|c| c.is_ascii_alphanumeric()) {
        say(
            "code",
            format!("“{code}” is not up to six letters and digits."),
        );
    }
    if !(1..=MOST_STOREYS).contains(&form.storeys) {
        say(
            "storeys",
            format!(
                "{} is not between 1 and {MOST_STOREYS} storeys.",
                form.storeys
            ),
        );
    }
    if form.flats_a_storey > MOST_FLATS {
        say(
            "flats",
            format!(
                "{} is more than {MOST_FLATS} flats on a storey.",
                form.flats_a_storey
            ),
        );
    }
    for storey in &form.differing {
        if storey.ordinal >= form.storeys || storey.flats > MOST_FLATS {
            say(
                &format!("flats-{}", storey.ordinal),
                format!(
                    "This storey cannot be taken: {} flats on storey {} of {}.",
                    storey.flats, storey.ordinal, form.storeys
                ),
            );
        }
    }
    let flats: u32 = (0..form.storeys.min(MOST_STOREYS))
        .map(|ordinal| storey_of(form, ordinal).flats)
        .sum();
    if flats == 0 {
        say("flats", "The building has no flats this way.".to_owned());
    }
    if let Some(after) = form.stairs_after.iter().find(|n| **n > MOST_FLATS) {
        say("stairs", format!("There is no flat {after} from the left."));
    }
    if form
        .built_year
        .is_some_and(|year| !(1600..=2100).contains(&year))
    {
        say("built", "A year such as 1964 is needed.".to_owned());
    }
    if form
        .hardness_mg_l
        .is_some_and(|h| !(0.0..=1000.0).contains(&h))
    {
        say(
            "hardness",
            "Hardness lies between 0 and 1,000 mg/l.".to_owned(),
        );
    }
    if !["unknown", "none", "clear", "present"].contains(&form.asbestos_register.as_str()) {
        say(
            "asbestos",
            "Say how the asbestos register stands.".to_owned(),
        );
    }
    wrongs
}

fn storey_of(form: &DrawBuilding, ordinal: u32) -> StoreyForm {
    form.differing
        .iter()
        .find(|s| s.ordinal == ordinal)
        .cloned()
        .unwrap_or(StoreyForm {
            ordinal,
            flats: form.flats_a_storey,
            rooms: Vec::new(),
        })
}

/// Levels from the lowest: numbers run from the left, lowest storey first.
fn lay_out(form: &DrawBuilding) -> Vec<SectionLevel> {
    let mut stairs = form.stairs_after.clone();
    stairs.sort_unstable();
    stairs.dedup();
    let mut levels = Vec::new();
    if form.plant_below || form.heat == Heat::Plant {
        levels.push(single(-1, "below", "Plant room", UsedAs::Plant));
    }
    let mut number = form.first_number;
    for ordinal in 0..form.storeys {
        let storey = storey_of(form, ordinal);
        let ordinal = ordinal as i32;
        levels.push(SectionLevel {
            ordinal,
            label: label(ordinal),
            spaces: bays(&storey, &stairs, &mut number),
        });
    }
    if form.tank_on_roof {
        levels.push(single(
            form.storeys as i32,
            "roof",
            "Roof space",
            UsedAs::Roof,
        ));
    }
    levels
}

/// "G", "1", …
pub(super) fn label(ordinal: i32) -> String {
    if ordinal == 0 {
        "G".to_owned()
    } else {
        ordinal.to_string()
    }
}

fn single(ordinal: i32, label: &str, name: &str, used_as: UsedAs) -> SectionLevel {
    SectionLevel {
        ordinal,
        label: label.to_owned(),
        spaces: vec![SectionSpace {
            id: None,
            name: name.to_owned(),
            used_as,
            stair: None,
        }],
    }
}

fn bays(storey: &StoreyForm, stairs: &[u32], number: &mut u32) -> Vec<SectionSpace> {
    let room = |name: &String| SectionSpace {
        id: None,
        name: name.clone(),
        used_as: UsedAs::Common,
        stair: None,
    };
    let mut rooms: Vec<SectionSpace> = storey.rooms.iter().step_by(2).map(room).collect();
    for _ in 0..storey.flats {
        rooms.push(SectionSpace {
            id: None,
            name: format!("Flat {number}"),
            used_as: UsedAs::Flat,
            stair: None,
        });
        *number += 1;
    }
    rooms.extend(storey.rooms.iter().skip(1).step_by(2).map(room));
    let count = rooms.len();
    let mut bays = Vec::with_capacity(count + stairs.len());
    let mut next = stairs.iter().enumerate().peekable();
    for (bay, mut space) in rooms.into_iter().enumerate() {
        while let Some((n, _)) = next.next_if(|(_, after)| **after as usize <= bay) {
            bays.push(stair(n));
        }
        space.stair = nearest(stairs, bay);
        bays.push(space);
    }
    bays.extend(next.map(|(n, _)| stair(n)));
    bays
}

fn stair(n: usize) -> SectionSpace {
    SectionSpace {
        id: None,
        name: format!("Stair {}", n + 1),
        used_as: UsedAs::Stair,
        stair: None,
    }
}

/// The stair nearest to the middle of a bay; the left one of two.
fn nearest(stairs: &[u32], bay: usize) -> Option<String> {
    let twice = |after: u32| (i64::from(after) * 2 - (bay as i64 * 2 + 1)).abs();
    stairs
        .iter()
        .enumerate()
        .min_by_key(|(n, after)| (twice(**after), *n))
        .map(|(n, _)| (n + 1).to_string())
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
