//! One duty on one day, in a sentence, with the evidence behind it.
use chrono::NaiveDate;
use terms::RecordKind;
use usecases::duties::ProvedLine;
use wording::sentences::{capital, dates, list};
use wording::{Link, Row, Urgency, Why};

use crate::duties::rows::{home_of, inside, rule_words};
use crate::letters::rows as letters;
use crate::when;

/// The sentence of a duty; `desk` may follow it to its whole record.
pub(super) fn sentence(line: &ProvedLine, on: NaiveDate, desk: bool) -> Row {
    let late = line.window.is_some_and(|w| w.last < on);
    let subject = format!("{} of the {}", line.rule.name, line.kind_name);
    let mut row = Row::about(
        format!("p-{}", line.duty),
        Link::new(subject, record(line)),
        match &line.unit {
            Some(unit) => format!(" {}: {}", unit.number, done(line)),
            None => format!(": {}", done(line)),
        },
    )
    .figure(figure(line, late), format!("basis: {}", line.rule.basis));
    row.more.push(deadline(line, on));
    row.more.extend(tried(line));
    if late || line.window.is_none() && line.done.is_none() {
        row = row.urgency(Urgency::Late);
    }
    row.why(Why {
        more: desk.then(|| Link::new("Its whole record", record(line))),
        ..Why::this(vec![
            rule_words(&line.rule),
            format!(
                "Basis: {}. How the rule is known: {}. As at {}. What proves it: {}.",
                line.rule.basis,
                line.rule.status,
                dates::day(line.rule.as_at),
                line.rule.evidence
            ),
        ])
    })
}

fn record(line: &ProvedLine) -> String {
    format!("{}#{}", home_of(line.at), line.rule.code)
}

fn figure(line: &ProvedLine, late: bool) -> String {
    match line.window {
        Some(w) if late => format!("late since {}", dates::day_brief(w.last)),
        Some(w) => format!("to {}", dates::day_brief(w.last)),
        None if line.done.is_some() => "done".to_owned(),
        None => "no evidence".to_owned(),
    }
}

/// "done on 12 February 2026 by Anna Arrow of Firm A, registration number 200417; gas safety record J-00042/1."
fn done(line: &ProvedLine) -> String {
    let Some(row) = &line.done else {
        return format!("no evidence of {} was on record.", inside(&line.rule.name));
    };
    let mut said = vec![format!(
        "done on {}",
        row.done_on
            .map_or_else(|| "an unknown day".to_owned(), dates::day)
    )];
    if let Some(doer) = &line.doer {
        let firm = if doer.firm.is_empty() {
            String::new()
        } else {
            format!(" of {}", doer.firm)
        };
        let number = if doer.registration.is_empty() {
            ", no registration number in date on record".to_owned()
        } else {
            format!(", registration number {}", doer.registration)
        };
        said.push(format!("by {}{firm}{number}", doer.engineer));
    }
    let mut sentence = said.join(" ");
    sentence.push('.');
    let proof = match (&line.record, &line.job_number) {
        (Some((_, kind, number, at)), _) => format!(
            " {} {number}, issued on {}.",
            capital(kind.words()),
            dates::day(when::local_day(*at))
        ),
        (None, Some(number)) => format!(" Job sheet of {number}; no record was issued."),
        (None, None) if row.evidence.is_empty() => {
            format!(
                " Nothing names its proof; written down by {}.",
                line.written_by
            )
        }
        (None, None) => format!(
            " Proof: {}, written down by {}.",
            row.evidence.trim_end_matches('.'),
            line.written_by
        ),
    };
    sentence + &proof
}

/// Where the evidence can be opened, for the list of links under the letter.
pub(super) fn opens(line: &ProvedLine) -> Option<Link> {
    let (job, kind, number, _) = line.record.as_ref()?;
    let kind: RecordKind = *kind;
    Some(Link::new(
        format!("{} {number}", capital(kind.words())),
        format!("/records/{job}/{}", kind.code()),
    ))
}

fn deadline(line: &ProvedLine, on: NaiveDate) -> String {
    match line.window {
        Some(w) if w.last < on => format!(
            "It was due by {} and was late on this day.",
            dates::day(w.last)
        ),
        Some(w) => format!("It holds until {}.", dates::day(w.last)),
        None if line.done.is_some() => "It comes again only when its event does.".to_owned(),
        None => "It counted as due.".to_owned(),
    }
}

/// Tries and letters since the last check.
fn tried(line: &ProvedLine) -> Option<String> {
    if line.tries.is_empty() && line.letters.is_empty() {
        return None;
    }
    let tries: Vec<String> = line
        .tries
        .iter()
        .map(|(t, who)| {
            let left = match t.attempt.left_behind.trim_end_matches('.') {
                "" => String::new(),
                left => format!(" ({left} left)"),
            };
            format!(
                "{} by {who}{left}",
                dates::moment(when::local(t.attempt.at))
            )
        })
        .collect();
    let letters: Vec<String> = line.letters.iter().map(letters::brief).collect();
    let mut said = Vec::new();
    if !tries.is_empty() {
        said.push(format!("Nobody opened on {}.", list(&tries)));
    }
    if !letters.is_empty() {
        said.push(format!("Sent: {}.", list(&letters)));
    }
    Some(said.join(" "))
}
