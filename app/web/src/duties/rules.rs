//! The duty rules as the desk states them: each with its basis, how it is known and its day; what held before beside it.
use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::Error;
use usecases::duties::{self, AsShipped, RULE_BASES, RuleLine, StateRule, windows_of};
use wording::sentences::{dates, plural};
use wording::{Choice, Link, Row, Shell};

use super::NOT_ADVICE;
use super::rows::{period, rule_words};
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

#[derive(Template)]
#[template(path = "duties/rules.html")]
struct RulesPage {
    shell: Shell,
    rows: Vec<Row>,
    not_advice: &'static str,
}

#[derive(Template)]
#[template(path = "duties/rule.html")]
struct RulePage {
    shell: Shell,
    code: String,
    heading: String,
    stands: Vec<String>,
    /// As the program ships it, where that is otherwise.
    offered: Vec<String>,
    before: Vec<String>,
    windows: Vec<Choice>,
    units: Vec<Choice>,
    bases: Vec<Choice>,
    form: Typed,
    once: String,
    not_advice: &'static str,
}

/// "every 12 months"; what comes by its event or a fixed day has no interval to name.
fn every(rule: &terms::trade::DutyRule) -> String {
    match rule.window_rule.as_str() {
        "W4" => "once".to_owned(),
        "W5" => "by a fixed day".to_owned(),
        _ => format!("every {}", period(rule)),
    }
}

/// "law; how it is known: law text read; as at 1 July 2026"
fn known(rule: &terms::trade::DutyRule) -> String {
    format!(
        "Basis: {}. How it is known: {}. As at {}.",
        rule.basis,
        rule.status,
        dates::day(rule.as_at)
    )
}

async fn lines(desk: &Desk, state: &web::Data<State>) -> Result<Vec<RuleLine>, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| duties::rule_lines(world, &seat)).await
}

/// Every rule.
pub(super) async fn list(desk: Desk, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let rows = lines(&desk, &state)
        .await?
        .into_iter()
        .map(|line| {
            let rule = &line.rule;
            let open = plural(line.duties as u64, "open duty", "open duties");
            let name = Link::new(
                format!("{} {}", rule.code, rule.name),
                format!("/duties/rules/{}", rule.code),
            );
            let offer = match &line.offered {
                Some(_) => " The program ships it otherwise: see what it says.",
                None => "",
            };
            Row::about(
                rule.code.clone(),
                name,
                format!("{} Goes by it: {open}.{offer}", known(rule)),
            )
            .figure(
                every(rule).trim_start_matches("every "),
                rule.window_rule.clone(),
            )
        })
        .collect();
    page(&RulesPage {
        shell: desk.shell(&state, "facts"),
        rows,
        not_advice: NOT_ADVICE,
    })
}

impl RulePage {
    fn new(shell: Shell, line: &RuleLine, form: Typed, once: String) -> Self {
        let rule = &line.rule;
        let before = line
            .versions
            .iter()
            .map(|(version, by)| {
                let note = if version.note.is_empty() {
                    "as shipped".to_owned()
                } else {
                    version.note.trim_end_matches('.').to_owned()
                };
                format!(
                    "{}: {} by {}, {}. {} Proof: {}. {note}; written by {by} on {}.",
                    if version.superseded {
                        "Held before"
                    } else {
                        "Stands"
                    },
                    version.rule.name,
                    version.rule.window_rule,
                    every(&version.rule),
                    known(&version.rule),
                    version.rule.evidence,
                    dates::day(when::local_day(version.recorded_at)),
                )
            })
            .collect();
        let chosen = |field: &str, stands: &str| match form.value(field) {
            "" => stands.to_owned(),
            typed => typed.to_owned(),
        };
        let (window, basis) = (
            chosen("window_rule", &rule.window_rule),
            chosen("basis", &rule.basis),
        );
        let counted_in = chosen("unit", between(rule).1);
        Self {
            shell,
            code: rule.code.clone(),
            heading: format!("{} {}", rule.code, rule.name),
            stands: vec![rule_words(rule), known(rule)],
            offered: line.offered.as_ref().map(offer).unwrap_or_default(),
            before,
            windows: windows_of(rule)
                .into_iter()
                .map(|code| Choice::new(code, window_name(rule, code), code == window))
                .collect(),
            units: ["months", "weeks", "days"]
                .map(|unit| Choice::new(unit, unit, unit == counted_in))
                .to_vec(),
            bases: RULE_BASES
                .iter()
                .map(|code| Choice::new(*code, *code, *code == basis))
                .collect(),
            form,
            once,
            not_advice: NOT_ADVICE,
        }
    }
}

/// A rule as it is shipped, for the desk to take or leave.
fn offer(rule: &terms::trade::DutyRule) -> Vec<String> {
    vec![
        rule_words(rule),
        format!("{} Proof: {}.", known(rule), rule.evidence),
        "Nothing changes until you say so: what stands here was stated or came with an earlier program.".to_owned(),
    ]
}

/// How many of what lie between two dates of a rule.
fn between(rule: &terms::trade::DutyRule) -> (i32, &'static str) {
    match rule.days {
        Some(days) if days % 7 == 0 => (days / 7, "weeks"),
        Some(days) => (days, "days"),
        None => (rule.months, "months"),
    }
}

fn window_name(rule: &terms::trade::DutyRule, code: &str) -> &'static str {
    match code {
        _ if rule.code == "V1" => "as it stands: by what each test shows",
        "W1" => "W1, keeps its date when done in the two months before",
        "W2" => "W2, counts from the day it was last done",
        "W3" => "W3, a round on fixed dates",
        "W4" => "W4, once, after something happened or by a day that was stated",
        "W5" => "W5, counted back from a day that is fixed",
        _ => "W6, looked at again at the latest after that time",
    }
}

fn of<'a>(lines: &'a [RuleLine], code: &str) -> Result<&'a RuleLine, Failure> {
    let found = lines.iter().find(|line| line.rule.code == code);
    found.ok_or(Failure(Error::NotFound("duty rule")))
}

/// The form, filled with what stands.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let lines = lines(&desk, &state).await?;
    let line = of(&lines, &path)?;
    let form = Typed::starting_with([
        ("months", between(&line.rule).0.to_string()),
        ("status", line.rule.status.clone()),
        ("evidence", line.rule.evidence.clone()),
        ("read", line.read()),
    ]);
    let shell = desk.shell(&state, "facts");
    page(&RulePage::new(shell, line, form, fresh_once()))
}

/// Takes a rule as the program ships it.
pub(super) async fn take_as_shipped(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let asked = AsShipped {
        code: path.into_inner(),
        read: form.value("read").to_owned(),
    };
    let (seat, once, code) = (desk.seat.clone(), form.once(), asked.code.clone());
    let looked_at = answer(&state, move |world| {
        duties::state_as_shipped(world, &seat, &asked, &once)
    })
    .await?;
    Ok(see_told(
        &format!("/duties/rules/{code}"),
        &format!(
            "It stands as the program ships it. The dates of {} were reckoned by it.",
            plural(looked_at as u64, "open duty", "open duties")
        ),
    ))
}

/// What was typed.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let lines = lines(&desk, &state).await?;
    let line = of(&lines, &path)?;
    let mut form = form.into_inner();
    let once = form.once();
    let as_at = match form.value("as_at") {
        "" => None,
        _ => form.date("as_at"),
    };
    if !form.is_wrong() {
        let typed = StateRule {
            code: line.rule.code.clone(),
            window_rule: form.value("window_rule").to_owned(),
            months: form.value("months").parse().ok(),
            unit: form.value("unit").to_owned(),
            basis: form.value("basis").to_owned(),
            status: form.value("status").to_owned(),
            evidence: form.value("evidence").to_owned(),
            as_at,
            note: form.value("note").to_owned(),
            read: form.value("read").to_owned(),
        };
        let (seat, key) = (desk.seat.clone(), once.clone());
        let stated = ask(&state, move |world| {
            duties::state_rule(world, &seat, &typed, &key)
        })
        .await;
        match stated {
            Ok(looked_at) => {
                let told = format!(
                    "It stands as you stated it. The dates of {} were reckoned by it.",
                    plural(looked_at as u64, "open duty", "open duties")
                );
                return Ok(see_told(
                    &format!("/duties/rules/{}", line.rule.code),
                    &told,
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let shell = desk.shell(&state, "facts");
    wrong(&RulePage::new(shell, line, form, once))
}
