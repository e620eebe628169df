//! Readings and tests, before the work and after it.
use chrono::Datelike;
use usecases::visit::{Answer, FieldSpec, ReadingSpec, RuleBook, SheetView};
use wording::Choice;
use wording::sentences::dates;

use super::{Answers, Ask, Group, Question};
use crate::when;

/// The readings a job asks for, in the order of the sheet.
pub(crate) fn readings_of(view: &SheetView) -> Vec<&'static ReadingSpec> {
    let Ok(book) = RuleBook::shipped() else {
        return Vec::new();
    };
    let Some(set) = book.set(view.facts.kind_code()) else {
        return Vec::new();
    };
    set.readings
        .iter()
        .filter(|spec| view.facts.first_service() || !spec.first_service)
        .collect()
}

/// The further tests of the unit's kind.
pub(crate) fn tests_of(view: &SheetView) -> Vec<&'static ReadingSpec> {
    RuleBook::shipped()
        .ok()
        .and_then(|book| book.set(view.facts.kind_code()))
        .map(|set| set.tests.iter().collect())
        .unwrap_or_default()
}

/// One reading or test.
pub(crate) fn reading(view: &SheetView, answers: &Answers<'_>, spec: &ReadingSpec) -> Group {
    let mut questions: Vec<Question> = spec
        .fields
        .iter()
        .map(|field| field_question(view, answers, field, "r."))
        .collect();
    questions.extend(measured_with(view, answers, spec));
    if !spec.conditions.is_empty() {
        let asked = answers.ask(
            &format!("cond.{}", spec.code),
            "Under which conditions",
            Ask::Line,
        );
        let hint = format!("{}.", wording::sentences::capital(&spec.conditions));
        questions.push(asked.hint(&hint).folded());
    }
    questions.push(
        answers
            .ask(
                &format!("no.{}", spec.code),
                "I cannot measure this because",
                Ask::Line,
            )
            .folded(),
    );
    let mut lines = vec![wording::sentences::capital(&spec.place) + "."];
    if !spec.hint.is_empty() {
        lines.push(spec.hint.clone());
    }
    Group {
        key: format!("reading/{}", spec.code),
        heading: spec.label.clone(),
        lines,
        questions,
    }
}

/// Which instrument a reading is taken with; not asked of somebody who has none on record.
fn measured_with(view: &SheetView, answers: &Answers<'_>, spec: &ReadingSpec) -> Option<Question> {
    if view.facts.instruments.is_empty() {
        return None;
    }
    let name = format!("i.{}", spec.code);
    let mut question = answers.ask(&name, "Measured with", Ask::List);
    if question.value.is_empty() {
        question.value = usual_instrument(view, spec);
    }
    let none = Choice::new("", "not said", question.value.is_empty());
    question.choices.push(none);
    for i in &view.facts.instruments {
        let id = i.id.to_string();
        let chosen = id == question.value;
        let until = dates::day(i.calibrated_until);
        let label = if i.calibrated_until < view.facts.day {
            format!("{}, calibration ended {until}", i.name)
        } else {
            format!("{}, in date until {until}", i.name)
        };
        question.choices.push(Choice::new(id, label, chosen));
    }
    Some(question)
}

/// The only instrument there is, or the one last named on this sheet for a reading of the same sort: one that stands
/// or falls with its calibration (combustion, pressure), or one that does not. "" when nothing suggests one.
fn usual_instrument(view: &SheetView, spec: &ReadingSpec) -> String {
    if let [only] = view.facts.instruments.as_slice() {
        return only.id.to_string();
    }
    let Ok(book) = RuleBook::shipped() else {
        return String::new();
    };
    let sort = book.calibration_acts(&spec.code);
    readings_of(view)
        .into_iter()
        .rev()
        .filter(|other| book.calibration_acts(&other.code) == sort)
        .map(|other| view.sheet.get(&format!("i.{}", other.code)))
        .find(|named| !named.is_empty())
        .unwrap_or_default()
        .to_owned()
}

fn field_question(
    view: &SheetView,
    answers: &Answers<'_>,
    field: &FieldSpec,
    prefix: &str,
) -> Question {
    let name = format!("{prefix}{}", field.code);
    let mut question = match field.answer {
        Answer::Number => answers.ask(&name, &field.label, Ask::Number),
        Answer::YesNo => answers.yes_no(&name, &field.label),
        Answer::Choice => {
            let choices: Vec<(&str, &str)> = field
                .choices
                .iter()
                .map(|(code, words)| (code.as_str(), words.as_str()))
                .collect();
            answers.pick(&name, &field.label, Ask::Radios, &choices)
        }
        Answer::Text => answers.ask(&name, &field.label, Ask::Line),
        Answer::Date => answers.ask(&name, &field.label, Ask::Day),
    };
    question.unit.clone_from(&field.unit);
    if field.optional {
        "May be left empty.".clone_into(&mut question.hint);
    }
    question.then = if prefix == "a." {
        let before = answers.get(&format!("r.{}", field.code));
        (!before.is_empty()).then(|| ("Before".to_owned(), before))
    } else {
        view.facts.last_value(&field.code).map(|last| {
            let value = last
                .value
                .map_or_else(|| last.words.clone(), |v| v.to_string());
            let on = when::local_day(last.taken_at);
            (format!("{} {}", dates::day_brief(on), on.year()), value)
        })
    };
    question
}

/// After the work the instrument is asked where its calibration decides and no reading before the work named it.
fn measured_after_with(
    view: &SheetView,
    answers: &Answers<'_>,
    spec: &ReadingSpec,
) -> Option<Question> {
    let decides = RuleBook::shipped().is_ok_and(|book| book.calibration_acts(&spec.code));
    let named = view.sheet.has(&format!("i.{}", spec.code));
    let mut question = measured_with(view, answers, spec).filter(|_| decides && !named)?;
    question.label = format!("{}: measured with", spec.label);
    Some(question)
}

/// The kind that stands there after the work: at a replacement the one said to have come, else the one decided upon.
pub(super) fn kind_after(view: &SheetView, answers: &Answers<'_>) -> String {
    let old = view.facts.kind_code();
    if view.facts.job.kind != terms::JobKind::Replacement {
        return old.to_owned();
    }
    match answers.get("new.kind") {
        said if said.is_empty() => view.facts.decided.clone().unwrap_or_else(|| old.to_owned()),
        said => said,
    }
}

/// What is measured again after the work; of a unit that came its whole set, and the cold main it hangs on.
fn readings_after(view: &SheetView, kind: &str) -> Vec<&'static ReadingSpec> {
    if view.facts.job.kind != terms::JobKind::Replacement {
        return readings_of(view);
    }
    let Some(set) = RuleBook::shipped().ok().and_then(|book| book.set(kind)) else {
        return Vec::new();
    };
    let main = set.tests.iter().filter(|spec| spec.code == "cold_main");
    set.readings.iter().chain(main).collect()
}

/// The limit a field alone is held to, in words; empty where there is none.
fn limit_of(kind: &str, field: &FieldSpec) -> String {
    let Ok(book) = RuleBook::shipped() else {
        return String::new();
    };
    let rules = book.set(kind).map_or(&[][..], |set| set.judge.as_slice());
    rules
        .iter()
        .filter(|rule| rule.given == [field.code.as_str()])
        .filter_map(|rule| book.limit(&rule.row).ok())
        .map(|limit| format!("Limit: {}.", limit.limit))
        .next()
        .unwrap_or_default()
}

/// Readings after the work, and the function tested again.
pub(crate) fn after(view: &SheetView, answers: &Answers<'_>) -> Group {
    let mut questions = Vec::new();
    if let Some(lost) = view.facts.job.function_lost {
        questions.push(
            answers
                .yes_no(
                    "works_after",
                    &format!("Tested again: is it put right ({lost})?"),
                )
                .hint("Needs a reading below."),
        );
    }
    let kind = kind_after(view, answers);
    for spec in readings_after(view, &kind) {
        let all = spec.code == "cold_main";
        for field in spec.fields.iter().filter(|f| all || !f.optional) {
            let mut question = field_question(view, answers, field, "a.");
            let limit = limit_of(&kind, field);
            if !limit.is_empty() {
                question.hint = limit;
            }
            question.label = spec.name_of(field);
            question.ask = if question.ask == Ask::Number {
                Ask::Line
            } else {
                question.ask
            };
            questions.push(question);
        }
        questions.extend(measured_after_with(view, answers, spec));
    }
    Group {
        key: "after".to_owned(),
        heading: "Readings after the work".to_owned(),
        lines: vec!["Only what you measured again.".to_owned()],
        questions,
    }
}
