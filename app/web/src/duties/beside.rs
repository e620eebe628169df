//! What stands beside the duties of units in the list: events, first checks that can line up, water out of its limit.
use chrono::NaiveDate;
use usecases::duties::{self, Alignment, EventLine, UnsafeUnit};
use usecases::water::{self, OutOfLimit};
use usecases::{Error, Seat, World};
use wording::sentences::dates;
use wording::{Link, Row, Urgency, Verb, Why};

use super::list::Part;
use super::{events, more};
use crate::when;

/// Everything beside the duties, as the desk sees it; a landlord sees the events of his buildings.
#[derive(Default)]
pub(super) struct Beside {
    events: Vec<EventLine>,
    alignments: Vec<Alignment>,
    water: Vec<OutOfLimit>,
    unsafe_units: Vec<UnsafeUnit>,
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
    })
}

impl Beside {
    /// The parts of the list; an empty one is left out.
    pub(super) fn parts(
        &self,
        building: Option<terms::BuildingId>,
        today: NaiveDate,
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
