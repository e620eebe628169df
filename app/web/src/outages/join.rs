//! Joining calls that point to one cause, and asking neighbours before that.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BranchId, BuildingId, FaultCallId, FunctionLost, SpaceId};
use usecases::Error;
use usecases::outages::{self, AskedNeighbour, JoinForm, Proposal};
use wording::sentences::{capital, dates};
use wording::{Choice, Shell};

use super::words;
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::jobs::words::lost_words;
use crate::page::{page, see, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

/// Neighbours shown to be asked.
const MOST_ASKED: usize = 12;

#[derive(Template)]
#[template(path = "outages/join.html")]
struct JoinPage {
    shell: Shell,
    form: Typed,
    once: String,
    found: Proposal,
    heading: String,
    standing: String,
    calls: Vec<Choice>,
    neighbours: Vec<Choice>,
}

/// What the address names: building, pipe, loss.
struct Named {
    building: BuildingId,
    branch: Option<BranchId>,
    lost: FunctionLost,
}

impl Named {
    fn of(form: &Typed) -> Option<Self> {
        Some(Self {
            building: form.value("building").parse().ok()?,
            branch: form.value("branch").parse().ok(),
            lost: form.value("lost").parse().ok()?,
        })
    }

    fn address(&self) -> String {
        let branch = self.branch.map_or_else(String::new, |id| id.to_string());
        format!(
            "/outages/new?building={}&branch={branch}&lost={}",
            self.building,
            self.lost.code()
        )
    }
}

/// The proposal of that name, if the calls still point there.
async fn proposal(
    desk: &Desk,
    state: &web::Data<State>,
    form: &Typed,
) -> Result<Option<Proposal>, Failure> {
    let named = Named::of(form).ok_or(Failure(Error::NotFound("building")))?;
    let seat = desk.seat.clone();
    let found = answer(state, move |world| outages::suspicion(world, &seat)).await?;
    Ok(found
        .proposals
        .into_iter()
        .find(|p| p.building == named.building && p.branch == named.branch))
}

fn join_page(shell: Shell, found: Proposal, form: Typed) -> JoinPage {
    let chosen = form.values("call");
    let calls = found
        .calls
        .iter()
        .map(|call| {
            let id = call.call.to_string();
            let on = chosen.is_empty() || chosen.contains(&id);
            let since = dates::moment(when::local(call.since_at));
            Choice::new(
                id,
                format!(
                    "{}: {} since {since}",
                    call.space_name,
                    lost_words(call.lost)
                ),
                on,
            )
        })
        .collect();
    let neighbours = found
        .silent
        .iter()
        .take(MOST_ASKED)
        .map(|(id, name)| Choice::new(id.to_string(), name, form.value("space") == id.to_string()))
        .collect();
    let standing = if found.shared {
        format!(
            "That points to one cause, {}. One job answers them; every home keeps its own clock.",
            found.chance_words
        )
    } else {
        format!(
            "It may be one cause, {}: ask a neighbour or two before anyone is sent.",
            found.chance_words
        )
    };
    let place = if found.branch.is_some() {
        format!("{}, {}", capital(&found.name), found.building_name)
    } else {
        found.building_name.clone()
    };
    JoinPage {
        shell,
        once: form.once(),
        heading: format!("{place}: {}", words::heard(&found)),
        standing,
        calls,
        neighbours,
        found,
        form,
    }
}

/// The calls with what they point to.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let form = query.into_inner();
    let Some(found) = proposal(&desk, &state, &form).await? else {
        return Ok(see_told(
            "/outages",
            "These calls point to no shared cause any more.",
        ));
    };
    page(&join_page(desk.shell(&state, "outages"), found, form))
}

/// Joins them.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let named = Named::of(&form).ok_or(Failure(Error::NotFound("building")))?;
    let asked = JoinForm {
        building: named.building,
        branch: named.branch,
        lost: named.lost,
        cause: form.value("cause").trim().to_owned(),
        calls: form
            .values("call")
            .iter()
            .filter_map(|id| id.parse::<FaultCallId>().ok())
            .collect(),
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    match ask(&state, move |world| {
        outages::join(world, &seat, asked, &once)
    })
    .await
    {
        Ok(id) => Ok(see_told(
            &format!("/outages/{id}"),
            "They are one outage now. One job answers them.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            match proposal(&desk, &state, &form).await? {
                Some(found) => wrong(&join_page(desk.shell(&state, "outages"), found, form)),
                None => Ok(see("/outages")),
            }
        }
    }
}

/// What a neighbour said.
pub(super) async fn asked(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let named = Named::of(&form).ok_or(Failure(Error::NotFound("building")))?;
    let space: Option<SpaceId> = form.code("space", "Say which neighbour was asked.");
    let off = form.value("off").to_owned();
    if !matches!(off.as_str(), "yes" | "no") {
        form.complain("off", "Say whether it is off there too.");
    }
    if let (Some(space), false) = (space, form.is_wrong()) {
        let asked = AskedNeighbour {
            space,
            lost: named.lost,
            is_off: off == "yes",
        };
        let seat = desk.seat.clone();
        let once = fresh_once_of(&form);
        match ask(&state, move |world| {
            outages::answer_neighbour(world, &seat, asked, &once)
        })
        .await
        {
            Ok(()) => return Ok(see_told(&named.address(), "It is written down.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    match proposal(&desk, &state, &form).await? {
        Some(found) => wrong(&join_page(desk.shell(&state, "outages"), found, form)),
        None => Ok(see("/outages")),
    }
}

/// The form's own key, apart from that of the joining form on the same page.
fn fresh_once_of(form: &Typed) -> String {
    match form.value("once") {
        "" => fresh_once(),
        key => format!("{key}-asked"),
    }
}
