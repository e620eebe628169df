//! What a column may hold, and the headings people give it.
use serde::{Deserialize, Serialize};

/// The two kinds of list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ListKind {
    /// A row for each unit.
    Units,
    /// A row for each thing that happened.
    History,
}

impl ListKind {
    /// As stored.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Units => "units",
            Self::History => "history",
        }
    }
}

impl std::str::FromStr for ListKind {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "units" => Ok(Self::Units),
            "history" => Ok(Self::History),
            other => Err(format!("“{other}” is neither units nor history")),
        }
    }
}

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Field {
    /// The block.
    Building,
    /// Flat, plant room, cupboard.
    Space,
    /// What sort of unit.
    Kind,
    /// The unit's lasting number.
    Number,
    /// The maker's serial.
    Serial,
    /// When it was fitted.
    Fitted,
    /// Rated output, kW.
    RatedKw,
    /// Stored water, litres.
    Litres,
    /// Whether a system filter is fitted.
    Filter,
    /// Whether a scale reducer is fitted.
    Reducer,
    /// Last day of the warranty.
    WarrantyUntil,
    /// Since when every failure was written down.
    WatchedFrom,
    /// Free words about the unit.
    Note,
    /// When something happened.
    Date,
    /// Failure, service, check, repair or part fitted.
    What,
    /// The part.
    Part,
    /// What the resident lost.
    FunctionLost,
    /// Pounds, VAT included.
    Cost,
    /// Found at a planned visit.
    FoundAtService,
    /// A mark that rows of one failure share.
    SameAs,
    /// What was written about it.
    Words,
}

use Field::{
    Building, Cost, Date, Filter, Fitted, FoundAtService, FunctionLost, Kind, Litres, Note, Number,
    Part, RatedKw, Reducer, SameAs, Serial, Space, WarrantyUntil, WatchedFrom, What, Words,
};

const OF_UNITS: [Field; 13] = [
    Building,
    Space,
    Kind,
    Number,
    Serial,
    Fitted,
    RatedKw,
    Litres,
    Filter,
    Reducer,
    WarrantyUntil,
    WatchedFrom,
    Note,
];
const OF_HISTORY: [Field; 13] = [
    Number,
    Serial,
    Building,
    Space,
    Kind,
    Date,
    What,
    Part,
    FunctionLost,
    Cost,
    FoundAtService,
    SameAs,
    Words,
];

impl Field {
    /// The fields of a kind of list, in the order they are offered.
    pub const fn of(kind: ListKind) -> &'static [Self] {
        match kind {
            ListKind::Units => &OF_UNITS,
            ListKind::History => &OF_HISTORY,
        }
    }

    /// As posted and stored.
    pub const fn code(self) -> &'static str {
        match self {
            Building => "building",
            Space => "space",
            Kind => "kind",
            Number => "number",
            Serial => "serial",
            Fitted => "fitted",
            RatedKw => "rated_kw",
            Litres => "litres",
            Filter => "filter",
            Reducer => "reducer",
            WarrantyUntil => "warranty_until",
            WatchedFrom => "watched_from",
            Note => "note",
            Date => "date",
            What => "what",
            Part => "part",
            FunctionLost => "function_lost",
            Cost => "cost",
            FoundAtService => "found_at_service",
            SameAs => "same_as",
            Words => "words",
        }
    }

    /// As offered on the page.
    pub const fn label(self) -> &'static str {
        match self {
            Building => "Building",
            Space => "Flat or space",
            Kind => "Kind of unit",
            Number => "Unit number",
            Serial => "Serial",
            Fitted => "Fitted",
            RatedKw => "Rated kW",
            Litres => "Litres",
            Filter => "Filter fitted",
            Reducer => "Scale reducer fitted",
            WarrantyUntil => "Warranty until",
            WatchedFrom => "Records since",
            Note => "Note",
            Date => "Date",
            What => "What happened",
            Part => "Part",
            FunctionLost => "Function lost",
            Cost => "Cost",
            FoundAtService => "Found at service",
            SameAs => "Same failure as",
            Words => "Words",
        }
    }

    /// The field of a code.
    pub fn from_code(code: &str) -> Option<Self> {
        OF_UNITS
            .iter()
            .chain(&OF_HISTORY)
            .copied()
            .find(|f| f.code() == code)
    }

    /// Whether it holds dates.
    pub const fn is_date(self) -> bool {
        matches!(self, Fitted | WarrantyUntil | WatchedFrom | Date)
    }

    /// Whether a list of this kind can do without it. A history row may name its unit by number, serial or flat.
    pub const fn is_optional(self, kind: ListKind) -> bool {
        match kind {
            ListKind::Units => !matches!(self, Building | Space | Kind),
            ListKind::History => !matches!(
                self,
                Building | Space | Kind | Number | Serial | Date | What
            ),
        }
    }

    /// Headings the trade uses for it, as [`normal`] makes them; the plainest first.
    const fn headings(self) -> &'static [&'static str] {
        match self {
            Building => &[
                "building",
                "block",
                "house",
                "tower",
                "building name",
                "block name",
                "scheme",
                "site",
            ],
            Space => &[
                "flat",
                "space",
                "flat no",
                "flat number",
                "apt",
                "apartment",
                "apt no",
                "dwelling",
                "home",
                "door",
                "flat or space",
                "flat space",
                "location",
                "room",
                "place",
                "where",
                "plot",
            ],
            Kind => &[
                "kind",
                "kind of unit",
                "unit kind",
                "type",
                "unit type",
                "appliance",
                "appliance type",
                "equipment",
                "type of unit",
                "type of appliance",
                "system",
            ],
            Number => &[
                "number",
                "unit number",
                "unit no",
                "unit",
                "tag",
                "label",
                "plant no",
                "no",
                "ref",
                "reference",
            ],
            Serial => &[
                "serial",
                "serial no",
                "serial number",
                "s n",
                "sn",
                "ser no",
                "plate",
                "plate no",
            ],
            Fitted => &[
                "fitted",
                "fitted in",
                "installed",
                "inst",
                "install date",
                "installation",
                "installation date",
                "date installed",
                "date fitted",
                "fitting date",
                "year",
                "year fitted",
                "year installed",
                "commissioned",
            ],
            RatedKw => &[
                "kw",
                "rated kw",
                "output kw",
                "output",
                "rating",
                "rated output",
                "power",
            ],
            Litres => &[
                "litres",
                "liters",
                "l",
                "ltr",
                "volume",
                "capacity",
                "size l",
                "stored litres",
            ],
            Filter => &[
                "filter",
                "filter fitted",
                "system filter",
                "magnetic filter",
                "mag filter",
            ],
            Reducer => &[
                "scale reducer",
                "reducer",
                "scale reducer fitted",
                "scale inhibitor",
            ],
            WarrantyUntil => &[
                "warranty until",
                "warranty",
                "warranty to",
                "warranty ends",
                "warranty end",
                "warranty expiry",
                "guarantee",
                "guarantee until",
                "guarantee ends",
                "guarantee expires",
                "guarantee expiry",
            ],
            WatchedFrom => &[
                "records since",
                "watched from",
                "records from",
                "history since",
                "looked after since",
                "on our books since",
                "since",
            ],
            Note => &[
                "note", "notes", "remark", "remarks", "comment", "comments", "other",
            ],
            Date => &[
                "date",
                "when",
                "visit date",
                "date of visit",
                "job date",
                "date reported",
                "reported",
                "date attended",
                "attended",
                "date done",
                "day",
                "completed",
                "date completed",
                "date of job",
            ],
            What => &[
                "what",
                "what happened",
                "event",
                "job type",
                "type of job",
                "type of visit",
                "work",
                "type of work",
                "work type",
                "visit type",
                "job",
                "action",
            ],
            Part => &[
                "part",
                "component",
                "part fitted",
                "part replaced",
                "part failed",
                "failed part",
            ],
            FunctionLost => &[
                "function lost",
                "lost",
                "loss of",
                "fault",
                "symptom",
                "problem",
                "reported fault",
                "complaint",
            ],
            Cost => &[
                "cost",
                "£",
                "cost £",
                "price",
                "amount",
                "paid",
                "charge",
                "invoice",
                "invoice total",
                "total",
                "cost inc vat",
                "cost incl vat",
            ],
            FoundAtService => &[
                "found at service",
                "at service",
                "found during service",
                "found on service",
            ],
            SameAs => &[
                "same as",
                "same failure as",
                "same fault",
                "same fault as",
                "repeat of",
                "recall of",
            ],
            Words => &[
                "words",
                "description",
                "details",
                "words of the fault",
                "report",
                "finding",
                "findings",
                "notes",
                "note",
                "remarks",
                "comments",
                "comment",
                "engineer notes",
            ],
        }
    }
}

/// Lower case, letters and digits and £ only, single spaces.
pub fn normal(heading: &str) -> String {
    let plain: String = heading
        .to_lowercase()
        .chars()
        .map(|c| {
            if c.is_alphanumeric() || c == '£' {
                c
            } else {
                ' '
            }
        })
        .collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a cell is one of the headings known here.
pub fn is_heading(cell: &str) -> bool {
    let name = normal(cell);
    !name.is_empty()
        && OF_UNITS
            .iter()
            .chain(&OF_HISTORY)
            .any(|f| f.headings().contains(&name.as_str()))
}

/// How a column found its field.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// Somebody chose it.
    Chosen,
    /// By its heading.
    Name,
    /// As the last list with these headings.
    Remembered,
    /// By what its cells look like.
    Shape,
    /// It has none.
    LeftOut,
}

/// The field of each column, guessed from headings, then from the shape of cells; no field twice.
pub fn guess(
    kind: ListKind,
    headings: &[String],
    samples: impl Fn(usize) -> Vec<String>,
) -> Vec<(Option<Field>, How)> {
    let names: Vec<String> = headings.iter().map(|h| normal(h)).collect();
    let mut wishes: Vec<(u32, usize, Field)> = Vec::new();
    for (place, name) in names.iter().enumerate() {
        for &field in Field::of(kind) {
            let score = likeness(field, name);
            if score > 0 {
                wishes.push((score, place, field));
            }
        }
    }
    wishes.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut found: Vec<(Option<Field>, How)> = vec![(None, How::LeftOut); headings.len()];
    let mut taken: Vec<Field> = Vec::new();
    for (_, place, field) in wishes {
        if found[place].0.is_none() && !taken.contains(&field) {
            found[place] = (Some(field), How::Name);
            taken.push(field);
        }
    }
    for place in 0..headings.len() {
        if found[place].0.is_none()
            && let Some(field) = by_shape(kind, &samples(place))
            && !taken.contains(&field)
        {
            found[place] = (Some(field), How::Shape);
            taken.push(field);
        }
    }
    found
}

/// Headings that mean something alone and nothing beside other words: "House number" is no unit's number.
const TOO_PLAIN: [&str; 13] = [
    "no",
    "number",
    "ref",
    "reference",
    "unit",
    "label",
    "other",
    "since",
    "l",
    "year",
    "day",
    "job",
    "home",
];

/// 0 when a heading does not name the field; more the closer it does.
fn likeness(field: Field, name: &str) -> u32 {
    let list = field.headings();
    if let Some(place) = list.iter().position(|h| *h == name) {
        return 1000 - place as u32;
    }
    // A heading that is another field's own name says nothing of this one.
    if is_heading(name) {
        return 0;
    }
    // "Boiler serial no", "Cost (£)": the words of a known heading stand inside, in order.
    let padded = format!(" {name} ");
    list.iter()
        .filter(|h| !TOO_PLAIN.contains(h) && padded.contains(&format!(" {h} ")))
        .map(|h| 10 * h.split(' ').count() as u32 + h.len() as u32 / 4)
        .max()
        .unwrap_or(0)
}

/// Only what cannot well be anything else is taken by shape.
fn by_shape(kind: ListKind, cells: &[String]) -> Option<Field> {
    if cells.len() < 2 {
        return None;
    }
    let most =
        |test: fn(&str) -> bool| cells.iter().filter(|c| test(c)).count() * 4 >= cells.len() * 3;
    if kind == ListKind::History && most(|c| c.starts_with('£')) {
        return Some(Cost);
    }
    let serial = |c: &str| {
        c.len() >= 6
            && c.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
            && c.chars().any(|c| c.is_ascii_digit())
            && c.chars().any(|c| c.is_ascii_alphabetic())
    };
    most(serial).then_some(Serial)
}

/// Which kind of list the headings speak of.
pub fn guess_kind(headings: &[String]) -> ListKind {
    let names: Vec<String> = headings.iter().map(|h| normal(h)).collect();
    let names_field = |field: Field| names.iter().any(|n| likeness(field, n) >= 900);
    let happened = [Date, What, Cost, FunctionLost, Part]
        .into_iter()
        .filter(|f| names_field(*f))
        .count();
    let stands = [Fitted, RatedKw, Litres, WarrantyUntil, WatchedFrom]
        .into_iter()
        .filter(|f| names_field(*f))
        .count();
    if happened > stands && names_field(Date) {
        ListKind::History
    } else {
        ListKind::Units
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(kind: ListKind, headings: &[&str], cells: &[&[&str]]) -> Vec<Option<Field>> {
        let headings: Vec<String> = headings.iter().map(|h| (*h).to_owned()).collect();
        guess(kind, &headings, |place| {
            cells
                .get(place)
                .map(|c| c.iter().map(|t| (*t).to_owned()).collect())
                .unwrap_or_default()
        })
        .into_iter()
        .map(|f| f.0)
        .collect()
    }

    #[test]
    fn headings_of_the_trade_find_their_field() {
        assert_eq!(
            found(
                ListKind::Units,
                &[
                    "Block",
                    "Apt",
                    "Appliance type",
                    "Blr s/n",
                    "Inst.",
                    "Output (kW)",
                    "Guarantee expires",
                    "Dog?"
                ],
                &[],
            ),
            [
                Some(Building),
                Some(Space),
                Some(Kind),
                Some(Serial),
                Some(Fitted),
                Some(RatedKw),
                Some(WarrantyUntil),
                None
            ]
        );
        assert_eq!(
            found(
                ListKind::History,
                &[
                    "Unit No.",
                    "Date of visit",
                    "Job type",
                    "Part replaced",
                    "Total (£)",
                    "Engineer notes"
                ],
                &[],
            ),
            [
                Some(Number),
                Some(Date),
                Some(What),
                Some(Part),
                Some(Cost),
                Some(Words)
            ]
        );
    }

    #[test]
    fn a_field_is_given_once_and_shape_helps_where_the_heading_does_not() {
        assert_eq!(
            found(
                ListKind::Units,
                &["Flat", "Flat number", "Plate code", "Notes"],
                &[&[], &[], &["8B5S-2114", "I1O0-77"], &[]]
            ),
            [Some(Space), None, Some(Serial), Some(Note)]
        );
        assert_eq!(
            found(
                ListKind::History,
                &["Flat", "x"],
                &[&[], &["£310", "£1,250.00"]]
            ),
            [Some(Space), Some(Cost)]
        );
    }

    #[test]
    fn the_kind_of_list_is_told_by_its_headings() {
        let told = |h: &[&str]| guess_kind(&h.iter().map(|s| (*s).to_owned()).collect::<Vec<_>>());
        assert_eq!(told(&["Flat", "Kind", "Fitted"]), ListKind::Units);
        assert_eq!(
            told(&["Unit number", "Date", "What", "Cost"]),
            ListKind::History
        );
    }

    #[test]
    fn every_field_has_one_code() {
        for field in OF_UNITS.iter().chain(&OF_HISTORY) {
            assert_eq!(Field::from_code(field.code()), Some(*field));
        }
    }
}
