//! A list that was sent: read in a process of its own, then looked at for the first time.
use usecases::World;
use usecases::import::{self, Errand, read_here};
use usecases::tasks::Claimed;

use super::{Trouble, estate_of};
use crate::ListReader;

pub(super) fn run(
    world: &World,
    reader: Option<&ListReader>,
    task: &Claimed,
) -> Result<String, Trouble> {
    let errand: Errand = serde_json::from_value(task.payload.clone())
        .map_err(|e| Trouble::Unknown(format!("list to be read: {e}")))?;
    // Without a program to start (in tests of the pages) this process reads.
    let read = |bytes: &[u8]| match reader {
        Some(reader) => reader.read(bytes),
        None => read_here(bytes),
    };
    Ok(import::read_list(world, estate_of(task)?, &errand, &read)?)
}
