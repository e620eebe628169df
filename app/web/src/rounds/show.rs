//! The round on a page: days, the year, what found no day.
use std::collections::BTreeMap;

use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::BuildingId;
use usecases::plan::{self, Rounds};
use wording::sentences::{capital, counted, dates, plural};
use wording::{Ask, Choice, Drawing, Link, Row, Shell, Verb, Why};

use super::days::{DaySheet, engineers, sheets, unplaced};
use super::{asks, breaks, proof, reasons, strip, times, ways};
use crate::Failure;
use crate::duties::NOT_ADVICE;
use crate::form::{Typed, fresh_once};
use crate::page::page;
use crate::seats::Desk;
use crate::state::{State, answer};
use crate::when;

/// Engineers' days on one page.
const SHEETS: usize = 8;

#[derive(Template)]
#[template(path = "rounds/rounds.html")]
pub(super) struct RoundsPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    once: String,
    placed_before: bool,
    under_way: Vec<Row>,
    how: Vec<Row>,
    moved: (String, Vec<Row>),
    asks: Vec<Row>,
    struck: Vec<Row>,
    engineers: Vec<Choice>,
    firms: Vec<Choice>,
    firm_days: Vec<(usize, &'static str, bool)>,
    late: Vec<Row>,
    breaks: Vec<Row>,
    ways: Vec<Row>,
    way_buildings: Option<(Vec<Choice>, Vec<Choice>)>,
    strip_turns: Vec<Link>,
    form: Typed,
    days: Vec<DaySheet>,
    turns: Vec<Link>,
    unplaced: Vec<Row>,
    strip: Option<(Drawing, String)>,
    strip_asks: Vec<Ask>,
    not_advice: &'static str,
}

/// The page.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut query = query.into_inner();
    let shell = desk.shell(&state, "rounds");
    let found = answer(&state, move |world| plan::rounds(world, &desk.seat)).await?;
    let page_of = query.value("visits").parse::<usize>().unwrap_or(1);
    let wanted = (
        query.date("from"),
        query.value("building").parse().ok(),
        page_of,
    );
    let form = Typed::starting_with([
        ("away_from", dates::machine(found.today)),
        ("hours_from", "08:00".to_owned()),
        ("hours_until", "16:00".to_owned()),
    ]);
    page(&RoundsPage::new(
        shell,
        &found,
        wanted,
        (form, fresh_once()),
    ))
}

impl RoundsPage {
    /// The page from a day on, the strip of a building, with a form as typed.
    pub(super) fn new(
        shell: Shell,
        found: &Rounds,
        (from, building, page_of): (Option<NaiveDate>, Option<BuildingId>, usize),
        (form, once): (Typed, String),
    ) -> Self {
        let from = from.unwrap_or(found.today).max(found.today);
        let buildings: BTreeMap<&str, BuildingId> = found
            .visits
            .iter()
            .map(|v| (v.unit.building_name.as_str(), v.unit.building))
            .collect();
        let building = building.or_else(|| buildings.values().next().copied());
        let strip_asks = buildings
            .iter()
            .map(|(name, id)| Ask {
                words: (*name).to_owned(),
                href: format!(
                    "/rounds?from={}&building={id}#the-year",
                    dates::machine(from)
                ),
                current: building == Some(*id),
            })
            .collect();
        let (finding, standing) = said(found);
        let drawn = building.and_then(|b| strip::draw(found, b, page_of));
        let days = sheets(found, from, SHEETS);
        Self {
            facts: vec![
                shell.estate_name.clone(),
                engineers(found),
                format!("as known on {}", dates::day(found.today)),
            ],
            shell,
            finding,
            standing,
            once,
            placed_before: found.card.is_some(),
            under_way: under_way(found),
            how: how(found),
            moved: proof::moved(found),
            asks: asks::rows(found),
            struck: asks::struck(found),
            engineers: asks::engineers(found, &form),
            firms: times::firms(found, &form),
            firm_days: times::days(&form, "hours"),
            late: reasons::late(found),
            breaks: breaks::rows(found),
            ways: ways::rows(found),
            way_buildings: ways::choices(found, &form),
            strip_turns: drawn
                .as_ref()
                .zip(building)
                .map(|(strip, b)| strip.turns((from, b)))
                .unwrap_or_default(),
            form,
            turns: turns(found, from, &days),
            days,
            unplaced: unplaced(found),
            strip: drawn.map(|strip| (strip.drawing, strip.note)),
            strip_asks,
            not_advice: NOT_ADVICE,
        }
    }
}

fn under_way(found: &Rounds) -> Vec<Row> {
    let Some(words) = &found.under_way else {
        return Vec::new();
    };
    let words = if words.is_empty() {
        "The visits wait for their turn to be placed"
    } else {
        words.as_str()
    };
    let sentence =
        format!("{words}. You can leave this page; the last finished round stands below.");
    let stop = Verb::post(
        "Stop now, keep what is found",
        "/rounds/stop",
        vec![("once".to_owned(), fresh_once())],
    );
    vec![
        Row::plain("under-way", sentence)
            .verb(Verb::link("See how far it is", "/rounds"))
            .verb(stop),
    ]
}

fn said(found: &Rounds) -> (String, String) {
    let placed = found
        .visits
        .iter()
        .filter(|v| v.row.on_day.is_some())
        .count() as u64;
    let without = found.visits.len() as u64 - placed;
    let Some(at) = found.made_at() else {
        let standing = if found.names.firms.is_empty() {
            "No firm gives this estate time yet, so nobody could come. Enter a firm and its hours first."
        } else {
            "Place the visits, and every duty due inside twelve months gets a day within its window and the firms’ hours."
        };
        return ("No visits are placed yet".to_owned(), standing.to_owned());
    };
    let finding = match (placed, without) {
        (0, 0) => "Nothing is due inside twelve months".to_owned(),
        (placed, 0) => format!(
            "{} placed, and every one has its day",
            counted(placed, "visit is", "visits are")
        ),
        (placed, without) => format!(
            "{} placed; {} no day",
            counted(placed, "visit is", "visits are"),
            counted(without, "visit found", "visits found")
        ),
    };
    let local = when::local(at);
    let stopped = if found.stopped {
        " The search was stopped before its time; the best it had found stands."
    } else {
        ""
    };
    let standing = format!(
        "Placed on {}, {} by {}.{stopped} It is a proposal: nobody is asked or told before you offer a visit. Booked and pinned \
         visits stay where they are.",
        dates::weekday_day(local.date()),
        local.format("%H:%M"),
        found.by
    );
    (capital(&finding), standing)
}

/// How good the round is, and what it was planned with.
fn how(found: &Rounds) -> Vec<Row> {
    if found.card.is_none() {
        return Vec::new();
    }
    let facts = found.facts;
    let gap = match facts.gap() {
        0 => "no plan for the same visits can do with fewer".to_owned(),
        n => format!(
            "no plan for the same visits can do with fewer than {}, so at most {} could be saved",
            plural(
                u64::from(facts.attendances_at_least),
                "attendance",
                "attendances"
            ),
            n
        ),
    };
    let left = match found.left_to_jobs {
        0 => String::new(),
        n => format!(
            " {} left to jobs that have no day yet.",
            capital(&counted(n, "duty is", "duties are"))
        ),
    };
    let row = Row::plain(
        "how-good",
        format!(
            "{} in {}: {gap}.{left}",
            plural(u64::from(facts.placed), "visit", "visits"),
            plural(u64::from(facts.attendances), "attendance", "attendances")
        ),
    )
    .figure(
        format!("{}\u{a0}h", facts.minutes / 60),
        format!("in {}", plural(u64::from(facts.engineer_days), "day", "days")),
    )
    .why(Why::this(vec![
        format!(
            "An attendance is an engineer in a building on a day, however many flats. A firm works on the days and hours it \
             states, else Monday to Friday 08:30 to 16:30, never on bank holidays; {} per cent of each firm’s hours are kept free \
             for calls (common practice, no source). {}",
            found.kept_free_percent,
            ways::assumed(found)
        ),
        "The bound counts what no plan could avoid. A duty has a visit for each time it falls due: its next date, and where its \
         interval is shorter than a year every one after that. What follows moves with the day the one before is made."
            .to_owned(),
    ]));
    let mut rows = proof::rows(found);
    rows.push(row);
    rows.extend(reasons::fullest(found));
    rows
}

fn turns(found: &Rounds, from: NaiveDate, days: &[DaySheet]) -> Vec<Link> {
    let mut turns = Vec::new();
    if from > found.today {
        turns.push(Link::new("From today on", "/rounds"));
    }
    if days.len() == SHEETS {
        // The last day shown may go on past the page's end, so the next page begins with it.
        let last = days
            .last()
            .and_then(|d| d.id.get(4..14))
            .unwrap_or_default();
        let first = days
            .first()
            .and_then(|d| d.id.get(4..14))
            .unwrap_or_default();
        let next = if last == first {
            last.parse::<NaiveDate>()
                .ok()
                .and_then(|d| d.succ_opt())
                .map(dates::machine)
                .unwrap_or_default()
        } else {
            last.to_owned()
        };
        turns.push(Link::new("Later days", format!("/rounds?from={next}")));
    }
    turns
}
