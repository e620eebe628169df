//! What is filled in on a letter before it is printed, as the job suggests it.
use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use serde::{Deserialize, Serialize};
use store::jobs::Job;
use terms::JobKind;

use crate::letterhead::Letterhead;
use crate::work::{Names, wall};

/// What a letter says besides its own wording. Never the resident's name.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Filled {
    /// The day of the visit.
    pub day: Option<NaiveDate>,
    /// From when.
    pub from: Option<NaiveTime>,
    /// Until when.
    pub until: Option<NaiveTime>,
    /// Who comes: "Anna Arrow of Firm A".
    pub who: String,
    /// Why, in a few words.
    pub why: String,
    /// How long it takes, in minutes.
    pub minutes: i32,
    /// What has to be moved.
    pub moves: String,
    /// What is off meanwhile.
    pub off: String,
    /// What happens afterwards.
    pub after: String,
    /// The clause of tenancy or lease that gives access; for the third letter.
    pub terms: String,
    /// By when the resident is asked to ring.
    pub answer_by: Option<NaiveDate>,
    /// The resident agreed to a shorter notice.
    pub agreed: bool,
    /// In whose name it goes out.
    pub sender: Letterhead,
}

impl Filled {
    /// The instant the visit begins; `None` while no day or hour is filled in, or in an hour the clocks skip.
    pub fn begins_at(&self) -> Option<DateTime<Utc>> {
        wall::instant(self.day?, self.from?)
    }
}

/// Days a resident is given to ring back (common practice, no source).
const DAYS_TO_ANSWER: u64 = 7;

/// As the job suggests it: a booked visit to come, what its duties are, how long it takes.
pub(super) fn suggested(
    job: &Job,
    (kind_code, kind_name): (&str, &str),
    duties: &[String],
    (names, sender): (&Names, Letterhead),
    now: DateTime<Utc>,
) -> Filled {
    let slot = job
        .booked
        .filter(|(from, _)| *from > now)
        .map(|(from, until)| (wall::local(from), wall::local(until)));
    let who = match (job.engineer, job.firm) {
        (Some(e), Some(firm)) if slot.is_some() => {
            format!("{} of {}", names.engineer(e), names.firm(firm))
        }
        (_, Some(firm)) => format!("an engineer of {}", names.firm(firm)),
        _ => "an engineer".to_owned(),
    };
    let why = match (duties, job.words.as_str()) {
        ([], "") => job.kind.words().to_owned(),
        // What stands on the job is for whoever orders it: how, of which plan.
        ([], _) if job.kind == JobKind::Replacement && !kind_name.is_empty() => {
            format!("replacement of the {kind_name}")
        }
        ([], words) => words.trim_end_matches('.').to_owned(),
        (duties, _) => duties.join("; "),
    };
    let unit = if kind_name.is_empty() {
        "the pipes and the heating"
    } else {
        kind_name
    };
    Filled {
        day: slot.map(|(from, _)| from.date()),
        from: slot.map(|(from, _)| from.time()),
        until: slot.map(|(_, until)| until.time()),
        who,
        why,
        minutes: job.minutes,
        moves: format!("Please clear a metre in front of the {unit} and the way to it."),
        off: off(kind_code).to_owned(),
        after: "When the work is done, heating and hot water are tested, and you are told what was found and what comes next."
            .to_owned(),
        terms: String::new(),
        answer_by: wall::day(now).checked_add_days(Days::new(DAYS_TO_ANSWER)),
        agreed: false,
        sender,
    }
}

/// What is usually off while a unit of this kind is worked on (common practice, no source).
fn off(kind: &str) -> &'static str {
    match kind {
        "CB" | "GB" | "EB" | "HIU" => {
            "Heating and hot water are off while the engineer works. Cold water stays on."
        }
        "UV" | "VC" | "TS" => {
            "Hot water is off while the engineer works, and cold water may be off for a few minutes."
        }
        _ => "Hot or cold water may be off for a few minutes while the engineer works.",
    }
}
