//! The list of duties: late, nobody opened, without evidence, due in 14, 30 and 60 days, done lately.
use std::collections::BTreeMap;

use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::{NaiveDate, TimeDelta};
use terms::{BuildingId, Role};
use usecases::duties::{self, DutyLine, Standing};
use wording::sentences::{capital, counted, dates, number_word, plural};
use wording::{Ask, Drawing, Link, Row, Shell};

use super::by_building::{Place, places};
use super::{NOT_ADVICE, beside, rows, strip, tries};
use crate::Failure;
use crate::form::Typed;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};
use crate::when;

/// Rows of a part shown before "see them all".
const SHOWN: usize = 25;

/// A stretch of the list.
pub(super) struct Part {
    pub id: &'static str,
    pub heading: &'static str,
    pub note: String,
    pub rows: Vec<Row>,
    /// What is said when it is empty; "": it is left out.
    pub empty: &'static str,
}

#[derive(Template)]
#[template(path = "duties/duties.html")]
struct DutiesPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    asks: Vec<Ask>,
    parts: Vec<Part>,
    places: Vec<Place>,
    strip: Option<(Drawing, String)>,
    strip_asks: Vec<Ask>,
    proofs: Vec<Link>,
    not_advice: &'static str,
    file: bool,
    desk: bool,
}

/// What the address asks for.
pub(super) struct Wanted {
    pub building: Option<BuildingId>,
    pub part: String,
    pub rule: String,
}

/// The address of the list, narrowed to what is not empty.
fn narrowed(building: Option<BuildingId>, part: &str, rule: &str) -> String {
    let mut said: Vec<String> = Vec::new();
    said.extend(building.map(|b| format!("building={b}")));
    if !part.is_empty() {
        said.push(format!("part={part}"));
    }
    if !rule.is_empty() {
        said.push(format!("duty={rule}"));
    }
    if said.is_empty() {
        "/duties".to_owned()
    } else {
        format!("/duties?{}", said.join("&"))
    }
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let query = query.into_inner();
    let wanted = Wanted {
        building: query.value("building").parse().ok(),
        part: query.value("part").to_owned(),
        rule: query.value("duty").to_owned(),
    };
    let shell = reader.shell(&state, "duties");
    let at = state.world.now();
    let today = when::local_day(at);
    let desk = reader.seat.role() != Role::Landlord;
    let (lines, beside) = answer(&state, move |world| {
        let lines = duties::due(world, &reader.seat, NaiveDate::MAX)?;
        Ok((lines, beside::load(world, &reader.seat, desk)?))
    })
    .await?;
    let asks = building_asks(&lines, &wanted);
    let proofs = proofs(&lines);
    let lines: Vec<&DutyLine> = lines
        .iter()
        .filter(|l| wanted.building.is_none_or(|b| l.building == b))
        .collect();
    let (finding, standing) = found(&lines, today);
    let places = places(&lines, today, (&wanted, desk));
    let mut parts = if places.is_empty() {
        parts(&lines, today, desk)
    } else {
        Vec::new()
    };
    // After what is late and what nobody opened for.
    let rest = parts.split_off(2.min(parts.len()));
    parts.extend(beside.parts(wanted.building, (at, today), desk));
    parts.extend(rest);
    if !wanted.part.is_empty() {
        parts.retain(|part| part.id == wanted.part);
    }
    for part in &mut parts {
        shorten(part, &wanted);
    }
    let (strip, strip_asks) = the_year(&lines, today, &wanted);
    page(&DutiesPage {
        facts: vec![
            shell.estate_name.clone(),
            "Checks, services, reviews".to_owned(),
            format!("as known on {}", dates::day(today)),
        ],
        shell,
        finding,
        standing,
        asks,
        parts,
        places,
        strip,
        strip_asks,
        proofs,
        not_advice: NOT_ADVICE,
        file: !lines.is_empty(),
        desk,
    })
}

/// The same list as a file.
pub(super) async fn file(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let text = answer(&state, move |world| duties::export(world, &reader.seat)).await?;
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8")
        .insert_header(("Content-Disposition", "attachment; filename=\"duties.csv\""))
        .body(text))
}

fn building_asks(lines: &[DutyLine], wanted: &Wanted) -> Vec<Ask> {
    let buildings: BTreeMap<&str, BuildingId> = lines
        .iter()
        .map(|l| (l.building_name.as_str(), l.building))
        .collect();
    if buildings.len() < 2 {
        return Vec::new();
    }
    let mut asks = vec![Ask {
        words: "Every building".to_owned(),
        href: narrowed(None, &wanted.part, ""),
        current: wanted.building.is_none(),
    }];
    asks.extend(buildings.into_iter().map(|(name, id)| Ask {
        words: name.to_owned(),
        href: narrowed(Some(id), &wanted.part, ""),
        current: wanted.building == Some(id),
    }));
    asks
}

/// The dated letter of each building.
fn proofs(lines: &[DutyLine]) -> Vec<Link> {
    let buildings: BTreeMap<&str, BuildingId> = lines
        .iter()
        .map(|l| (l.building_name.as_str(), l.building))
        .collect();
    buildings
        .into_iter()
        .map(|(name, id)| Link::new(format!("Prove {name}"), format!("/prove/building/{id}")))
        .collect()
}

fn found(lines: &[&DutyLine], today: NaiveDate) -> (String, String) {
    let count = |wanted: fn(&DutyLine) -> bool| lines.iter().filter(|l| wanted(l)).count() as u64;
    let late = count(|l| matches!(l.standing, Standing::Late { .. }));
    let by_law = count(|l| matches!(l.standing, Standing::Late { .. }) && l.rule.basis == "law");
    let unknown = count(|l| l.standing == Standing::Unknown);
    let soon = lines
        .iter()
        .filter(|l| {
            l.last_day()
                .is_some_and(|day| day >= today && days(today, day) <= 14)
        })
        .count() as u64;
    let finding = match (late, by_law) {
        (0, _) if lines.is_empty() => "No duty holds yet".to_owned(),
        (0, _) => format!(
            "Nothing is late; {} in the next 14 days",
            match soon {
                0 => "nothing falls due".to_owned(),
                n => format!("{} due", counted(n, "duty falls", "duties fall")),
            }
        ),
        (late, 0) => format!(
            "{} past the day, none of them by law",
            counted(late, "duty is", "duties are")
        ),
        (late, law) => format!(
            "{} past the day, {} of them by law",
            counted(late, "duty is", "duties are"),
            number_word(law)
        ),
    };
    let standing = if lines.is_empty() {
        "Duties come with the units: enter a building or bring in a list, and each unit gets what law, codes and makers ask."
            .to_owned()
    } else {
        let known = lines.len() as u64 - unknown;
        match unknown {
            0 => format!(
                "All {known} duties have a record or a stated date. A closed door does not stop the clock."
            ),
            n => format!(
                "{} no evidence and {} as due now. A closed door does not stop the clock.",
                capital(&counted(n, "duty has", "duties have")),
                if n == 1 { "counts" } else { "count" }
            ),
        }
    };
    (capital(&finding), standing)
}

fn days(from: NaiveDate, to: NaiveDate) -> i64 {
    (to - from).num_days()
}

pub(super) fn parts(lines: &[&DutyLine], today: NaiveDate, desk: bool) -> Vec<Part> {
    let mut parts = vec![
        standing_part(
            ("late", "Late", "Nothing is past its day."),
            "What the law asks first".to_owned(),
            rows_of(lines, today, desk, |l| {
                matches!(l.standing, Standing::Late { .. })
            }),
        ),
        standing_part(
            ("no-access", "No access", ""),
            "Tries so far; the clock runs on".to_owned(),
            tried(lines, today, desk),
        ),
    ];
    let spans = [
        (
            0,
            14,
            "in-14-days",
            "Due in 14 days",
            "Nothing falls due in the next 14 days.",
        ),
        (15, 30, "in-30-days", "Due in 30 days", ""),
        (31, 60, "in-60-days", "Due in 60 days", ""),
    ];
    for (low, high, id, heading, empty) in spans {
        let until = today + TimeDelta::days(high);
        parts.push(standing_part(
            (id, heading, empty),
            format!("To {}", dates::weekday_day(until)),
            rows_of(lines, today, desk, |l| {
                let left = l.last_day().map(|day| days(today, day));
                left.is_some_and(|left| left >= low && left <= high)
            }),
        ));
    }
    parts.push(standing_part(
        ("no-evidence", "No evidence", ""),
        "Due now until a record turns up".to_owned(),
        rows_of(lines, today, desk, |l| l.standing == Standing::Unknown),
    ));
    parts.push(standing_part(
        ("done-lately", "Done lately", ""),
        "In the last 30 days, and what that did to the date".to_owned(),
        done_lately(lines, today),
    ));
    parts
}

fn standing_part(
    (id, heading, empty): (&'static str, &'static str, &'static str),
    note: String,
    rows: Vec<Row>,
) -> Part {
    Part {
        id,
        heading,
        note,
        rows,
        empty,
    }
}

fn rows_of(
    lines: &[&DutyLine],
    today: NaiveDate,
    desk: bool,
    wanted: impl Fn(&DutyLine) -> bool,
) -> Vec<Row> {
    lines
        .iter()
        .filter(|l| wanted(l))
        .map(|l| rows::row(l, today, desk))
        .collect()
}

/// What nobody opened for, most tries first.
fn tried(lines: &[&DutyLine], today: NaiveDate, desk: bool) -> Vec<Row> {
    let mut tried: Vec<&&DutyLine> = lines.iter().filter(|l| !l.attempts.is_empty()).collect();
    tried.sort_by_key(|l| std::cmp::Reverse(l.attempts.len()));
    tried
        .iter()
        .map(|l| tries::no_access(l, today, desk))
        .collect()
}

/// What was done in the last thirty days, newest first.
fn done_lately(lines: &[&DutyLine], today: NaiveDate) -> Vec<Row> {
    let mut done: Vec<(NaiveDate, Row)> = lines
        .iter()
        .filter_map(|l| Some((l.last_done.as_ref()?.done_on?, rows::done(l)?)))
        .filter(|(on, _)| (0..=30).contains(&days(*on, today)))
        .collect();
    done.sort_by_key(|(on, _)| std::cmp::Reverse(*on));
    done.into_iter().map(|(_, row)| row).collect()
}

/// A long part shows its first rows and says how many more there are.
pub(super) fn shorten(part: &mut Part, wanted: &Wanted) {
    if wanted.part == part.id || part.rows.len() <= SHOWN {
        return;
    }
    let more = part.rows.len() - SHOWN;
    part.rows.truncate(SHOWN);
    let href = narrowed(wanted.building, part.id, "");
    let row = Row::about(
        format!("{}-more", part.id),
        Link::new(
            format!("{} more", plural(more as u64, "duty", "duties")),
            href,
        ),
        " of this sort: see them all.",
    );
    part.rows.push(row);
}

/// The strip of one duty in one building, and links to the others.
fn the_year(
    lines: &[&DutyLine],
    today: NaiveDate,
    wanted: &Wanted,
) -> (Option<(Drawing, String)>, Vec<Ask>) {
    let Some(building) = wanted
        .building
        .or_else(|| lines.first().map(|l| l.building))
    else {
        return (None, Vec::new());
    };
    let here: Vec<&DutyLine> = lines
        .iter()
        .filter(|l| l.building == building)
        .copied()
        .collect();
    let mut rules: BTreeMap<&str, (&str, usize)> = BTreeMap::new();
    for line in &here {
        let entry = rules
            .entry(line.rule.code.as_str())
            .or_insert((line.rule.name.as_str(), 0));
        entry.1 += 1;
    }
    let chosen = if rules.contains_key(wanted.rule.as_str()) {
        wanted.rule.as_str()
    } else if rules.contains_key("G1") {
        "G1"
    } else {
        rules
            .iter()
            .max_by_key(|(_, (_, count))| *count)
            .map_or("", |(code, _)| code)
    };
    let asks = rules
        .iter()
        .map(|(code, (name, _))| Ask {
            words: (*name).to_owned(),
            href: narrowed(Some(building), &wanted.part, code),
            current: *code == chosen,
        })
        .collect();
    let of_rule: Vec<&DutyLine> = here
        .iter()
        .filter(|l| l.rule.code == chosen)
        .copied()
        .collect();
    (strip::draw(&of_rule, today), asks)
}
