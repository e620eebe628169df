//! What stands beside the duties of units in the list: events, first checks that can line up, water out of its limit.
use chrono::{DateTime, NaiveDate, Utc};
use usecases::cost_demands::{self, Undemanded};
use usecases::duties::{self, Alignment, EventLine, UnsafeUnit};
use usecases::water::{self, OutOfLimit};
use usecases::work::{self, OpenHazard};
use usecases::{Error, Seat, World};
use wording::sentences::{dates, spans};
use wording::{Link, Row, Urgency, Verb, Why};

use super::list::Part;
use super::{NOT_ADVICE, events, more};
use crate::when;

/// Everything beside the duties, as the desk sees it; a landlord sees the events of his buildings.
#[derive(Default)]
pub(super) struct Beside {
    events: Vec<EventLine>,
    alignments: Vec<Alignment>,
    water: Vec<OutOfLimit>,
    unsafe_units: Vec<UnsafeUnit>,
    hazards: Vec<OpenHazard>,
    costs: Vec<Undemanded>,
}

/// Loads it.
pub(super) fn load(world: &World, seat: &Seat, desk: bool) -> Result<Beside, Error> {
    let events = duties::event_lines(world, seat)?;
    let unsafe_units = duties::unsafe_units(world, seat)?;
    if !desk {
        return Ok(Beside {
            events,
            unsafe_units,
            ..Beside::default()
        });
    }
    Ok(Beside {
        events,
        unsafe_units,
        alignments: duties::alignments(world, seat)?,
        water: water::out_of_limit(world, seat)?,
        hazards: work::open_hazards(world, seat)?,
        costs: cost_demands::undemanded(world, seat)?,
    })
}

impl Beside {
    /// The parts of the list; an empty one is left out.
    pub(super) fn parts(
        &self,
        building: Option<terms::BuildingId>,
        (at, today): (DateTime<Utc>, NaiveDate),
        desk: bool,
    ) -> Vec<Part> {
        let here = |id: terms::BuildingId| building.is_none_or(|b| b == id);
        let part = |id, heading, note: &str, rows| Part {
            id,
            heading,
            note: note.to_owned(),
            rows,
            empty: "",
        };
        vec![
            part(
                "unsafe",
                "Unsafe or isolated",
                "Until a registered engineer clears it",
                self.unsafe_units
                    .iter()
                    .filter(|u| here(u.unit.building))
                    .map(|u| unsafe_row(u, desk))
                    .collect(),
            ),
            part(
                "hazards",
                "Hazards",
                "By the law’s own days",
                self.hazards
                    .iter()
                    .filter(|h| here(h.job.building))
                    .map(|h| hazard_row(h, at))
                    .collect(),
            ),
            part(
                "water",
                "Water out of its limit",
                "Until it is read within it again",
                self.water
                    .iter()
                    .filter(|w| here(w.building))
                    .map(|w| row(w, desk))
                    .collect(),
            ),
            part(
                "events",
                "Something happened",
                "Each with a time of its own",
                self.events
                    .iter()
                    .filter(|e| here(e.duty.building) && e.duty.done_on.is_none())
                    .map(|e| events::row(e, today, desk))
                    .collect(),
            ),
            self.costs_part(building, today),
            part(
                "line-up",
                "Can line up once",
                "Offered; it is for you to say",
                self.alignments
                    .iter()
                    .filter(|a| here(a.unit.building))
                    .map(more::aligned)
                    .collect(),
            ),
        ]
    }
}

/// One hazard whose clocks still ask for something.
pub(crate) fn hazard_row(found: &OpenHazard, at: DateTime<Utc>) -> Row {
    let home = found
        .clock
        .hazard_in
        .map_or_else(String::new, |s| s.to_string());
    let id = format!("h-{}-{home}", found.job.id);
    let mut row = crate::jobs::law_row(&id, &found.clock, at);
    row.sentence = format!(
        ", {}, {}: {}",
        found.space_name, found.job.building_name, row.sentence
    );
    row.subject = Some(Link::new(
        found.job.number.clone(),
        format!("/jobs/{}", found.job.id),
    ));
    row.verb(Verb::link(
        "Write down what was done",
        format!("/jobs/{}#law", found.job.id),
    ))
}

impl Beside {
    /// What the list says of costs that were neither demanded nor notified.
    fn costs_part(&self, building: Option<terms::BuildingId>, today: NaiveDate) -> Part {
        Part {
            id: "costs",
            heading: "Costs to demand, or give notice of",
            note: "Eighteen months from the invoice".to_owned(),
            rows: self
                .costs
                .iter()
                .filter(|c| building.is_none_or(|b| b == c.building))
                .map(|c| cost_row(c, today))
                .collect(),
            empty: "",
        }
    }
}

/// A firm's own number as a part of a row's name on the page.
fn id_of_number(number: &str) -> String {
    terms::hex(number.as_bytes())
}

/// One cost that was neither demanded nor notified.
fn cost_row(found: &Undemanded, today: NaiveDate) -> Row {
    let page = format!("/jobs/{}/invoice", found.job);
    let late = found.work_to < today;
    Row::about(
        format!("c-{}-{}", found.job, id_of_number(&found.number)),
        Link::new(format!("Invoice {}", found.number), page.clone()),
        format!(
            " of {}, {}: {}",
            found.job_number, found.building_name, found.sentence
        ),
    )
    .urgency(if late { Urgency::Late } else { Urgency::Soon })
    .figure(spans::due(today, found.work_to), "basis: law")
    .why(Why::this(vec![
        format!("How the rule is known: {}.", cost_demands::STATUS),
        NOT_ADVICE.to_owned(),
    ]))
    .verb(Verb::link("Write down that it was served", page))
}

/// One unsafe unit as a sentence.
fn unsafe_row(found: &UnsafeUnit, desk: bool) -> Row {
    let (notice, unit) = (&found.notice, &found.unit);
    let class = match notice.class.as_str() {
        "ID" => "immediately dangerous",
        _ => "at risk",
    };
    let off = if notice.isolated {
        "Isolated, do not use"
    } else {
        "Not isolated, do not use"
    };
    let since = when::local_day(notice.made_at);
    let row = Row::about(
        format!("u-{}", notice.id),
        Link::new(
            format!("{} {}", found.kind_name, unit.number),
            format!("/units/{}", unit.id),
        ),
        format!(
            ", {}, {}: classed {class}. {off}. {}",
            unit.space_name, unit.building_name, notice.words
        ),
    )
    .urgency(Urgency::Late)
    .figure(dates::day_brief(since), "since the notice");
    match notice.job.filter(|_| desk) {
        Some(job) => row.verb(Verb::link(
            "See the warning notice",
            format!("/records/{job}/notice"),
        )),
        None => row,
    }
}

/// One outlet out of its limit as a sentence.
fn row(found: &OutOfLimit, desk: bool) -> Row {
    let t = &found.temperature;
    let said = if t.is_open() {
        " Nobody has said yet what is done.".to_owned()
    } else {
        format!(" Done or planned: {}", t.action)
    };
    let round = format!("/temperatures/{}/rounds/{}", found.building, t.round);
    let mut row = Row::about(
        format!("w-{}", t.id),
        Link::new(format!("{}, {}", t.outlet_name, found.building_name), round.clone()),
        format!(
            ", {} on {}: {}{said}",
            t.place.words(),
            dates::weekday_day(t.on),
            t.words
        ),
    )
    .urgency(if t.is_open() {
        Urgency::Late
    } else {
        Urgency::Soon
    })
    .why(Why::this(vec![
        found.what_to_do.to_owned(),
        "Water of 20 to 45 °C lets legionella grow; water from a store scalds in seconds (published pages).".to_owned(),
    ]));
    if let Some(temp) = t.temp_c {
        row = row.figure(format!("{temp:.1}\u{a0}°C"), "out of its limit");
    }
    if desk && t.is_open() {
        row = row.verb(Verb::link("Say what is done", round));
    }
    row
}
