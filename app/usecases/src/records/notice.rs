//! The warning notice of an unsafe situation, as it was left: what, who was told and when, what heat there is meanwhile.
use store::Tx;
use store::visits::Notice;
use terms::place::BuildingCard;
use terms::unit::UnitCard;
use terms::{Covers, JobId};

use super::gather::{papers_for, registration};
use super::view::must_see_records;
use crate::letterhead::{Letterhead, letterhead_in};
use crate::visit::{HEAT, Sheet, TOLD, class_of};
use crate::work::{Job, names_in};
use crate::{Error, Seat, World};

/// A warning notice with everything its paper says.
#[derive(Clone, Debug)]
pub struct NoticePaper {
    /// As recorded.
    pub notice: Notice,
    /// The job it was found in.
    pub job: Job,
    /// Its building.
    pub building: BuildingCard,
    /// The unit.
    pub unit: UnitCard,
    /// "combi gas boiler"
    pub kind_name: String,
    /// Who was told, and at what time of that day: "The resident", "14:10".
    pub told: Vec<(&'static str, String)>,
    /// What heat there is meanwhile; empty where none was asked about.
    pub heat: String,
    /// The firm and who of it attended.
    pub by: (String, String),
    /// The registration its kind of unit asks for, in date on the day; empty without one.
    pub registration: String,
    /// In whose name.
    pub from: Letterhead,
}

/// The warning notices left on a job, oldest first.
///
/// # Errors
/// [`Error::NotFound`] for whom the job's papers are not, and when there is none.
pub fn notices_of_job(world: &World, seat: &Seat, job: JobId) -> Result<Vec<NoticePaper>, Error> {
    let names = names_in(world, seat.estate())?;
    let mut papers = world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_see_records(seat, &job)?;
        let building = tx.building(job.building)?;
        let kinds = tx.kinds()?;
        let from = letterhead_in(tx)?;
        let mut papers = Vec::<(NoticePaper, Vec<Covers>)>::new();
        for notice in tx.notices_of_job(job.id)? {
            let unit = tx.unit(notice.unit)?;
            let sheet = sheet_of(tx, &notice, job.id)?;
            let kind = kinds.iter().find(|k| k.code == unit.kind);
            let asked = kind.map_or_else(Vec::new, papers_for);
            let paper = NoticePaper {
                kind_name: kind.map_or_else(|| unit.kind.clone(), |k| k.name.clone()),
                told: told(&sheet),
                heat: heat(&sheet),
                by: (String::new(), String::new()),
                registration: String::new(),
                from: from.clone(),
                building: building.clone(),
                job: job.clone(),
                unit,
                notice,
            };
            papers.push((paper, asked));
        }
        Ok(papers)
    })?;
    if papers.is_empty() {
        return Err(Error::NotFound("notice"));
    }
    for (paper, asked) in &mut papers {
        let firm = paper.job.firm.map(|id| names.firm(id).to_owned());
        let card = paper.job.engineer.and_then(|id| names.engineer_card(id));
        let day = crate::work::wall::day(paper.notice.made_at);
        paper.by = (
            firm.unwrap_or_default(),
            card.map(|e| e.name.clone()).unwrap_or_default(),
        );
        paper.registration = registration(card, asked, day);
    }
    Ok(papers.into_iter().map(|(paper, _)| paper).collect())
}

/// The sheet that stated it: the newest of the job with its class and words.
fn sheet_of(tx: &mut Tx<'_>, notice: &Notice, job: JobId) -> Result<Sheet, Error> {
    for visit in tx.visits_of(job)?.into_iter().rev() {
        let Some(row) = tx.last_sheet(visit.id)? else {
            continue;
        };
        let sheet: Sheet =
            serde_json::from_value(row.body).map_err(|e| Error::Internal(format!("sheet: {e}")))?;
        let same = class_of(&sheet) == Some(notice.class.as_str());
        if same && sheet.get("unsafe_words") == notice.words {
            return Ok(sheet);
        }
    }
    Ok(Sheet::new())
}

fn told(sheet: &Sheet) -> Vec<(&'static str, String)> {
    TOLD.iter()
        .filter(|(key, ..)| sheet.has(key))
        .map(|(key, who, _)| (*who, sheet.get(key).to_owned()))
        .collect()
}

fn heat(sheet: &Sheet) -> String {
    let said = HEAT.iter().find(|(code, _)| *code == sheet.get("heat"));
    let Some((code, words)) = said else {
        return String::new();
    };
    match *code {
        "lent" | "declined" => format!(
            "{}: {words} at {}.",
            sheet.get("heat_what"),
            sheet.get("heat_at")
        ),
        _ => format!("Temporary heat: {words}."),
    }
}
