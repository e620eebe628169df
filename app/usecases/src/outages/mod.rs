//! Outages: calls that point to one cause are proposed, a person joins them, one job answers them, and its end stops
//! every home's clock.
mod asking;
mod ending;
mod joining;
mod known;
mod looking;
mod pipes;
mod proposing;
mod rates;
mod reading;

pub use asking::{AskedNeighbour, answer_neighbour};
pub use ending::{EndForm, Retest, end_outage};
pub use joining::{JoinForm, join, join_call};
pub(crate) use known::neighbours_too;
pub use known::{known_at, log_call_into};
pub use proposing::{Joinable, Proposal, Suspicion, suspicion};
pub use reading::{OutageView, outage_of_seats, outages_overview};
pub use store::event_duties::EventDuty;
pub use store::outages::{OutageCard, OutageHome};
pub use store::suspected::LooseCall;

pub(crate) use proposing::suspicion_in;
pub(crate) use reading::hours_of;

use terms::{FunctionLost, Role};

/// Who joins calls and asks neighbours: whoever answers the telephone.
const DESK: [Role; 3] = [Role::Agent, Role::Supervisor, Role::OutOfHours];

/// Whether a report of `said` counts for a loss of `lost`: who lost both lost each.
fn counts_for(said: FunctionLost, lost: FunctionLost) -> bool {
    use FunctionLost::{Heating, HeatingAndHotWater, HotWater};
    match lost {
        Heating => matches!(said, Heating | HeatingAndHotWater),
        HotWater => matches!(said, HotWater | HeatingAndHotWater),
        HeatingAndHotWater => matches!(said, Heating | HotWater | HeatingAndHotWater),
        _ => said == lost,
    }
}
