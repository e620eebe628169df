//! The names behind firms and engineers of an estate, for showing.
use std::collections::BTreeMap;

use terms::{Engineer, EngineerId, EstateId, Firm, FirmId};

use crate::{Error, World};

/// Firms that give an estate time, and their engineers.
#[derive(Clone, Debug, Default)]
pub struct Names {
    /// The firms, by name.
    pub firms: Vec<Firm>,
    /// Their engineers.
    pub engineers: Vec<Engineer>,
    by_firm: BTreeMap<FirmId, String>,
    by_engineer: BTreeMap<EngineerId, String>,
}

impl Names {
    /// A firm's name; "a firm no longer here" when it left.
    pub fn firm(&self, id: FirmId) -> &str {
        self.by_firm
            .get(&id)
            .map_or("a firm no longer here", String::as_str)
    }

    /// An engineer's name.
    pub fn engineer(&self, id: EngineerId) -> &str {
        self.by_engineer
            .get(&id)
            .map_or("an engineer no longer here", String::as_str)
    }

    /// An engineer with their qualifications.
    pub fn engineer_card(&self, id: EngineerId) -> Option<&Engineer> {
        self.engineers.iter().find(|e| e.id == id)
    }

    /// Whether a firm gives this estate time.
    pub fn has_firm(&self, id: FirmId) -> bool {
        self.by_firm.contains_key(&id)
    }
}

/// Who works for an estate.
pub(crate) fn names_in(world: &World, estate: EstateId) -> Result<Names, Error> {
    let (firms, engineers) = world.pool.at_door::<_, Error>(|door| {
        let firms = door.firms_of(estate)?;
        let ids: Vec<FirmId> = firms.iter().map(|f| f.id).collect();
        let engineers = door.engineers_of(&ids)?;
        Ok((firms, engineers))
    })?;
    Ok(Names {
        by_firm: firms.iter().map(|f| (f.id, f.name.clone())).collect(),
        by_engineer: engineers.iter().map(|e| (e.id, e.name.clone())).collect(),
        firms,
        engineers,
    })
}
