//! The office has it.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{JobState, Pence};
use usecases::advice::{QuoteOutcome, Upon};
use usecases::records::{self, PaperOf};
use usecases::work::{self, JobView};
use wording::Shell;
use wording::sentences::{capital, dates, money};

use super::called;
use crate::Failure;
use crate::form::fresh_once;
use crate::jobs::job_id;
use crate::jobs::words::place;
use crate::page::page;
use crate::records::rows as papers;
use crate::seats::Road;
use crate::state::{State, answer};
use crate::when;

#[derive(Template)]
#[template(path = "job-sheet/kept.html")]
struct KeptPage {
    shell: Shell,
    view: JobView,
    papers: Vec<PaperOf>,
    once: String,
}

impl KeptPage {
    fn heading(&self) -> String {
        let place = capital(&called(&self.view.space));
        match self.view.job.state {
            JobState::Done => format!("{place} is done, and the office has it"),
            state => format!("{place} is kept: {state}"),
        }
    }

    /// The outage the job answers lasts: its homes are tested again next.
    fn outage_lasts(&self) -> bool {
        let outage = self.view.outage.as_ref();
        outage.is_some_and(|outage| outage.until_at.is_none())
    }

    /// The papers of the visit: what to press, and where it leads.
    fn papers(&self) -> Vec<(String, String)> {
        let id = self.view.job.id;
        let notice = self.view.notices.iter().any(|n| n.job == Some(id));
        let notice = notice.then(|| {
            (
                "See the warning notice".to_owned(),
                format!("/records/{id}/notice"),
            )
        });
        let records = self.papers.iter().map(|paper| {
            let words = match (&paper.issued, paper.gaps) {
                (Some((number, _)), _) => format!("See the {} {number}", paper.kind),
                (None, 0) => format!("Sign the {}", paper.kind),
                (None, _) => format!("What the {} still lacks", paper.kind),
            };
            (words, papers::address(paper))
        });
        notice.into_iter().chain(records).collect()
    }

    /// The advice to go ahead upon, when the quote is inside both limits.
    fn go_ahead(&self) -> Option<String> {
        let upon = self.view.upon.as_ref()?;
        let open = self.view.job.state == JobState::WaitingForDecision && upon.decided.is_none();
        let inside = upon.on_site == Some(QuoteOutcome::InsideBoth);
        (open && inside).then(|| format!("/advice/{}/go-ahead", upon.id))
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
                "Your quote of {} holds until {}.",
                money::exact(*total),
                dates::day(*until)
            ));
            if let Some(upon) = self.view.upon.as_ref().filter(|u| u.decided.is_none()) {
                lines.extend(two_limits(upon));
            }
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

/// The quote between what may be agreed on site and what is worth paying, and what follows.
fn two_limits(upon: &Upon) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(may) = upon.may_agree {
        let over = upon.quote.0 - may.0;
        lines.push(if over > 0 {
            format!(
                "May be agreed on site: up to {may}. The quote is {} over.",
                Pence(over)
            )
        } else {
            format!("May be agreed on site: up to {may}. The quote is inside.")
        });
    }
    if let (Some(limit), Some(advantage)) = (upon.limit, upon.advantage) {
        lines.push(if advantage.0 > 0 {
            format!(
                "Worth paying here: the repair limit is {limit}. At your quote of {} replacing is the cheaper course by {advantage}.",
                upon.quote
            )
        } else {
            format!(
                "Worth paying here: the repair limit is {limit}. At your quote of {} repairing is the cheaper course by {}.",
                upon.quote,
                Pence(-advantage.0)
            )
        });
    }
    lines.push(
        match upon.on_site {
            Some(QuoteOutcome::InsideBoth) => "Inside both: go ahead, and the office is told.",
            Some(QuoteOutcome::OverRepairLimitOnly) => {
                "You may agree it, but replacing is cheaper: the office decides. Do not order before you are told."
            }
            Some(QuoteOutcome::OverAuthorityOnly) => {
                "Worth doing, needs a yes. Do not order before you are told."
            }
            Some(QuoteOutcome::OverBoth) => {
                "Over both: a decision pack goes to the landlord. Do not order before you are told."
            }
            None => "Do not order before you are told.",
        }
        .to_owned(),
    );
    lines.push("Making safe and lending heaters wait for neither limit.".to_owned());
    lines
}

pub(super) async fn show(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let (job, seats) = (job_id(&path)?, road.seats.clone());
    let (view, papers) = answer(&state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        let view = work::job_view(world, &seat, job)?;
        Ok((view, records::records_of_job(world, &seat, job)?))
    })
    .await?;
    page(&KeptPage {
        shell: road.shell(&state, "my-day"),
        view,
        papers,
        once: fresh_once(),
    })
}
