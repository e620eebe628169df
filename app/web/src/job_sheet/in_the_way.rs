//! Something is in the way: one small form for each, on one screen of the phone.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{EngineerId, JobId, JobState};
use usecases::work::{self, InTheWay, JobView};
use usecases::{Error, Seat, World};
use wording::{Choice, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::jobs::job_id;
use crate::page::{page, see_told, wrong};
use crate::seats::Road;
use crate::state::{State, answer, ask};

#[derive(Template)]
#[template(path = "job-sheet/in-the-way.html")]
struct InTheWayPage {
    shell: Shell,
    form: Typed,
    view: JobView,
    colleagues: Vec<Choice>,
    once: String,
}

impl InTheWayPage {
    fn needs(&self) -> Vec<Choice> {
        let typed = self.form.value("needed");
        [
            ("second_person", "A second person"),
            ("wrong_part", "Another part: this one is wrong"),
        ]
        .into_iter()
        .map(|(code, label)| Choice::new(code, label, code == typed))
        .collect()
    }

    fn on_site(&self) -> bool {
        self.view.job.state == JobState::OnSite
    }
}

async fn page_of(
    road: &Road,
    state: &web::Data<State>,
    id: &str,
    form: Typed,
) -> Result<InTheWayPage, Failure> {
    let (job, seats) = (job_id(id)?, road.seats.clone());
    let (seat, view) = answer(state, move |world| {
        let seat = work::seat_for(world, &seats, job)?;
        let view = work::job_view(world, &seat, job)?;
        Ok((seat, view))
    })
    .await?;
    if view.job.firm != seat.grant().firm {
        return Err(Failure(Error::NotFound("job")));
    }
    let typed = form.value("engineer").to_owned();
    let colleagues = view
        .names
        .engineers
        .iter()
        .filter(|e| Some(e.firm) == view.job.firm && Some(e.id) != view.job.engineer)
        .map(|e| {
            let id = e.id.to_string();
            let chosen = id == typed;
            Choice::new(id, e.name.clone(), chosen)
        })
        .collect();
    Ok(InTheWayPage {
        shell: road.shell(state, "my-day"),
        form,
        view,
        colleagues,
        once: fresh_once(),
    })
}

pub(super) async fn show(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    page(&page_of(&road, &state, &path, Typed::default()).await?)
}

/// Carries one of them out and says what was done.
type Act = Box<dyn FnOnce(&World, &Seat) -> Result<String, Error> + Send>;

pub(super) async fn take(
    road: Road,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (id, what) = path.into_inner();
    let mut form = form.into_inner();
    let job = job_id(&id)?;
    if let Some(act) = read(&what, job, &mut form)?
        && !form.is_wrong()
    {
        let seats = road.seats.clone();
        let asked = ask(&state, move |world| {
            let seat = work::seat_for(world, &seats, job)?;
            act(world, &seat)
        })
        .await;
        match asked {
            Ok(said) => return Ok(see_told("/my-day", &said)),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&road, &state, &id, form).await?)
}

fn read(what: &str, job: JobId, form: &mut Typed) -> Result<Option<Act>, Error> {
    let once = form.once();
    Ok(match what {
        "late" => {
            let minutes = form.number("minutes", 5.0, 480.0);
            if minutes.is_none() && form.error("minutes").is_none() {
                form.complain("minutes", "Say by how many minutes.");
            }
            minutes.map(|minutes| -> Act {
                Box::new(move |world, seat| {
                    let moved = work::late(world, seat, (job, minutes as i64), &once)?;
                    Ok(format!(
                        "Visits of today moved: {moved}. The office tells the residents."
                    ))
                })
            })
        }
        "hand-back" => {
            let reason = form.text("back_reason", "Say in a few words why.");
            Some(Box::new(move |world, seat| {
                let given = work::hand_back_the_rest(world, seat, &reason, &once)?;
                Ok(format!(
                    "Visits back with the office: {given}. The residents are told."
                ))
            }))
        }
        "needed" => {
            let what = match form.value("needed") {
                "second_person" => Some(InTheWay::SecondPerson),
                "wrong_part" => Some(InTheWay::WrongPart),
                _ => None,
            };
            if what.is_none() {
                form.complain("needed", "Say what is needed.");
            }
            let words = form.text("needed_words", "Say in a few words why.");
            what.map(|what| -> Act {
                Box::new(move |world, seat| {
                    work::needed(world, seat, (job, what, words), &once)?;
                    Ok("The office knows. Make it safe, and end the visit on the sheet as you leave it.".to_owned())
                })
            })
        }
        "colleague" => {
            let engineer: Option<EngineerId> = form.code("engineer", "Choose one of the list.");
            engineer.map(|engineer| -> Act {
                Box::new(move |world, seat| {
                    work::colleague_takes_over(world, seat, (job, engineer), &once)?;
                    Ok("Your colleague has the job.".to_owned())
                })
            })
        }
        _ => return Err(Error::NotFound("page")),
    })
}
