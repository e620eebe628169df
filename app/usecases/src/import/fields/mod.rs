//! What a column may hold ([`mod@headings`]: what people call it; [`mod@guess`]: how its field is found).
mod guess;
mod headings;

use serde::{Deserialize, Serialize};

pub use guess::{How, guess, guess_kind};
pub use headings::{is_heading, normal};

/// The kinds of list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ListKind {
    /// A row for each unit.
    Units,
    /// A row for each thing that happened.
    History,
    /// A row for each time in which failures were written down.
    Records,
}

impl ListKind {
    /// As stored.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Units => "units",
            Self::History => "history",
            Self::Records => "records",
        }
    }
}

impl std::str::FromStr for ListKind {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "units" => Ok(Self::Units),
            "history" => Ok(Self::History),
            "records" => Ok(Self::Records),
            other => Err(format!("“{other}” is neither units, history nor records")),
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
    /// Who holds the home.
    Tenure,
    /// The word for units built alike.
    Family,
    /// How its heating circuit is kept full.
    System,
    /// How many people live in the home.
    People,
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
    /// How many failures there were.
    Count,
    /// First day of a time in which failures were written down.
    RecordsFrom,
    /// Its last day.
    RecordsUntil,
    /// What was written about it.
    Words,
    /// The day of the last gas safety check.
    GasCheckDone,
    /// The day by which the next gas safety check is due.
    GasCheckDue,
    /// The day of the last service.
    ServiceDone,
    /// The day by which the next service is due.
    ServiceDue,
    /// A duty, by its code or name.
    Duty,
    /// The day that duty was last done.
    DutyDone,
    /// The day by which that duty is due.
    DutyDue,
}

use Field::{
    Building, Cost, Count, Date, Duty, DutyDone, DutyDue, Family, Filter, Fitted, FoundAtService,
    FunctionLost, GasCheckDone, GasCheckDue, Kind, Litres, Note, Number, Part, People, RatedKw,
    RecordsFrom, RecordsUntil, Reducer, SameAs, Serial, ServiceDone, ServiceDue, Space, System,
    Tenure, WarrantyUntil, WatchedFrom, What, Words,
};

const OF_UNITS: [Field; 24] = [
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
    GasCheckDone,
    GasCheckDue,
    ServiceDone,
    ServiceDue,
    Duty,
    DutyDone,
    DutyDue,
    Tenure,
    People,
    Family,
    System,
    Note,
];
const OF_HISTORY: [Field; 16] = [
    Number,
    Serial,
    Building,
    Space,
    Kind,
    Date,
    What,
    Duty,
    DutyDue,
    Part,
    FunctionLost,
    Cost,
    FoundAtService,
    SameAs,
    Count,
    Words,
];
const OF_RECORDS: [Field; 9] = [
    Building,
    Space,
    Kind,
    Number,
    Serial,
    RecordsFrom,
    RecordsUntil,
    Count,
    Words,
];

impl Field {
    /// The fields of a kind of list, in the order they are offered.
    pub const fn of(kind: ListKind) -> &'static [Self] {
        match kind {
            ListKind::Units => &OF_UNITS,
            ListKind::History => &OF_HISTORY,
            ListKind::Records => &OF_RECORDS,
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
            Tenure => "tenure",
            Family => "family",
            System => "system",
            People => "people",
            Count => "count",
            RecordsFrom => "records_from",
            RecordsUntil => "records_until",
            Date => "date",
            What => "what",
            Part => "part",
            FunctionLost => "function_lost",
            Cost => "cost",
            FoundAtService => "found_at_service",
            SameAs => "same_as",
            Words => "words",
            GasCheckDone => "gas_check_done",
            GasCheckDue => "gas_check_due",
            ServiceDone => "service_done",
            ServiceDue => "service_due",
            Duty => "duty",
            DutyDone => "duty_done",
            DutyDue => "duty_due",
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
            Tenure => "Tenure",
            Family => "Family",
            System => "Heating circuit",
            People => "People in the home",
            Count => "How many failures",
            RecordsFrom => "Records from",
            RecordsUntil => "Records until",
            Date => "Date",
            What => "What happened",
            Part => "Part",
            FunctionLost => "Function lost",
            Cost => "Cost",
            FoundAtService => "Found at service",
            SameAs => "Same failure as",
            Words => "Words",
            GasCheckDone => "Last gas safety check",
            GasCheckDue => "Gas safety check due",
            ServiceDone => "Last service",
            ServiceDue => "Service due",
            Duty => "Duty",
            DutyDone => "Duty last done",
            DutyDue => "Duty due by",
        }
    }

    /// The field of a code.
    pub fn from_code(code: &str) -> Option<Self> {
        OF_UNITS
            .iter()
            .chain(&OF_HISTORY)
            .chain(&OF_RECORDS)
            .copied()
            .find(|f| f.code() == code)
    }

    /// Whether it holds dates.
    pub const fn is_date(self) -> bool {
        matches!(
            self,
            Fitted | WarrantyUntil | WatchedFrom | Date | RecordsFrom | RecordsUntil
        ) || self.is_duty_date()
    }

    /// Whether it holds a date of a legal or other duty, from which a deadline is counted.
    pub const fn is_duty_date(self) -> bool {
        matches!(
            self,
            GasCheckDone | GasCheckDue | ServiceDone | ServiceDue | DutyDone | DutyDue
        )
    }

    /// Whether a list of this kind can do without it. A history row may name its unit by number, serial or flat; a last day
    /// of records that cannot be read is not the same as none, which says that they are kept still.
    pub const fn is_optional(self, kind: ListKind) -> bool {
        match kind {
            ListKind::Units => !matches!(self, Building | Space | Kind),
            ListKind::History => !matches!(
                self,
                Building | Space | Kind | Number | Serial | Date | What
            ),
            ListKind::Records => matches!(self, Count | Words),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_has_one_code() {
        for field in OF_UNITS.iter().chain(&OF_HISTORY).chain(&OF_RECORDS) {
            assert_eq!(Field::from_code(field.code()), Some(*field));
        }
    }
}
