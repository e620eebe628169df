//! The list over several buildings: one stretch each, what is late and what nobody opened for in sight, the rest folded.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use terms::BuildingId;
use usecases::duties::{DutyLine, Standing};
use wording::sentences::{capital, counted};

use super::list::{Part, Wanted, parts, shorten};

/// One building of the list.
pub(super) struct Place {
    pub id: String,
    pub name: String,
    pub note: String,
    /// In sight: late, and no access.
    pub open: Vec<Part>,
    /// Folded: what falls due, what has no evidence, what was done; each with how many.
    pub folded: Vec<(Part, usize)>,
}

/// The buildings, those with most past the day first; empty when there is one, or the address asks for one or for a
/// part: then the flat list serves.
pub(super) fn places(
    lines: &[&DutyLine],
    today: NaiveDate,
    (wanted, desk): (&Wanted, bool),
) -> Vec<Place> {
    let mut by_building: BTreeMap<(&str, BuildingId), Vec<&DutyLine>> = BTreeMap::new();
    for line in lines {
        let key = (line.building_name.as_str(), line.building);
        by_building.entry(key).or_default().push(line);
    }
    if by_building.len() < 2 || wanted.building.is_some() || !wanted.part.is_empty() {
        return Vec::new();
    }
    let late = |l: &&DutyLine| matches!(l.standing, Standing::Late { .. });
    let mut places: Vec<(usize, Place)> = by_building
        .into_iter()
        .map(|((name, building), here)| {
            let past = here.iter().copied().filter(|l| late(l)).count();
            let place = place((name, building), (&here, past), today, desk);
            (past, place)
        })
        .collect();
    places.sort_by_key(|(past, _)| std::cmp::Reverse(*past));
    places.into_iter().map(|(_, place)| place).collect()
}

fn place(
    (name, building): (&str, BuildingId),
    (here, past): (&[&DutyLine], usize),
    today: NaiveDate,
    desk: bool,
) -> Place {
    let within = Wanted {
        building: Some(building),
        part: String::new(),
        rule: String::new(),
    };
    let (mut open, mut folded) = (Vec::new(), Vec::new());
    for mut part in parts(here, today, desk) {
        if part.rows.is_empty() {
            continue;
        }
        let count = part.rows.len();
        shorten(&mut part, &within);
        if matches!(part.id, "late" | "no-access") {
            open.push(part);
        } else {
            folded.push((part, count));
        }
    }
    Place {
        id: format!("b-{building}"),
        name: name.to_owned(),
        note: match past {
            0 => "Nothing is past its day".to_owned(),
            n => capital(&format!(
                "{} past the day",
                counted(n as u64, "duty is", "duties are")
            )),
        },
        open,
        folded,
    }
}
