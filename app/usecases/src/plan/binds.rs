//! The sorts of limit that may keep a unit from its best year.

/// A sort of limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Binds {
    /// The floor of the reserve: with none there would be room.
    Floor,
    /// The same floor, where a lower one alone would not do: with more in the purse there would be room.
    Purse,
    /// The floor of the reserve of a purse shared with other buildings, while those keep their plan.
    SharedFloor,
    /// The same, where a lower one alone would not do.
    SharedPurse,
    /// What is left of the most that may be paid from a shared purse in a year, while the other buildings keep their plan.
    SharedCap,
    /// The most that may be paid in a year.
    Cap,
    /// The most replacements in a year.
    Homes,
    /// The most home-hours of disruption in a year.
    Hours,
    /// Coming to the building and setting up at a stair, paid once for all that is done in a year.
    SettingUp,
    /// Consultation: what it costs, or the first year it can be finished by.
    Consultation,
    /// Plant that must not all be out at once.
    Apart,
    /// It goes together with another.
    Together,
    /// A person keeps it out of that year.
    Forbidden,
    /// It must go by a year.
    Latest,
}

/// Every sort, in the order in which they are let go.
pub(super) const ALL: [Binds; 14] = [
    Binds::Forbidden,
    Binds::Latest,
    Binds::Together,
    Binds::Apart,
    Binds::Homes,
    Binds::Hours,
    Binds::Cap,
    Binds::Floor,
    Binds::Purse,
    Binds::SharedCap,
    Binds::SharedFloor,
    Binds::SharedPurse,
    Binds::Consultation,
    Binds::SettingUp,
];
