//! What the rules say of the readings, the likely parts, and the one test that splits them best.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::JobId;
use usecases::Error;
use usecases::visit::{Finding, FindingLevel, RuleBook, SheetView, chance_words, standing};
use wording::sentences::{capital, counted, glue, list};
use wording::{Choice, Shell};

use super::questions::{readings_of, tests_of};
use super::step::{about, keep};
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
    /// The reading just taken, when this page follows it.
    after: String,
    heading: String,
    findings: Vec<Finding>,
    noted: Vec<Finding>,
    quiet: usize,
    quiet_words: String,
    likely: Vec<String>,
    /// Parts worth having along, by the ranking.
    bring: String,
    flags: Vec<String>,
    test: Option<Test>,
    stop: bool,
    back: String,
    progress: String,
    cautions: Vec<String>,
    /// What the phone's scripts are told.
    about: String,
    once: String,
}

struct Test {
    name: String,
    words: String,
    choices: Vec<Choice>,
}

/// What has to be acted upon, gravest first; then what is worth knowing of the unit; then how many concern the
/// visit only. With `after`, of that reading alone.
fn sorted(found: &[Finding], after: &str) -> (Vec<Finding>, Vec<Finding>, usize) {
    let here = found
        .iter()
        .filter(|f| after.is_empty() || f.reading == after);
    let (mut loud, rest): (Vec<Finding>, Vec<Finding>) =
        here.cloned().partition(|f| f.level >= FindingLevel::Act);
    loud.sort_by_key(|f| std::cmp::Reverse(f.level));
    let (noted, quiet): (Vec<Finding>, Vec<Finding>) =
        rest.into_iter().partition(|f| f.on == "unit");
    let noted = noted
        .into_iter()
        .filter(|f| f.level > FindingLevel::Pass)
        .collect();
    (loud, noted, quiet.len())
}

/// Whether a reading just taken says something that has to be acted upon.
pub(super) fn speaks(view: &SheetView, code: &str) -> bool {
    !sorted(&view.assessment.found, code).0.is_empty()
}

/// From this chance on the words stop at 19 in 20: no test splits what is left (sheet.js has the same).
const SURE: f64 = 0.925;

fn test_of(view: &SheetView) -> Option<Test> {
    let ranking = view.assessment.ranking.as_ref()?;
    if ranking.top.first().is_some_and(|part| part.chance >= SURE) {
        return None;
    }
    let (code, words) = (ranking.best_test.clone()?, ranking.best_test_words.clone()?);
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
}

/// "Fitted less than a year ago, so a warranty or the last repair may be at fault: pump and electrode."
fn flags_of(view: &SheetView) -> Vec<String> {
    let flags = view
        .assessment
        .ranking
        .as_ref()
        .map_or(&[][..], |r| r.flags.as_slice());
    let parts: Vec<String> = flags
        .iter()
        .filter_map(|flag| flag.strip_prefix("WARRANTY_OR_POOR_REPAIR:"))
        .map(|part| part.replace('_', " "))
        .collect();
    if parts.is_empty() {
        return Vec::new();
    }
    vec![format!(
        "Fitted less than a year ago, so a warranty or the last repair may be at fault: {}.",
        list(&parts)
    )]
}

/// What is said when the phone and the rules here do not say the same.
pub(super) const OTHERWISE: &str = "Your phone judged by another copy of the rules and said something else; what stands here is the office’s.";

/// Said when the phone, by its copy of the rules, judged a reading otherwise.
fn differs(view: &SheetView, after: &str) -> Option<String> {
    let other = view
        .sheet
        .behind("d.")
        .filter(|(code, _)| *code != "completion")
        .any(|(code, stands)| !stands.is_empty() && (after.is_empty() || code == after));
    other.then(|| OTHERWISE.to_owned())
}

fn heading(view: &SheetView, loud: &[Finding]) -> String {
    match loud.first() {
        Some(first) => glue(&first.sentence),
        None if !view.assessment.has_readings() => "No reading is entered yet".to_owned(),
        None => "The readings are inside their limits".to_owned(),
    }
}

fn cautions_of(view: &SheetView) -> Vec<String> {
    let mut cautions = vec![
        standing::RANKING.to_owned(),
        "Pipes and taps may be hot enough to scald.".to_owned(),
    ];
    if view.facts.burns_gas() {
        cautions.push(standing::GAS.to_owned());
    }
    if let Ok(book) = RuleBook::shipped() {
        cautions.push(standing::limits(book.as_at()));
    }
    cautions
}

/// "Pump and board", the parts to have along while one looks further; empty when none stands out.
fn bring_of(view: &SheetView) -> String {
    let Some(ranking) = &view.assessment.ranking else {
        return String::new();
    };
    let parts: Vec<String> = ranking
        .top
        .iter()
        .filter(|part| ranking.take.contains(&part.code))
        .map(|part| part.part.clone())
        .collect();
    list(&parts).to_lowercase()
}

fn page_of(
    road: &Road,
    state: &State,
    view: &SheetView,
    form: Typed,
    after: &str,
) -> Result<FindingPage, Error> {
    let (findings, noted, quiet) = sorted(&view.assessment.found, after);
    let step = if after.is_empty() {
        "finding".to_owned()
    } else {
        format!("reading/{after}")
    };
    let likely = view.assessment.ranking.as_ref().map_or_else(Vec::new, |r| {
        r.top
            .iter()
            .map(|p| format!("{}, {}", p.part, chance_words(p.chance)))
            .collect()
    });
    let back = if after.is_empty() {
        steps::before(view, "finding")
    } else {
        step.clone()
    };
    Ok(FindingPage {
        about: about(view, "", ("finding", &step))?,
        bring: bring_of(view),
        shell: road.shell(state, "my-day"),
        job: view.facts.job.id,
        after: after.to_owned(),
        heading: heading(view, &findings),
        findings,
        noted,
        quiet,
        quiet_words: capital(&counted(quiet as u64, "reading was", "readings were")),
        likely,
        flags: flags_of(view)
            .into_iter()
            .chain(differs(view, after))
            .collect(),
        test: test_of(view),
        stop: view.assessment.stops().next().is_some(),
        back,
        progress: steps::progress(view, &step),
        cautions: cautions_of(view),
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    })
}

pub(super) async fn show(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let (_, view) = opened(&road, &state, job).await?;
    if view.visit.is_none() {
        return Ok(see(&format!("/sheet/{job}/arrive")));
    }
    let after = after(&view, query.value("after"));
    page(&page_of(&road, &state, &view, Typed::default(), &after)?)
}

/// The reading this page follows, when it is one of the sheet's.
fn after(view: &SheetView, code: &str) -> String {
    let known = readings_of(view)
        .into_iter()
        .chain(tests_of(view))
        .any(|r| r.code == code);
    if known {
        code.to_owned()
    } else {
        String::new()
    }
}

/// Keeps the answer of the test; the ranking is made anew with it before going on.
pub(super) async fn take(
    road: Road,
    state: web::Data<State>,
    path: web::Path<String>,
    query: web::Query<Typed>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let job = job_id(&path)?;
    let mut form = form.into_inner();
    let (seat, view) = opened(&road, &state, job).await?;
    let after = after(&view, query.value("after"));
    match keep(&state, seat, job, &form).await {
        Ok(()) => {
            let tested = form
                .all()
                .any(|(name, value)| name.starts_with("o.") && !value.is_empty());
            let step = match (tested && form.value("go") != "on", after.as_str()) {
                (true, "") => "finding".to_owned(),
                (true, code) => format!("finding?after={code}"),
                (false, "") => steps::next(&view, "finding"),
                (false, code) => steps::next(&view, &format!("reading/{code}")),
            };
            Ok(see(&format!("/sheet/{job}/{step}")))
        }
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&page_of(&road, &state, &view, form, &after)?)
        }
    }
}
