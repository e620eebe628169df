//! One job at the desk: how it stands, what may be done with it, what happened.
use std::collections::BTreeMap;

use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::{DateTime, Utc};
use terms::{FirmId, JobKind, JobState, LetterKind, Role, UsedAs};
use usecases::letters::{self, SentLetter};
use usecases::mailed;
use usecases::records::{self, PaperOf};
use usecases::work::{self, JobView, PAUSE_REASONS, Pauses};
use wording::sentences::{capital, dates, ended, list, money, spans};
use wording::{Choice, Fact, Row, Shell};

use super::job_id;
use super::words::{lost_words, place, slot};
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::letters::rows as letter_rows;
use crate::page::page;
use crate::records::rows as record_rows;
use crate::seats::Desk;
use crate::state::{State, answer};
use crate::when;

#[derive(Template)]
#[template(path = "jobs/job.html")]
pub(super) struct JobPage {
    pub shell: Shell,
    pub form: Typed,
    pub view: JobView,
    pub papers: Vec<PaperOf>,
    pub sent: Vec<SentLetter>,
    pub pauses: Pauses,
    pub addresses: BTreeMap<FirmId, String>,
    pub once: String,
    pub now: DateTime<Utc>,
}

pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    page(&page_of(&desk, &state, &path, Typed::default()).await?)
}

/// The page of a job with what was typed on it.
pub(super) async fn page_of(
    desk: &Desk,
    state: &web::Data<State>,
    id: &str,
    form: Typed,
) -> Result<JobPage, Failure> {
    let (seat, job) = (desk.seat.clone(), job_id(id)?);
    if seat.role() == Role::OutOfHours {
        return Err(Failure(usecases::Error::NotFound("job")));
    }
    let (view, papers, sent, pauses, addresses) = answer(state, move |world| {
        let view = work::job_view(world, &seat, job)?;
        let papers = records::records_of_job(world, &seat, job)?;
        let sent = letters::letters_of_job(world, &seat, job)?;
        let pauses = work::pauses(world, &seat, job)?;
        let addresses = mailed::firm_addresses(world, &seat)?;
        Ok((view, papers, sent, pauses, addresses))
    })
    .await?;
    let form = if form.value("once").is_empty() && !form.is_wrong() {
        proposed(&view, state.world.now())
    } else {
        form
    };
    let once = match form.value("once") {
        "" => fresh_once(),
        key => key.to_owned(),
    };
    Ok(JobPage {
        shell: desk.shell(state, "jobs"),
        now: state.world.now(),
        form,
        view,
        papers,
        sent,
        pauses,
        addresses,
        once,
    })
}

/// The forms begin with the day a firm proposed last, while it lies ahead and nobody else has the job.
fn proposed(view: &JobView, now: DateTime<Utc>) -> Typed {
    let job = &view.job;
    let ahead = view.offers.iter().rev().find_map(|offer| {
        let slot = offer.counter.filter(|(from, _)| *from > now)?;
        (job.firm.is_none_or(|firm| firm == offer.firm)).then_some((offer.firm, slot))
    });
    match ahead.filter(|_| job.booked.is_none() && !job.state.is_closed()) {
        None => Typed::default(),
        Some((firm, (from, until))) => Typed::starting_with([
            ("firm", firm.to_string()),
            ("day", when::local_day(from).to_string()),
            ("from", when::local(from).format("%H:%M").to_string()),
            ("until", when::local(until).format("%H:%M").to_string()),
        ]),
    }
}

impl JobPage {
    /// Whether the clock can be paused now: the job is open, has a clock, and it runs.
    fn may_pause(&self) -> bool {
        let job = &self.view.job;
        job.due_at.is_some() && job.closed_at.is_none() && !self.paused()
    }

    /// Whether a pause lasts.
    fn paused(&self) -> bool {
        self.pauses.all.iter().any(|p| p.until_at.is_none())
    }

    fn clock_note(&self) -> &'static str {
        if self.pauses.by_law {
            "Law: nothing stops it"
        } else {
            "The landlord’s own time"
        }
    }

    fn said(&self) -> String {
        ended(&self.view.job.words)
    }

    fn pause_rows(&self) -> Vec<Row> {
        let rows = self.pauses.sentences.iter().enumerate();
        rows.map(|(n, said)| Row::plain(format!("pause-{n}"), said.clone()))
            .collect()
    }

    fn pause_reasons(&self) -> Vec<Choice> {
        let typed = self.form.value("pause_reason");
        PAUSE_REASONS
            .iter()
            .map(|r| {
                let hint = match (self.pauses.by_law, r.stops) {
                    (true, _) => "This clock is law: it runs on.",
                    (false, true) => "The clock stands still.",
                    (false, false) => "Kept on record; the clock runs on.",
                };
                Choice::new(r.code, r.words, r.code == typed).hint(hint)
            })
            .collect()
    }

    fn heading(&self) -> String {
        let job = &self.view.job;
        match job.function_lost {
            Some(lost) => format!("{}: {}", place(job), lost_words(lost)),
            None => format!("{}: {}", place(job), job.kind),
        }
    }

    fn standing(&self) -> String {
        let job = &self.view.job;
        let whom = job.firm.map(|firm| match job.engineer {
            Some(e) => format!(
                "{} of {}",
                self.view.names.engineer(e),
                self.view.names.firm(firm)
            ),
            None => self.view.names.firm(firm).to_owned(),
        });
        let with = whom.map_or_else(String::new, |whom| format!(", with {whom}"));
        let slot = match (slot(job), job.state) {
            (Some(slot), JobState::Booked) => format!(", for {slot}"),
            _ => String::new(),
        };
        let how = match (job.state, self.open_offers()) {
            (JobState::ToPlace, _) => "has nobody yet".to_owned(),
            (JobState::Offered, open) if !open.is_empty() => {
                format!("is on offer to {}", list(&open))
            }
            (state, _) => format!("is {state}"),
        };
        let clock = job
            .due_at
            .filter(|_| !job.state.is_closed())
            .map_or_else(String::new, |due| {
                if job.function_lost.is_some() {
                    format!(" {}.", capital(&spans::clock(self.now, due)))
                } else {
                    let day = when::local_day(due);
                    format!(" Due by {}.", dates::weekday_day(day))
                }
            });
        format!("{} {how}{with}{slot}.{clock}", job.number)
    }

    fn facts(&self) -> Vec<Fact> {
        let (job, view) = (&self.view.job, &self.view);
        let mut facts = vec![
            Fact::typed("Job", job.number.clone()),
            Fact::new("Work", job.kind.words()),
            Fact::new("Stands", job.state.words()),
        ];
        if let Some(unit) = &view.unit {
            facts.push(Fact::typed("Unit", unit.number.clone()));
            facts.push(Fact::new("Kind", view.kind_name.clone()));
            let (from, to) = unit.installed.unzip();
            facts.push(Fact::new("Fitted", dates::fitted_when(from, to)));
        }
        if let Some(due) = job.due_at {
            facts.push(Fact::new("Due", dates::moment(when::local(due))));
        }
        if let Some((_, total, until)) = &view.quote {
            facts.push(Fact::new(
                "Quote",
                format!("{}, until {}", money::exact(*total), dates::day(*until)),
            ));
        }
        if let Some(cost) = job.cost {
            facts.push(Fact::new("Cost", money::exact(cost)));
        }
        facts
    }

    fn records(&self) -> Vec<Row> {
        self.papers.iter().map(record_rows::row).collect()
    }

    fn letters(&self) -> Vec<Row> {
        self.sent
            .iter()
            .map(|l| letter_rows::row(l, true))
            .collect()
    }

    /// The letters that may be written about this job: what to press, and where it leads.
    fn writes(&self) -> Vec<(String, String)> {
        let (job, view) = (&self.view.job, &self.view);
        if view.space.used_as != UsedAs::Flat || job.state == JobState::StoodDown {
            return Vec::new();
        }
        let after = LetterKind::after_tries(view.attempts.len());
        let notice = if job.kind == JobKind::Repair {
            LetterKind::Repair
        } else {
            LetterKind::PlannedVisit
        };
        let open = (!job.state.is_closed()).then_some(notice);
        after
            .into_iter()
            .chain(open)
            .map(|kind| {
                let words = format!("Write the {kind}");
                (words, letter_rows::address(job.id, kind))
            })
            .collect()
    }

    /// The mail addresses on record, for the field that asks for another.
    fn mail_hint(&self) -> String {
        let known: Vec<String> = self
            .addresses
            .iter()
            .filter(|(firm, _)| self.view.job.firm.is_none_or(|has| has == **firm))
            .map(|(firm, address)| format!("{} {address}", self.view.names.firm(*firm)))
            .collect();
        let on_record = if known.is_empty() {
            "None is on record yet.".to_owned()
        } else {
            format!("Empty: the one on record ({}).", known.join("; "))
        };
        format!(
            "{on_record} The mail waits in the outbox folder until the mail server takes it; where none is set, hand it on."
        )
    }

    /// Whether the firm that has the job may be mailed a page to report the visit with.
    fn may_mail(&self) -> bool {
        let job = &self.view.job;
        job.firm.is_some() && (self.may(JobState::OnSite) || job.state == JobState::OnSite)
    }

    fn firms(&self) -> Vec<Choice> {
        let typed = self.form.value("firm");
        self.view
            .names
            .firms
            .iter()
            .map(|f| Choice::new(f.id.to_string(), f.name.clone(), f.id.to_string() == typed))
            .collect()
    }

    fn engineers(&self) -> Vec<Choice> {
        let typed = self.form.value("engineer");
        let mut choices = vec![Choice::new("", "nobody named yet", typed.is_empty())];
        let of_firm = |firm| self.view.job.firm.is_none_or(|has| has == firm);
        choices.extend(
            self.view
                .names
                .engineers
                .iter()
                .filter(|e| of_firm(e.firm))
                .map(|e| {
                    let id = e.id.to_string();
                    let chosen =
                        id == typed || (typed.is_empty() && self.view.job.engineer == Some(e.id));
                    Choice::new(
                        id,
                        format!("{}, {}", e.name, self.view.names.firm(e.firm)),
                        chosen,
                    )
                }),
        );
        choices
    }

    fn may(&self, next: JobState) -> bool {
        self.view.job.state.may_become(next)
    }

    fn may_offer(&self) -> bool {
        matches!(self.view.job.state, JobState::ToPlace | JobState::Offered)
    }

    fn may_book(&self) -> bool {
        self.view.job.firm.is_some()
            && (self.may(JobState::Booked) || self.view.job.state == JobState::Booked)
    }

    fn may_paper(&self) -> bool {
        self.may_offer() || self.may(JobState::OnSite) || self.view.job.state == JobState::OnSite
    }

    fn may_give_back(&self) -> bool {
        self.view.job.firm.is_some() && self.may(JobState::ToPlace)
    }

    fn is_done(&self) -> bool {
        self.view.job.state == JobState::Done
    }

    fn booked_day(&self) -> String {
        self.view.job.booked.map_or_else(
            || self.form.value("day").to_owned(),
            |(from, _)| match self.form.value("day") {
                "" => when::local_day(from).format("%Y-%m-%d").to_string(),
                typed => typed.to_owned(),
            },
        )
    }

    fn likely(&self) -> Option<String> {
        let ranking = self.view.ranking.as_ref()?;
        let parts: Vec<String> = ranking
            .top
            .iter()
            .map(|r| format!("{}, {}", r.part, usecases::visit::chance_words(r.chance)))
            .collect();
        Some(parts.join("; "))
    }
}
