//! The working loop before and between visits: calls, jobs, offers, bookings, and who may see what of them.
mod booking;
mod by_law;
mod calls;
mod clock;
mod hazards;
mod in_the_way;
mod lists;
mod names;
mod offering;
mod opening;
mod pausing;
mod places;
mod ranking;
mod reach;
mod stepping;
mod view;
pub mod wall;

pub use booking::{Agreed, Booking, agree, book, give_back, stand_down};
pub use by_law::{HazardStep, LawClock};
pub use calls::{FaultCall, LeakKind, Logged, Repeat, log_call, log_call_of};
pub use clock::{GasScript, gas_script};
pub use hazards::{
    HazardDone, HazardForm, HazardSaid, OpenHazard, hazard_done, open_hazards, say_hazard,
};
pub use in_the_way::{
    InTheWay, Telling, colleague_takes_over, hand_back_the_rest, late, needed, tell_done, to_tell,
};
pub use inspection::clock::{AwaabKind, Deadline};
pub use lists::{JobLine, MyDay, OfferLine, RoadLine, my_day, on_offer, open_jobs};
pub use names::Names;
pub use offering::{
    Declined, OfferForm, PlaceForm, ProposalForm, decline, lapse_offers, offer, place_with,
    propose, take,
};
pub use opening::{OpenJob, open_job};
pub use pausing::{PAUSE_REASONS, PauseReason, Pauses, pause, pauses, run_on};
pub use places::{Place, PlaceUnit, find_places, place_of};
pub use reach::seat_for;
pub use store::calls::Call;
pub use store::jobs::{Job, JobEvent, NewJob, Offer};
pub use store::visits::{AccessAttempt, FindingRow, Notice, Visit};
pub use view::{JobView, Overridden, ViewedWay, job_view, look_at_code};

pub(crate) use booking::book_in;
pub(crate) use by_law::{bring_forward, is_council_secure, no_later};
pub(crate) use clock::{Home, due_by_finish, report_of, working_days};
pub(crate) use hazards::hand_over;
pub(crate) use names::names_in;
pub(crate) use offering::{
    asked_of_firm, decline_in, gone, offer_in, place, propose_in, ran_out, take_in,
};
pub(crate) use opening::{covers_of, open_in};
pub(crate) use ranking::{
    NEIGHBOURS, PartRates, before_visit, complaint_of, known_of, learned_of, part_rates,
};
pub(crate) use reach::{must_reach_job, must_see};
pub(crate) use stepping::{leaves_unsafe, step};
pub(crate) use view::kinds_there;
