//! Lists of the unit page: what happened, readings, duties, jobs, what was stated before.
use std::cmp::Reverse;

use std::collections::BTreeMap;

use chrono::NaiveDate;
use terms::unit::{Reading, UnitCard};
use terms::{Level, Pence};
use usecases::register::UnitView;
use wording::sentences::{capital, dates, money, spans};
use wording::{Link, Row, Table, Urgency};

use super::line::{lost_words, part_name};
use super::swapped::{Said, swapped, tie};
use crate::when;

/// A day, what happened, what it cost and what that figure is.
pub(super) type Happened = (NaiveDate, Said, Option<Pence>, &'static str);

/// Rows of "what happened" before the rest is only in the table of the line.
const MOST_EVENTS: usize = 25;

/// Everything on record, newest first.
pub(super) fn events(view: &UnitView) -> Vec<Row> {
    let mut found: Vec<Happened> = Vec::new();
    for failure in &view.history.failures {
        let until = failure.happened_until.unwrap_or(failure.happened_on);
        let day = capital(&dates::fitted_when(Some(failure.happened_on), Some(until)));
        let what = capital(&lost_words(failure));
        let part = failure.part.as_deref().map_or_else(String::new, |p| {
            format!(": {}", part_name(view, p).to_lowercase())
        });
        let none = if failure.no_fault_found {
            ", nothing found wrong"
        } else {
            ""
        };
        found.push((
            failure.happened_on,
            Said::Words(format!(
                "{day}. {what}{part}{none}.{}",
                quoted(&failure.words)
            )),
            failure.cost,
            "failure",
        ));
    }
    for fitted in &view.history.parts {
        let planned = if fitted.planned { ", as planned" } else { "" };
        found.push((
            fitted.fitted_on,
            Said::Words(format!(
                "On {}. New part: {}{planned}.",
                dates::day(fitted.fitted_on),
                part_name(view, &fitted.part).to_lowercase()
            )),
            None,
            "part",
        ));
    }
    found.extend(said_by_rules(view));
    for service in &view.history.services {
        found.push((
            service.happened_on,
            Said::Words(format!(
                "On {}. {}.{}",
                dates::day(service.happened_on),
                capital(&service.what),
                quoted(&service.words)
            )),
            service.cost,
            "visit",
        ));
    }
    found.extend(swapped(view));
    // Each sort was gathered oldest first, so what came later on a day stands higher.
    found.reverse();
    found.sort_by_key(|happened| Reverse(happened.0));
    found
        .into_iter()
        .take(MOST_EVENTS)
        .enumerate()
        .map(|(n, (_, said, cost, small))| {
            let row = said.row(format!("e-{n}"));
            match cost.filter(|_| view.shows_money) {
                Some(cost) => row.figure(money::exact(cost), small),
                None => row,
            }
        })
        .collect()
}

/// What rules said of its readings, but for what is only for the record.
fn said_by_rules(view: &UnitView) -> impl Iterator<Item = Happened> + '_ {
    view.findings.iter().filter_map(|(_, finding)| {
        let how = match finding.level {
            Level::Info => return None,
            Level::Watch => "to be watched",
            Level::Act => "to be acted upon",
            Level::Stop => "unsafe",
        };
        let sentence = format!(
            "On {}. Found, {how}: {}",
            dates::day(finding.on),
            finding.words
        );
        Some((finding.on, Said::Words(sentence), None, "finding"))
    })
}

fn quoted(words: &str) -> String {
    let words = words.trim();
    if words.is_empty() {
        String::new()
    } else {
        format!(" “{words}”")
    }
}

/// Each reading's newest value beside the one of the last day before it.
pub(super) fn readings(view: &UnitView) -> Table {
    let mut by_code: BTreeMap<&str, Vec<&Reading>> = BTreeMap::new();
    let mut order: Vec<&str> = Vec::new();
    for (_, reading) in &view.readings {
        if !order.contains(&reading.code.as_str()) {
            order.push(&reading.code);
        }
        by_code.entry(&reading.code).or_default().push(reading);
    }
    let mut rows: Vec<Vec<String>> = order
        .into_iter()
        .filter_map(|code| {
            let list = by_code.get(code)?;
            let now = list.first()?;
            let day = when::local_day(now.taken_at);
            let before = list.iter().find(|r| when::local_day(r.taken_at) < day);
            Some(vec![
                view.reading_names
                    .get(code)
                    .cloned()
                    .unwrap_or_else(|| code.replace('_', " ")),
                before.map_or_else(|| "–".to_owned(), |r| with_day(r)),
                with_day(now),
                moved(before.copied(), now),
                now.conditions.clone(),
            ])
        })
        .collect();
    let mut headers = vec!["Reading", "Before", "Now", "Moved", "Conditions"];
    if rows
        .iter()
        .all(|row| row.last().is_some_and(String::is_empty))
    {
        headers.pop();
        for row in &mut rows {
            row.pop();
        }
    }
    Table::new(&headers, rows)
}

fn with_day(reading: &Reading) -> String {
    format!(
        "{} ({})",
        value(reading),
        dates::day(when::local_day(reading.taken_at))
    )
}

fn value(reading: &Reading) -> String {
    let number = reading
        .value
        .map_or_else(|| reading.words.clone(), |v| v.to_string());
    if reading.measured_in.is_empty() {
        number
    } else {
        format!("{number}\u{a0}{}", reading.measured_in)
    }
}

fn moved(before: Option<&Reading>, now: &Reading) -> String {
    let (Some(before), Some(after)) = (before.and_then(|b| b.value), now.value) else {
        return String::new();
    };
    let step = after - before;
    if step.abs() < 1e-9 {
        return "the same".to_owned();
    }
    let way = if step > 0.0 { "up" } else { "down" };
    // As many decimals as were read.
    let decimals = |v: f64| v.to_string().split_once('.').map_or(0, |(_, d)| d.len());
    let places = decimals(before).max(decimals(after)).min(4);
    let unit = if now.measured_in.is_empty() {
        String::new()
    } else {
        format!("\u{a0}{}", now.measured_in)
    };
    format!("{way}\u{a0}{:.places$}{unit}", step.abs())
}

/// Its duties, soonest first.
pub(super) fn duties(view: &UnitView) -> Vec<Row> {
    let mut list: Vec<_> = view.duties.iter().collect();
    list.sort_by_key(|(d, _)| (d.deadline.unwrap_or(NaiveDate::MAX), d.rule.clone()));
    list.into_iter()
        .map(|(duty, rule)| {
            let name = rule
                .as_ref()
                .map_or(duty.rule.as_str(), |r| r.name.as_str());
            let basis = rule
                .as_ref()
                .map_or_else(String::new, |r| format!(" Basis: {}.", r.basis));
            let last = duty
                .done_on
                .map_or_else(String::new, |on| format!(" Last done {}.", dates::day(on)));
            let id = format!("d-{}", duty.id);
            match duty.deadline {
                Some(deadline) => {
                    let row = Row::plain(
                        id,
                        format!("{name} by {}.{last}{basis}", dates::day(deadline)),
                    )
                    .figure(spans::due(view.today, deadline), "");
                    if deadline < view.today {
                        row.urgency(Urgency::Late)
                    } else {
                        row
                    }
                }
                None => Row::plain(
                    id,
                    format!("{name} has no date until its papers come.{last}{basis}"),
                )
                .figure("no date", ""),
            }
        })
        .collect()
}

/// Unsafe situations not yet cleared, as the engineer on site classed them.
pub(super) fn notices(view: &UnitView) -> Vec<Row> {
    view.notices
        .iter()
        .enumerate()
        .map(|(n, notice)| {
            let class = match notice.class.as_str() {
                "ID" => "Immediately dangerous",
                _ => "At risk",
            };
            let state = match (notice.isolated, notice.permission_refused) {
                (true, _) => "isolated",
                (false, true) => "the user refused to have it isolated",
                (false, false) => "not isolated",
            };
            let number = if notice.number.is_empty() {
                String::new()
            } else {
                format!(" Warning notice {}.", notice.number)
            };
            Row::plain(
                format!("n-{n}"),
                format!(
                    "{class} since {}; {state}.{}{number} Do not use it. Only a registered engineer clears it.",
                    dates::day(when::local_day(notice.made_at)),
                    quoted(&notice.words)
                ),
            )
            .urgency(Urgency::Late)
        })
        .collect()
}

/// Its open jobs.
pub(super) fn jobs(view: &UnitView) -> Vec<Row> {
    view.jobs
        .iter()
        .filter(|j| !j.state.is_closed())
        .map(|job| {
            let booked = job.booked_from.map_or_else(String::new, |at| {
                format!(", booked for {}", dates::appointment(when::local(at)))
            });
            Row::about(
                format!("j-{}", job.id),
                Link::new(
                    &job.number,
                    if view.opens_jobs {
                        format!("/jobs/{}", job.id)
                    } else {
                        String::new()
                    },
                ),
                format!(
                    ", a {} opened on {}, stands at “{}”{booked}.{}",
                    job.kind,
                    dates::day(when::local_day(job.opened_at)),
                    job.state,
                    quoted(&job.words)
                ),
            )
        })
        .collect()
}

/// "vented cylinder"; the code where the kind was taken off the list.
fn kind_name<'a>(view: &'a UnitView, code: &'a str) -> &'a str {
    view.kind_names.get(code).map_or(code, String::as_str)
}

/// Units that stood, or stand, in the same space.
pub(super) fn others(view: &UnitView) -> Vec<Row> {
    view.others_here
        .iter()
        .map(|other| {
            let (first, last) = other
                .installed
                .map_or((None, None), |(a, b)| (Some(a), Some(b)));
            let end = other.fate_on.map_or_else(
                || ", stands there too".to_owned(),
                |on| format!(", {} on {}", other.fate, dates::day(on)),
            );
            Row::about(
                format!("o-{}", other.id),
                Link::new(&other.number, format!("/units/{}", other.id)),
                format!(
                    ", {}, fitted {}{end}{}.",
                    kind_name(view, &other.kind),
                    dates::fitted_when(first, last),
                    tie(view, other.id)
                ),
            )
        })
        .collect()
}

/// What was stated before and what replaced it, newest first.
pub(super) fn corrections(view: &UnitView) -> Vec<Row> {
    view.statements
        .windows(2)
        .enumerate()
        .map(|(n, pair)| {
            let (now, before) = (&pair[0], &pair[1]);
            let changes = changes(view, &before.card, &now.card);
            let what = if changes.is_empty() {
                "nothing changed".to_owned()
            } else {
                changes.join("; ")
            };
            let who = view
                .names
                .get(&now.recorded_by)
                .map_or("the program", String::as_str);
            Row::plain(
                format!("c-{n}"),
                format!(
                    "{}, {who}: {what}.",
                    dates::moment(when::local(now.recorded_at))
                ),
            )
        })
        .collect()
}

fn changes(view: &UnitView, before: &UnitCard, now: &UnitCard) -> Vec<String> {
    let or = |text: &str| {
        if text.is_empty() {
            "nothing".to_owned()
        } else {
            format!("“{text}”")
        }
    };
    let fitted = |card: &UnitCard| {
        let (a, b) = card
            .installed
            .map_or((None, None), |(a, b)| (Some(a), Some(b)));
        dates::fitted_when(a, b)
    };
    let known = |value: Option<bool>| match value {
        Some(true) => "yes",
        Some(false) => "no",
        None => "not known",
    };
    let number = |value: Option<f64>| value.map_or("not known".to_owned(), |v| v.to_string());
    let mut found = Vec::new();
    let mut say = |name: &str, old: String, new: String| {
        if old != new {
            found.push(format!("{name} was {old}, now {new}"));
        }
    };
    let kind = |card: &UnitCard| kind_name(view, &card.kind).to_owned();
    say("kind", kind(before), kind(now));
    say("serial", or(&before.serial), or(&now.serial));
    say("fitting", fitted(before), fitted(now));
    say(
        "output in kW",
        number(before.rated_kw),
        number(now.rated_kw),
    );
    say("litres", number(before.litres), number(now.litres));
    say(
        "filter",
        known(before.filter_fitted).to_owned(),
        known(now.filter_fitted).to_owned(),
    );
    say(
        "scale reducer",
        known(before.reducer_fitted).to_owned(),
        known(now.reducer_fitted).to_owned(),
    );
    let day = |d: Option<NaiveDate>| d.map_or("not known".to_owned(), dates::day);
    say(
        "warranty",
        day(before.warranty_until),
        day(now.warranty_until),
    );
    say(
        "records since",
        dates::day(before.watched_from),
        dates::day(now.watched_from),
    );
    say(
        "state",
        before.fate.words().to_owned(),
        now.fate.words().to_owned(),
    );
    say("note", or(&before.note), or(&now.note));
    found
}
