//! The warning notice as one printed page for each unsafe situation found on a job.
use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::records::{self, NoticePaper};
use wording::sentences::{capital, dates};
use wording::{Fact, Shell};

use super::seat_of;
use crate::Failure;
use crate::form::id_of;
use crate::page::page;
use crate::seats::Visitor;
use crate::state::{State, answer};
use crate::when;

/// One notice in words.
struct Shown {
    standing: &'static str,
    words: String,
    facts: Vec<Fact>,
    told: Vec<Fact>,
    heat: String,
    cleared: Option<String>,
}

#[derive(Template)]
#[template(path = "records/notice.html")]
struct NoticePage {
    shell: Shell,
    heading: String,
    sender: Vec<String>,
    notices: Vec<Shown>,
}

impl Shown {
    fn of(paper: NoticePaper) -> Self {
        let notice = &paper.notice;
        Self {
            standing: match (notice.isolated, notice.permission_refused) {
                (_, true) => "Permission to make it safe was refused. Do not use it.",
                (true, false) => "It is isolated and labelled. Do not use it.",
                (false, false) => "Do not use it.",
            },
            facts: facts(&paper),
            told: paper
                .told
                .iter()
                .map(|(who, at)| Fact::new(*who, format!("told at {at}")))
                .collect(),
            cleared: notice.cleared_at.map(|at| {
                format!(
                    "Put right and cleared by a registered engineer, {}.",
                    dates::moment(when::local(at))
                )
            }),
            words: notice.words.clone(),
            heat: paper.heat,
        }
    }
}

fn facts(paper: &NoticePaper) -> Vec<Fact> {
    let notice = &paper.notice;
    let class = match notice.class.as_str() {
        "ID" => "immediately dangerous",
        _ => "at risk",
    };
    let (job, unit) = (&paper.job, &paper.unit);
    let kind = capital(&paper.kind_name);
    let mut facts = vec![
        Fact::typed("Notice", notice.number.clone()),
        Fact::new("Left", dates::moment(when::local(notice.made_at))),
        Fact::new("Classed", class),
        Fact::new("Address", paper.building.address.clone()),
        Fact::new("Unit", format!("{kind} {}", unit.number)),
        Fact::typed("Job", job.number.clone()),
        Fact::new("Firm", paper.by.0.clone()),
        Fact::new("Engineer", paper.by.1.clone()),
    ];
    if !paper.registration.is_empty() {
        facts.push(Fact::typed("Registration", paper.registration.clone()));
    }
    facts
}

pub(super) async fn show(
    visitor: Visitor,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let job = id_of(&path, "job")?;
    let seat = seat_of(&visitor, &state, job).await?;
    let shell = visitor.shell_as(&state, &seat, "records");
    let papers = answer(&state, move |world| {
        records::notices_of_job(world, &seat, job)
    })
    .await?;
    let first = papers.first();
    let heading = first.map_or_else(String::new, |paper| {
        let job = &paper.job;
        format!("Warning notice: {}, {}", job.space_name, job.building_name)
    });
    let sender = first
        .into_iter()
        .flat_map(|paper| [&paper.from.name, &paper.from.address, &paper.from.telephone])
        .filter(|line| !line.is_empty())
        .cloned()
        .collect();
    page(&NoticePage {
        shell,
        heading,
        sender,
        notices: papers.into_iter().map(Shown::of).collect(),
    })
}
