//! One model for a whole part of the estate: exact, for parts that are small enough.
use super::estate::Estate;
use super::formulation::{Formulation, Room};
use super::model::Plan;
use crate::solver::{Effort, Ending};

/// What solving one part exactly came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartBound {
    /// How it ended.
    pub ending: Ending,
    /// No plan of this part costs less, pounds.
    pub bound: f64,
    /// Whether `plan` now holds a plan of this part.
    pub found: bool,
}

/// Solves the part with all its funds as rows; writes the plan found into `plan`. `start` tells whether
/// `plan` already holds one to begin from.
pub fn solve_whole(
    estate: &Estate<'_>,
    buildings: &[usize],
    effort: Effort,
    start: bool,
    plan: &mut Plan,
) -> PartBound {
    let (own, shared) = estate.funds_of(buildings);
    let rooms: Vec<Room> = own
        .iter()
        .chain(&shared)
        .map(|f| Room::whole(estate, *f))
        .collect();
    let form = Formulation::new(estate, buildings, &rooms, &|_, _| 0.0);
    let first = start.then(|| form.start(estate, plan));
    let solved = form.model.solve(effort, first.as_deref());
    let found = !solved.values.is_empty();
    if found {
        form.read(&solved, plan);
    }
    PartBound {
        ending: solved.ending,
        bound: solved.bound,
        found,
    }
}
