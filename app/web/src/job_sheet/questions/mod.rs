//! The questions of a job sheet, in groups: one group a screen on the phone, all of them on one page at the desk.
mod closing;
mod look;
mod quote;
mod readings;
mod work;

use usecases::visit::{Sheet, SheetView};
use wording::Choice;

use crate::form::Typed;

pub(crate) use closing::{closing, ends, no_access};
pub(crate) use look::{check, look, unsafe_found};
pub(crate) use quote::quote;
pub(crate) use readings::{after, reading, readings_of, tests_of};
pub(crate) use work::work;

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
    /// A time of the day.
    Time,
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

/// The whole sheet on one page, group by group, with what was typed there.
pub(crate) fn whole(view: &SheetView, form: &Typed) -> Vec<Group> {
    let empty = Sheet::new();
    let answers = Answers {
        sheet: &empty,
        form,
    };
    let mut groups: Vec<Group> = readings_of(view)
        .into_iter()
        .chain(tests_of(view))
        .map(|spec| reading(view, &answers, spec))
        .collect();
    groups.push(look(view, &answers));
    groups.push(work(view, &answers));
    groups.push(after(view, &answers));
    if !view.facts.duties.is_empty() {
        groups.push(check(view, &answers));
    }
    groups.push(unsafe_found(view, &answers));
    groups.push(no_access(&answers));
    groups.push(quote(view, &answers));
    groups.push(closing(view, &answers));
    groups
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
