//! The words of the working loop: functions lost, jobs, their states, decisions.
use crate::codes::code_list;

code_list! {
    /// What a resident reports as lost.
    FunctionLost, "function lost" {
        /// Rooms stay cold, taps run hot.
        Heating = "heating", "heating";
        /// Taps run cold, rooms are warm.
        HotWater = "hot_water", "hot water";
        /// Both.
        HeatingAndHotWater = "heating_and_hot_water", "heating and hot water";
        /// Water where it should not be.
        Leak = "leak", "a leak";
        /// Noise, vibration.
        Noise = "noise", "a noise";
        /// Smell of gas, or a carbon monoxide alarm: the emergency service comes first.
        GasOrCo = "gas_or_co", "smell of gas, or a carbon monoxide alarm";
        /// Anything else.
        Other = "other", "something else";
    }
}

impl FunctionLost {
    /// Whether a home does without heat or hot water by it.
    pub fn takes_heat(self) -> bool {
        matches!(
            self,
            Self::Heating | Self::HotWater | Self::HeatingAndHotWater
        )
    }
}

code_list! {
    /// What sort of work.
    JobKind, "kind of job" {
        /// Safety check.
        Check = "check", "check";
        /// Putting a fault right.
        Repair = "repair", "repair";
        /// A new unit.
        Replacement = "replacement", "replacement";
        /// Yearly service.
        Service = "service", "service";
        /// Looking, measuring.
        Survey = "survey", "survey";
    }
}

code_list! {
    /// Where a job stands.
    JobState, "job state" {
        /// Nobody was asked yet.
        ToPlace = "to_place", "to place";
        /// A firm was asked.
        Offered = "offered", "offered";
        /// A firm said yes.
        Taken = "taken", "taken";
        /// A day and time stand.
        Booked = "booked", "booked";
        /// The engineer is there.
        OnSite = "on_site", "on site";
        /// Quote and advice are with somebody.
        WaitingForDecision = "waiting_for_decision", "waiting for a decision";
        /// A part is on its way.
        WaitingForPart = "waiting_for_part", "waiting for a part";
        /// Safe for now; a return is needed.
        MadeSafe = "made_safe", "made safe (return)";
        /// Nobody let the engineer in.
        NoAccess = "no_access", "no access";
        /// Not to be used.
        LeftIsolated = "left_isolated", "left isolated";
        /// The work is finished.
        Done = "done", "done";
        /// Papers and invoice are right.
        Agreed = "agreed", "agreed";
        /// Not needed any more.
        StoodDown = "stood_down", "stood down";
    }
}

impl JobState {
    /// Nothing more is to be done on site.
    pub const fn is_closed(self) -> bool {
        matches!(self, Self::Done | Self::Agreed | Self::StoodDown)
    }

    /// The states that may follow this one.
    pub const fn followers(self) -> &'static [Self] {
        use JobState::{
            Agreed, Booked, Done, LeftIsolated, MadeSafe, NoAccess, Offered, OnSite, StoodDown,
            Taken, ToPlace, WaitingForDecision, WaitingForPart,
        };
        match self {
            ToPlace => &[Offered, Taken, StoodDown],
            Offered => &[Taken, ToPlace, StoodDown],
            Taken => &[Booked, OnSite, ToPlace, StoodDown],
            Booked => &[OnSite, NoAccess, Taken, ToPlace, StoodDown],
            OnSite => &[
                Done,
                WaitingForDecision,
                WaitingForPart,
                MadeSafe,
                NoAccess,
                LeftIsolated,
            ],
            WaitingForDecision => &[
                Taken,
                Booked,
                OnSite,
                WaitingForPart,
                ToPlace,
                Done,
                StoodDown,
            ],
            WaitingForPart | MadeSafe | LeftIsolated => &[
                Booked,
                OnSite,
                WaitingForDecision,
                Taken,
                ToPlace,
                StoodDown,
            ],
            NoAccess => &[Booked, OnSite, Taken, ToPlace, StoodDown],
            Done => &[Agreed],
            Agreed | StoodDown => &[],
        }
    }

    /// Whether `next` may follow.
    pub fn may_become(self, next: Self) -> bool {
        self.followers().contains(&next)
    }
}

code_list! {
    /// How a unit's stay in service ended, or that it has not.
    Fate, "fate" {
        /// Still in use.
        InService = "in_service", "in service";
        /// Beyond repair.
        WrittenOff = "written_off", "written off";
        /// Taken out while working.
        Removed = "removed", "taken out while working";
    }
}

code_list! {
    /// How sure a finding is that something must be done.
    Level, "level" {
        /// For the record.
        Info = "info", "note";
        /// A trend, or near a limit.
        Watch = "watch", "watch";
        /// A job follows.
        Act = "act", "act";
        /// Unsafe: isolate, tell, do not finish as normal.
        Stop = "stop", "stop";
    }
}

code_list! {
    /// What somebody decided upon an advice.
    Choice, "choice" {
        /// Ask for another quote.
        AnotherQuote = "another_quote", "ask for another quote";
        /// Keep, no fault in hand.
        Keep = "keep", "keep";
        /// Repair as quoted.
        Repair = "repair", "repair";
        /// Replace now.
        Replace = "replace", "replace";
    }
}

code_list! {
    /// A country's rule set.
    Country, "country" {
        /// England.
        England = "england", "England";
        /// Northern Ireland.
        NorthernIreland = "northern_ireland", "Northern Ireland";
        /// Scotland.
        Scotland = "scotland", "Scotland";
        /// Wales.
        Wales = "wales", "Wales";
    }
}

code_list! {
    /// What a space is used as.
    UsedAs, "use" {
        /// Somebody's home.
        Flat = "flat", "flat";
        /// Plant room.
        Plant = "plant", "plant room";
        /// Riser cupboard.
        Riser = "riser", "riser cupboard";
        /// Roof space.
        Roof = "roof", "roof space";
        /// Hall, bins and other common parts.
        Common = "common", "common part";
        /// A stair core in the section.
        Stair = "stair", "stair";
    }
}

code_list! {
    /// How the heating circuit a unit works on is kept full.
    HeatingSystem, "heating system" {
        /// Closed and under pressure.
        Sealed = "sealed", "sealed, under pressure";
        /// Open to the air, fed from a tank above.
        Open = "open", "open, fed from a tank";
    }
}

code_list! {
    /// What a unit may be alike with others in.
    LikeIn, "likeness" {
        /// Built alike: a word of the house's own for units of one build.
        Family = "family", "family";
        /// How its heating circuit is kept full.
        System = "system", "heating system";
    }
}

code_list! {
    /// Who holds a home, and from whom.
    Tenure, "tenure" {
        /// Secure tenancy of a council: the right to repair is theirs.
        CouncilSecure = "council_secure", "secure tenancy of a council";
        /// Any other social tenancy.
        Social = "social", "social tenancy of a housing association or another social landlord";
        /// Private tenancy.
        Private = "private", "private tenancy";
        /// Long lease.
        LongLease = "long_lease", "long lease";
        /// Nobody knows.
        Unknown = "unknown", "not known";
    }
}

impl Tenure {
    /// Whether it is social rented; `None` when nobody knows.
    pub const fn is_social(self) -> Option<bool> {
        match self {
            Self::CouncilSecure | Self::Social => Some(true),
            Self::Private | Self::LongLease => Some(false),
            Self::Unknown => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::JobState;

    #[test]
    fn every_open_state_leads_on_and_closed_ones_do_not_reopen() {
        for &state in JobState::ALL {
            assert_eq!(state.code().parse(), Ok(state));
            match state {
                JobState::Agreed | JobState::StoodDown => assert!(state.followers().is_empty()),
                JobState::Done => assert_eq!(state.followers(), [JobState::Agreed]),
                _ => assert!(state.followers().iter().any(|next| *next != state)),
            }
        }
    }
}
