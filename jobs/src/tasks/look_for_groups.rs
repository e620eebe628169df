//! Whether a building, a batch, a branch or an installer stands out; once a week whatever the night.
use usecases::stands_out::{Looked, look_for_groups};
use usecases::{Seat, World};

use super::Trouble;

pub(super) fn run(world: &World, seat: &Seat) -> Result<String, Trouble> {
    Ok(match look_for_groups(world, seat)? {
        Looked::Before => "this week's look was made before".to_owned(),
        Looked::Now { groups, found } => {
            format!("{groups} groups looked at, {found} stand out")
        }
    })
}
