//! Records in lists: on the job, on the unit, after the sheet.
use terms::RecordKind;
use usecases::records::PaperOf;
use wording::sentences::{capital, counted, dates};
use wording::{Link, Row};

use crate::when;

/// Where a record stands.
pub(crate) fn address(paper: &PaperOf) -> String {
    format!("/records/{}/{}", paper.job, paper.kind.code())
}

/// "Gas safety record of 25 November 2026, J-00042/1: issued on …"
pub(crate) fn row(paper: &PaperOf) -> Row {
    let name = capital(paper.kind.words());
    let on = dates::day(paper.on);
    let (sentence, figure) = match (&paper.issued, paper.gaps) {
        (Some((number, at)), _) => (
            format!(
                " of the visit on {on}, issued on {}.",
                dates::day(when::local_day(*at))
            ),
            number.clone(),
        ),
        (None, 0) => (
            format!(" of the visit on {on}: nothing is missing; the engineer signs and issues it."),
            "draft".to_owned(),
        ),
        (None, gaps) => (
            format!(
                " of the visit on {on}: {} still missing, so it is no record yet.",
                counted(gaps as u64, "item is", "items are")
            ),
            "draft".to_owned(),
        ),
    };
    Row::about(
        format!("record-{}-{}", paper.job_number, short(paper.kind)),
        Link::new(name, address(paper)),
        sentence,
    )
    .figure(figure, paper.job_number.clone())
}

fn short(kind: RecordKind) -> &'static str {
    match kind {
        RecordKind::GasSafety => "gas",
        RecordKind::Service => "service",
    }
}
