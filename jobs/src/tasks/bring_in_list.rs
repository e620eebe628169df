//! A long list that was looked at and asked for: brought in whole, or not at all.
use usecases::World;
use usecases::import::{self, Errand};
use usecases::tasks::Claimed;

use super::{Trouble, estate_of};

pub(super) fn run(world: &World, task: &Claimed) -> Result<String, Trouble> {
    let errand: Errand = serde_json::from_value(task.payload.clone())
        .map_err(|e| Trouble::Unknown(format!("list to be brought in: {e}")))?;
    Ok(import::bring_in_list(world, estate_of(task)?, &errand)?)
}
