//! What is known before a visit: the last jobs, the last readings, the likely parts. In sentences, on the page itself.
use usecases::visit::{self, RuleBook};
use usecases::work::JobView;
use wording::sentences::{dates, money};

use crate::when;

/// The last failures and services, newest first.
pub(crate) fn past(view: &JobView) -> Vec<String> {
    let mut past: Vec<(chrono::NaiveDate, String)> = view
        .history
        .failures
        .iter()
        .map(|f| {
            let what = f.part.clone().unwrap_or_else(|| "failure".to_owned());
            let cost = f
                .cost
                .map_or_else(String::new, |c| format!(", {}", money::exact(c)));
            (
                f.happened_on,
                format!("{}{cost}. {}", what.replace('_', " "), f.words),
            )
        })
        .chain(
            view.history
                .services
                .iter()
                .map(|s| (s.happened_on, format!("{}. {}", s.what, s.words))),
        )
        .collect();
    past.sort_by_key(|entry| std::cmp::Reverse(entry.0));
    past.truncate(5);
    past.into_iter()
        .map(|(on, what)| format!("{}: {what}", dates::day(on)))
        .collect()
}

/// The readings of the last day anything was read.
pub(crate) fn last_readings(view: &JobView) -> Option<String> {
    let first = view.last_readings.first()?;
    let shown: Vec<String> = view
        .last_readings
        .iter()
        .filter(|r| when::local_day(r.taken_at) == when::local_day(first.taken_at))
        .take(8)
        .map(|r| {
            let value = r.value.map_or_else(|| r.words.clone(), |v| v.to_string());
            let name = reading_name(view, &r.code);
            format!("{name} {value} {}", r.measured_in)
                .trim_end()
                .to_owned()
        })
        .collect();
    Some(format!(
        "{}: {}.",
        dates::day(when::local_day(first.taken_at)),
        shown.join("; ")
    ))
}

/// What the sheet calls a reading's field: "Flow temperature".
fn reading_name(view: &JobView, code: &str) -> String {
    let kind = view.unit.as_ref().map_or("", |u| u.kind.as_str());
    let set = RuleBook::shipped().ok().and_then(|book| book.set(kind));
    let mut fields = set
        .into_iter()
        .flat_map(|set| set.readings.iter().chain(&set.tests))
        .flat_map(|spec| &spec.fields);
    fields
        .find(|field| field.code == code)
        .map_or_else(|| code.replace('_', " "), |field| field.label.clone())
}

/// The likely parts with their chances.
pub(crate) fn likely(view: &JobView) -> Option<String> {
    let ranking = view.ranking.as_ref()?;
    let parts: Vec<String> = ranking
        .top
        .iter()
        .map(|r| format!("{}, {}", r.part, visit::chance_words(r.chance)))
        .collect();
    Some(parts.join("; "))
}
