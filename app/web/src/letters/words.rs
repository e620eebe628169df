//! The wording of the letters: plain sentences, nothing the reader has to look up.
use terms::LetterKind;
use usecases::letters::{Advice, LetterView};
use wording::sentences::{capital, counted, dates, list};
use wording::{Fact, Row};

use crate::duties::rows::inside;
use crate::when;

/// The subject line.
pub(super) fn subject(view: &LetterView) -> String {
    let why = inside(&view.filled.why);
    match view.kind {
        LetterKind::FirstNoAccess => format!("We could not get in: {why}"),
        LetterKind::SecondNoAccess => format!("Second letter: please let us in for the {why}"),
        LetterKind::ThirdNoAccess => {
            format!("Third letter, by recorded post: we must get in for the {why}")
        }
        LetterKind::PlannedVisit => format!("A visit to your home: {why}"),
        LetterKind::Repair => format!("A repair in your home: {why}"),
    }
}

/// The text between greeting and the plate of the visit.
pub(super) fn opening(view: &LetterView) -> Vec<String> {
    let mut said = match view.kind {
        LetterKind::PlannedVisit => {
            vec![format!(
                "We have planned a visit to your home: {}.",
                inside(&view.filled.why)
            )]
        }
        LetterKind::Repair => {
            vec![format!(
                "We are coming to put something right: {}.",
                inside(&view.filled.why)
            )]
        }
        LetterKind::FirstNoAccess => vec![tried(view)],
        LetterKind::SecondNoAccess => vec![
            tried(view),
            "We wrote to you before. This time we propose another time of day.".to_owned(),
        ],
        LetterKind::ThirdNoAccess => vec![tried(view), wrote(view)],
    };
    said.extend(by_law(view));
    if view.kind == LetterKind::ThirdNoAccess && !view.filled.terms.is_empty() {
        said.push(format!(
            "Your tenancy or lease gives access for this: {}.",
            view.filled.terms.trim_end_matches('.')
        ));
    }
    said
}

/// "Anna Arrow came to your home on Monday 2 November 2026, 10:00, and nobody opened."
fn tried(view: &LetterView) -> String {
    let times: Vec<String> = view
        .tries
        .iter()
        .map(|(attempt, _)| dates::moment(when::local(attempt.at)))
        .collect();
    let left = view
        .tries
        .last()
        .map(|(attempt, _)| attempt.left_behind.trim_end_matches('.'))
        .filter(|left| !left.is_empty())
        .map_or_else(String::new, |left| format!(" Left at the door: {left}."));
    let why = inside(&view.filled.why);
    match (times.as_slice(), view.tries.last()) {
        ([], _) | (_, None) => format!("We came to your home for this and nobody opened: {why}."),
        ([at], Some((_, who))) => format!(
            "{} came to your home on {at}, for this: {why}. Nobody opened.{left}",
            capital(who)
        ),
        (many, _) => format!(
            "We came to your home {} for this: {why}. Nobody opened. We came on {}.{left}",
            counted(many.len() as u64, "time", "times"),
            list(many)
        ),
    }
}

/// "We wrote to you on 3 November and on 10 November."
fn wrote(view: &LetterView) -> String {
    let letters: Vec<String> = view
        .earlier
        .iter()
        .filter(|l| l.kind.nth().is_some())
        .map(|l| format!("on {} {}", dates::day(l.happened_on), l.how))
        .collect();
    match letters.as_slice() {
        [] => "No earlier letter from us is on record.".to_owned(),
        some => format!("We wrote to you {}.", list(some)),
    }
}

/// Why it has to be done, and by when.
fn by_law(view: &LetterView) -> Vec<String> {
    let law: Vec<&(String, bool, Option<chrono::NaiveDate>)> =
        view.duties.iter().filter(|(_, law, _)| *law).collect();
    let last = law.iter().filter_map(|(_, _, last)| *last).min();
    match (law.as_slice(), last) {
        ([], _) => Vec::new(),
        (_, None) => vec![
            "The law asks your landlord to have this done. It is for the safety of everybody in the building."
                .to_owned(),
        ],
        (_, Some(day)) if day < view.on => vec![format!(
            "The law asks your landlord to have this done. It is for the safety of everybody in the building. It was due by {} and is late.",
            dates::day_full(day)
        )],
        (_, Some(day)) => vec![format!(
            "The law asks your landlord to have this done. It is for the safety of everybody in the building. It is due by {}.",
            dates::day_full(day)
        )],
    }
}

/// The visit: when, who, why, how long, what moves, what is off, what after.
pub(super) fn visit(view: &LetterView) -> Vec<Fact> {
    let filled = &view.filled;
    let mut facts = Vec::new();
    if let (Some(day), Some(from)) = (filled.day, filled.from) {
        let until = filled
            .until
            .map_or_else(String::new, |at| format!(" and {}", at.format("%H:%M")));
        let between = if until.is_empty() { "from" } else { "between" };
        facts.push(Fact::new(
            "When",
            format!(
                "{}, {between} {}{until}",
                dates::day_full(day),
                from.format("%H:%M")
            ),
        ));
    }
    facts.push(Fact::new("Who comes", capital(&filled.who)));
    facts.push(Fact::new("Why", capital(&filled.why)));
    if filled.minutes > 0 {
        facts.push(Fact::new("How long", how_long(filled.minutes)));
    }
    for (name, said) in [
        ("Please move", &filled.moves),
        ("Water and heating", &filled.off),
        ("Afterwards", &filled.after),
    ] {
        if !said.is_empty() {
            facts.push(Fact::new(name, said.clone()));
        }
    }
    facts
}

/// "about 1 hour and 30 minutes"
fn how_long(minutes: i32) -> String {
    let (hours, rest) = (minutes / 60, minutes % 60);
    let hour = if hours == 1 { "hour" } else { "hours" };
    match (hours, rest) {
        (0, rest) => format!("about {rest}\u{a0}minutes"),
        (hours, 0) => format!("about {hours}\u{a0}{hour}"),
        (hours, rest) => format!("about {hours}\u{a0}{hour} and {rest}\u{a0}minutes"),
    }
}

/// The text after the plate.
pub(super) fn closing(view: &LetterView) -> Vec<String> {
    let ring = match view.filled.sender.telephone.as_str() {
        "" => "Please write to us".to_owned(),
        number => format!("Please ring {number}"),
    };
    let by = view
        .filled
        .answer_by
        .map_or_else(String::new, |day| format!(" by {}", dates::day_full(day)));
    let has_slot = view.filled.day.is_some() && view.filled.from.is_some();
    let mut said = vec![if has_slot {
        format!(
            "If that does not suit you: {}{by}, and we find another time with you, in the evening too.",
            inside(&ring)
        )
    } else {
        format!(
            "{ring}{by}, so that we can agree a day and hour that suit you, in the evening too."
        )
    }];
    if view.kind == LetterKind::ThirdNoAccess {
        said.push(format!(
            "If we cannot get in{by}, we hand what we tried to your landlord, who decides what comes next. The landlord \
             may ask a court to order access, which can cost money. Nobody will force your door."
        ));
    }
    said.push(
        "Tell us if you need us to ring first, to wait longer at the door, or to come while somebody you trust is there. \
         Whoever comes shows a card with a name and a photograph."
            .to_owned(),
    );
    if let Some(number) = &view.gas_number {
        said.push(format!(
            "If you smell gas, or a carbon monoxide alarm sounds: touch no switch, no flames, go outside and ring {number}."
        ));
    }
    said
}

/// What the desk should know before it goes out.
pub(super) fn advice(advice: &Advice) -> Row {
    let (id, words) = match advice {
        Advice::NoLetterhead => (
            "no-letterhead",
            "No letterhead is stated, so the letter names nobody to write to or ring.".to_owned(),
        ),
        Advice::NoName => (
            "no-name",
            "Nobody is on record as living there: the letter is addressed to the resident.".to_owned(),
        ),
        Advice::NoSlot => (
            "no-slot",
            "No day and hour are filled in: book the visit, or fill them in below.".to_owned(),
        ),
        Advice::SameTimeOfDay(part) => (
            "same-time",
            format!(
                "A try was made in the {} before: propose another time of day (common practice, no source).",
                part.words()
            ),
        ),
        Advice::ShortNotice => (
            "short-notice",
            "The visit is less than 24 hours away: a repair is announced a day before in writing (tenancies, from memory), \
             unless the resident agrees to less."
                .to_owned(),
        ),
        Advice::UnderAWeek => (
            "under-a-week",
            "The visit is less than a week away; seven days’ notice is a courtesy (common practice, no source).".to_owned(),
        ),
        Advice::NotTried(0) => (
            "not-tried",
            "No try is on record for this job yet.".to_owned(),
        ),
        Advice::NotTried(n) => (
            "not-tried",
            format!(
                "Only {} on record for this job.",
                counted(*n as u64, "try is", "tries are")
            ),
        ),
        Advice::NoTerms => (
            "no-terms",
            "Name the clause of the tenancy or lease that gives access before this letter goes out.".to_owned(),
        ),
    };
    Row::plain(id, words)
}
