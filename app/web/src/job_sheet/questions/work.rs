//! What had failed and what was done about it.
use usecases::visit::{SheetView, kinds_of, parts_of_kind, standing};
use wording::Choice;

use super::place::place;
use super::readings::kind_after;
use super::{Answers, Ask, Group, Question};

/// The parts of the unit's kind, after a choice that names none.
pub(super) fn part_choices(view: &SheetView, first: (&str, &str), chosen: &str) -> Vec<Choice> {
    let mut choices = vec![Choice::new(first.0, first.1, chosen == first.0)];
    choices.extend(parts_of_kind(&view.facts).into_iter().map(|p| {
        let is = p.code == chosen;
        Choice::new(p.code, p.name, is)
    }));
    choices
}

/// What had failed and what was done.
pub(crate) fn work(view: &SheetView, answers: &Answers<'_>) -> Group {
    let mut cause = answers.ask("cause", "What had failed?", Ask::List);
    cause.choices = part_choices(view, ("", "nothing that I found"), &cause.value);
    cause.choices.push(Choice::new(
        "none_found",
        "I looked and found no fault",
        cause.value == "none_found",
    ));
    let mut fitted = answers.ask("fitted", "Which part did you fit?", Ask::List);
    fitted.choices = part_choices(view, ("", "none"), &fitted.value);
    let mut questions = the_new_one(view, answers);
    if !questions.is_empty() {
        questions.extend(place(view, answers));
    }
    questions.extend([
        cause.hint("Your finding, not the ranking’s."),
        fitted,
        answers
            .ask("old_part", "The old part: number or marks on it", Ask::Line)
            .folded(),
        answers.ask("work", "What you did, in a few words", Ask::Lines),
        answers.pick(
            "asbestos",
            "Asbestos",
            Ask::List,
            &[
                ("", "not answered yet"),
                ("read_none", "register read, none listed here"),
                ("read_listed", "register read, listed and not disturbed"),
                ("not_disturbed", "nothing drilled, lifted or disturbed"),
            ],
        ),
    ]);
    questions.extend(proofs(view, answers));
    questions.push(answers.yes_no("label_matches", "Do label and serial fit the register?"));
    Group {
        key: "work".to_owned(),
        heading: "What did you find and do?".to_owned(),
        // Where the work is: each danger of this kind, before the questions.
        lines: dangers(view),
        questions,
    }
}

fn dangers(view: &SheetView) -> Vec<String> {
    let kinds: Vec<&str> = view.facts.kinds_there.iter().map(String::as_str).collect();
    standing::dangers_of(&kinds)
        .map(|danger| danger.words.to_owned())
        .collect()
}

/// What the completion blocks ask of this kind and building.
fn proofs(view: &SheetView, answers: &Answers<'_>) -> Vec<Question> {
    let facts = &view.facts;
    let mut questions = gas_proofs(view, answers);
    questions.extend(work_proofs(answers));
    questions.extend(cylinder_proofs(view, answers));
    if facts.kind_code() == "TMV" {
        questions.push(outlet(answers));
    }
    if facts.may_be_higher_risk() {
        questions.extend([
            answers.yes_no("fire_opened", "Did you open fire-stopping?"),
            answers.yes_no("fire_good", "Made good?").folded(),
            answers.yes_no("fire_photo", "Photographed?").folded(),
        ]);
    }
    questions
}

fn gas_proofs(view: &SheetView, answers: &Answers<'_>) -> Vec<Question> {
    let facts = &view.facts;
    let mut questions = Vec::new();
    if facts.burns_gas() && !facts.owes_the_set() {
        questions.push(
            answers
                .yes_no("gas_work", "Was it gas work?")
                .hint("Work on gas-carrying, combustion, flue or case parts."),
        );
    }
    if facts.burns_gas() {
        questions.push(
            answers
                .ask(
                    "gas_alternative",
                    "Combustion not measured: the lawful alternative used",
                    Ask::Line,
                )
                .folded(),
        );
    }
    let replaced = facts.job.kind == terms::JobKind::Replacement;
    if replaced && !facts.burns_gas() {
        questions.push(
            answers
                .yes_no(
                    "new.co_alarm_works",
                    "A gas unit in a home: does a CO alarm sound in its room?",
                )
                .folded(),
        );
    }
    if replaced || facts.burns_gas() {
        questions.push(
            answers
                .ask(
                    "co_job_date",
                    "No CO alarm works: for which day was a job raised?",
                    Ask::Day,
                )
                .folded(),
        );
    }
    questions
}

/// Electrical and wet work.
fn work_proofs(answers: &Answers<'_>) -> Vec<Question> {
    vec![
        answers.yes_no("elec", "Did you fit an electrical part?"),
        answers
            .yes_no("elec_dead", "Isolated, locked off, proved dead?")
            .folded(),
        answers
            .ask("elec_mohm", "Insulation resistance, MΩ", Ask::Line)
            .folded(),
        answers.yes_no("wet", "Did you open the wet side?"),
        answers.yes_no("leak", "Is there still a leak?").folded(),
        answers
            .ask("bar_lost", "Pressure lost in 15 minutes, bar", Ask::Line)
            .folded(),
    ]
}

/// What a cylinder that stands there, or came, must show.
fn cylinder_proofs(view: &SheetView, answers: &Answers<'_>) -> Vec<Question> {
    let facts = &view.facts;
    let mut questions = Vec::new();
    let replaced = facts.job.kind == terms::JobKind::Replacement;
    if replaced || matches!(facts.kind_code(), "UV" | "VC") {
        questions.push(answers.yes_no("route_seen", "Did you see the relief route to its end?"));
    }
    if replaced {
        questions.extend([
            answers
                .yes_no("new.discharge_cold", "A cylinder: is its discharge cold?")
                .folded(),
            answers
                .yes_no("new.cutout_proved", "A cylinder: was its cut-out proved?")
                .folded(),
        ]);
    }
    questions
}

fn outlet(answers: &Answers<'_>) -> Question {
    answers.pick(
        "outlet",
        "Which outlet does it serve?",
        Ask::List,
        &[
            ("", "not answered yet"),
            ("basin", "basin"),
            ("shower", "shower"),
            ("bath", "bath"),
            ("bath_assisted", "bath, somebody helps"),
            ("bidet", "bidet"),
        ],
    )
}

/// The unit that came, at a replacement.
fn the_new_one(view: &SheetView, answers: &Answers<'_>) -> Vec<Question> {
    if view.facts.job.kind != terms::JobKind::Replacement {
        return Vec::new();
    }
    let mut kind = answers.ask("new.kind", "What did you fit?", Ask::List);
    if kind.value.is_empty() {
        kind.value = kind_after(view, answers);
    }
    kind.choices = kinds_of(&view.facts)
        .into_iter()
        .map(|k| {
            let is = k.code == kind.value;
            Choice::new(k.code, k.name, is)
        })
        .collect();
    vec![
        kind,
        answers.ask("new.serial", "Its serial number", Ask::Line),
        answers.ask("new.rated_kw", "Its rated output, kW", Ask::Line),
        answers
            .ask("new.litres", "Water it stores, litres", Ask::Line)
            .folded(),
        answers.yes_no("new.filter", "A filter on the system?"),
        answers.yes_no("new.reducer", "A scale reducer?"),
        answers.ask("new.warranty", "Warranty until", Ask::Day),
        answers.pick(
            "old_fate",
            "The old one was",
            Ask::Radios,
            &[
                ("written_off", "beyond repair"),
                ("removed", "taken out while working"),
            ],
        ),
    ]
}
