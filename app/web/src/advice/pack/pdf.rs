//! The two pages as a PDF: the page's own words, in the page's own order.
use actix_web::http::StatusCode;
use actix_web::http::header::{CONTENT_DISPOSITION, HeaderValue, RETRY_AFTER};
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use wording::paper::{Column, Named, NotSet, Paper, Part, Section};
use wording::{Drawing, Shell};

use super::super::{columns, show};
use super::{PackPage, pack_page};
use crate::Failure;
use crate::page::with_status;
use crate::seats::Reader;
use crate::state::{State, pdf};
use crate::when;

/// The page instead of a PDF, while there is none.
#[derive(Template)]
#[template(path = "advice/no-pdf.html")]
struct NoPdfPage {
    shell: Shell,
    place: String,
    heading: &'static str,
    standing: &'static str,
    href: String,
}

/// The PDF.
pub(crate) async fn send(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let seen = show::load(&reader, &state, &path).await?;
    let shell = reader.shell(&state, "advice");
    let page = pack_page(&seen, shell, when::day_words(state.world.now()), true);
    let name = file_name(&page.number, seen.known_on);
    match pdf(&state, paper(&page, &seen.made_by, seen.known_on)).await {
        Ok(bytes) => Ok(HttpResponse::Ok()
            .content_type("application/pdf")
            .insert_header((CONTENT_DISPOSITION, format!("inline; filename=\"{name}\"")))
            .body(bytes)),
        Err(why) => instead(page, why),
    }
}

fn instead(page: PackPage, why: NotSet) -> Result<HttpResponse, Failure> {
    let (status, heading, standing) = match why {
        NotSet::NotThere => (
            StatusCode::SERVICE_UNAVAILABLE,
            "The PDF is not available here yet",
            "What makes it is built after the first start, which takes some minutes. If it still is not there in half an hour, ask whoever runs Riserward here. The page says the same: print it meanwhile.",
        ),
        NotSet::Failed => (
            StatusCode::INTERNAL_SERVER_ERROR,
            "The PDF could not be made",
            "It is written in the log; tell whoever runs Riserward here. The page says the same: print it from the browser.",
        ),
    };
    let mut answer = with_status(
        status,
        &NoPdfPage {
            shell: page.shell,
            place: page.place,
            heading,
            standing,
            href: format!("{}/pack", page.href),
        },
    )?;
    if status == StatusCode::SERVICE_UNAVAILABLE {
        let headers = answer.headers_mut();
        headers.insert(RETRY_AFTER, HeaderValue::from_static("120"));
    }
    Ok(answer)
}

/// "decision-pack-AH-22-B2-2026-11-25.pdf"
fn file_name(number: &str, day: NaiveDate) -> String {
    let plain: String = number
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    format!("decision-pack-{plain}-{day}.pdf")
}

/// What stands on it, in the order of templates/advice/pack.html.
fn paper(page: &PackPage, author: &str, made_on: NaiveDate) -> Paper {
    let drawn = |drawing: &Option<Drawing>, width| -> Vec<Part> {
        let drawing = drawing.as_ref();
        drawing
            .map(|d| Part::drawing(d, width))
            .into_iter()
            .collect()
    };
    let mut limits = drawn(&page.limits, 82);
    limits.extend(page.limit_words.iter().map(Part::words));
    let mut sources = vec![Part::words(&page.sources)];
    sources.push(Part::plate(&page.sign));
    let later = Part::rows(&page.later);
    let sections = [
        Section::of("In short", "", Part::rows(&page.summary)),
        Section::of("The answers", "kept apart", Part::rows(&page.answers)),
        Section::of("The facts", "from the register", Part::rows(&page.history)),
        Section::of(
            "The fork",
            "Expected cost so far, in today’s money",
            drawn(&page.fork, 100),
        ),
        Section::of("Two limits", "", limits),
        Section::of(
            "Options",
            "Side by side; money includes VAT",
            vec![beside(&page.columns)],
        ),
        Section::of("Cannot be done here", "", Part::rows(&page.ruled)),
        Section::of("Not compared", "Works or a survey come first", later),
        Section::of(
            "What would change this",
            "Pounds in favour of replacing now",
            drawn(&page.doubts, 100),
        ),
        Section::of("Sources", "and who stands for them", sources),
    ];
    Paper {
        title: format!("Decision pack, {}", page.place),
        author: author.to_owned(),
        made_on,
        beside: vec![
            Part::words(&page.shell.estate_name),
            Part::Words {
                words: page.number.clone(),
                typed: true,
            },
            Part::words(&page.place),
            Part::words(&page.today),
        ],
        heading: page.heading.clone(),
        sections: sections.into_iter().flatten().collect(),
    }
}

fn beside(columns: &[columns::Column]) -> Part {
    let columns = columns.iter().map(|column| Column {
        title: column.title.clone(),
        verdict: column.verdict.clone(),
        facts: column.facts.iter().map(Named::from).collect(),
    });
    Part::Columns {
        columns: columns.collect(),
    }
}
