//! No access 1-2-3: tries, letters, and what comes next.
use chrono::{DateTime, NaiveDate, Utc};
use usecases::duties::{DutyLine, Proved};
use usecases::letters::{NextStep, Tried};
use wording::sentences::{dates, list};
use wording::{Row, Urgency, Verb};

use super::proof::Written;
use super::rows::{about, booked, days_of, inside, times, with_verbs};
use crate::letters::rows as letters;
use crate::when;

/// A row of the list of tries: how often, when, what was sent, what comes next and how long is left.
pub(super) fn no_access(line: &DutyLine, today: NaiveDate, desk: bool) -> Row {
    let days = days_of(&line.attempts);
    let left = match line.last_day() {
        Some(last) if last < today => format!(
            " It was due by {}; the clock does not stop for a closed door.",
            dates::day(last)
        ),
        Some(last) => format!(
            " Due by {}; the clock does not stop for a closed door.",
            dates::day(last)
        ),
        None => " Without evidence it counts as due now.".to_owned(),
    };
    let sentence = format!(
        ": {}, tried on {}.{}{left}{}",
        inside(&line.rule.name),
        list(&days),
        written(line),
        booked(line)
    );
    let urgency = match line.attempts.len() {
        1 => Urgency::Plain,
        2 => Urgency::Soon,
        _ => Urgency::Late,
    };
    let mut row = about(line, sentence)
        .urgency(urgency)
        .figure(times(days.len()), "nobody opened");
    row.id = format!("a-{}", line.duty);
    let next = line.next_step();
    row.more.extend(next.as_ref().map(letters::next_words));
    if let (true, Some(NextStep::Letter { kind, .. }), Some(job)) = (desk, &next, line.jobs.first())
    {
        let write = Verb::link(
            format!("Write the {kind}"),
            letters::address(job.job, *kind),
        );
        row = row.verb(write);
    }
    if let Some(why) = row.why.as_mut() {
        why.paragraphs.push(
            "Three tries, each followed by a letter, the second at another time of day, the third by recorded post: \
             common practice, no source. What the law asks is that everything reasonable was done, and that it can be shown."
                .to_owned(),
        );
    }
    with_verbs(row, line, desk)
}

/// " Sent: first letter by post on 3 November 2026."
fn written(line: &DutyLine) -> String {
    let sent: Vec<String> = line.letters.iter().map(letters::brief).collect();
    if sent.is_empty() {
        String::new()
    } else {
        format!(" Sent: {}.", list(&sent))
    }
}

/// Every try nobody opened to and every letter, in the order they happened, then what comes next.
pub(super) fn of_duty(proved: &Proved, names: &Written, desk: bool) -> Vec<Row> {
    let mut timed: Vec<(DateTime<Utc>, Row)> = proved
        .tries
        .iter()
        .enumerate()
        .map(|(n, (tried, who))| (tried.attempt.at, a_try(n + 1, (tried, who), names)))
        .collect();
    timed.extend(
        proved
            .letters
            .iter()
            .map(|l| (l.sent_at, letters::row(l, desk))),
    );
    timed.sort_by_key(|(at, _)| *at);
    let mut rows: Vec<Row> = timed.into_iter().map(|(_, row)| row).collect();
    if let Some(next) = proved.line.next_step() {
        let row = Row::plain(
            format!("next-{}", proved.line.duty),
            letters::next_words(&next),
        );
        rows.push(match (&next, proved.line.jobs.first()) {
            (NextStep::Letter { kind, .. }, Some(job)) if desk => row.verb(Verb::link(
                format!("Write the {kind}"),
                letters::address(job.job, *kind),
            )),
            _ => row,
        });
    }
    rows
}

fn a_try(n: usize, (tried, who): (&Tried, &str), names: &Written) -> Row {
    let a = &tried.attempt;
    let who = match who {
        "" => names.get(&a.by).map_or("somebody", String::as_str),
        who => who,
    };
    let left = match a.left_behind.trim_end_matches('.') {
        "" => String::new(),
        left => format!(" Left behind: {left}."),
    };
    let words = match a.words.as_str() {
        "" => String::new(),
        words => format!(" “{words}”"),
    };
    Row::plain(
        format!("try-{n}-{}", tried.job),
        format!(
            "Try {n} ({}): {who}, {}; nobody opened.{left}{words}",
            tried.number,
            dates::moment(when::local(a.at))
        ),
    )
}
