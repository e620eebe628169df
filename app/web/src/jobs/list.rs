//! The desk's jobs by where they stand.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::JobState;
use usecases::work::{self, JobLine};
use wording::sentences::{capital, counted, number_word};
use wording::{Row, Shell};

use super::words::desk_row;
use crate::Failure;
use crate::page::page;
use crate::seats::Desk;
use crate::state::{State, answer};

#[derive(Template)]
#[template(path = "jobs/list.html")]
struct ListPage {
    shell: Shell,
    heading: String,
    standing: String,
    groups: Vec<Group>,
}

struct Group {
    id: &'static str,
    heading: String,
    note: &'static str,
    rows: Vec<Row>,
}

/// The order of the list: what waits for the desk first.
const ORDER: [JobState; 11] = [
    JobState::ToPlace,
    JobState::NoAccess,
    JobState::LeftIsolated,
    JobState::WaitingForDecision,
    JobState::Offered,
    JobState::Taken,
    JobState::Booked,
    JobState::OnSite,
    JobState::WaitingForPart,
    JobState::MadeSafe,
    JobState::Done,
];

pub(super) async fn show(desk: Desk, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let seat = desk.seat.clone();
    let lines = answer(&state, move |world| work::open_jobs(world, &seat)).await?;
    let now = state.world.now();
    let late = lines
        .iter()
        .filter(|l| !l.job.state.is_closed() && l.job.due_at.is_some_and(|due| now > due))
        .count();
    let nobody = lines
        .iter()
        .filter(|l| l.job.state == JobState::ToPlace)
        .count();
    let groups = ORDER
        .into_iter()
        .filter_map(|state| group(state, &lines, now))
        .collect();
    let open = lines.iter().filter(|l| !l.job.state.is_closed()).count();
    page(&ListPage {
        shell: desk.shell(&state, "jobs"),
        heading: match open {
            0 => "No job is open".to_owned(),
            open => capital(&format!(
                "{} open, {}",
                counted(open as u64, "job is", "jobs are"),
                match nobody {
                    0 => "and somebody has each".to_owned(),
                    nobody => format!("{} without anybody", number_word(nobody as u64)),
                }
            )),
        },
        standing: match late {
            0 => "None is past its clock.".to_owned(),
            1 => "One job is past its clock.".to_owned(),
            late => capital(&format!(
                "{} past their clocks.",
                counted(late as u64, "job is", "jobs are")
            )),
        },
        groups,
    })
}

fn group(state: JobState, lines: &[JobLine], now: chrono::DateTime<chrono::Utc>) -> Option<Group> {
    let mut of_state: Vec<&JobLine> = lines.iter().filter(|l| l.job.state == state).collect();
    of_state.sort_by_key(|l| {
        l.job
            .due_at
            .unwrap_or(chrono::DateTime::<chrono::Utc>::MAX_UTC)
    });
    let note = match state {
        JobState::Done => "Papers and invoice to be agreed",
        _ => "Nearest clock first",
    };
    (!of_state.is_empty()).then(|| Group {
        id: state.code(),
        heading: capital(state.words()),
        note,
        rows: of_state.into_iter().map(|l| desk_row(l, now)).collect(),
    })
}
