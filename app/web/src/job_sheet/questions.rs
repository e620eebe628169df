//! The questions of a job sheet, in groups: one group a screen on the phone, all of them on one page at the desk.
use terms::JobState;
use usecases::visit::{
    Answer, FieldSpec, ReadingSpec, RuleBook, Sheet, SheetView, kinds_of, parts_of_kind,
};
use wording::Choice;
use wording::sentences::dates;

use crate::form::Typed;
use crate::when;

/// How a question is answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ask {
    /// A number, large.
    Number,
    /// A line of text.
    Line,
    /// Several lines.
    Lines,
    /// A day.
    Day,
    /// One of a few, all in sight.
    Radios,
    /// One of a list.
    List,
}

/// One question.
#[derive(Clone, Debug)]
pub(crate) struct Question {
    pub name: String,
    pub label: String,
    pub hint: String,
    pub unit: String,
    pub ask: Ask,
    pub value: String,
    pub choices: Vec<Choice>,
    /// What it was the last time: when, and the value.
    pub then: Option<(String, String)>,
    /// Stands behind a fold: asked only where it is needed.
    pub folded: bool,
}

/// Questions that belong together.
#[derive(Clone, Debug)]
pub(crate) struct Group {
    /// Its address behind the job's.
    pub key: String,
    pub heading: String,
    pub lines: Vec<String>,
    pub questions: Vec<Question>,
}

/// The answers as they stand: what was typed just now before what is kept.
pub(crate) struct Answers<'a> {
    pub sheet: &'a Sheet,
    pub form: &'a Typed,
}

impl Answers<'_> {
    fn get(&self, name: &str) -> String {
        match self.form.value(name) {
            "" => self.sheet.get(name).to_owned(),
            typed => typed.to_owned(),
        }
    }

    fn ask(&self, name: &str, label: &str, ask: Ask) -> Question {
        Question {
            name: name.to_owned(),
            label: label.to_owned(),
            hint: String::new(),
            unit: String::new(),
            ask,
            value: self.get(name),
            choices: Vec::new(),
            then: None,
            folded: false,
        }
    }

    fn pick(&self, name: &str, label: &str, ask: Ask, choices: &[(&str, &str)]) -> Question {
        let mut question = self.ask(name, label, ask);
        question.choices = choices
            .iter()
            .map(|(code, words)| Choice::new(*code, *words, *code == question.value))
            .collect();
        question
    }

    fn yes_no(&self, name: &str, label: &str) -> Question {
        self.pick(name, label, Ask::Radios, &[("yes", "Yes"), ("no", "No")])
    }
}

impl Question {
    fn hint(mut self, hint: &str) -> Self {
        hint.clone_into(&mut self.hint);
        self
    }

    fn folded(mut self) -> Self {
        self.folded = true;
        self
    }
}

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
    if !view.facts.instruments.is_empty() {
        let name = format!("i.{}", spec.code);
        let mut question = answers.ask(&name, "Measured with", Ask::List);
        if let (true, [only]) = (question.value.is_empty(), view.facts.instruments.as_slice()) {
            question.value = only.id.to_string();
        }
        question
            .choices
            .push(Choice::new("", "no instrument", question.value.is_empty()));
        question
            .choices
            .extend(view.facts.instruments.iter().map(|i| {
                let id = i.id.to_string();
                let chosen = id == question.value;
                let until = dates::day(i.calibrated_until);
                let label = if i.calibrated_until < view.facts.day {
                    format!("{}, calibration ended {until}", i.name)
                } else {
                    format!("{}, in date until {until}", i.name)
                };
                Choice::new(id, label, chosen)
            }));
        questions.push(question);
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
            (format!("On {}", dates::day(on)), value)
        })
    };
    question
}

/// What else may be seen.
pub(crate) fn look(view: &SheetView, answers: &Answers<'_>) -> Group {
    let observations = RuleBook::shipped()
        .ok()
        .and_then(|book| book.table(view.facts.kind_code()).ok())
        .map(|table| table.observations.as_slice())
        .unwrap_or_default();
    let questions = observations
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
    Group {
        key: "look".to_owned(),
        heading: "What else did you see?".to_owned(),
        lines: vec!["Leave what you did not look for.".to_owned()],
        questions,
    }
}

fn part_choices(view: &SheetView, first: (&str, &str), chosen: &str) -> Vec<Choice> {
    let mut choices = vec![Choice::new(first.0, first.1, chosen == first.0)];
    choices.extend(parts_of_kind(&view.facts).into_iter().map(|p| {
        let is = p.code == chosen;
        Choice::new(p.code, p.name, is)
    }));
    choices
}

/// What had failed and what was done.
pub(crate) fn work(view: &SheetView, answers: &Answers<'_>) -> Group {
    let _facts = &view.facts;
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
        lines: Vec::new(),
        questions,
    }
}

/// What the completion blocks ask of this kind and building.
fn proofs(view: &SheetView, answers: &Answers<'_>) -> Vec<Question> {
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
    questions.extend([
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
    ]);
    if matches!(facts.kind_code(), "UV" | "VC") {
        questions.push(answers.yes_no("route_seen", "Did you see the relief route to its end?"));
    }
    if facts.kind_code() == "TMV" {
        questions.push(answers.pick(
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
        ));
    }
    if facts.building.higher_risk == Some(true) {
        questions.extend([
            answers.yes_no("fire_opened", "Did you open fire-stopping?"),
            answers.yes_no("fire_good", "Made good?").folded(),
            answers.yes_no("fire_photo", "Photographed?").folded(),
        ]);
    }
    questions
}

/// The unit that came, at a replacement.
fn the_new_one(view: &SheetView, answers: &Answers<'_>) -> Vec<Question> {
    if view.facts.job.kind != terms::JobKind::Replacement {
        return Vec::new();
    }
    let mut kind = answers.ask("new.kind", "What did you fit?", Ask::List);
    if kind.value.is_empty() {
        view.facts.kind_code().clone_into(&mut kind.value);
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
    for spec in readings_of(view) {
        for field in spec.fields.iter().filter(|f| !f.optional) {
            let mut question = field_question(view, answers, field, "a.");
            question.label = format!("{}: {}", spec.label, field.label.to_lowercase());
            if spec.fields.len() == 1 {
                question.label.clone_from(&spec.label);
            }
            question.ask = if question.ask == Ask::Number {
                Ask::Line
            } else {
                question.ask
            };
            questions.push(question);
        }
    }
    Group {
        key: "after".to_owned(),
        heading: "Readings after the work".to_owned(),
        lines: vec!["Only what you measured again.".to_owned()],
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
            questions.push(answers.ask(&format!("gc.{n}.result"), "Its result", Ask::Line));
        }
        questions.push(answers.yes_no("gc_signed", "Signed by you?"));
    }
    Group {
        key: "check".to_owned(),
        heading: "What was due".to_owned(),
        lines: Vec::new(),
        questions,
    }
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

/// How it ends, without the outcome itself, which the page shows with its reasons.
pub(crate) fn closing(view: &SheetView, answers: &Answers<'_>) -> Group {
    let mut questions = vec![
        answers.yes_no("told", "Does the resident know what comes next?"),
        answers.yes_no("set_point", "Did you change a set point?"),
    ];
    let soft = RuleBook::shipped()
        .map(RuleBook::soft_blocks)
        .unwrap_or_default();
    for block in soft {
        let standing = view.assessment.completion.soft_blocks.contains(&block.key);
        let name = format!("soft.{}", block.key);
        if standing || view.sheet.has(&name) || !answers.form.value(&name).is_empty() {
            questions.push(answers.ask(&name, &format!("{} Why?", block.words), Ask::Line));
        }
    }
    questions.push(answers.ask("next_words", "What comes next", Ask::Line));
    questions.push(answers.ask(
        "cost",
        "Cost of this visit with VAT, if you know it",
        Ask::Line,
    ));
    Group {
        key: "close".to_owned(),
        heading: format!("How do you leave {}?", view.facts.space.name),
        lines: Vec::new(),
        questions,
    }
}

/// The ends, each with whether it is open.
pub(crate) fn ends(view: &SheetView, answers: &Answers<'_>) -> Vec<(Choice, bool)> {
    let chosen = answers.get("outcome");
    usecases::visit::ENDS
        .into_iter()
        .map(|end| {
            let hint = match end {
                JobState::Done => "nothing stands in the way",
                JobState::WaitingForDecision => "your quote comes next",
                JobState::WaitingForPart => "say which, and when you return",
                JobState::MadeSafe => "say what is left to do",
                JobState::NoAccess => "say what you left at the door",
                _ => "off, labelled, notice left",
            };
            let open = view.assessment.open_ends.contains(&end);
            let hint = if open { hint } else { "not possible yet" };
            let words = wording::sentences::capital(end.words());
            (
                Choice::new(end.code(), words, chosen == end.code()).hint(hint),
                open,
            )
        })
        .collect()
}

/// Nobody opened.
pub(crate) fn no_access(answers: &Answers<'_>) -> Group {
    Group {
        key: "no-access".to_owned(),
        heading: "Nobody opens".to_owned(),
        lines: vec!["Ring, knock, wait ten minutes, ring the number you were given.".to_owned()],
        questions: vec![
            answers.ask("left_behind", "What you left at the door", Ask::Line),
            answers.ask("access_words", "What you saw and tried", Ask::Lines),
        ],
    }
}

/// A quote.
pub(crate) fn quote(view: &SheetView, answers: &Answers<'_>) -> Group {
    let mut part = answers.ask("q_part", "For which part?", Ask::List);
    if part.value.is_empty() {
        part.value = answers.get("cause");
    }
    part.choices = part_choices(view, ("", "no part in particular"), &part.value);
    let mut questions = vec![part];
    for (n, what) in ["Part", "Labour", "Access", "Waste", "Other"]
        .into_iter()
        .enumerate()
    {
        let n = n + 1;
        let mut name = answers.ask(&format!("q.{n}.what"), &format!("Line {n}"), Ask::Line);
        if name.value.is_empty() {
            what.clone_into(&mut name.value);
        }
        questions.push(name);
        questions.push(answers.ask(&format!("q.{n}.net"), "Pounds without VAT", Ask::Line));
    }
    let mut vat = answers.ask("q_vat", "VAT, per cent", Ask::Line);
    if vat.value.is_empty() {
        "20".clone_into(&mut vat.value);
    }
    questions.push(vat);
    questions.push(answers.ask("q_until", "It holds until", Ask::Day));
    questions.push(answers.ask("q_words", "Anything the office should know", Ask::Lines));
    Group {
        key: "quote".to_owned(),
        heading: format!("Your quote for {}", view.facts.space.name),
        lines: vec!["Making safe and lending heaters wait for no quote.".to_owned()],
        questions,
    }
}
