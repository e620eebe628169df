//! Rounds and programme: planning proposes, a person accepts.
mod bundling;
mod moving;
mod offering;
mod placing;
mod prepared;
mod programme;
mod view;
mod words;

pub use moving::{MoveVisit, move_visit, pin_visit};
pub use offering::{offer_day, offer_visit};
pub use placing::{Placing, place_visits, round_breaches};
pub use planning::programme::{LeftOut, ProgrammeVerdict, Replacement, YearLine};
pub use programme::{BudgetForm, BuildingProgramme, Stated, YEARS, programme, state_budget};
pub use view::{Part, PlannedVisit, Promised, Rounds, rounds};
