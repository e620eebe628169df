//! The history line of a unit from what is on record.
use chrono::{Days, Months, NaiveDate};
use terms::unit::FailureRecord;
use terms::{Fate, FunctionLost};
use usecases::register::UnitView;
use wording::Drawing;
use wording::drawings::history::{Ahead, Failure, HistoryLine, PartClock, Visit};
use wording::sentences::{dates, money};

use super::swapped::successor;
use crate::when;

/// Part clocks drawn at most.
const MOST_PARTS: usize = 5;
/// A repair within so many days of a failure is taken for its end.
const REPAIR_DAYS: u64 = 60;

/// "Diverter valve" of "Diverter valve or its motor".
pub(super) fn part_name(view: &UnitView, code: &str) -> String {
    view.parts
        .iter()
        .find(|p| p.code == code)
        .map_or_else(|| code.replace('_', " "), |p| short(&p.name).to_owned())
}

fn short(name: &str) -> &str {
    let end = [",", " (", " or ", " / "]
        .iter()
        .filter_map(|mark| name.find(mark))
        .min();
    let name = &name[..end.unwrap_or(name.len())];
    name.strip_suffix(" heat exchanger")
        .filter(|n| n.contains(' '))
        .unwrap_or(name)
}

/// What was lost, in words.
pub(super) fn lost_words(failure: &FailureRecord) -> String {
    let function = failure
        .function_lost
        .as_deref()
        .and_then(|code| code.parse::<FunctionLost>().ok());
    match function {
        Some(FunctionLost::Heating) => "no heating".to_owned(),
        Some(FunctionLost::HotWater) => "no hot water".to_owned(),
        Some(FunctionLost::HeatingAndHotWater) => "no heating, no hot water".to_owned(),
        Some(other) => other.words().to_owned(),
        None if failure.found_at_service => "found at a service".to_owned(),
        None => "failure".to_owned(),
    }
}

/// The line, fitted to today, then the forecast.
pub(super) fn draw(view: &UnitView, finding: &str) -> Drawing {
    let unit = &view.unit;
    let (first, last) = unit
        .installed
        .map_or((None, None), |(a, b)| (Some(a), Some(b)));
    let mut drawing = HistoryLine {
        id: "line".to_owned(),
        title: format!(
            "{} in {}, fitted to today, then the forecast",
            unit.number, unit.space_name
        ),
        finding: finding.to_owned(),
        today: unit.fate_on.unwrap_or(view.today).min(view.today),
        gone: unit.fate != Fate::InService,
        fitted: (first, last),
        register_opened: Some(unit.watched_from),
        failures: view
            .history
            .failures
            .iter()
            .filter(|f| !f.no_fault_found)
            .map(|f| failure(view, f))
            .collect(),
        visits: visits(view),
        parts: parts(view),
        forecast: ahead(view),
    }
    .draw();
    if let Some(swap) = successor(view) {
        let said = format!(" Replaced by {} on {}.", swap.new.1, dates::day(swap.on));
        drawing.caption.push_str(&said);
    }
    drawing
}

fn failure(view: &UnitView, record: &FailureRecord) -> Failure {
    let cost = record.cost.filter(|_| view.shows_money);
    let mut detail: Vec<String> = Vec::new();
    detail.extend(
        record
            .part
            .as_deref()
            .map(|p| part_name(view, p).to_lowercase()),
    );
    detail.extend(cost.map(money::whole));
    Failure {
        on: record.happened_on,
        words: lost_words(record),
        detail: detail.join(", "),
        repaired_on: repaired_on(view, record),
        cost,
    }
}

/// The first repair or new part on or after a failure: of the same job, or within sixty days.
fn repaired_on(view: &UnitView, record: &FailureRecord) -> Option<NaiveDate> {
    let until = record
        .happened_on
        .checked_add_days(Days::new(REPAIR_DAYS))?;
    let fits = |day: NaiveDate, job| {
        day >= record.happened_on && ((job == record.job && record.job.is_some()) || day <= until)
    };
    let parts = view.history.parts.iter().map(|p| (p.fitted_on, p.job));
    let repairs = view
        .history
        .services
        .iter()
        .filter(|s| s.what == "repair")
        .map(|s| (s.happened_on, s.job));
    parts
        .chain(repairs)
        .filter(|(day, job)| fits(*day, *job))
        .map(|(day, _)| day)
        .min()
}

fn visits(view: &UnitView) -> Vec<Visit> {
    view.history
        .services
        .iter()
        .filter(|s| s.what != "repair" && s.what != "replacement")
        .map(|s| Visit {
            on: s.happened_on,
            readings: view
                .readings
                .iter()
                .any(|(_, r)| when::local_day(r.taken_at) == s.happened_on),
        })
        .collect()
}

fn parts(view: &UnitView) -> Vec<PartClock> {
    let mut clocks: Vec<(Option<NaiveDate>, f64, String)> = view
        .parts
        .iter()
        .filter(|p| p.clock == "part")
        .map(|p| {
            let replaced = view
                .history
                .parts
                .iter()
                .filter(|f| f.part == p.code)
                .map(|f| f.fitted_on)
                .max();
            (replaced, p.share, short(&p.name).to_owned())
        })
        .collect();
    // Replaced ones first, then those that fail most.
    clocks.sort_by(|a, b| b.0.is_some().cmp(&a.0.is_some()).then(b.1.total_cmp(&a.1)));
    clocks
        .into_iter()
        .take(MOST_PARTS)
        .map(|(replaced_on, _, name)| PartClock { name, replaced_on })
        .collect()
}

fn ahead(view: &UnitView) -> Vec<Ahead> {
    let Some(forecast) = &view.forecast else {
        return Vec::new();
    };
    let point = |by: NaiveDate, (chance, low, high): (f64, f64, f64)| Ahead {
        by,
        chance,
        low,
        high,
        named: true,
    };
    let mut points = Vec::new();
    let year = forecast.made_on.checked_add_months(Months::new(12));
    let season = forecast.season_days.1.succ_opt();
    // A season that has not begun is no stretch from today; only its year is then drawn.
    if forecast.season_days.0 <= view.today {
        points.extend(season.map(|by| point(by, forecast.season)));
    }
    points.extend(year.map(|by| point(by, forecast.year)));
    points
}
