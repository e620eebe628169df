//! What may take a unit's place here: what the site rules out and why, and whether a size will do.
//! Figures for planning; a survey by a licensed person decides.
mod feasibility;
mod sizing;

pub use feasibility::{Feasibility, feasibility, reason_words};
pub use sizing::{
    Draw, Instant, InstantQuery, PeakHour, PeakHourQuery, PipeChoice, StandingCheck, VesselCheck,
    VesselQuery, VesselSystem, instant, peak_hour, pipe, standing_check, vessel_check,
};
