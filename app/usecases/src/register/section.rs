//! A building's storeys with what stands on each, lowest first: what a drawing needs to know.
use terms::place::{LevelCard, SpaceCard};
use terms::{SpaceId, UsedAs};

/// A space in its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SectionSpace {
    /// `None` before the building is kept.
    pub id: Option<SpaceId>,
    /// "Flat 14"
    pub name: String,
    /// Its use.
    pub used_as: UsedAs,
    /// The stair that reaches it.
    pub stair: Option<String>,
}

/// A storey, its spaces from left to right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SectionLevel {
    /// 0 is the ground.
    pub ordinal: i32,
    /// "G"
    pub label: String,
    /// From left to right.
    pub spaces: Vec<SectionSpace>,
}

/// The section of a kept building.
pub(super) fn section_of(levels: &[LevelCard], spaces: &[SpaceCard]) -> Vec<SectionLevel> {
    levels
        .iter()
        .map(|level| {
            let mut here: Vec<&SpaceCard> = spaces.iter().filter(|s| s.level == level.id).collect();
            here.sort_by_key(|s| s.place);
            SectionLevel {
                ordinal: level.ordinal,
                label: level.label.clone(),
                spaces: here
                    .into_iter()
                    .map(|s| SectionSpace {
                        id: Some(s.id),
                        name: s.name.clone(),
                        used_as: s.used_as,
                        stair: s.stair.clone(),
                    })
                    .collect(),
            }
        })
        .collect()
}
