//! What the program goes by, one question at a time: every limit, rule, price and starting figure in words, with how it
//! is known, where from and as at which day. To be read, printed and searched by the browser's own find.
mod dates;
mod figures;
mod readings;

use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::facts::{self, Facts};
use wording::sentences::dates as days;
use wording::{Ask, Shell, Table};

use crate::Failure;
use crate::form::Typed;
use crate::page::page;
use crate::seats::Desk;
use crate::state::{State, answer};

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(web::resource("/facts").route(web::get().to(show)));
}

/// A stretch of the page: its table, and rows one can be led to.
pub(crate) struct Group {
    /// For links.
    pub id: String,
    /// What it is about.
    pub heading: String,
    /// Small words in the margin.
    pub note: String,
    /// Sentences before the table.
    pub words: Vec<String>,
    /// The facts.
    pub table: Option<Table>,
}

/// One question of the page.
struct Question {
    code: &'static str,
    words: &'static str,
    heading: &'static str,
    groups: fn(&Facts) -> Vec<Group>,
}

const QUESTIONS: [Question; 9] = [
    Question {
        code: "limits",
        words: "Which limits?",
        heading: "The limits a reading is held against",
        groups: readings::limits,
    },
    Question {
        code: "formulas",
        words: "Which formulas?",
        heading: "The formulas, and the figures they use",
        groups: readings::formulas,
    },
    Question {
        code: "readings",
        words: "What is measured?",
        heading: "What a service measures, unit by unit",
        groups: readings::sets,
    },
    Question {
        code: "symptoms",
        words: "Which parts are suspected?",
        heading: "Which part is suspected when something is seen",
        groups: readings::symptoms,
    },
    Question {
        code: "blocks",
        words: "What stops a job?",
        heading: "What stands in the way of closing a job",
        groups: readings::blocks,
    },
    Question {
        code: "duties",
        words: "Which duties?",
        heading: "The duties, and how their dates come",
        groups: dates::duties,
    },
    Question {
        code: "times",
        words: "Which times?",
        heading: "Days after an event, and times after a report",
        groups: dates::times,
    },
    Question {
        code: "money",
        words: "Which prices?",
        heading: "Prices, the rate, and who may agree what",
        groups: figures::money,
    },
    Question {
        code: "lives",
        words: "Which starting figures?",
        heading: "What a forecast starts from",
        groups: figures::lives,
    },
];

#[derive(Template)]
#[template(path = "facts/facts.html")]
struct FactsPage {
    shell: Shell,
    margin: Vec<String>,
    heading: String,
    standing: String,
    asks: Vec<Ask>,
    groups: Vec<Group>,
    countries: Vec<String>,
    /// Whether duties are shown, which the desk may state anew.
    duties: bool,
    caution: String,
}

/// The page.
async fn show(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let asked = query.value("about").to_owned();
    let shell = desk.shell(&state, "facts");
    let seat = desk.seat.clone();
    let facts = answer(&state, move |world| facts::facts(world, &seat)).await?;
    let question = QUESTIONS
        .iter()
        .find(|q| q.code == asked)
        .unwrap_or(&QUESTIONS[0]);
    let book = facts.book;
    page(&FactsPage {
        shell,
        margin: vec![
            format!("Rule book version {}", book.version()),
            format!("as at {}", days::day(book.as_at())),
            format!("digest {}", book.digest()),
        ],
        heading: question.heading.to_owned(),
        standing: "Each line says how it is known. The unit’s plate and manual, the current law and the judgement of the \
                   licensed person on site come before all of it."
            .to_owned(),
        asks: QUESTIONS
            .iter()
            .map(|q| Ask {
                words: q.words.to_owned(),
                href: format!("/facts?about={}", q.code),
                current: q.code == question.code,
            })
            .collect(),
        groups: (question.groups)(&facts),
        countries: dates::countries(&facts),
        duties: question.code == "duties",
        caution: book.note().split(" Ours,").next().unwrap_or_default().to_owned(),
    })
}

/// A table whose last columns are how a fact is known and its day.
pub(crate) fn group(id: &str, heading: &str, note: &str, table: Table) -> Group {
    Group {
        id: id.to_owned(),
        heading: heading.to_owned(),
        note: note.to_owned(),
        words: Vec::new(),
        table: Some(table),
    }
}
