//! Papers that leave the house: which records an engineer issues, which letters a resident gets, how they went out.
use crate::codes::code_list;

code_list! {
    /// What an engineer issues after a visit.
    RecordKind, "record" {
        /// The landlord's record of the gas safety check.
        GasSafety = "gas_safety_record", "gas safety record";
        /// What was measured and done at a service.
        Service = "service_sheet", "service sheet";
    }
}

code_list! {
    /// A letter to whoever lives in a space.
    LetterKind, "letter" {
        /// After the first try nobody opened to.
        FirstNoAccess = "access_1", "first letter";
        /// After the second try; another time of day is offered.
        SecondNoAccess = "access_2", "second letter";
        /// After the third try; recorded, with the terms and what follows.
        ThirdNoAccess = "access_3", "third letter";
        /// A planned visit is announced.
        PlannedVisit = "planned_visit", "notice of a planned visit";
        /// A repair is announced.
        Repair = "repair", "notice of a repair";
    }
}

impl LetterKind {
    /// Which of the three letters about access it is; `None` for a notice.
    pub const fn nth(self) -> Option<usize> {
        match self {
            Self::FirstNoAccess => Some(1),
            Self::SecondNoAccess => Some(2),
            Self::ThirdNoAccess => Some(3),
            Self::PlannedVisit | Self::Repair => None,
        }
    }

    /// The letter that follows so many tries, three and more alike; `None` before the first.
    pub const fn after_tries(tries: usize) -> Option<Self> {
        match tries {
            0 => None,
            1 => Some(Self::FirstNoAccess),
            2 => Some(Self::SecondNoAccess),
            _ => Some(Self::ThirdNoAccess),
        }
    }
}

code_list! {
    /// How a letter went out.
    SentHow, "way of sending" {
        /// Ordinary post.
        Post = "post", "by post";
        /// Post with a number and a signature.
        RecordedPost = "recorded_post", "by recorded post";
        /// Put through the door or handed over.
        ByHand = "by_hand", "by hand";
        /// Electronic mail.
        Mail = "mail", "by mail";
    }
}
