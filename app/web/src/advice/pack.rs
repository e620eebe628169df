//! The same advice on two printed pages, to be signed.
pub(super) mod pdf;

use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::advice::AdvicePage;
use wording::sentences::dates;
use wording::{Drawing, Fact, Row, Shell};

use super::answers::{limit_words, pack_answers};
use super::columns::{Column, brief_columns};
use super::{consult, course, drawings, facts, not_known, show, sources, summary, words};
use crate::Failure;
use crate::page::page;
use crate::seats::Reader;
use crate::state::State;
use crate::when;

/// The two pages to print.
#[derive(Template)]
#[template(path = "advice/pack.html")]
struct PackPage {
    shell: Shell,
    number: String,
    place: String,
    heading: String,
    summary: Vec<Row>,
    answers: Vec<Row>,
    history: Vec<Row>,
    fork: Option<Drawing>,
    limits: Option<Drawing>,
    limit_words: Vec<String>,
    columns: Vec<Column>,
    ruled: Vec<Row>,
    later: Vec<Row>,
    doubts: Option<Drawing>,
    sources: String,
    sign: Vec<Fact>,
    href: String,
    today: String,
    /// Whether it can be had as PDF.
    pdf: bool,
}

/// The pack.
pub(crate) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let seen = show::load(&reader, &state, &path).await?;
    let shell = reader.shell(&state, "advice");
    let today = when::day_words(state.world.now());
    page(&pack_page(&seen, shell, today, state.sets_papers()))
}

fn pack_page(seen: &AdvicePage, shell: Shell, today: String, pdf: bool) -> PackPage {
    let a = &seen.listed;
    let (ruled, later) = sources::not_compared(seen);
    let decision = a.decision.as_ref().map(words::decided);
    PackPage {
        number: a.unit.number.clone(),
        place: words::place(&a.unit.space_name, &a.unit.building_name),
        heading: course::asked(a),
        summary: summary::in_brief(seen),
        answers: pack_answers(seen),
        history: facts::in_brief(seen),
        fork: drawings::fork(a, seen.known_on),
        limits: drawings::two_limits(a),
        limit_words: limit_words(seen),
        columns: brief_columns(seen),
        ruled,
        later,
        doubts: drawings::doubts(a, PACK_DOUBTS),
        sources: pack_sources(seen),
        sign: vec![
            Fact::new("Prepared by", format!("{}, {today}", seen.made_by)),
            Fact::new("Decision", decision.unwrap_or_else(|| "\u{a0}".to_owned())),
            Fact::new("Signed for the landlord", "\u{a0}"),
            Fact::new("Date", "\u{a0}"),
            Fact::typed("Head of the record", shorter(&seen.record_head)),
            Fact::typed("Digest of this advice", shorter(&seen.digest)),
        ],
        shell,
        href: format!("/advice/{}", a.id),
        today,
        pdf,
    }
}

/// The widest doubts, widest first, that two printed pages have room for.
const PACK_DOUBTS: usize = 4;

/// The first 24 characters: enough to compare by eye.
fn shorter(text: &str) -> String {
    text.chars().take(24).collect()
}

fn pack_sources(seen: &AdvicePage) -> String {
    let a = &seen.listed;
    let quote = a
        .quoted
        .as_ref()
        .map(|q| format!("Quote of {}, {}. ", q.firm_name, dates::day(q.given_on)))
        .unwrap_or_default();
    let first = seen.lines.iter().find(|l| l.code == "failures_first");
    let faults = match first {
        Some(line) if !a.answer.own_forecast => format!("failures from {}", line.source),
        _ => "failures from the forecast for this unit".to_owned(),
    };
    let percent = |code: &str| {
        let line = seen.lines.iter().find(|l| l.code == code)?;
        Some(format!("{:.1}\u{a0}%", line.value * 100.0))
    };
    let rate = match (percent("rate"), percent("rate_later")) {
        (Some(first), Some(next)) => format!("{first}, later {next}"),
        (first, _) => first.unwrap_or_default(),
    };
    format!(
        "Register as known on {}. {quote}{}; real discount rate {rate}; {faults}; {}. Every figure with its source stands on the advice’s own page, under “What went in”.{} {}",
        dates::day(seen.known_on),
        not_known::prices_in_one_line(seen),
        not_known::failures_in_one_line(seen),
        consult::in_one_line(seen),
        words::STANDING
    )
}
