//! What a mail about a job says: what, where, by when, and the one link to its page.
use chrono::NaiveDateTime;
use terms::{FunctionLost, JobKind};

use super::{capital, dates, lost_words};

/// A job as its mail tells it; instants are in the building's zone.
#[derive(Clone, Copy, Debug)]
pub struct Told<'a> {
    /// The firm it goes to.
    pub firm: &'a str,
    /// In whose name; may be empty.
    pub from: &'a str,
    /// The office's telephone; may be empty.
    pub telephone: &'a str,
    /// "J-00042"
    pub number: &'a str,
    /// "Flat 14, Alder House"
    pub place: &'a str,
    /// What sort of work.
    pub kind: JobKind,
    /// What was reported lost.
    pub lost: Option<FunctionLost>,
    /// When somebody has to be there, or to be done.
    pub due: Option<NaiveDateTime>,
    /// The offer's last instant; `None` when the firm has the job.
    pub offered_until: Option<NaiveDateTime>,
    /// When the visit is booked to begin.
    pub booked: Option<NaiveDateTime>,
    /// The whole address of its page.
    pub link: &'a str,
    /// The link's last instant.
    pub until: NaiveDateTime,
}

/// "J-00042 on offer: no hot water, Flat 14, Alder House"
pub fn subject(told: &Told<'_>) -> String {
    let Told { number, place, .. } = told;
    match told.offered_until {
        Some(_) => format!("{number} on offer: {}, {place}", what(told)),
        None => format!("{number}, report of the visit: {}, {place}", what(told)),
    }
}

fn what(told: &Told<'_>) -> &'static str {
    told.lost.map_or(told.kind.words(), lost_words)
}

/// The text, its lines ended by `\n`. The link stands in it once.
pub fn text(told: &Told<'_>) -> String {
    let from = match told.from {
        "" => "The managing agent",
        name => name,
    };
    let mut parts = vec![told.firm.to_owned()];
    let about = format!("{}: {}. {}.", told.number, what(told), told.place);
    if let Some(until) = told.offered_until {
        parts.push(format!("{from} offers you this job. {about}"));
        if let Some(due) = told.due {
            parts.push(format!("Wanted by {}.", dates::moment(due)));
        }
        parts.push(format!(
                "It may be taken until {}. Take it with a day, decline it, or say another day, here; no account is needed:",
                dates::moment(until)
            ));
    } else {
        let booked = told.booked.map_or_else(String::new, |at| {
            format!(" Booked for {}.", dates::moment(at))
        });
        parts.push(format!("You have this job of {from}. {about}{booked}"));
        parts.push("Report the visit here once it is made; no account is needed:".to_owned());
    }
    parts.push(told.link.to_owned());
    parts.push(format!(
        "The link is for this job and your firm only. Opening it changes nothing; it takes one answer, until {}. Do not pass it on.",
        dates::moment(told.until)
    ));
    if !told.telephone.is_empty() {
        parts.push(format!(
            "{} is also reached by telephone: {}.",
            capital(from),
            told.telephone
        ));
    }
    parts.join("\n\n") + "\n"
}
