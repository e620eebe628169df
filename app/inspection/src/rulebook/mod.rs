//! The rule book: limits, readings sets, symptom tables, completion blocks, event days and response
//! times as one versioned data file, so that a sheet can record the digest it was judged by.
//!
//! Every entry says how its rule is known (`status`): law text read, published page, standard from
//! memory, common practice with no source, physics, or own computation.
mod check;
mod clocks;
mod closing;
mod formulas;
mod limits;
mod sets;
mod tables;

use std::sync::LazyLock;

use chrono::NaiveDate;
use serde::Deserialize;
use sha2::{Digest, Sha256};

pub use clocks::{EventRule, RepairPeriod, RepairRule, ResponseRule, Span, Targets};
pub use closing::{
    BlockRule, FeasibilityRule, FeasibilityVerdict, PartClass, PartClassRow, SoftBlockRule,
};
pub use formulas::{Call, Formula, How, Step};
pub use limits::{Band, Level, Limit, Rule};
pub use sets::{Answer, Choice, FieldSpec, Judge, LimitKind, ReadingSpec, Set, TrendSpec};
pub use tables::{Link, Observation, PartRow, Ranking, Table};

use crate::InspectionError;
use crate::expr::Values;

const SHIPPED: &str = include_str!("../../data/rulebook.json");
const SCHEMA: &str = "riserward-rule-book-1";

static SHIPPED_BOOK: LazyLock<Result<RuleBook, InspectionError>> =
    LazyLock::new(|| RuleBook::parse(SHIPPED));

/// One named constant of the formulas.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Constant {
    /// Its name.
    pub name: String,
    /// Its value, in the unit its name ends with.
    pub value: f64,
    /// How it is known.
    pub status: String,
}

#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
struct Pages {
    schema: String,
    version: u32,
    as_at: NaiveDate,
    country: String,
    note: String,
    constants: Vec<Constant>,
    formulas: Vec<Formula>,
    limits: Vec<Limit>,
    sets: Vec<Set>,
    part_classes: Vec<PartClassRow>,
    calibration_stops: Vec<String>,
    ranking: Ranking,
    suspects: Vec<Table>,
    blocks: Vec<BlockRule>,
    soft_blocks: Vec<SoftBlockRule>,
    events: Vec<EventRule>,
    right_to_repair: Vec<RepairRule>,
    response: Vec<ResponseRule>,
    feasibility: Vec<FeasibilityRule>,
}

/// A rule book that has been read and checked.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleBook {
    pages: Pages,
    digest: String,
}

impl RuleBook {
    /// Reads and checks a rule book.
    ///
    /// # Errors
    /// A sentence naming what is wrong: the form, an unknown operation, a rule without an end, a
    /// code without its sentence, a formula that gives what it never makes.
    pub fn parse(text: &str) -> Result<Self, InspectionError> {
        let pages: Pages =
            serde_json::from_str(text).map_err(|e| InspectionError::RuleBook(e.to_string()))?;
        check::check(&pages).map_err(InspectionError::RuleBook)?;
        Ok(Self {
            pages,
            digest: hex(&Sha256::digest(text.as_bytes())),
        })
    }

    /// The rule book shipped with the program.
    ///
    /// # Errors
    /// Only if the shipped file itself is wrong, which a test excludes.
    pub fn shipped() -> Result<&'static Self, InspectionError> {
        SHIPPED_BOOK.as_ref().map_err(Clone::clone)
    }

    /// The text of the shipped rule book, for the phone.
    pub fn shipped_text() -> &'static str {
        SHIPPED
    }

    /// SHA-256 of the file's bytes in lower-case hexadecimal; a sheet records it.
    pub fn digest(&self) -> &str {
        &self.digest
    }

    /// The file's own version number.
    pub fn version(&self) -> u32 {
        self.pages.version
    }

    /// The date its general limits are stated for.
    pub fn as_at(&self) -> NaiveDate {
        self.pages.as_at
    }

    /// The country whose rules it holds.
    pub fn country(&self) -> &str {
        &self.pages.country
    }

    /// The caution that goes with every limit.
    pub fn note(&self) -> &str {
        &self.pages.note
    }

    /// The constants, as values named `constant.…`.
    pub fn constants(&self) -> Values {
        let mut values = Values::new();
        for constant in &self.pages.constants {
            values.set(&format!("constant.{}", constant.name), constant.value);
        }
        values
    }

    /// Every formula, in the order of the file.
    pub fn formulas(&self) -> &[Formula] {
        &self.pages.formulas
    }

    /// The formula of that code (`F1`, `density` …).
    ///
    /// # Errors
    /// A formula it does not hold.
    pub fn formula(&self, code: &str) -> Result<&Formula, InspectionError> {
        self.pages
            .formulas
            .iter()
            .find(|f| f.formula == code)
            .ok_or_else(|| InspectionError::unknown("the list of formulas", code))
    }

    /// The constants with how each is known, in the order of the file.
    pub fn constant_rows(&self) -> &[Constant] {
        &self.pages.constants
    }

    /// Every limit, in the order of the file.
    pub fn limits(&self) -> &[Limit] {
        &self.pages.limits
    }

    /// The limit of that row (`A1`, `C5` …).
    ///
    /// # Errors
    /// A row it does not hold.
    pub fn limit(&self, row: &str) -> Result<&Limit, InspectionError> {
        self.pages
            .limits
            .iter()
            .find(|l| l.row == row)
            .ok_or_else(|| InspectionError::unknown("the list of limits", row))
    }

    /// Every readings set.
    pub fn sets(&self) -> &[Set] {
        &self.pages.sets
    }

    /// The readings set of a unit kind, if the trade files have one.
    pub fn set(&self, kind: &str) -> Option<&Set> {
        self.pages
            .sets
            .iter()
            .find(|s| s.kinds.iter().any(|k| k == kind))
    }

    /// Whether an instrument out of calibration makes this reading an act finding.
    pub fn calibration_acts(&self, reading: &str) -> bool {
        self.pages.calibration_stops.iter().any(|r| r == reading)
    }

    /// Which parts are gas, electrical or wet work to fit, by kind of unit.
    pub fn part_classes(&self) -> &[PartClassRow] {
        &self.pages.part_classes
    }

    /// Whether fitting this part of a unit of this kind is work of the class, whatever was ticked.
    pub fn part_is(&self, class: PartClass, kind: &str, part: &str) -> bool {
        let named = |list: &[String], name: &str| list.iter().any(|n| n == name);
        self.pages
            .part_classes
            .iter()
            .any(|row| row.class == class && named(&row.kinds, kind) && named(&row.parts, part))
    }

    /// The settings of the ranking.
    pub fn ranking(&self) -> &Ranking {
        &self.pages.ranking
    }

    /// Every symptom table.
    pub fn tables(&self) -> &[Table] {
        &self.pages.suspects
    }

    /// The symptom table of a unit kind.
    ///
    /// # Errors
    /// A kind without a table.
    pub fn table(&self, kind: &str) -> Result<&Table, InspectionError> {
        self.pages
            .suspects
            .iter()
            .find(|t| t.kind == kind)
            .ok_or_else(|| InspectionError::unknown("the symptom tables", kind))
    }

    /// The hard completion blocks, by number.
    pub fn blocks(&self) -> &[BlockRule] {
        &self.pages.blocks
    }

    /// The soft completion blocks, in order.
    pub fn soft_blocks(&self) -> &[SoftBlockRule] {
        &self.pages.soft_blocks
    }

    /// Every event with its days.
    pub fn events(&self) -> &[EventRule] {
        &self.pages.events
    }

    /// The days of one event.
    ///
    /// # Errors
    /// An event it does not hold.
    pub fn event(&self, event: &str) -> Result<&EventRule, InspectionError> {
        self.pages
            .events
            .iter()
            .find(|e| e.event == event)
            .ok_or_else(|| InspectionError::unknown("the list of events", event))
    }

    /// Every right-to-repair defect.
    pub fn repair_rules(&self) -> &[RepairRule] {
        &self.pages.right_to_repair
    }

    /// The right-to-repair period of a defect.
    ///
    /// # Errors
    /// A defect it does not hold.
    pub fn repair_period(&self, defect: &str) -> Result<RepairPeriod, InspectionError> {
        self.pages
            .right_to_repair
            .iter()
            .find(|r| r.defect == defect)
            .map(|r| r.period)
            .ok_or_else(|| InspectionError::unknown("the right-to-repair list", defect))
    }

    /// Every kind of report with its response times.
    pub fn response_rules(&self) -> &[ResponseRule] {
        &self.pages.response
    }

    /// The response times of one kind of report.
    ///
    /// # Errors
    /// A report it does not hold.
    pub fn response_rule(&self, report: &str) -> Result<&ResponseRule, InspectionError> {
        self.pages
            .response
            .iter()
            .find(|r| r.report == report)
            .ok_or_else(|| InspectionError::unknown("the response times", report))
    }

    /// The rows that rule a replacement out or ask for works first, in the order of the table.
    pub fn feasibility(&self) -> &[FeasibilityRule] {
        &self.pages.feasibility
    }
}

/// Bytes in lower-case hexadecimal.
fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
            for nibble in [byte >> 4, byte & 15] {
                text.extend(char::from_digit(u32::from(nibble), 16));
            }
            text
        })
}
