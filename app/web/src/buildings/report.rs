//! The first report to the landlord of a building taken on: what stands there, what is unsafe, due in sixty days and past
//! its planning age, what is known and what is not, who finds out what by when. To be printed.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, Role};
use usecases::gaps::{self, DAYS_AHEAD, FirstReport};
use usecases::register::Question;
use wording::sentences::{capital, counted, dates, glue, list, number_word, plural};
use wording::{Drawing, Row, Shell};

use super::gaps::row;
use super::section::{before, elevation};
use crate::Failure;
use crate::form::id_of;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};
use crate::when;

#[derive(Template)]
#[template(path = "buildings/report.html")]
struct ReportPage {
    shell: Shell,
    name: String,
    facts: Vec<String>,
    heading: String,
    standing: String,
    stands: Vec<String>,
    drawing: Drawing,
    now: Vec<String>,
    unsafe_units: Vec<String>,
    due: Vec<Said>,
    aged: Vec<Said>,
    none_aged: bool,
    gaps: Vec<Row>,
    /// Where somebody is named to find a thing out; for the desk.
    naming: Option<String>,
    foot: String,
}

/// One line with its units.
struct Said {
    /// "Gas safety check"; the whole sentence where no unit follows.
    what: String,
    units: Vec<SaidUnit>,
}

/// A unit's number, which stays on one line, and what is said of it.
struct SaidUnit {
    number: String,
    said: String,
}

impl Said {
    fn sentence(what: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            units: Vec::new(),
        }
    }
}

/// "MM-18-1, Flat 18" and what is said of it.
fn said_unit(unit: &str, said: &str) -> SaidUnit {
    let (number, place) = unit.split_once(", ").unwrap_or((unit, ""));
    let place = match place {
        "" => String::new(),
        place => glue(&format!(", {place}")),
    };
    SaidUnit {
        number: number.to_owned(),
        said: format!("{place}{said}"),
    }
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: BuildingId = id_of(&path, "building")?;
    let (seat, day) = (reader.seat.clone(), when::local_day(state.world.now()));
    let report = answer(&state, move |world| {
        gaps::first_report(world, &seat, (id, day))
    })
    .await?;
    let finding = heading(&report);
    page(&ReportPage {
        shell: reader.shell(&state, "buildings"),
        name: report.view.building.name.clone(),
        facts: facts(&report),
        drawing: elevation(&report.view, Question::Oldest, &finding).draw(),
        heading: finding,
        standing: standing(&report),
        stands: stands(&report),
        now: now(&report),
        unsafe_units: unsafe_units(&report),
        due: due(&report, day),
        aged: aged(&report),
        none_aged: report.now.aged.is_empty(),
        gaps: gap_rows(&report, day),
        naming: (reader.seat.role() == Role::Agent && !report.gaps.is_empty())
            .then(|| format!("/buildings/{id}/gaps")),
        foot: format!(
            "As known on {}, from what was handed over and what was found since. What is not known is named, not guessed.",
            dates::day(day)
        ),
    })
}

fn heading(report: &FirstReport) -> String {
    let name = &report.view.building.name;
    let homes = counted(report.view.flats.len() as u64, "home", "homes");
    match report.gaps.len() {
        0 => format!("{name}, {homes}: everything that matters is known"),
        n => format!(
            "{name}, {homes}: {} not known yet",
            counted(n as u64, "thing is", "things are")
        ),
    }
}

fn standing(report: &FirstReport) -> String {
    let named = report.gaps.iter().filter(|g| g.finder.is_some()).count() as u64;
    let since = format!("In our care since {}.", dates::day(report.taken_on));
    match (report.gaps.len() as u64, named) {
        (0, _) => since,
        (all, named) if all == named => {
            format!("{since} Each gap has somebody who finds it out, and a day.")
        }
        (_, 0) => format!("{since} Nobody is named yet to find them out."),
        (all, named) => format!(
            "{since} For {} of them somebody is named to find it out; for {} nobody.",
            number_word(named),
            number_word(all - named)
        ),
    }
}

fn facts(report: &FirstReport) -> Vec<String> {
    let building = &report.view.building;
    let mut facts = vec![building.name.clone()];
    if !building.address.is_empty() {
        facts.push(building.address.clone());
    }
    facts.extend(building.built_year.map(|year| format!("Built {year}")));
    facts.push("First report".to_owned());
    facts
}

fn stands(report: &FirstReport) -> Vec<String> {
    let kinds: Vec<String> = report
        .kinds
        .iter()
        .map(|(plural, count)| format!("{count}\u{a0}{plural}"))
        .collect();
    let mut said = vec![if kinds.is_empty() {
        "No unit is on record yet.".to_owned()
    } else {
        format!("On record there: {}.", list(&kinds))
    }];
    let pipes = report.view.branches.len() as u64;
    if pipes > 0 {
        said.push(format!(
            "{} on record, with what feeds them and what hangs on them.",
            capital(&counted(pipes, "pipe is", "pipes are"))
        ));
    }
    if !report.view.flats.is_empty() {
        said.push(
            "In the drawing each home carries the year its oldest unit was fitted.".to_owned(),
        );
    }
    said
}

fn now(report: &FirstReport) -> Vec<String> {
    let (dated, undated, late) = report.duties;
    let lateness = match late as u64 {
        0 => "none is late".to_owned(),
        n => format!("{} late", counted(n, "is", "are")),
    };
    let kept = counted(
        dated as u64,
        "check or service is",
        "checks and services are",
    );
    let mut said = vec![format!("{} kept with a date; {lateness}.", capital(&kept))];
    if undated > 0 {
        said.push(format!(
            "{} no date until the papers of the last one come.",
            capital(&counted(
                undated as u64,
                "further one has",
                "further ones have"
            ))
        ));
    }
    if let (Some(likely), Some((_, until))) = (report.view.likely, report.view.season) {
        said.push(format!(
            "Of the {} that give the homes heat or hot water about {:.0} {} likely to fail {} ({} to {}).",
            plural(likely.of as u64, "unit", "units"),
            likely.expected,
            if likely.expected.round() == 1.0 { "is" } else { "are" },
            before(until),
            likely.low,
            likely.high
        ));
    }
    said
}

/// What is not known. Where nobody is named for any of it, the heading says so and no row again.
fn gap_rows(report: &FirstReport, day: chrono::NaiveDate) -> Vec<Row> {
    let nobody = report.gaps.iter().all(|g| g.finder.is_none());
    let mut rows: Vec<Row> = report.gaps.iter().map(|g| row(g, day, false)).collect();
    for row in rows.iter_mut().filter(|_| nobody) {
        row.more.pop();
    }
    rows
}

/// One line a unit: what was found there, and since when.
fn unsafe_units(report: &FirstReport) -> Vec<String> {
    let found = &report.now.unsafe_units;
    if found.is_empty() {
        return vec!["Nothing there is unsafe or isolated on record.".to_owned()];
    }
    found
        .iter()
        .map(|unit| {
            let class = match unit.class.as_str() {
                "ID" => "immediately dangerous",
                "AR" => "at risk",
                other => other,
            };
            let isolated = if unit.isolated {
                "isolated"
            } else {
                "not isolated"
            };
            format!(
                "{}: {class}, {isolated}, since {}. {}",
                unit.unit,
                dates::day(unit.since),
                unit.words
            )
        })
        .collect()
}

/// One line a duty: each unit with its day; what is late says so.
fn due(report: &FirstReport, day: chrono::NaiveDate) -> Vec<Said> {
    let due = &report.now.due;
    let mut said: Vec<Said> = due
        .chunk_by(|a, b| a.duty == b.duty)
        .map(|of_duty| Said {
            what: of_duty
                .first()
                .map_or_else(String::new, |one| one.duty.clone()),
            units: of_duty
                .iter()
                .map(|one| {
                    let late = if one.by < day { ", late" } else { "" };
                    said_unit(&one.unit, &format!(" by {}{late}", dates::day(one.by)))
                })
                .collect(),
        })
        .collect();
    if said.is_empty() {
        said.push(Said::sentence(format!(
            "Nothing with a date is due in {DAYS_AHEAD} days, and nothing is late."
        )));
    }
    said
}

/// One line a kind: each unit with its age. Never advice.
fn aged(report: &FirstReport) -> Vec<Said> {
    let aged = &report.now.aged;
    if aged.is_empty() {
        return vec![Said::sentence(
            "No unit whose year is known is past the age at which half of its kind have been replaced.",
        )];
    }
    aged.chunk_by(|a, b| a.kind == b.kind)
        .map(|of_kind| {
            let (kind, half) = of_kind
                .first()
                .map_or(("", 0.0), |one| (one.kind.as_str(), one.half_replaced));
            Said {
                what: format!(
                    "{}, half of them replaced by {half:.0}\u{a0}years",
                    capital(kind)
                ),
                units: of_kind
                    .iter()
                    .map(|one| said_unit(&one.unit, &format!(" ({})", years_words(one.years))))
                    .collect(),
            }
        })
        .collect()
}

/// "28 years" where the day is known, "27 or 28 years" where only the year is, "24 to 30 years".
fn years_words((least, most): (i32, i32)) -> String {
    match most - least {
        ..=0 => format!("{least}\u{a0}years"),
        1 => format!("{least}\u{a0}or\u{a0}{most}\u{a0}years"),
        _ => format!("{least}\u{a0}to\u{a0}{most}\u{a0}years"),
    }
}
