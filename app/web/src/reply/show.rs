//! The page while its link stands, and what is said once it was answered.
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use terms::{EngineerId, JobKind};
use usecases::mailed::{self, Found, MailedView};
use usecases::visit;
use wording::sentences::{capital, dates};
use wording::{Choice, Shell, Theme, Voice};

use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::job_sheet::known;
use crate::job_sheet::questions::{self, Ask, Folding};
use crate::jobs::words::{lost_words, place, slot};
use crate::page::{page, read_said};
use crate::state::{State, answer};
use crate::when;

#[derive(Template)]
#[template(path = "reply/reply.html")]
pub(super) struct ReplyPage {
    shell: Shell,
    form: Typed,
    view: MailedView,
    groups: Vec<Folding>,
    ends: Vec<Choice>,
    engineers: Vec<Choice>,
    address: String,
    until: String,
    once: String,
}

#[derive(Template)]
#[template(path = "reply/replied.html")]
struct RepliedPage {
    shell: Shell,
}

impl ReplyPage {
    fn heading(&self) -> String {
        let job = &self.view.job.job;
        let what = match (job.function_lost, job.kind) {
            (Some(lost), _) => lost_words(lost),
            (None, kind) => kind.words(),
        };
        match self.view.sheet {
            None => format!("{}: {what}. Will you take it?", job.space_name),
            Some(_) => format!("{}: {what}. How did the visit go?", job.space_name),
        }
    }

    fn lines(&self) -> Vec<String> {
        let (job, view) = (&self.view.job.job, &self.view.job);
        let mut lines = vec![format!("{}. {}", place(job), view.building.address)];
        if let Some(unit) = &view.unit {
            let (from, to) = unit.installed.unzip();
            let fitted = dates::fitted_when(from, to);
            let kind = capital(&view.kind_name);
            lines.push(format!("{kind} {}, fitted {fitted}.", unit.number));
        }
        if !job.words.is_empty() {
            lines.push(format!("“{}”", job.words));
        }
        for call in &view.calls {
            let since = dates::moment(when::local(call.since_at));
            lines.push(format!("Reported since {since}."));
        }
        if job.kind == JobKind::Repair
            && let Some(due) = job.due_at
        {
            let due = dates::moment(when::local(due));
            lines.push(format!("Wanted by {due}."));
        } else if let Some(due) = job.due_at {
            let due = dates::day(when::local_day(due));
            lines.push(format!("Due by {due}."));
        }
        lines.extend(slot(job).map(|slot| format!("Booked for {slot}.")));
        for (_, _, name) in &view.duties {
            lines.push(format!("Due with it: {name}."));
        }
        if let Some(until) = self.view.offered_until {
            let until = dates::moment(when::local(until));
            lines.push(format!(
                "On offer to {} until {until}.",
                self.shell.person_name
            ));
        }
        lines
    }

    fn past(&self) -> Vec<String> {
        known::past(&self.view.job)
    }

    /// In one paragraph: the page prints on one sheet.
    fn last_readings(&self) -> Option<String> {
        let (day, lines) = known::last_readings(&self.view.job)?;
        Some(format!("{day}: {}", lines.join(" ")))
    }

    fn likely(&self) -> Option<String> {
        known::likely(&self.view.job)
    }

    /// Whether the form that was sent is this one; it stays unfolded.
    fn was(&self, act: &str) -> bool {
        self.form.value("act") == act
    }
}

/// The frame of a page nobody signed in for.
fn shell(state: &State, (firm, estate): (&str, &str), request: Option<&HttpRequest>) -> Shell {
    Shell {
        person_name: firm.to_owned(),
        voice: Voice::Contractor,
        here: "reply",
        estate_name: estate.to_owned(),
        today_words: when::now_brief(state.world.now()),
        undo: request.and_then(read_said),
        demo: false,
        theme: Theme::System,
    }
}

fn engineers(view: &MailedView, found: &Found, typed: &str) -> Vec<Choice> {
    let booked: Option<EngineerId> = view.job.job.engineer;
    let mut choices = vec![Choice::new(
        "",
        "not named",
        typed.is_empty() && booked.is_none(),
    )];
    choices.extend(
        view.job
            .names
            .engineers
            .iter()
            .filter(|e| e.firm == found.link.firm)
            .map(|e| {
                let id = e.id.to_string();
                let chosen = id == typed || (typed.is_empty() && booked == Some(e.id));
                Choice::new(id, e.name.clone(), chosen)
            }),
    );
    choices
}

/// The page with what was typed on it.
pub(super) fn page_of(state: &State, found: &Found, view: MailedView, form: Typed) -> ReplyPage {
    let outcome = form.value("outcome");
    ReplyPage {
        shell: shell(
            state,
            (&found.link.firm_name, &found.link.estate_name),
            None,
        ),
        groups: view
            .sheet
            .as_ref()
            .map_or_else(Vec::new, |sheet| questions::whole(sheet, &form)),
        ends: visit::ENDS
            .into_iter()
            .map(|end| Choice::new(end.code(), capital(end.words()), outcome == end.code()))
            .collect(),
        engineers: engineers(&view, found, form.value("engineer")),
        address: view.job.job.number.clone(),
        until: dates::moment(when::local(found.link.until_at)),
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        view,
        form,
    }
}

pub(super) async fn show(
    state: web::Data<State>,
    path: web::Path<(String, String)>,
) -> Result<HttpResponse, Failure> {
    let (number, secret) = path.into_inner();
    let (found, view) = answer(&state, move |world| {
        let found = mailed::find(world, &number, &secret)?;
        let view = mailed::open(world, &found)?;
        Ok((found, view))
    })
    .await?;
    page(&page_of(&state, &found, view, Typed::default()))
}

/// After an answer: what was done, and nothing else. Whoever comes here without one reads that there is none.
pub(super) async fn answered(
    request: HttpRequest,
    state: web::Data<State>,
) -> Result<HttpResponse, Failure> {
    page(&RepliedPage {
        shell: shell(&state, ("", ""), Some(&request)),
    })
}
