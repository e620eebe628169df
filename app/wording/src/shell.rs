//! What stands round every page: masthead, undo bar, contents. Read by `templates/layout/*.html`.

/// Which of the three people reads the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Voice {
    /// The managing agent, at a desk: a morning brief, densest.
    Agent,
    /// The contractor, on a phone: one thing a screen.
    Contractor,
    /// The landlord: a short letter, decisions first.
    Landlord,
    /// Site staff, on a phone: the round of temperatures.
    Site,
}

/// Light or dark; the system decides unless the person chose.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// As the system says.
    #[default]
    System,
    /// Chosen: light.
    Light,
    /// Chosen: dark.
    Dark,
}

impl Theme {
    /// The value of `data-theme`, or `None` to follow the system.
    pub fn attribute(self) -> Option<&'static str> {
        match self {
            Self::System => None,
            Self::Light => Some("light"),
            Self::Dark => Some("dark"),
        }
    }
}

/// What was just done, and the way to take it back. Stands above the heading of the next page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UndoBar {
    /// "Flat 19 is booked for Monday 30 November, 09:15. The resident has not been told yet."
    pub sentence: String,
    /// Address the Undo button posts to.
    pub action: String,
    /// Posted as `token`: names the act to take back.
    pub token: String,
}

/// One entry of the masthead or the contents.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Way {
    /// Compared with [`Shell::here`].
    pub key: &'static str,
    /// Words shown.
    pub label: &'static str,
    /// Address.
    pub href: &'static str,
}

const fn way(key: &'static str, label: &'static str, href: &'static str) -> Way {
    Way { key, label, href }
}

const AGENT: [Way; 7] = [
    way("today", "Today", "/today"),
    way("buildings", "Buildings", "/buildings"),
    way("advice", "Advice", "/advice"),
    way("programme", "Programme", "/programme"),
    way("rounds", "Rounds", "/rounds"),
    way("duties", "Duties", "/duties"),
    way("track-record", "Track record", "/track-record"),
];
const AGENT_LESS_USED: [Way; 19] = [
    way("call", "Log a fault call", "/calls/new"),
    way("outages", "Outages", "/outages"),
    way("cover", "Nights and weekends", "/cover"),
    way("heaters", "Heaters to lend", "/heaters"),
    way("draw", "Enter a building", "/buildings/new"),
    way("import", "Bring in a list", "/import"),
    way("events", "Something happened", "/duties/events"),
    way("recalls", "Makers’ notices", "/recalls"),
    way("temperatures", "Water temperatures", "/temperatures"),
    way("drill", "Cold-night drill", "/drill"),
    way("stands-out", "What stands out", "/stands-out"),
    way("papers", "Papers in date", "/papers"),
    way("letterhead", "Letterhead", "/letterhead"),
    way("facts", "What it goes by", "/facts"),
    way("prices", "Prices and the rate", "/prices"),
    way("authority", "Who may agree what", "/authority"),
    way("reserve", "Money to set aside", "/reserve"),
    way("winter", "The winter we would have had", "/winter"),
    way("account", "Your account", "/account"),
];
const CONTRACTOR: [Way; 2] = [
    way("my-day", "My day", "/my-day"),
    way("on-offer", "On offer", "/on-offer"),
];
const LANDLORD: [Way; 4] = [
    way("letter", "Letter", "/letter"),
    way("advice", "Advice", "/advice"),
    way("money", "Money", "/programme"),
    way("track-record", "How right we were", "/track-record"),
];
const SITE: [Way; 2] = [
    way("temperatures", "Temperatures", "/temperatures"),
    way("heaters", "Heaters", "/heaters"),
];
const LANDLORD_LESS_USED: [Way; 4] = [
    way("authority", "Who may agree what", "/authority"),
    way("reserve", "Money to set aside", "/reserve"),
    way("winter", "The winter we would have had", "/winter"),
    way("account", "Your account", "/account"),
];
const OTHERS_LESS_USED: [Way; 1] = [way("account", "Your account", "/account")];

/// The frame of a page; `web` builds one for each answer.
#[derive(Clone, Debug)]
pub struct Shell {
    /// Who is signed in.
    pub person_name: String,
    /// Which voice the page speaks in; decides masthead and contents.
    pub voice: Voice,
    /// Key of the masthead entry one is in: "today", "buildings", "advice", "programme", "rounds",
    /// "duties", "track-record"; "my-day", "on-offer"; "letter", "money"; or anything else for none.
    pub here: &'static str,
    /// The estate acted for.
    pub estate_name: String,
    /// "Wednesday 25 November 2026, 07:40"; see [`crate::sentences::dates`].
    pub today_words: String,
    /// What was just done, if it can be taken back.
    pub undo: Option<UndoBar>,
    /// Whether this is the invented estate; the foot then says so.
    pub demo: bool,
    /// Light or dark by choice.
    pub theme: Theme,
}

impl Shell {
    /// The masthead's entries.
    pub fn ways(&self) -> &'static [Way] {
        match self.voice {
            Voice::Agent => &AGENT,
            Voice::Contractor => &CONTRACTOR,
            Voice::Landlord => &LANDLORD,
            Voice::Site => &SITE,
        }
    }

    /// The contents' further entries.
    pub fn less_used(&self) -> &'static [Way] {
        match self.voice {
            Voice::Agent => &AGENT_LESS_USED,
            Voice::Landlord => &LANDLORD_LESS_USED,
            Voice::Contractor | Voice::Site => &OTHERS_LESS_USED,
        }
    }

    /// The name without what the person is: "Nell Askwith" of "Nell Askwith, managing agent".
    pub fn name_alone(&self) -> &str {
        let (name, _) = self
            .person_name
            .split_once(", ")
            .unwrap_or((&self.person_name, ""));
        name
    }

    /// Where the mark leads.
    pub fn home(&self) -> &'static str {
        match self.voice {
            Voice::Agent => "/today",
            Voice::Contractor => "/my-day",
            Voice::Landlord => "/letter",
            Voice::Site => "/temperatures",
        }
    }
}
