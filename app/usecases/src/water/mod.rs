//! Water temperatures: the outlets of a building, the monthly round of site staff, what is out of its limit, the log.
mod log;
mod monthly;
mod out_of_limit;
mod outlets;
mod round;
mod said;
mod to_take;

pub use log::{LogMonth, LogRow, WaterLog, water_log};
pub use monthly::is_monthly;
pub use out_of_limit::{OutOfLimit, StateAction, out_of_limit, state_action};
pub use outlets::{
    NewOutlet, OutletsView, Step, add_outlet, end_outlet, move_outlet, outlets_view,
};
pub use round::{Line, RoundView, TakeRound, TakenLine, round_view, take_round};
pub use said::{RoundSaid, SaidLine, round_said};
pub use to_take::{RoundBuilding, buildings_without, rounds_to_take};

pub(crate) use monthly::buildings_with_rounds;

use terms::Role;

/// Who walks the round, or writes it for somebody who walked.
const WALKERS: [Role; 3] = [Role::Site, Role::Agent, Role::Supervisor];
/// Who keeps the list of outlets.
const KEEPERS: [Role; 2] = [Role::Agent, Role::Supervisor];
