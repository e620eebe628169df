//! How a visit ends.
use terms::{JobState, UsedAs};
use usecases::visit::{ENDS, RuleBook, SheetView};
use wording::Choice;
use wording::sentences::capital;

use super::{Answers, Ask, Group};
use crate::job_sheet::called;

/// How it ends, without the outcome itself, which the page shows with its reasons.
pub(crate) fn closing(view: &SheetView, answers: &Answers<'_>) -> Group {
    let asked = if view.facts.space.used_as == UsedAs::Flat {
        "Does the resident know what comes next?"
    } else {
        "Do the residents know what comes next?"
    };
    let mut questions = vec![
        answers.yes_no("told", asked),
        answers.yes_no("set_point", "Did you change a set point?"),
    ];
    let soft = RuleBook::shipped()
        .map(RuleBook::soft_blocks)
        .unwrap_or_default();
    for block in soft {
        let standing = view.assessment.completion.soft_blocks.contains(&block.key);
        let name = format!("soft.{}", block.key);
        if standing || view.sheet.has(&name) || !answers.form.value(&name).is_empty() {
            questions.push(answers.ask(&name, &format!("{} If so, why?", block.words), Ask::Line));
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
        heading: format!("How do you leave {}?", called(&view.facts.space)),
        lines: Vec::new(),
        questions,
    }
}

/// The ends, each with whether it is open.
pub(crate) fn ends(view: &SheetView, answers: &Answers<'_>) -> Vec<(Choice, bool)> {
    let chosen = answers.get("outcome");
    ENDS.into_iter()
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
            let words = capital(end.words());
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
        lines: vec![
            "Ring, knock, wait ten minutes, ring the number you were given.".to_owned(),
            "Photographs of the door are kept with the job: send them once this is kept, and say in words what they show."
                .to_owned(),
        ],
        questions: vec![
            answers.ask("left_behind", "What you left at the door", Ask::Line),
            answers.ask("access_words", "What you saw and tried", Ask::Lines),
        ],
    }
}
