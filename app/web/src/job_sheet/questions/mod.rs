//! The questions of a job sheet, in groups: one group a screen on the phone, all of them on one page at the desk.
mod closing;
mod look;
mod place;
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

/// A group of the whole sheet; behind a fold when it holds `Some`, which says whether the fold stands open.
pub(crate) type Folding = (Group, Option<bool>);

/// The whole sheet on one page with what was typed there: first what this sort of job always asks, then, folded, what
/// only some visits need. A fold stands open where something was typed or is wrong.
pub(crate) fn whole(view: &SheetView, form: &Typed) -> Vec<Folding> {
    let empty = Sheet::new();
    let answers = Answers {
        sheet: &empty,
        form,
    };
    let of = |spec| reading(view, &answers, spec);
    let owed = view.facts.owes_the_set();
    let (mut plain, mut aside): (Vec<Group>, Vec<Group>) = (Vec::new(), Vec::new());
    let readings = readings_of(view).into_iter().map(of);
    if owed {
        plain.extend(readings);
    } else {
        aside.extend(readings);
    }
    plain.push(work(view, &answers));
    if owed {
        aside.push(after(view, &answers));
    } else {
        plain.push(after(view, &answers));
    }
    if !view.facts.duties.is_empty() {
        plain.push(check(view, &answers));
    }
    plain.push(closing(view, &answers));
    aside.push(unsafe_found(view, &answers));
    aside.extend(tests_of(view).into_iter().map(of));
    aside.push(look(view, &answers));
    aside.push(no_access(&answers));
    aside.push(quote(view, &answers));
    let touched = |group: &Group| {
        let mut asked = group.questions.iter();
        asked.any(|q| !form.value(&q.name).is_empty() || form.error(&q.name).is_some())
    };
    let plain = plain.into_iter().map(|group| (group, None));
    let aside = aside.into_iter().map(|group| {
        let open = touched(&group);
        (group, Some(open))
    });
    plain.chain(aside).collect()
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
