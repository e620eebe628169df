//! What people call a column, and how near a heading comes to a field.
use super::{Field, ListKind};

/// Headings the trade uses for each field, as [`normal`] makes them; the plainest first.
const VOCABULARY: [(Field, &str); 35] = [
    (
        Field::Building,
        "building, block, house, tower, building name, block name, scheme, site",
    ),
    (
        Field::Space,
        "flat, space, flat no, flat number, apt, apartment, apt no, dwelling, home, door, \
         flat or space, flat space, location, room, place, where, plot",
    ),
    (
        Field::Kind,
        "kind, kind of unit, unit kind, type, unit type, appliance, appliance type, equipment, \
         type of unit, type of appliance, system",
    ),
    (
        Field::Number,
        "number, unit number, unit no, unit, tag, label, plant no, no, ref, reference",
    ),
    (
        Field::Serial,
        "serial, serial no, serial number, s n, sn, ser no, plate, plate no",
    ),
    (
        Field::Fitted,
        "fitted, fitted in, installed, inst, install date, installation, installation date, \
         date installed, date fitted, fitting date, year, year fitted, year installed, commissioned",
    ),
    (
        Field::RatedKw,
        "kw, rated kw, output kw, output, rating, rated output, power",
    ),
    (
        Field::Litres,
        "litres, liters, l, ltr, volume, capacity, size l, stored litres",
    ),
    (
        Field::Filter,
        "filter, filter fitted, system filter, magnetic filter, mag filter",
    ),
    (
        Field::Reducer,
        "scale reducer, reducer, scale reducer fitted, scale inhibitor",
    ),
    (
        Field::WarrantyUntil,
        "warranty until, warranty, warranty to, warranty ends, warranty end, warranty expiry, \
         guarantee, guarantee until, guarantee ends, guarantee expires, guarantee expiry",
    ),
    (
        Field::WatchedFrom,
        "records since, watched from, records from, history since, looked after since, \
         on our books since, since",
    ),
    (
        Field::Note,
        "note, notes, remark, remarks, comment, comments, other",
    ),
    (
        Field::Tenure,
        "tenure, tenure type, type of tenure, tenancy type, type of tenancy, who holds it",
    ),
    (
        Field::Family,
        "family, type family, unit family, build family, built alike, batch, ordered with",
    ),
    (
        Field::System,
        "heating circuit, sealed or open, open or sealed, sealed system, circuit, circuit type",
    ),
    (
        Field::People,
        "people in the home, people, occupants, number of people, no of people, household size, \
         persons, occupancy",
    ),
    (
        Field::Count,
        "how many failures, how many, failures, number of failures, no of failures, count, \
         faults, number of faults, calls, number of calls",
    ),
    (
        Field::RecordsFrom,
        "records from, from, records exist from, kept from, first day, start, from date, begin, \
         start date, log begins, log starts",
    ),
    (
        Field::RecordsUntil,
        "records until, until, to, records to, records exist to, kept until, last day, end, \
         to date, end date, log ends, till",
    ),
    (
        Field::Date,
        "date, when, visit date, date of visit, job date, date reported, reported, date attended, \
         attended, date done, day, completed, date completed, date of job, last done, done on",
    ),
    (
        Field::What,
        "what, what happened, event, job type, type of job, type of visit, work, type of work, \
         work type, visit type, job, action",
    ),
    (
        Field::Part,
        "part, component, part fitted, part replaced, part failed, failed part",
    ),
    (
        Field::FunctionLost,
        "function lost, lost, loss of, fault, symptom, problem, reported fault, complaint",
    ),
    (
        Field::Cost,
        "cost, £, cost £, price, amount, paid, charge, invoice, invoice total, total, cost inc vat, \
         cost incl vat",
    ),
    (
        Field::FoundAtService,
        "found at service, at service, found during service, found on service",
    ),
    (
        Field::SameAs,
        "same as, same failure as, same fault, same fault as, repeat of, recall of",
    ),
    (
        Field::Words,
        "words, description, details, words of the fault, report, finding, findings, notes, note, \
         remarks, comments, comment, engineer notes",
    ),
    (
        Field::GasCheckDone,
        "last gas safety check, last gas check, gas safety date, gas safety check, gas check, \
         gas safety check date, gas check date, gas safety record, gas safety record date, \
         gas checked, gas safety done, gas check done, date of last gas check",
    ),
    (
        Field::GasCheckDue,
        "gas safety check due, gas check due, gas safety due, next gas safety check, \
         next gas check, gas due, gas safety expiry, gas safety expires, gas check expires, \
         gas safety record expires, gas safety until",
    ),
    (
        Field::ServiceDone,
        "last service, last serviced, service date, last service date, date of last service, \
         serviced, serviced on, service done",
    ),
    (
        Field::ServiceDue,
        "service due, next service, next service due, service due date, service due by, \
         next service date",
    ),
    (
        Field::Duty,
        "duty, duty code, duty name, legal duty, duty or check",
    ),
    (
        Field::DutyDone,
        "duty last done, last done, duty done, done on, last met, last done on",
    ),
    (
        Field::DutyDue,
        "duty due by, due by, duty due, due date, next due, deadline, due",
    ),
];

fn headings(field: Field) -> impl Iterator<Item = &'static str> {
    VOCABULARY
        .iter()
        .filter(move |(of, _)| *of == field)
        .flat_map(|(_, words)| words.split(", "))
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
        && VOCABULARY
            .iter()
            .any(|(field, _)| headings(*field).any(|h| h == name))
}

/// Headings that mean something alone and nothing beside other words: "House number" is no unit's number.
const TOO_PLAIN: [&str; 30] = [
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
    "due",
    "duty",
    "deadline",
    "serviced",
    "circuit",
    "people",
    "persons",
    "count",
    "calls",
    "faults",
    "failures",
    "from",
    "to",
    "until",
    "start",
    "end",
    "begin",
];

/// 0 when a heading does not name the field; more the closer it does.
pub(super) fn likeness(field: Field, name: &str) -> u32 {
    if let Some(place) = headings(field).position(|h| h == name) {
        return 1000 - place as u32;
    }
    // A heading that is another field's own name says nothing of this one. The dates of duties are columns of a list of
    // units: in a history "Service date" is the date. The days of records are columns of a list of their own.
    let of_units = Field::of(ListKind::Units).contains(&field);
    let of_records = |other: Field| matches!(other, Field::RecordsFrom | Field::RecordsUntil);
    let rival = |other: Field| {
        (of_units || !(other == Field::Duty || other.is_duty_date())) && !of_records(other)
    };
    if VOCABULARY
        .iter()
        .any(|(other, _)| rival(*other) && headings(*other).any(|h| h == name))
    {
        return 0;
    }
    // "Boiler serial no", "Cost (£)": the words of a known heading stand inside, in order.
    let padded = format!(" {name} ");
    headings(field)
        .filter(|h| !TOO_PLAIN.contains(h) && padded.contains(&format!(" {h} ")))
        .map(|h| 10 * h.split(' ').count() as u32 + h.len() as u32 / 4)
        .max()
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_service_date_is_the_date_in_a_history_and_a_duty_s_in_a_list_of_units() {
        assert!(likeness(Field::Date, "service date") > 0);
        assert!(likeness(Field::ServiceDone, "service date") > 900);
        assert_eq!(likeness(Field::Fitted, "service date"), 0);
        assert_eq!(likeness(Field::Date, "install date"), 0);
    }

    #[test]
    fn the_vocabulary_names_every_field_and_is_written_as_headings_are_read() {
        for kind in [ListKind::Units, ListKind::History, ListKind::Records] {
            for &field in Field::of(kind) {
                assert!(headings(field).count() > 3, "{field:?}");
            }
        }
        for (field, words) in VOCABULARY {
            for heading in words.split(',') {
                assert_eq!(heading.trim_start(), normal(heading), "{field:?}");
                assert!(is_heading(heading), "{heading}");
            }
        }
    }
}
