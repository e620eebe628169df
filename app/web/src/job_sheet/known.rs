//! What is known before a visit: the last jobs, the last readings, the likely parts. In sentences, on the page itself.
use usecases::visit::{self, ReadingSpec, RuleBook};
use usecases::work::JobView;
use wording::sentences::{capital, dates, glue, money};

use crate::when;

/// The last failures and services, newest first.
pub(crate) fn past(view: &JobView) -> Vec<String> {
    let mut past: Vec<(chrono::NaiveDate, String)> = view
        .history
        .failures
        .iter()
        .map(|f| {
            let what = f
                .part
                .as_ref()
                .map_or_else(|| "failure".to_owned(), |code| part_name(view, code));
            let cost = f
                .cost
                .map_or_else(String::new, |c| format!(", {}", money::exact(c)));
            (f.happened_on, format!("{what}{cost}.{}", quoted(&f.words)))
        })
        .chain(
            view.history
                .services
                .iter()
                .map(|s| (s.happened_on, format!("{}.{}", s.what, quoted(&s.words)))),
        )
        .collect();
    past.sort_by_key(|entry| std::cmp::Reverse(entry.0));
    past.truncate(5);
    past.into_iter()
        .map(|(on, what)| format!("{}: {what}", dates::day(on)))
        .collect()
}

/// What somebody wrote, as a sentence of theirs; nothing for nothing.
fn quoted(words: &str) -> String {
    match words.trim() {
        "" => String::new(),
        words => format!(" “{words}”"),
    }
}

/// "temperature sensor", as the likely parts call it.
fn part_name(view: &JobView, code: &str) -> String {
    let kind = view.unit.as_ref().map_or("", |u| u.kind.as_str());
    let table = RuleBook::shipped().and_then(|book| book.table(kind));
    let part = table.ok().and_then(|table| table.part(code));
    part.map_or_else(|| code.replace('_', " "), |row| lower_first(&row.part))
}

fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_lowercase().chain(letters).collect())
}

/// The readings of the last day anything was read: the day, and a line for each of them with where it was taken.
pub(crate) fn last_readings(view: &JobView) -> Option<(String, Vec<String>)> {
    let first = view.last_readings.first()?;
    let on = when::local_day(first.taken_at);
    let mut lines: Vec<(Option<&'static str>, Vec<String>)> = Vec::new();
    let of_the_day = view
        .last_readings
        .iter()
        .filter(|r| when::local_day(r.taken_at) == on);
    for reading in of_the_day.take(8) {
        let value = reading
            .value
            .map_or_else(|| reading.words.clone(), |v| v.to_string());
        let value = format!("{value}\u{a0}{}", reading.measured_in);
        let value = value.trim_end();
        match field_of(view, &reading.code) {
            Some((spec, _)) if spec.fields.len() == 1 => {
                lines.push((None, vec![format!("{}: {value}", spec.label)]));
            }
            Some((spec, label)) => {
                let (head, said) = (spec.head(), format!("{}: {value}", lower_first(label)));
                match lines.iter_mut().find(|(of, _)| *of == Some(head)) {
                    Some((_, all)) => all.push(said),
                    None => lines.push((Some(head), vec![said])),
                }
            }
            None => {
                let name = capital(&reading.code.replace('_', " "));
                lines.push((None, vec![format!("{name}: {value}")]));
            }
        }
    }
    let said = lines.into_iter().map(|(of, all)| match of {
        Some(label) => glue(&format!("{label}. {}.", capital(&all.join("; ")))),
        None => format!("{}.", all.join("; ")),
    });
    Some((dates::day(on), said.collect()))
}

/// The reading a field belongs to, and what the sheet calls the field.
fn field_of(view: &JobView, code: &str) -> Option<(&'static ReadingSpec, &'static str)> {
    let kind = view.unit.as_ref().map_or("", |u| u.kind.as_str());
    let set = RuleBook::shipped().ok()?.set(kind)?;
    set.readings.iter().chain(&set.tests).find_map(|spec| {
        let field = spec.fields.iter().find(|field| field.code == code)?;
        Some((spec, field.label.as_str()))
    })
}

/// The likely parts with their chances.
pub(crate) fn likely(view: &JobView) -> Option<String> {
    let ranking = view.ranking.as_ref()?;
    let parts: Vec<String> = ranking
        .top
        .iter()
        .map(|r| format!("{}, {}", r.part, visit::chance_words(r.chance)))
        .collect();
    Some(glue(&parts.join("; ")))
}
