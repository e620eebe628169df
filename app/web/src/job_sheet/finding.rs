//! What the rules say of the readings, the likely parts, and the one test that splits them best.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::JobId;
use usecases::visit::{Finding, FindingLevel, RuleBook, SheetView, chance_words, standing};
use wording::{Choice, Shell};

use super::step::keep;
use super::{opened, steps};
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::jobs::job_id;
use crate::page::{page, see, wrong};
use crate::seats::Road;
use crate::state::State;

#[derive(Template)]
#[template(path = "job-sheet/finding.html")]
struct FindingPage {
    shell: Shell,
    form: Typed,
    job: JobId,
    heading: String,
    findings: Vec<Finding>,
    quiet: usize,
    quiet_words: String,
    likely: Vec<String>,
    flags: Vec<String>,
    test: Option<Test>,
    stop: bool,
    back: String,
    progress: String,
    cautions: Vec<String>,
    once: String,
}

struct Test {
    name: String,
    words: String,
    choices: Vec<Choice>,
}

fn page_of(road: &Road, state: &State, view: &SheetView, form: Typed) -> FindingPage {
    let assessment = &view.assessment;
    let (loud, quiet): (Vec<Finding>, Vec<Finding>) = assessment
        .found
        .iter()
        .cloned()
        .partition(|f| f.on == "unit" || f.level >= FindingLevel::Act);
    let mut loud = loud;
    loud.sort_by_key(|f| std::cmp::Reverse(f.level));
    let ranking = assessment.ranking.as_ref();
    let test = ranking.and_then(|r| {
        let (code, words) = (r.best_test.clone()?, r.best_test_words.clone()?);
        let name = format!("o.{code}");
        let chosen = view.sheet.get(&name).to_owned();
        Some(Test {
            choices: vec![
                Choice::new("seen", "Yes, so it is", chosen == "seen"),
                Choice::new("not", "No, it is not", chosen == "not"),
                Choice::new("", "I did not test", chosen.is_empty()),
            ],
            name,
            words,
        })
    });
    let heading = match loud.first() {
        Some(first) => first.sentence.clone(),
        None if !assessment.has_readings() => "No reading is entered yet".to_owned(),
        None => "The readings are inside their limits".to_owned(),
    };
    let mut cautions = vec![standing::RANKING.to_owned()];
    if view.facts.burns_gas() {
        cautions.push(standing::GAS.to_owned());
    }
    if let Ok(book) = RuleBook::shipped() {
        cautions.push(standing::limits(book.as_at()));
    }
    FindingPage {
        shell: road.shell(state, "my-day"),
        job: view.facts.job.id,
        heading,
        findings: loud,
        quiet: quiet.len(),
        quiet_words: wording::sentences::capital(&wording::sentences::counted(
            quiet.len() as u64,
            "reading was",
            "readings were",
        )),
        likely: ranking
            .map(|r| {
                r.top
                    .iter()
                    .map(|p| format!("{}, {}", p.part, chance_words(p.chance)))
                    .collect()
            })
            .unwrap_or_default(),
        flags: ranking.map_or_else(Vec::new, |r| r.flags.clone()),
        test,
        stop: assessment.stops().next().is_some(),
        back: steps::before(view, "finding"),
        progress: steps::progress(view, "finding"),
        cautions,
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    }
}

pub(super) async fn show(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let (_, view) = opened(&road, &state, job).await?;
    if view.visit.is_none() {
        return Ok(see(&format!("/sheet/{job}/arrive")));
    }
    page(&page_of(&road, &state, &view, Typed::default()))
}

/// Keeps the answer of the test; the ranking is made anew with it before going on.
pub(super) async fn take(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let mut form = form.into_inner();
    let (seat, view) = opened(&road, &state, job).await?;
    match keep(&state, seat, job, &form).await {
        Ok(()) => {
            let tested = form
                .all()
                .any(|(name, value)| name.starts_with("o.") && !value.is_empty());
            let step = if tested && form.value("go") != "on" {
                "finding".to_owned()
            } else {
                steps::next(&view, "finding")
            };
            Ok(see(&format!("/sheet/{job}/{step}")))
        }
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&page_of(&road, &state, &view, form))
        }
    }
}
