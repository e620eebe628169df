//! From the few numbers of a form to storeys and their bays, stairs between them.
use terms::UsedAs;

use super::super::section::{SectionLevel, SectionSpace};
use super::{DrawBuilding, Heat, StoreyForm};

pub(super) fn storey_of(form: &DrawBuilding, ordinal: u32) -> StoreyForm {
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
pub(super) fn lay_out(form: &DrawBuilding) -> Vec<SectionLevel> {
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
pub(in crate::register) fn label(ordinal: i32) -> String {
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
