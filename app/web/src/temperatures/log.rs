//! The water temperature log, to be printed: every line with what the record asks, every gap named.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, Level, Role};
use usecases::water::{self, LogMonth, LogRow, WaterLog};
use wording::sentences::{capital, counted, dates, plural};
use wording::{Ask, Shell, Table};

use super::{number, place_words, standing};
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::page::page;
use crate::seats::LogReader;
use crate::state::{State, answer};

/// Spans offered, months.
const SPANS: [u32; 4] = [3, 12, 24, 60];

#[derive(Template)]
#[template(path = "temperatures/log.html")]
struct LogPage {
    shell: Shell,
    facts: Vec<String>,
    name: String,
    heading: String,
    standing: String,
    asks: Vec<Ask>,
    gaps: Vec<String>,
    months: Vec<Table>,
    foot: Vec<String>,
    walks: bool,
    building: BuildingId,
}

/// The page.
pub(super) async fn show(
    reader: LogReader,
    state: web::Data<State>,
    path: web::Path<String>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let building: BuildingId = id_of(&path, "building")?;
    let months: u32 = query.value("months").parse().unwrap_or(12).clamp(1, 60);
    let seat = reader.seat.clone();
    let log = answer(&state, move |world| {
        water::water_log(world, &seat, building, months)
    })
    .await?;
    let book = usecases::visit::RuleBook::shipped()
        .map_err(|e| usecases::Error::Internal(e.to_string()))?;
    let lines: usize = log.months.iter().map(|m| m.rows.len()).sum();
    page(&LogPage {
        shell: reader.shell(&state),
        facts: facts(&log, months),
        name: log.building.name.clone(),
        heading: format!("Water temperature log of {}", log.building.name),
        standing: standing_words(&log, lines),
        asks: SPANS
            .into_iter()
            .map(|n| Ask {
                words: capital(&plural(u64::from(n), "month", "months")),
                href: format!("/temperatures/{building}/log?months={n}"),
                current: n == months,
            })
            .collect(),
        gaps: gaps(&log),
        months: log
            .months
            .iter()
            .filter(|m| !m.rows.is_empty())
            .map(table)
            .collect(),
        foot: foot(&log, &standing::limits(book.as_at()), book.digest()),
        walks: reader.seat.role() != Role::Landlord,
        building,
    })
}

fn facts(log: &WaterLog, months: u32) -> Vec<String> {
    let mut facts = vec![log.estate_name.clone(), log.building.name.clone()];
    if !log.building.address.is_empty() {
        facts.push(log.building.address.clone());
    }
    facts.push(format!(
        "last {}",
        plural(u64::from(months), "month", "months")
    ));
    facts.push(format!("as known on {}", dates::day(log.today)));
    facts
}

fn standing_words(log: &WaterLog, lines: usize) -> String {
    let rounds: std::collections::BTreeSet<_> = log
        .months
        .iter()
        .flat_map(|m| m.rows.iter().map(|r| r.temperature.round))
        .collect();
    let out = log
        .months
        .iter()
        .flat_map(|m| &m.rows)
        .filter(|r| r.temperature.is_out())
        .count() as u64;
    let complete = if log.gaps.is_empty() && lines > 0 {
        "Nothing the record asks for is missing.".to_owned()
    } else {
        "What is missing is named below.".to_owned()
    };
    let out = match out {
        0 => "none was out of its limit".to_owned(),
        n => format!("{} out of its limit", counted(n, "was", "were")),
    };
    format!(
        "{} on {}; {out}. {complete}",
        capital(&plural(lines as u64, "temperature", "temperatures")),
        plural(rounds.len() as u64, "round", "rounds")
    )
}

/// What the record lacks, and the months in which no round was taken.
fn gaps(log: &WaterLog) -> Vec<String> {
    let empty = log
        .months
        .iter()
        .filter(|m| m.rows.is_empty())
        .map(|m| format!("{}: no round is on record.", dates::month_year(m.first)));
    let known = log
        .gaps
        .iter()
        .filter(|_| log.months.iter().any(|m| !m.rows.is_empty()));
    empty.chain(known.cloned()).collect()
}

fn table(month: &LogMonth) -> Table {
    let rows = month.rows.iter().map(cells).collect();
    let mut table = Table::new(
        &[
            "Day",
            "Outlet",
            "Place",
            "°C",
            "Ran, s",
            "What it says, what was done",
            "Thermometer",
            "Taken by",
        ],
        rows,
    )
    .numbers(&[3, 4]);
    table.caption = dates::month_year(month.first);
    table
}

fn cells(row: &LogRow) -> Vec<String> {
    let t = &row.temperature;
    let calibrated = row.calibrated_until.map_or_else(String::new, |day| {
        format!(", calibrated to {}", dates::day_brief(day))
    });
    vec![
        dates::day_brief(t.on),
        t.outlet_name.clone(),
        place_words(t.place).to_owned(),
        t.temp_c.map_or_else(|| "not taken".to_owned(), number),
        t.seconds_run
            .map_or_else(|| "–".to_owned(), |s| s.to_string()),
        said(row),
        format!("{}{calibrated}", row.thermometer),
        row.by.split(", ").next().unwrap_or_default().to_owned(),
    ]
}

fn said(row: &LogRow) -> String {
    let t = &row.temperature;
    let mut said = match t.level {
        None => "within its limit".to_owned(),
        Some(Level::Info) => t.words.clone(),
        Some(level) => format!("{}: {}", capital(level.words()), t.words),
    };
    match t.flushed {
        Some(true) => said.push_str(" Flushed."),
        Some(false) => said.push_str(" Not flushed."),
        None => {}
    }
    if !t.action.is_empty() {
        said = format!("{said} Done: {}", t.action);
    }
    said
}

fn foot(log: &WaterLog, limits: &str, digest: &str) -> Vec<String> {
    let mut foot = vec![
        "Hot taps 50 °C or more within one minute, cold taps under 20 °C within two minutes; leaving the store 60 °C or \
         more, coming back 50 °C or more (published pages)."
            .to_owned(),
        limits.to_owned(),
        format!("Judged by rule book {}.", digest.get(..12).unwrap_or(digest)),
        "What the log lists: common practice, no source.".to_owned(),
    ];
    if let Some(until) = log.keep_until {
        foot.push(format!(
            "Its oldest line is kept until {} at the least: five years.",
            dates::day(until)
        ));
    }
    foot
}
