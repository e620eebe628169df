//! What stands side by side: a list and the register, a handover and itself, a source's names and ours.
use usecases::import::{Cause, Finding, Matching, Preview};
use wording::sentences::plural;
use wording::{Choice, Link, Row, Verb};

use crate::form::fresh_once;

/// Rows beside what the register holds, so that a person tells whether they are one.
pub(in crate::import) fn beside(preview: &Preview) -> Vec<Row> {
    let row = |(n, pair): (usize, &usecases::import::Beside)| {
        let mut row = Row::about(
            format!("beside-{n}"),
            Link::new(format!("{}, row {}", pair.unit, pair.row), ""),
            format!(". The list says: {}.", pair.list),
        );
        row.more
            .push(format!("The register says: {}.", pair.register));
        row
    };
    preview.beside.iter().enumerate().map(row).collect()
}

/// What the sheets of a handover say against each other.
pub(in crate::import) fn findings(findings: &[Finding]) -> Vec<Row> {
    let row = |(n, finding): (usize, &Finding)| {
        let place = format!(
            "Sheet {}, row {}, {}",
            finding.sheet, finding.row, finding.column
        );
        Row::about(
            format!("finding-{n}"),
            Link::new(place, ""),
            format!(": “{}”. {}", finding.value, finding.sentence),
        )
        .figure(plural(u64::from(finding.rows), "row", "rows"), "")
    };
    findings.iter().enumerate().map(row).collect()
}

/// The names of this source whose meaning is said already.
pub(in crate::import) fn named(matching: &Matching, id: &str) -> Vec<Row> {
    let mut rows = Vec::new();
    for (field, names) in &matching.names {
        for (said, meant) in names {
            let sentence = format!("{}: “{said}” is “{meant}” on the register.", field.label());
            let fields = vec![
                ("once".to_owned(), fresh_once()),
                ("word".to_owned(), format!("{}:{said}", field.code())),
                ("meant".to_owned(), String::new()),
                ("forget".to_owned(), "yes".to_owned()),
            ];
            let forget = Verb::post("Forget this", format!("/import/{id}/names"), fields);
            rows.push(Row::plain(format!("named-{}", rows.len()), sentence).verb(forget));
        }
    }
    rows
}

/// The words of the list that the register does not know, to be chosen from.
pub(in crate::import) fn unknown(causes: &[Cause], chosen: &str) -> Vec<Choice> {
    let mut choices = Vec::new();
    for cause in causes.iter().filter(|cause| cause.remedy.is_none()) {
        let Some(field) = cause.can_be_named else {
            continue;
        };
        for said in &cause.values {
            let value = format!("{}:{said}", field.code());
            let label = format!("{}: {said}", field.label());
            let is = value == chosen;
            choices.push(Choice::new(value, label, is));
        }
    }
    choices
}
