//! "Prove it": a unit's duties with their whole record, corrected entries too.
use std::collections::BTreeMap;

use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::{DateTime, NaiveDate, Utc};
use terms::{AccountId, Role, UnitId};
use usecases::duties::{self, Proved, Standing, UnitDuties};
use wording::sentences::{capital, dates, plural};
use wording::{Link, Row, Shell, Table, Urgency, Verb, Why};

use super::{NOT_ADVICE, more, rows, tries};
use crate::Failure;
use crate::form::id_of;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};
use crate::when;

/// Who wrote what stands in a record.
pub(super) type Written = BTreeMap<AccountId, String>;

/// One duty on the page.
pub(super) struct Duty {
    pub id: String,
    pub heading: String,
    pub note: String,
    pub now: Vec<Row>,
    pub table: Option<Table>,
    pub tries: Vec<Row>,
}

#[derive(Template)]
#[template(path = "duties/proof.html")]
struct ProofPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    duties: Vec<Duty>,
    not_ours: Vec<Row>,
    records: Vec<Row>,
    space: String,
    building: String,
    offers: Vec<Row>,
    unit: UnitId,
    desk: bool,
    not_advice: &'static str,
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let unit: UnitId = id_of(&path, "unit")?;
    let shell = reader.shell(&state, "duties");
    let today = when::local_day(state.world.now());
    let desk = reader.seat.role() != Role::Landlord;
    let (found, papers, alignments) = answer(&state, move |world| {
        let found = duties::proof(world, &reader.seat, unit)?;
        let papers = usecases::records::records_of_unit(world, &reader.seat, unit)?;
        let alignments = if desk {
            duties::alignments(world, &reader.seat)?
        } else {
            Vec::new()
        };
        Ok((found, papers, alignments))
    })
    .await?;
    let (finding, standing) = said(&found);
    page(&ProofPage {
        facts: vec![
            format!("{}, {}", found.unit.space_name, found.unit.building_name),
            format!("unit {}", found.unit.number),
            format!("as known on {}", dates::day(today)),
        ],
        shell,
        finding,
        standing,
        duties: found
            .duties
            .iter()
            .map(|d| duty(d, &found.names, today, desk))
            .collect(),
        not_ours: not_ours(&found),
        records: papers.iter().map(crate::records::rows::row).collect(),
        space: found.unit.space.to_string(),
        building: found.unit.building.to_string(),
        offers: if desk {
            more::offers(&found, &alignments)
        } else {
            Vec::new()
        },
        unit,
        desk,
        not_advice: NOT_ADVICE,
    })
}

fn said(found: &UnitDuties) -> (String, String) {
    let holding: Vec<&Proved> = found
        .duties
        .iter()
        .filter(|d| d.card.ended_on.is_none())
        .collect();
    let late = holding
        .iter()
        .filter(|d| matches!(d.line.standing, Standing::Late { .. }))
        .count() as u64;
    let unknown = holding
        .iter()
        .filter(|d| d.line.standing == Standing::Unknown)
        .count() as u64;
    let finding = format!(
        "{}, {}: what it must have, and what proves it",
        found.unit.number, found.unit.space_name
    );
    let mut parts = vec![plural(holding.len() as u64, "duty holds", "duties hold")];
    if late > 0 {
        parts.push(format!("{} late", plural(late, "is", "are")));
    }
    if unknown > 0 {
        parts.push(plural(unknown, "has no evidence", "have no evidence"));
    }
    (finding, format!("{}.", capital(&parts.join("; "))))
}

/// One duty with its record.
pub(super) fn duty(proved: &Proved, names: &Written, today: NaiveDate, desk: bool) -> Duty {
    let line = &proved.line;
    let note = format!("Basis: {}", line.rule.basis);
    let mut now = if let Some(on) = proved.card.ended_on {
        Row::plain(
            format!("now-{}", line.duty),
            format!("This duty ended on {}; its record is kept.", dates::day(on)),
        )
    } else {
        let mut row = rows::row(line, today, false);
        row.verbs.clear();
        row.others.clear();
        row.id = format!("now-{}", line.duty);
        row
    };
    if let Some(why) = now.why.as_mut() {
        why.more = desk.then(|| Link::new("The rule, and how it is known", "/facts?about=duties"));
    }
    if desk {
        now = desk_verbs(now, proved);
    }
    Duty {
        id: line.rule.code.clone(),
        heading: line.rule.name.clone(),
        note,
        now: vec![now],
        table: table(proved, names),
        tries: tries::of_duty(proved, names, desk),
    }
}

fn desk_verbs(row: Row, proved: &Proved) -> Row {
    let line = &proved.line;
    let to = |act: &str| format!("{}/{act}?duty={}", rows::home_of(line.at), line.duty);
    let row = match (line.rule.code.as_str(), line.rule.window_rule.as_str()) {
        ("V1", _) => row.verb(Verb::link("Enter a test", to("test"))),
        (_, "W6") => row
            .verb(Verb::link("Enter a review from its paper", to("record")))
            .verb(Verb::link("Something changed: it is due", to("review"))),
        _ => row.verb(Verb::link("Enter a check from its paper", to("record"))),
    };
    let row = if proved.card.ended_on.is_none() {
        row.other(Verb::link("State the deadline", to("start")))
    } else {
        row
    };
    let current = proved
        .rows
        .iter()
        .any(|r| r.superseded_at.is_none() && r.done_on.is_some());
    if current {
        row.other(Verb::link("Correct an entry", to("correct")))
    } else {
        row
    }
}

fn not_ours(found: &UnitDuties) -> Vec<Row> {
    found
        .not_ours
        .iter()
        .map(|rule| {
            Row::plain(
                format!("not-ours-{}", rule.code),
                format!(
                    "{} is not our duty here: the home is let or leased for seven years or more, so it lies with whoever \
                     lets it. Ask for a copy of the record.",
                    rule.name
                ),
            )
            .urgency(Urgency::Plain)
            .why(Why {
                more: Some(Link::new(
                    "How the home is let",
                    format!("/spaces/{}", found.unit.space),
                )),
                ..Why::this(vec![
                    "The landlord’s gas check covers tenancies and leases under seven years, periodic tenancies and \
                     licences (from memory). Where nobody knows, it is taken as ours."
                        .to_owned(),
                    NOT_ADVICE.to_owned(),
                ])
            })
        })
        .collect()
}

/// The record; `None` while it is empty.
fn table(proved: &Proved, names: &Written) -> Option<Table> {
    if proved.rows.is_empty() {
        return None;
    }
    let rows = proved
        .rows
        .iter()
        .rev()
        .map(|row| {
            let what = match row.done_on {
                Some(on) => dates::day(on),
                None => "deadline stated".to_owned(),
            };
            let reason = if row.superseded_at.is_some() {
                format!("Corrected since; said: {}", row.reason)
            } else {
                row.reason.clone()
            };
            let evidence = match (row.evidence.is_empty(), row.job) {
                (true, None) => "none".to_owned(),
                (true, Some(_)) => "the job’s sheet".to_owned(),
                (false, _) => row.evidence.clone(),
            };
            vec![
                what,
                reason,
                evidence,
                wrote(row.recorded_at, row.recorded_by, names),
            ]
        })
        .collect();
    Some(Table::new(
        &[
            "Done",
            "What it did to the date",
            "What proves it",
            "Written",
        ],
        rows,
    ))
}

/// "25 November 2026, 07:40 by Ines Harrowby"
fn wrote(at: DateTime<Utc>, by: AccountId, names: &Written) -> String {
    let name = names.get(&by).map_or("the program", String::as_str);
    let at = when::local(at);
    format!(
        "{}, {} by {name}",
        dates::day(at.date()),
        at.format("%H:%M")
    )
}
