//! The sentences of bringing in a list, made from what the preview counted.
mod beside;
mod causes;
mod columns;
mod done;
mod preview;

use usecases::import::{Field, ListKind};
use wording::sentences::plural;

pub(super) use beside::{beside, findings, named, unknown};
pub(super) use causes::cause;
pub(super) use columns::{asked, both_ways, columns_finding, columns_standing, how, only_so, size};
pub(super) use done::{
    brought_in, came, done_finding, done_note, done_standing, standing_of, taken_back,
    would_take_back,
};
pub(super) use preview::{coming, effect, leave_rest, preview_finding, preview_standing};

/// "a list of units".
pub(super) fn kind(kind: ListKind) -> &'static str {
    match kind {
        ListKind::Units => "a list of units",
        ListKind::History => "a history",
        ListKind::Records => "a list of times of records",
    }
}

fn rows(n: u32) -> String {
    plural(u64::from(n), "row", "rows")
}

fn verb(n: u32, one: &'static str, many: &'static str) -> &'static str {
    if n == 1 { one } else { many }
}

/// What a column of this sort may hold, on the page a list is sent from.
pub(super) fn expected(field: Field) -> &'static str {
    match field {
        Field::Building => "name or code; not needed where there is one building",
        Field::Space => "“14”, “Flat 14”, “Plant room”",
        Field::Kind => "“combi”, “HIU”, “thermal store” and the like",
        Field::Number => "the number on the label, where there is one",
        Field::Serial => "as on the plate",
        Field::Fitted => "a day, month, year, “2005-2010”, “about 2012”, “2009?”, “unknown”",
        Field::RatedKw => "a number",
        Field::Litres => "a number, for units that store water",
        Field::Filter | Field::Reducer | Field::FoundAtService => "yes, no or nothing",
        Field::WarrantyUntil => "its last day",
        Field::Tenure => "“secure”, “social”, “private” or “leasehold”",
        Field::Family => "a word of your own, the same for units built alike",
        Field::System => "“sealed” or “open”: how its heating circuit is kept full",
        Field::People => "a number, for homes; no names",
        Field::Count => {
            "a number, of failures whose days are not known one by one; the dates say between which days"
        }
        Field::RecordsFrom => "the first day, month or year in which failures were written down",
        Field::RecordsUntil => "the last one; empty: they are written down still",
        Field::WatchedFrom => {
            "since when every failure of this unit was written down; without it, from today"
        }
        Field::Note | Field::Words => "free words; no names of residents",
        Field::Date => "a day, month, year or range",
        Field::What => "failure, no fault found, service, check, repair or part",
        Field::Part => "“pump”, “diverter valve”, as the kind of unit has them",
        Field::FunctionLost => "heating, hot water, both, leak, noise, other",
        Field::Cost => "pounds with VAT: 1,250.00",
        Field::SameAs => "the same mark on rows that are one failure",
        Field::GasCheckDone | Field::ServiceDone | Field::DutyDone => {
            "the day itself, from its record; the next deadline is counted from it"
        }
        Field::GasCheckDue | Field::ServiceDue | Field::DutyDue => {
            "the day itself; with the day it was last done it has to agree by the rule"
        }
        Field::Duty => "a duty’s code or name, as on the list of duties: “G1”, “E1”",
    }
}
