//! What the calls of the last hours point to, what is going on, what has ended.
use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::outages;
use wording::sentences::{capital, counted};
use wording::{Row, Shell};

use super::words;
use crate::Failure;
use crate::page::page;
use crate::seats::Desk;
use crate::state::{State, answer};

#[derive(Template)]
#[template(path = "outages/list.html")]
struct ListPage {
    shell: Shell,
    heading: String,
    standing: String,
    proposed: Vec<Row>,
    open: Vec<Row>,
    ended: Vec<Row>,
}

/// The page.
pub(super) async fn show(desk: Desk, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let seat = desk.seat.clone();
    let (found, views) =
        answer(&state, move |world| outages::outages_overview(world, &seat)).await?;
    let (open, ended): (Vec<_>, Vec<_>) = views.iter().partition(|v| v.outage.until_at.is_none());
    let hours: f64 = ended.iter().map(|v| v.home_hours).sum();
    let shared = found.proposals.iter().filter(|p| p.shared).count();
    page(&ListPage {
        shell: desk.shell(&state, "outages"),
        heading: match open.len() {
            0 => "No outage is going on".to_owned(),
            n => capital(&counted(
                n as u64,
                "outage is going on",
                "outages are going on",
            )),
        },
        standing: match (shared, ended.len()) {
            (1.., _) => {
                "Calls point to one cause: join them before anyone visits a home.".to_owned()
            }
            (0, 0) => {
                "When several homes call for the same loss, it is proposed here as one cause."
                    .to_owned()
            }
            (0, 1) => format!("One outage has ended. It took {}.", words::hours(hours)),
            (0, n) => format!(
                "{} ended. Together they took {}.",
                capital(&counted(n as u64, "outage has", "outages have")),
                words::hours(hours)
            ),
        },
        proposed: found
            .proposals
            .iter()
            .enumerate()
            .map(|(n, p)| words::proposal_row(n, p))
            .collect(),
        open: open.into_iter().map(words::row).collect(),
        ended: ended.into_iter().map(words::row).collect(),
    })
}
