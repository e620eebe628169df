//! One unit: plate, history line, chances, readings, what happened.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{Fate, HeatingSystem, UnitId};
use usecases::register::{self, UnitView};
use wording::drawings::squares::Squares;
use wording::sentences::{capital, chances, counted, dates, glue, list, money};
use wording::{Drawing, Fact, Link, Row, Shell, Table, Verb, Why};

use super::{called_back, happened, line, maker, swapped};
use crate::Failure;
use crate::advice::course::Course;
use crate::buildings::{before, floor_words};
use crate::form::{fresh_once, id_of};
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};
use crate::when;

#[derive(Template)]
#[template(path = "units/view.html")]
struct UnitPage {
    shell: Shell,
    unit_id: String,
    title: String,
    facts: Vec<String>,
    building_id: String,
    building_name: String,
    space_id: String,
    heading: String,
    standing: String,
    plate: Vec<Fact>,
    notices: Vec<Row>,
    called_back: Vec<Row>,
    weigh: Vec<Row>,
    line: Drawing,
    chances: Vec<Row>,
    squares: Option<Drawing>,
    squares_words: String,
    said: String,
    no_forecast: String,
    jobs: Vec<Row>,
    duties: Vec<Row>,
    records: Vec<Row>,
    readings: Option<Table>,
    maker: Vec<Row>,
    may_state_maker: bool,
    events: Vec<Row>,
    others: Vec<Row>,
    corrections: Vec<Row>,
    may_correct: bool,
    in_service: bool,
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let seat = reader.seat.clone();
    let (view, papers, figures) = answer(&state, move |world| {
        let view = register::unit_view(world, &seat, id)?;
        let papers = usecases::records::records_of_unit(world, &seat, id)?;
        let figures = usecases::makers::unit_figures(world, &seat, id)?;
        Ok((view, papers, figures))
    })
    .await?;
    let unit = &view.unit;
    let heading = heading(&view);
    let stair = view
        .space
        .stair
        .as_ref()
        .map_or_else(String::new, |s| format!(", stair {s}"));
    let squares = squares(&view);
    page(&UnitPage {
        shell: reader.shell(&state, "buildings"),
        unit_id: unit.id.to_string(),
        title: format!("{}, {}", unit.number, unit.space_name),
        facts: vec![
            format!("{}, {}", unit.space_name, unit.building_name),
            format!("{}{stair}", floor_words(view.space.ordinal)),
        ],
        building_id: unit.building.to_string(),
        building_name: unit.building_name.clone(),
        space_id: unit.space.to_string(),
        standing: glue(&standing(&view)),
        plate: plate(&view),
        notices: happened::notices(&view),
        called_back: called_back::rows(&view),
        weigh: weigh(&view),
        line: line::draw(&view, &heading),
        heading: glue(&heading),
        chances: chance_rows(&view),
        squares_words: squares.as_ref().map_or_else(String::new, Squares::words),
        squares: squares.map(|s| s.draw()),
        said: view.forecast.as_ref().map_or_else(String::new, |f| {
            format!("Said on {}", dates::day(f.made_on))
        }),
        no_forecast: match (&view.forecast, &view.no_forecast) {
            (Some(_), _) => String::new(),
            (None, Some(why)) => format!("Nothing can be said of its chances. {why}"),
            (None, None) => "Its forecast is made tonight.".to_owned(),
        },
        jobs: happened::jobs(&view),
        duties: cover(&view)
            .into_iter()
            .chain(happened::duties(&view))
            .collect(),
        records: papers.iter().map(crate::records::rows::row).collect(),
        readings: Some(happened::readings(&view)).filter(|t| !t.rows.is_empty()),
        maker: figures
            .figures
            .iter()
            .filter(|l| l.figure.superseded_at.is_none())
            .map(maker::row)
            .collect(),
        may_state_maker: figures.may_state && !figures.specs.is_empty(),
        events: happened::events(&view),
        others: happened::others(&view),
        corrections: happened::corrections(&view),
        may_correct: view.may_correct,
        in_service: unit.fate == Fate::InService,
    })
}

fn kind_name(view: &UnitView) -> &str {
    view.kind
        .as_ref()
        .map_or(view.unit.kind.as_str(), |k| k.name.as_str())
}

fn lower_place(view: &UnitView) -> String {
    let name = &view.unit.space_name;
    let mut letters = name.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_lowercase().chain(letters).collect())
}

fn heading(view: &UnitView) -> String {
    let unit = &view.unit;
    let kind = kind_name(view);
    let place = lower_place(view);
    if let (false, Some(on)) = (unit.fate == Fate::InService, unit.fate_on) {
        return format!(
            "{} stood in {place} until {}; it was {}",
            unit.number,
            dates::day(on),
            unit.fate
        );
    }
    let open = view
        .jobs
        .iter()
        .find(|j| !j.state.is_closed() && j.function_lost.is_some());
    let lost = open
        .and_then(|j| j.function_lost.as_deref())
        .and_then(|code| code.parse::<terms::FunctionLost>().ok());
    if let Some(notice) = view.notices.first() {
        let state = if notice.isolated {
            "isolated"
        } else {
            "not isolated"
        };
        return format!("The {kind} in {place} is unsafe and {state}");
    }
    match (lost, &view.forecast) {
        (Some(lost), _) => format!("The {kind} in {place} has a fault reported: {lost}"),
        (None, Some(forecast)) => format!(
            "The {kind} in {place} works; {} like it would fail {}",
            chances::about(forecast.season.0),
            before(forecast.season_days.1)
        ),
        (None, None) => {
            let (a, b) = unit
                .installed
                .map_or((None, None), |(a, b)| (Some(a), Some(b)));
            format!(
                "The {kind} in {place} was fitted {}",
                dates::fitted_when(a, b)
            )
        }
    }
}

fn standing(view: &UnitView) -> String {
    let failures = view
        .history
        .failures
        .iter()
        .filter(|f| !f.no_fault_found)
        .count();
    let since = dates::day(view.unit.watched_from);
    let on_record = match failures {
        0 => format!("No failure of it is on record since {since}."),
        n => format!(
            "{} on record; before {since} only what papers say.",
            capital(&counted(n as u64, "failure of it is", "failures of it are"))
        ),
    };
    if view.unit.fate != Fate::InService {
        let successor = swapped::successor(view)
            .map_or_else(String::new, |swap| format!("Replaced by {}. ", swap.new.1));
        return format!("{successor}Its history stays. {on_record}");
    }
    if failures < 3 {
        format!("{on_record} Little history: what is said rests on others of its kind.")
    } else {
        on_record
    }
}

fn plate(view: &UnitView) -> Vec<Fact> {
    let unit = &view.unit;
    let (first, last) = unit
        .installed
        .map_or((None, None), |(a, b)| (Some(a), Some(b)));
    let mut kind = vec![kind_name(view).to_owned()];
    kind.extend(unit.rated_kw.map(|kw| format!("{kw}\u{a0}kW")));
    kind.extend(unit.litres.map(|litres| format!("{litres}\u{a0}l")));
    let or_unknown = |text: &str| {
        if text.is_empty() {
            "not known".to_owned()
        } else {
            text.to_owned()
        }
    };
    let fitted = |value: Option<bool>| match value {
        Some(true) => "fitted",
        Some(false) => "none",
        None => "not known",
    };
    let mut facts = vec![
        Fact::typed("Lasting number", unit.number.clone()),
        Fact::new("Kind", kind.join(", ")),
        Fact::typed("Serial", or_unknown(&unit.serial)),
        Fact::new("Fitted", dates::fitted_when(first, last)),
        Fact::new(
            if unit.fate == Fate::InService {
                "Stands in"
            } else {
                "Stood in"
            },
            format!("{}, {}", unit.space_name, unit.building_name),
        ),
        Fact::new(
            "Water hardness",
            unit.hardness_mg_l
                .map_or("not known".to_owned(), |h| format!("{h:.0}\u{a0}mg/l")),
        ),
        Fact::new("Filter", fitted(unit.filter_fitted)),
        Fact::new("Scale reducer", fitted(unit.reducer_fitted)),
        Fact::new("Records since", dates::day(unit.watched_from)),
    ];
    if !view.alike.family.is_empty() {
        facts.push(Fact::new("Family", view.alike.family.clone()));
    }
    let system = view.alike.system.map(HeatingSystem::words);
    facts.extend(system.map(|words| Fact::new("Heating circuit", words)));
    facts.extend(
        unit.warranty_until
            .map(|until| Fact::new("Warranty until", dates::day(until))),
    );
    for (name, pipes) in [("Feeds", &view.feeds), ("Hangs on", &view.hangs_on)] {
        if !pipes.is_empty() {
            facts.push(Fact::new(name, list(pipes)));
        }
    }
    let moved = view.stays.len() > 1;
    for (stay, name) in view.stays.iter().filter(|_| moved) {
        let from = stay.from_on.map_or("unknown".to_owned(), dates::day);
        let until = stay.until_on.map_or("today".to_owned(), dates::day);
        facts.push(Fact::new("Stood", format!("{name}, {from} to {until}")));
    }
    if !unit.note.is_empty() {
        facts.push(Fact::new("Note", format!("“{}”", unit.note)));
    }
    facts
}

fn chance_rows(view: &UnitView) -> Vec<Row> {
    let Some(forecast) = &view.forecast else {
        return Vec::new();
    };
    let when = before(forecast.season_days.1);
    let (p, low, high) = forecast.season;
    let (year, year_low, year_high) = forecast.year;
    let season = Row::plain(
        "chance-season",
        format!("A failure {when}: {}.", chances::with_range(p, low, high)),
    )
    .figure(chances::brief(p), when)
    .verb(Verb::link(
        "Read the whole forecast",
        format!("/units/{}/forecast", view.unit.id),
    ))
    .why(why(view));
    let twelve = Row::plain(
        "chance-year",
        format!(
            "A failure within twelve months: {}.",
            chances::with_range(year, year_low, year_high)
        ),
    )
    .figure(chances::brief(year), "within a year");
    vec![season, twelve]
}

fn why(view: &UnitView) -> Why {
    let unit = &view.unit;
    let (a, b) = unit
        .installed
        .map_or((None, None), |(a, b)| (Some(a), Some(b)));
    let failures = view
        .history
        .failures
        .iter()
        .filter(|f| !f.no_fault_found)
        .count();
    let parts = view.history.parts.len();
    let mut used = vec![
        format!("fitted {}", dates::fitted_when(a, b)),
        counted(failures as u64, "failure on record", "failures on record"),
        counted(parts as u64, "part replaced", "parts replaced"),
        format!("watched since {}", dates::day(unit.watched_from)),
    ];
    if let Some(h) = unit.hardness_mg_l {
        used.push(format!("water {h:.0}\u{a0}mg/l"));
    }
    let mut paragraphs = vec![
        format!("Used: {}.", used.join("; ")),
        "Method: each part ages on its own clock; how this unit differs from its sisters is learned from its own history, once. The range in brackets holds 8 cases in 10.".to_owned(),
        "Never a reason to replace on age alone.".to_owned(),
    ];
    if let Some(kind) = &view.kind {
        paragraphs.push(format!(
            "Starting figures of its kind: {}, as at {}.",
            kind.status,
            dates::day(kind.as_at)
        ));
    }
    Why {
        more: Some(Link::new("How right we were", "/track-record")),
        ..Why::this(paragraphs)
    }
}

/// The advice in force, or the way to ask for one.
fn weigh(view: &UnitView) -> Vec<Row> {
    if view.unit.fate != Fate::InService || !view.shows_money {
        return Vec::new();
    }
    let id = view.unit.id;
    let Some(advice) = &view.advice else {
        let fields = vec![("once".to_owned(), fresh_once())];
        let row = Row::plain(
            "weigh",
            "Keeping it was not weighed against replacing it yet.",
        );
        return if view.may_correct {
            vec![row.verb(Verb::post(
                "Weigh it",
                format!("/units/{id}/advice"),
                fields,
            ))]
        } else {
            Vec::new()
        };
    };
    let said = Course {
        advised: &advice.course,
        close: advice.close_call,
        quote: advice.quote_pence,
        new: view.replacing_costs,
    };
    let sentence = format!(
        "The advice of {}: {}.",
        dates::day(when::local_day(advice.made_at)),
        said.words("it", "now", "")
    );
    let row = Row::plain("weigh", sentence).verb(Verb::link(
        "Read the advice",
        format!("/advice/{}", advice.id),
    ));
    vec![match advice.limit {
        Some(limit) => row.figure(money::exact(limit), "repair limit"),
        None => row,
    }]
}

/// The date a warranty hangs on, and what is lost with it.
fn cover(view: &UnitView) -> Option<Row> {
    let risk = view.at_risk.as_ref()?;
    let words = format!(
        "By {} {} must be done, or cover worth about {} ends: the warranty until {} mostly hangs on it.",
        dates::day(risk.by),
        risk.duty.to_lowercase(),
        risk.worth,
        dates::day(risk.until)
    );
    Some(Row::plain("cover", words).figure(risk.worth.to_string(), "cover at risk"))
}

fn squares(view: &UnitView) -> Option<Squares> {
    let forecast = view.forecast.as_ref()?;
    let kind = view.kind.as_ref()?;
    let (once, many) = (
        format!("{} like it", kind.name),
        format!("{} like it", kind.plural),
    );
    let (chance, _, high) = forecast.season;
    let what = format!("to fail {}", before(forecast.season_days.1));
    Some(Squares::of_chance(
        "squares",
        12,
        (chance, high),
        ((&once, &many), &what),
    ))
}

impl UnitPage {
    /// What the line shows.
    fn line_note(&self) -> &'static str {
        if self.in_service {
            "Fitted to today, then the forecast"
        } else {
            "From its fitting to the day it left"
        }
    }
}
