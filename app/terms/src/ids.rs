//! Typed ids, one alphabetical list. All are time-ordered UUIDs made by the program (version 7).
use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! id_types {
    ($($(#[$doc:meta])* $name:ident,)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }

        impl From<Uuid> for $name {
            fn from(id: Uuid) -> Self {
                Self(id)
            }
        }

        impl std::str::FromStr for $name {
            type Err = uuid::Error;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                text.parse().map(Self)
            }
        }
    )*};
}

id_types! {
    /// A person who can sign in.
    AccountId,
    /// One repair-or-replace comparison, as it stood when made.
    AdviceId,
    /// Pipes that carry heat or water (riser, zone, header).
    BranchId,
    /// A block.
    BuildingId,
    /// What a person decided upon an advice.
    DecisionId,
    /// A recurring obligation attached to one unit, space or building.
    DutyId,
    /// A person who attends.
    EngineerId,
    /// The buildings one managing agent's firm looks after; the tenant of the database.
    EstateId,
    /// Something due because something happened.
    EventDutyId,
    /// One row of dated facts about something.
    FactId,
    /// An event: a unit or part lost its function.
    FailureId,
    /// What a resident reports.
    FaultCallId,
    /// A contractor's firm.
    FirmId,
    /// One fit of a kind's parameters.
    FitId,
    /// A chance and number of failures over a stated period, frozen when made.
    ForecastId,
    /// What an account may do in an estate.
    GrantId,
    /// A heater to lend.
    HeaterId,
    /// One file brought in.
    ImportId,
    /// A measuring instrument with its calibration.
    InstrumentId,
    /// Work to be done.
    JobId,
    /// A storey.
    LevelId,
    /// One cause taking a function from several spaces.
    OutageId,
    /// A tap, or a point at a store, where water temperatures are taken.
    OutletId,
    /// A maintainable item inside a unit.
    PartId,
    /// A unit's stay in one space.
    PlacementId,
    /// An itemised price for work.
    QuoteId,
    /// What a maker calls back or asks to have put right.
    RecallId,
    /// Planned visits placed on contractors' days.
    RoundId,
    /// A flat, plant room, riser cupboard or roof space.
    SpaceId,
    /// The program's own background work.
    TaskId,
    /// One walk through a building with a thermometer.
    TemperatureRoundId,
    /// A boiler, store, cylinder, interface unit, pump, vessel, tank, meter …
    UnitId,
    /// One attendance.
    VisitId,
}
