//! The office has it.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::JobState;
use usecases::work::{self, JobView};
use wording::Shell;
use wording::sentences::{dates, money};

use crate::Failure;
use crate::jobs::job_id;
use crate::jobs::words::place;
use crate::page::page;
use crate::seats::Road;
use crate::state::{State, answer};
use crate::when;

#[derive(Template)]
#[template(path = "job-sheet/kept.html")]
struct KeptPage {
    shell: Shell,
    view: JobView,
}

impl KeptPage {
    fn heading(&self) -> String {
        let job = &self.view.job;
        match job.state {
            JobState::Done => format!("{} is done, and the office has it", job.space_name),
            state => format!("{} is kept: {state}", job.space_name),
        }
    }

    fn lines(&self) -> Vec<String> {
        let job = &self.view.job;
        let mut lines = vec![format!(
            "{}, {}, written {}.",
            job.number,
            place(job),
            dates::moment(when::local(job.state_at))
        )];
        if let Some((_, total, until)) = &self.view.quote {
            lines.push(format!(
                "Your quote of {} holds until {}. Do not order before you are told.",
                money::exact(*total),
                dates::day(*until)
            ));
        }
        if let Some(next) = match job.state {
            JobState::NoAccess => Some("Name another day from your day’s list."),
            JobState::WaitingForPart | JobState::MadeSafe => Some("Book the return before you go."),
            JobState::LeftIsolated => {
                Some("The office was told. It stays off until a registered engineer clears it.")
            }
            _ => None,
        } {
            lines.push(next.to_owned());
        }
        lines
    }
}

pub(super) async fn show(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let (job, seats) = (job_id(&path)?, road.seats.clone());
    let view = answer(&state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        work::job_view(world, &seat, job)
    })
    .await?;
    page(&KeptPage {
        shell: road.shell(&state, "my-day"),
        view,
    })
}
