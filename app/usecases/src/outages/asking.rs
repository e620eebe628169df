//! What a neighbour says when asked whether it is off there too.
use serde::Serialize;
use serde_json::json;
use store::suspected::NeighbourAnswer;
use terms::{FunctionLost, SpaceId, UsedAs};

use super::DESK;
use crate::{Error, Seat, World};

/// A neighbour's answer.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct AskedNeighbour {
    /// Where.
    pub space: SpaceId,
    /// The function asked about.
    pub lost: FunctionLost,
    /// It is off there too.
    pub is_off: bool,
}

/// Keeps what a neighbour said. Off there too is no call of its own: log one when they want it put right.
///
/// # Errors
/// [`Error::Invalid`] at `space` for what is not a home.
pub fn answer_neighbour(
    world: &World,
    seat: &Seat,
    asked: AskedNeighbour,
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&DESK)?;
    world.acting(seat, |tx| {
        tx.once(once, &asked, |tx| {
            let space = tx.space(asked.space)?;
            seat.must_reach(space.building)?;
            if space.used_as != UsedAs::Flat {
                return Err(Error::field("space", "Only a home can be asked."));
            }
            tx.add_neighbour_answer(NeighbourAnswer {
                space: asked.space,
                lost: asked.lost,
                is_off: asked.is_off,
            })?;
            tx.note(
                "neighbour asked",
                &format!("space {}", asked.space),
                &json!({ "lost": asked.lost.code(), "off": asked.is_off }),
            );
            Ok(())
        })
    })
}
