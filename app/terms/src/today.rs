//! The morning at a glance, as values: what the page Today and the morning brief are worded from.
use chrono::{DateTime, NaiveDate, Utc};

use crate::{
    AdviceId, BranchId, BuildingId, DutyId, ForecastId, FunctionLost, JobId, JobState, OutageId,
    Pence, QuoteId, SpaceId, UnitId,
};

/// Where something is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// The building.
    pub building: BuildingId,
    /// Its name.
    pub building_name: String,
    /// The space; `None`: the building as a whole.
    pub space: Option<SpaceId>,
    /// "Flat 14"; empty with no space.
    pub space_name: String,
}

/// A home without heat or hot water now: one open job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// The job that answers it.
    pub job: JobId,
    /// Where.
    pub place: Place,
    /// What is lost.
    pub lost: FunctionLost,
    /// Since when, as the resident said.
    pub since: DateTime<Utc>,
    /// Where the job stands.
    pub state: JobState,
    /// Firms asked so far.
    pub asked: u32,
    /// The firm that took it.
    pub firm: Option<String>,
    /// When somebody comes.
    pub booked_from: Option<DateTime<Utc>>,
    /// The clock.
    pub due_at: Option<DateTime<Utc>>,
    /// The rule behind the clock.
    pub due_why: String,
    /// What the visitor must do for whoever lives there.
    pub needs: Vec<String>,
}

/// One cause taking a function from several spaces.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outage {
    /// The outage.
    pub outage: OutageId,
    /// Where.
    pub place: Place,
    /// The pipe, when known: "riser 4".
    pub branch: Option<String>,
    /// What is lost.
    pub lost: FunctionLost,
    /// Since when.
    pub since: DateTime<Utc>,
    /// What is thought of it; may be empty.
    pub cause: String,
    /// Names of the spaces that joined it.
    pub spaces: Vec<String>,
    /// The job that answers it.
    pub job: Option<JobId>,
    /// The nearest of the homes' clocks.
    pub due_at: Option<DateTime<Utc>>,
    /// Calls that may belong to it and nobody joined yet.
    pub joinable: u32,
}

/// Calls that point to one cause, or may: proposed, not joined.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspected {
    /// Where.
    pub place: Place,
    /// The pipe; `None`: the building as a whole.
    pub branch: Option<BranchId>,
    /// "Riser 4", or "the whole building".
    pub name: String,
    /// What is lost.
    pub lost: FunctionLost,
    /// Names of the homes that called.
    pub homes: Vec<String>,
    /// Homes on the pipe.
    pub served: u32,
    /// "about 9 in 10"
    pub chance: String,
    /// The rule says one cause; else it says: ask neighbours first.
    pub shared: bool,
    /// The rates in words.
    pub rates: String,
}

/// A building that nobody covers on some nights and days off before the next working day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Uncovered {
    /// Where.
    pub place: Place,
    /// The day, and whether it is its night rather than its daytime; the nearest first.
    pub stretches: Vec<(NaiveDate, bool)>,
}

/// An unsafe situation not yet put right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unsafe {
    /// The unit.
    pub unit: UnitId,
    /// Its kind in words: "combi gas boiler".
    pub kind_name: String,
    /// Where.
    pub place: Place,
    /// As the engineer on site classed it: immediately dangerous rather than at risk.
    pub dangerous: bool,
    /// The warning notice's number; may be empty.
    pub notice_number: String,
    /// Isolated, labelled, noticed.
    pub isolated: bool,
    /// The user refused permission to isolate it.
    pub refused: bool,
    /// Since when.
    pub since: DateTime<Utc>,
    /// The job it was found in.
    pub job: Option<JobId>,
}

/// A duty that falls due soon, or is late.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    /// The duty.
    pub duty: DutyId,
    /// "Gas safety check"
    pub name: String,
    /// The law, code or practice behind it: "law", "good practice".
    pub basis: String,
    /// The unit it is about; none where it is a home's or the building's.
    pub unit: Option<UnitId>,
    /// Where.
    pub place: Place,
    /// The last day that is not late.
    pub deadline: NaiveDate,
    /// The reason the deadline is this day.
    pub reason: String,
    /// The open job for it.
    pub job: Option<JobId>,
    /// When somebody comes.
    pub booked_from: Option<DateTime<Utc>>,
    /// Times nobody opened, in the open job.
    pub attempts: u32,
    /// The unit is isolated: the duty waits for a decision.
    pub isolated: bool,
}

/// What an advice says of a quote. Advantage = quote − limit, to the penny.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weighed {
    /// The advice.
    pub advice: AdviceId,
    /// The repair limit: the highest price at which repairing is still the cheaper course.
    pub limit: Pence,
    /// Advantage of replacing now; negative when repairing is the cheaper course.
    pub advantage: Pence,
    /// Either course is defensible.
    pub close_call: bool,
}

/// A quote nobody decided on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenQuote {
    /// The quote.
    pub quote: QuoteId,
    /// The job.
    pub job: JobId,
    /// The unit.
    pub unit: UnitId,
    /// Its kind in words.
    pub kind_name: String,
    /// Where.
    pub place: Place,
    /// Who quotes.
    pub firm: String,
    /// "hot-water plate"; `None` when it names no part.
    pub part_name: Option<String>,
    /// Including VAT.
    pub total: Pence,
    /// Last day it holds.
    pub valid_until: NaiveDate,
    /// What the desk may agree without asking; `None`: never stated.
    pub authority: Option<Pence>,
    /// The advice on it, when there is one.
    pub weighed: Option<Weighed>,
}

/// An advice to replace, without a quote in hand, nobody decided on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenAdvice {
    /// The advice.
    pub advice: AdviceId,
    /// The unit.
    pub unit: UnitId,
    /// Its kind in words.
    pub kind_name: String,
    /// Where.
    pub place: Place,
    /// When it was made.
    pub made_on: NaiveDate,
}

/// What moves a unit's chance away from its kind's.
#[derive(Clone, Debug, PartialEq)]
pub enum Reason {
    /// Of this family, units built alike that fail more here.
    Family(String),
    /// Older than the kind's units are on average; its age in years.
    Older(f64),
    /// Fewer failures than usual: own, usual, years watched.
    FewFailures(u32, f64, f64),
    /// Hard water and no scale reducer on record.
    HardWater,
    /// How many people live where it stands.
    HomeSize,
    /// More failures than usual: own, within so many months.
    ManyFailures(u32, u32),
    /// Runs without a filter.
    NoFilter,
    /// On an open heating circuit.
    OpenSystem,
    /// Parts put in new: their names.
    PartsRenewed(Vec<String>),
    /// Younger than the kind's units are on average; its age in years.
    Younger(f64),
}

/// A chance with its 80 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// The chance.
    pub chance: f64,
    /// 10 % point.
    pub low: f64,
    /// 90 % point.
    pub high: f64,
}

/// A unit likely to fail.
#[derive(Clone, Debug, PartialEq)]
pub struct LikelyUnit {
    /// The forecast this is taken from.
    pub forecast: ForecastId,
    /// The unit.
    pub unit: UnitId,
    /// Its kind in words.
    pub kind_name: String,
    /// Where.
    pub place: Place,
    /// Chance of at least one failure in the season.
    pub season: Range,
    /// The season: first day ahead, last day.
    pub season_days: (NaiveDate, NaiveDate),
    /// The same over 12 months.
    pub year: Range,
    /// Failures expected in 12 months.
    pub expected_12m: f64,
    /// Failures counted in its own record.
    pub failures: u32,
    /// Failures of its kind the fit rests on.
    pub kind_failures: u32,
    /// Share of the kind's level that rests on own records, 0 to 1.
    pub own_weight: f64,
    /// The day the forecast was made.
    pub made_on: NaiveDate,
    /// What moves it, strongest first.
    pub reasons: Vec<Reason>,
    /// What a year's repairs cost by the prices on record: failures expected, each at its part's likely price.
    pub repairs_a_year: Option<crate::ExpectedPounds>,
    /// An open job about it.
    pub job: Option<JobId>,
    /// The advice on it.
    pub advice: Option<AdviceId>,
}

/// What one kind in one building is expected to do in the season.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    /// "combi gas boilers"
    pub plural: String,
    /// In service.
    pub units: u32,
    /// Failures expected before the season's end.
    pub failures: f64,
    /// 80 % range of their number.
    pub range: (u64, u64),
    /// Failures of the kind in the estate that this rests on.
    pub kind_failures: u32,
}

/// One storey of a building for its thumbnail: each flat with whether it is in trouble.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ThumbStorey {
    /// "G"
    pub label: String,
    /// From left to right: name, and what is wrong there.
    pub flats: Vec<(String, Option<String>)>,
}

/// A building's strip.
#[derive(Clone, Debug, PartialEq)]
pub struct BuildingToday {
    /// The building.
    pub building: BuildingId,
    /// Its name.
    pub name: String,
    /// Flats.
    pub flats: u32,
    /// Year it was built.
    pub built_year: Option<i32>,
    /// Flats without heat or hot water.
    pub troubled: u32,
    /// Units unsafe or isolated.
    pub unsafe_units: u32,
    /// Duties late.
    pub late: u32,
    /// Duties due within 14 days.
    pub soon: u32,
    /// The next deadline after those.
    pub next_deadline: Option<NaiveDate>,
    /// What its kinds are expected to do.
    pub expected: Vec<Expected>,
    /// Its storeys, lowest first.
    pub storeys: Vec<ThumbStorey>,
}

/// The morning at a glance.
#[derive(Clone, Debug, PartialEq)]
pub struct Today {
    /// The instant it was read.
    pub at: DateTime<Utc>,
    /// The local day.
    pub day: NaiveDate,
    /// Nothing is known of the estate yet.
    pub empty: bool,
    /// Longest first.
    pub troubles: Vec<Trouble>,
    /// Oldest first.
    pub outages: Vec<Outage>,
    /// On the working day before days off: buildings nobody covers, by name.
    pub uncovered: Vec<Uncovered>,
    /// The likeliest first.
    pub suspected: Vec<Suspected>,
    /// Oldest first.
    pub unsafe_units: Vec<Unsafe>,
    /// By deadline: late ones and those of the next 60 days.
    pub due: Vec<Due>,
    /// Duties without evidence of any date.
    pub undated: u32,
    /// Oldest first.
    pub quotes: Vec<OpenQuote>,
    /// Oldest first.
    pub advices: Vec<OpenAdvice>,
    /// Jobs done whose papers are not agreed.
    pub to_agree: u32,
    /// Most likely first; at most five.
    pub likely: Vec<LikelyUnit>,
    /// Kinds of which no order can be claimed: plural name and failures on record.
    pub too_thin: Vec<(String, u32)>,
    /// By name.
    pub buildings: Vec<BuildingToday>,
}
