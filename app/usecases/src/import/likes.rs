//! What a list of units says they are alike in, and how many people live in their homes: read by its words, held against
//! the rows above and the register.
use std::collections::BTreeMap;

use store::unit_likes::LikeRow;
use terms::place::SpaceCard;
use terms::unit::UnitCard;
use terms::{HeatingSystem, LikeIn, SpaceId, UsedAs};

use super::fields::{Field, normal};
use super::problem::{Change, Code};
use super::row::{Reading, RowReader};
use super::values::is_unknown;
use crate::forecast::{PEOPLE_FACT, family_key};
use crate::register::MOST_LETTERS;

/// People in a home at most, as on the page of its site.
const MOST_PEOPLE: u32 = 20;

/// What a row says of its unit and its home; nothing where it says nothing, or what cannot be.
#[derive(Clone, Debug, Default)]
pub(super) struct Likes {
    /// The word of its family.
    pub family: Option<String>,
    /// How its heating circuit is kept full.
    pub system: Option<HeatingSystem>,
    /// People in the home.
    pub people: Option<u32>,
}

/// Reads them.
pub(super) fn read(
    reader: &mut RowReader<'_>,
    space: &SpaceCard,
    above: &mut BTreeMap<SpaceId, (u32, u32)>,
) -> Likes {
    Likes {
        family: family(reader),
        system: system(reader),
        people: people(reader, space, above),
    }
}

fn family(reader: &mut RowReader<'_>) -> Option<String> {
    let said = reader.text(Field::Family);
    if is_unknown(said) {
        return None;
    }
    let word = said.split_whitespace().collect::<Vec<_>>().join(" ");
    if word.chars().count() > MOST_LETTERS {
        let sentence = format!("A word for a family has at most {MOST_LETTERS} letters.");
        reader.wrong(Field::Family, Code::KindUnknown, said, &sentence);
        return None;
    }
    Some(word)
}

fn system(reader: &mut RowReader<'_>) -> Option<HeatingSystem> {
    let said = reader.text(Field::System);
    if is_unknown(said) {
        return None;
    }
    let found = match normal(said).as_str() {
        "sealed" | "sealed system" | "closed" | "pressurised" => Some(HeatingSystem::Sealed),
        "open" | "open vented" | "open system" | "fed from a tank" | "tank fed" => {
            Some(HeatingSystem::Open)
        }
        _ => None,
    };
    if found.is_none() {
        let sentence = "Sealed or open is needed, or nothing.";
        reader.wrong(Field::System, Code::KindUnknown, said, sentence);
    }
    found
}

fn people(
    reader: &mut RowReader<'_>,
    space: &SpaceCard,
    above: &mut BTreeMap<SpaceId, (u32, u32)>,
) -> Option<u32> {
    let said = reader.text(Field::People);
    if is_unknown(said) {
        return None;
    }
    let number = said.trim().parse().ok().filter(|n| *n <= MOST_PEOPLE);
    let wrong = match (number, above.get(&space.id)) {
        (None, _) => format!("A whole number from 0 to {MOST_PEOPLE} is needed."),
        _ if space.used_as != UsedAs::Flat => "Only a home is lived in.".to_owned(),
        (Some(n), Some((row, other))) if n != *other => {
            format!("Row {row} says of the same home: {other}.")
        }
        (Some(n), _) => {
            above.entry(space.id).or_insert((reader.number(), n));
            return Some(n);
        }
    };
    reader.wrong(Field::People, Code::NumberUnreadable, said, &wrong);
    None
}

/// What of this is new to a unit of the register: its statements, and the people of its home; told with the changes.
pub(super) fn news(
    with: Reading<'_>,
    unit: &UnitCard,
    (row, space, likes): (u32, &SpaceCard, &Likes),
) -> (Vec<(LikeIn, String)>, Option<u32>, Vec<Change>) {
    let stated = with
        .known
        .alike
        .get(&unit.id)
        .map_or(&[][..], Vec::as_slice);
    let holds = |what: LikeIn| {
        let of = stated.iter().rfind(|r: &&LikeRow| r.what == what);
        of.map_or("", |r| r.said.as_str())
    };
    let mut changes = Vec::new();
    let mut change = |field: Field, old: String, new: String| {
        changes.push(Change {
            row,
            unit: unit.number.clone(),
            field,
            old,
            new,
        });
    };
    let mut said = Vec::new();
    if let Some(word) = &likes.family
        && family_key(word) != family_key(holds(LikeIn::Family))
    {
        change(
            Field::Family,
            holds(LikeIn::Family).to_owned(),
            word.clone(),
        );
        said.push((LikeIn::Family, word.clone()));
    }
    if let Some(system) = likes.system
        && system.code() != holds(LikeIn::System)
    {
        let old = holds(LikeIn::System).parse::<HeatingSystem>();
        let old = old.map_or_else(|_| String::new(), |s| s.words().to_owned());
        change(Field::System, old, system.words().to_owned());
        said.push((LikeIn::System, system.code().to_owned()));
    }
    let people = new_people(space, likes);
    if let Some(n) = people {
        let old = people_of(space).map_or_else(String::new, |n| n.to_string());
        change(Field::People, old, n.to_string());
    }
    (said, people, changes)
}

/// What a row says of a unit that is new to the register.
pub(super) fn of_new(likes: &Likes) -> Vec<(LikeIn, String)> {
    let family = likes
        .family
        .iter()
        .map(|word| (LikeIn::Family, word.clone()));
    let system = likes.system.map(|s| (LikeIn::System, s.code().to_owned()));
    family.chain(system).collect()
}

/// The people of a home, where the row says otherwise than the register.
pub(super) fn new_people(space: &SpaceCard, likes: &Likes) -> Option<u32> {
    likes
        .people
        .filter(|n| people_of(space) != Some(f64::from(*n)))
}

fn people_of(space: &SpaceCard) -> Option<f64> {
    space.site.get(PEOPLE_FACT)?.as_f64()
}
