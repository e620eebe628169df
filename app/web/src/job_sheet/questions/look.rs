//! What was seen: other signs, what was due, what is unsafe.
use usecases::visit::{RuleBook, SheetView};

use super::place::place;
use super::{Answers, Ask, Group, Question};

/// What else may be seen.
pub(crate) fn look(view: &SheetView, answers: &Answers<'_>) -> Group {
    let observations = RuleBook::shipped()
        .ok()
        .and_then(|book| book.table(view.facts.kind_code()).ok())
        .map(|table| table.observations.as_slice())
        .unwrap_or_default();
    let mut questions: Vec<Question> = observations
        .iter()
        .filter(|o| !o.complaint)
        .map(|o| {
            let name = format!("o.{}", o.code);
            let mut question = answers.pick(
                &name,
                &o.words,
                Ask::List,
                &[
                    ("", "not looked for"),
                    ("seen", "I saw it"),
                    ("not", "it is not there"),
                ],
            );
            if question.value.is_empty() && view.assessment.seen.contains(&o.code) {
                "Your readings show it.".clone_into(&mut question.hint);
            }
            question
        })
        .collect();
    // At a replacement the place is asked about beside the work that changes it.
    if view.facts.job.kind != terms::JobKind::Replacement {
        questions.extend(place(view, answers));
    }
    Group {
        key: "look".to_owned(),
        heading: "What else did you see?".to_owned(),
        lines: vec!["Leave what you did not look for.".to_owned()],
        questions,
    }
}

/// The duties of the job, and the items of a gas safety check.
pub(crate) fn check(view: &SheetView, answers: &Answers<'_>) -> Group {
    let facts = &view.facts;
    let mut questions: Vec<Question> = facts
        .duties
        .iter()
        .filter(|d| !d.done)
        .map(|d| {
            answers
                .yes_no(
                    &format!("duty.{}", d.code),
                    &format!("{}: every item examined?", d.name),
                )
                .hint("No keeps the deadline as it is.")
        })
        .collect();
    if facts.has_gas_check() {
        questions.extend(gas_check(view, answers));
    }
    Group {
        key: "check".to_owned(),
        heading: "What was due".to_owned(),
        lines: Vec::new(),
        questions,
    }
}

/// The items of a gas safety check, as its record lists them.
fn gas_check(view: &SheetView, answers: &Answers<'_>) -> Vec<Question> {
    let facts = &view.facts;
    let mut questions = Vec::new();
    for n in 1..=(facts.gas_units.max(1) * 2).min(8) {
        let mut name = answers.ask(
            &format!("gc.{n}.name"),
            &format!("Appliance or flue {n}"),
            Ask::Line,
        );
        if name.value.is_empty() {
            name.value = match (n, &facts.unit) {
                (1, Some(unit)) => format!("{} {}", view.job.kind_name, unit.number),
                (2, Some(_)) => "Its flue".to_owned(),
                _ => String::new(),
            };
        }
        questions.push(name);
        questions.push(
            answers
                .ask(&format!("gc.{n}.where"), "Where it stands", Ask::Line)
                .hint("“Kitchen cupboard”, “kitchen wall to outside”: the record names it."),
        );
        questions.push(answers.ask(&format!("gc.{n}.result"), "Its result", Ask::Line));
    }
    questions.push(answers.pick(
        "gc_defects",
        "Safety defects",
        Ask::Radios,
        &[("none", "None found"), ("found", "Found")],
    ));
    for n in 1..=3 {
        let which = if n == 1 {
            "The defect"
        } else {
            "A further defect"
        };
        questions.push(
            answers
                .ask(&format!("gc_d.{n}.words"), which, Ask::Line)
                .folded(),
        );
        let done = format!("What was done about it ({n})");
        questions.push(
            answers
                .ask(&format!("gc_d.{n}.action"), &done, Ask::Line)
                .folded(),
        );
    }
    questions.push(
        answers
            .yes_no("gc_26_9", "Examined as regulation 26(9) asks?")
            .hint("Flue, combustion air, operating pressure or heat input, safe working."),
    );
    questions.push(answers.yes_no("gc_signed", "Signed by you?"));
    questions
}

/// Who was told of it, and what heat there is meanwhile: an unsafe finding is not ended without.
fn told_and_warm(answers: &Answers<'_>) -> Vec<Question> {
    vec![
        answers.ask("told_resident", "The resident was told at", Ask::Time),
        answers.ask("told_agent", "The managing agent was told at", Ask::Time),
        answers.ask("told_landlord", "The landlord was told at", Ask::Time),
        answers
            .ask(
                "told_network",
                "The gas emergency service was rung at",
                Ask::Time,
            )
            .hint("Asked where it is immediately dangerous and permission was refused."),
        answers.pick(
            "heat",
            "Heat while it is off",
            Ask::List,
            &[
                ("", "not answered yet"),
                ("lent", "heaters lent"),
                ("declined", "heaters offered, not wanted"),
                ("none", "none to lend: the office finds some"),
                ("not_needed", "not needed, heat and hot water go on"),
            ],
        ),
        answers.ask("heat_what", "Which heaters, how many", Ask::Line),
        answers.ask("heat_at", "Lent or offered at", Ask::Time),
    ]
}

/// An unsafe situation, and the clearing of one.
pub(crate) fn unsafe_found(view: &SheetView, answers: &Answers<'_>) -> Group {
    let mut questions = vec![
        answers.pick(
            "unsafe",
            "How do you class it?",
            Ask::Radios,
            &[
                ("ID", "Immediately dangerous"),
                ("AR", "At risk"),
                ("none", "Not unsafe"),
            ],
        ),
        answers.ask(
            "unsafe_words",
            "What is unsafe, or why it is not",
            Ask::Lines,
        ),
        answers.ask("unsafe_notice", "Number of the warning notice", Ask::Line),
        answers.yes_no("unsafe_isolated", "Isolated, labelled, notice left?"),
        answers.yes_no("unsafe_refused", "Was permission refused?"),
    ];
    questions.extend(told_and_warm(answers));
    for notice in &view.facts.notices {
        questions.push(
            answers
                .yes_no(
                    &format!("clear.{}", notice.id),
                    "Put right and cleared by you?",
                )
                .hint(&format!("{} {}", notice.class, notice.words)),
        );
    }
    Group {
        key: "unsafe".to_owned(),
        heading: "Is something unsafe?".to_owned(),
        lines: vec![
            "You class it; the program only keeps it and does not let the job end as done."
                .to_owned(),
            "Immediately dangerous and permission refused: ring the gas emergency service."
                .to_owned(),
        ],
        questions,
    }
}
