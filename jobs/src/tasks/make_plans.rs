//! Programmes: the one that was asked for and is too large for a page, or at night every one made anew.
use serde_json::Value;
use usecases::plan::{self, PlanWish, SharedWish};
use usecases::tasks::{Claimed, tell};
use usecases::{Seat, World};

use super::Trouble;
use crate::LEASE;

pub(super) fn run(world: &World, seat: &Seat, task: &Claimed) -> Result<String, Trouble> {
    let mut told = |_: u32, words: &str| tell(world, task.id, words, LEASE);
    let wish = task
        .payload
        .get("wish")
        .filter(|wish| **wish != Value::Null);
    if let Some(wish) = wish {
        let wish: PlanWish = serde_json::from_value(wish.clone())
            .map_err(|e| Trouble::Unknown(format!("plan to be made: {e}")))?;
        return Ok(plan::make_plan_slowly(world, seat, &wish, &mut told)?);
    }
    let shared = task
        .payload
        .get("shared")
        .filter(|wish| **wish != Value::Null);
    if let Some(wish) = shared {
        let wish: SharedWish = serde_json::from_value(wish.clone())
            .map_err(|e| Trouble::Unknown(format!("shared programme to be made: {e}")))?;
        return Ok(plan::make_shared_plan_slowly(
            world, seat, &wish, &mut told,
        )?);
    }
    let made = plan::make_plans_anew(world, seat, &mut told)?;
    Ok(format!("{made} plans made anew"))
}
