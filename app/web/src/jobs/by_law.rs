//! The clocks of law beside a job's own: the right to repair, a hazard's steps; saying a hazard, and what was done about it.
use chrono::{DateTime, Utc};
use terms::{JobId, JobState, SpaceId};
use usecases::work::{self, AwaabKind, HazardDone, HazardForm, HazardSaid, LawClock};
use wording::sentences::{capital, dates};
use wording::{Choice, Row, Urgency, Why};

use super::acts::Act;
use super::job::JobPage;
use crate::duties::NOT_ADVICE;
use crate::form::Typed;
use crate::when;

/// What may be said of a hazard, in the rule's own words; that it is none comes first.
pub(crate) fn hazards(typed: &str) -> Vec<Choice> {
    // "A significant hazard" and what that is, with what it comes from between them.
    let significant = |from: &str| {
        let words = capital(AwaabKind::Significant.words());
        match words.split_once(": ") {
            Some((hazard, risk)) => format!("{hazard}, {from}: {risk}"),
            None => format!("{words}, {from}"),
        }
    };
    [
        ("", "It is no hazard, or nobody said so".to_owned(), ""),
        (
            "emergency",
            capital(AwaabKind::Emergency.words()),
            "Made safe within 24 hours, nights and holidays counted.",
        ),
        (
            "significant_damp_and_mould",
            significant("from damp or mould"),
            "Investigated within 10 working days.",
        ),
        (
            "significant_other",
            significant("from something else"),
            "Kept on record; the law’s list does not name it yet.",
        ),
    ]
    .into_iter()
    .map(|(code, words, hint)| Choice::new(code, words, typed == code).hint(hint))
    .collect()
}

/// What was said, when anything was. A code nobody knows is refused by the use case, at its field.
pub(crate) fn hazard_said(typed: &str) -> Option<HazardSaid> {
    let (kind, hazard) = match typed {
        "" => return None,
        "significant_damp_and_mould" => ("significant", "damp_and_mould"),
        "significant_other" => ("significant", "other"),
        other => (other, "other"),
    };
    Some(HazardSaid {
        kind: kind.to_owned(),
        hazard: hazard.to_owned(),
    })
}

/// One clock of law as a sentence, with its steps and what it rests on.
pub(crate) fn row(id: &str, clock: &LawClock, now: DateTime<Utc>) -> Row {
    let mut row =
        Row::plain(id, format!("{}. {}", clock.what, clock.sentence)).why(Why::this(vec![
            format!(
                "Basis: {}. How the rule is known: {}.",
                clock.basis, clock.status
            ),
            NOT_ADVICE.to_owned(),
        ]));
    row.more = clock
        .steps
        .iter()
        .map(|step| {
            let by = step.by.words();
            let what = capital(step.what);
            match (step.done_on, step.late) {
                (Some(on), false) => format!("{what} on {}, by {by}.", dates::day(on)),
                (Some(on), true) => {
                    format!("{what} on {}, late: it was due by {by}.", dates::day(on))
                }
                (None, false) => format!("{what}: by {by}."),
                (None, true) => format!("{what}: was due by {by}; it is late."),
            }
        })
        .collect();
    match clock.due_at {
        Some(due) if due < now => row.urgency(Urgency::Late).figure("late", "basis: law"),
        Some(due) => row
            .urgency(Urgency::Soon)
            .figure(dates::moment(when::local(due)), "basis: law"),
        None => row,
    }
}

impl JobPage {
    /// The clocks of law.
    pub(super) fn law(&self) -> Vec<Row> {
        let clocks = self.view.law.iter().enumerate();
        clocks
            .map(|(n, clock)| row(&format!("law-{n}"), clock, self.now))
            .collect()
    }

    /// What may be said of a hazard here.
    pub(super) fn hazards(&self) -> Vec<Choice> {
        hazards(self.form.value("hazard"))
    }

    /// Whether a hazard may be said: the job is open and has none yet.
    pub(super) fn may_say_hazard(&self) -> bool {
        !self.view.job.state.is_closed() && self.hazard().is_none()
    }

    /// Whether the job was stood down, so that nothing more is asked of it.
    pub(super) fn stood_down(&self) -> bool {
        self.view.job.state == JobState::StoodDown
    }

    /// The home of the hazard whose steps are asked for.
    pub(super) fn hazard(&self) -> Option<SpaceId> {
        self.view.law.iter().find_map(|clock| clock.hazard_in)
    }

    /// A day of the hazard's form: as typed, else as known.
    pub(super) fn hazard_day(&self, field: &str, what: &str) -> String {
        let typed = self.form.value(field);
        if !typed.is_empty() {
            return typed.to_owned();
        }
        let steps = self.view.law.iter().flat_map(|clock| &clock.steps);
        let mut known = steps.filter(|step| step.what.starts_with(what));
        known
            .find_map(|step| step.done_on)
            .map_or_else(String::new, dates::machine)
    }
}

/// That it is a hazard.
pub(super) fn say(job: JobId, form: &mut Typed, now: DateTime<Utc>) -> Option<Act> {
    let once = form.once();
    let aware_at = form
        .said_moment("aware", when::local(now))
        .and_then(when::instant);
    let said = hazard_said(form.value("hazard"));
    if said.is_none() {
        form.complain("hazard", "Choose what it is, by the rule’s own words.");
    }
    let asked = HazardForm {
        job,
        said: said?,
        aware_at,
        words: form.value("hazard_words").to_owned(),
    };
    Some(Box::new(move |world, seat| {
        work::say_hazard(world, seat, &asked, &once)
    }))
}

/// What was done about it.
pub(super) fn done(job: JobId, form: &mut Typed) -> Option<Act> {
    let once = form.once();
    let space: SpaceId = form.code("space", "Say which home.")?;
    let asked = HazardDone {
        job,
        space,
        investigated_on: form.date("investigated"),
        summary_on: form.date("summary"),
        safety_on: form.date("safety"),
        begun_on: form.date("begun"),
        withdrawn: form.value("no_hazard").to_owned(),
    };
    Some(Box::new(move |world, seat| {
        work::hazard_done(world, seat, &asked, &once)
    }))
}
