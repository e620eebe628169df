//! What is due: every duty that holds, with its window, its last check, the tries to get in and its job.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use inspection::calendar::{date_words, days_between};
use store::Tx;
use store::duties::{Completion, DutyCard, DutyJob};
use store::letters::SentLetter;
use store::units::Which;
use terms::place::SpaceCard;
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{BuildingId, DutyId, Role, SpaceId, UnitId, UsedAs};

use super::DutyAt;
use super::dates::{Window, window};
use crate::work::wall;
use crate::{Error, Seat, World};

/// How a duty stands today.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Past its last day.
    Late {
        /// Days since.
        days: i64,
    },
    /// No evidence of any check: due now.
    Unknown,
    /// Its window is open, or it may be done at any time before its day.
    Open,
    /// Its window opens later.
    Ahead,
}

/// One duty as it stands.
#[derive(Clone, Debug)]
pub struct DutyLine {
    /// The duty.
    pub duty: DutyId,
    /// Its rule.
    pub rule: DutyRule,
    /// What it stands on.
    pub at: DutyAt,
    /// The unit it is about; none where it is a home's, a plant room's or the building's.
    pub unit: Option<UnitCard>,
    /// The building.
    pub building: BuildingId,
    /// The building's name.
    pub building_name: String,
    /// The flat's or room's name; empty when it is the building's.
    pub space_name: String,
    /// When it is best met; `None` without any evidence.
    pub window: Option<Window>,
    /// The row that left the present deadline.
    pub latest: Option<Completion>,
    /// The last whole check.
    pub last_done: Option<Completion>,
    /// Tries without access since then.
    pub attempts: Vec<DateTime<Utc>>,
    /// Letters about access since then.
    pub letters: Vec<SentLetter>,
    /// Somebody lives where it stands: letters can be written there.
    pub home: bool,
    /// Open jobs that are to meet it.
    pub jobs: Vec<DutyJob>,
    /// How it stands today.
    pub standing: Standing,
}

impl DutyLine {
    /// The unit's number; empty where it stands on none.
    pub fn number(&self) -> &str {
        self.unit.as_ref().map_or("", |unit| unit.number.as_str())
    }

    /// "Flat 40, Alder House", or the building alone.
    pub fn place(&self) -> String {
        if self.space_name.is_empty() {
            self.building_name.clone()
        } else {
            format!("{}, {}", self.space_name, self.building_name)
        }
    }

    /// The last day that is not late; `None` without any evidence.
    pub fn last_day(&self) -> Option<NaiveDate> {
        self.window.map(|w| w.last)
    }

    /// What comes next where nobody opened; nothing where nobody lives.
    pub fn next_step(&self) -> Option<crate::letters::NextStep> {
        crate::letters::next_step(&self.attempts, &self.letters, self.booked())
            .filter(|_| self.home)
    }

    /// How its present date came, in a sentence that names it.
    pub fn explained(&self) -> String {
        let Some(row) = &self.latest else {
            return "There is no record of it, and no deadline was stated. What nobody can prove is due now."
                .to_owned();
        };
        match row.next_deadline.map(date_words) {
            Some(due) if !row.reason.contains(&due) => {
                format!("Stated as due by {due}: {}", row.reason)
            }
            _ => row.reason.clone(),
        }
    }

    /// The booked day, when a job has one.
    pub fn booked(&self) -> Option<DateTime<Utc>> {
        self.jobs.iter().filter_map(|j| j.booked_from).min()
    }
}

/// The duties in the seat's reach that are due by `until`: late ones first, what the law asks before what a maker or
/// a code asks however long that is; then those without evidence, then by their last day.
pub fn due(world: &World, seat: &Seat, until: NaiveDate) -> Result<Vec<DutyLine>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    let today = wall::day(world.now());
    world.acting(seat, |tx| {
        let mut found = lines(tx, seat, today)?;
        found.retain(|line| line.last_day().is_none_or(|day| day <= until));
        Ok(found)
    })
}

/// Every duty that holds in the seat's reach, in the order of [`due`].
pub(crate) fn lines(
    tx: &mut Tx<'_>,
    seat: &Seat,
    today: NaiveDate,
) -> Result<Vec<DutyLine>, Error> {
    let units: BTreeMap<UnitId, UnitCard> = tx
        .units(Which::All)?
        .into_iter()
        .filter(|u| seat.grant().reaches(u.building))
        .map(|u| (u.id, u))
        .collect();
    let mut cards = tx.open_duties()?;
    cards.retain(|card| seat.grant().reaches(card.building));
    let mut found = standing_of(tx, cards, &units, today)?;
    found.sort_by(|a, b| {
        let key = |l: &DutyLine| match l.standing {
            Standing::Late { days } => (0, l.rule.basis != "law", -days),
            Standing::Unknown => (1, false, 0),
            Standing::Open | Standing::Ahead => (2, false, 0),
        };
        (key(a), a.last_day(), a.number(), a.place(), &a.rule.code).cmp(&(
            key(b),
            b.last_day(),
            b.number(),
            b.place(),
            &b.rule.code,
        ))
    });
    Ok(found)
}

/// These duties with everything known of them; those of units not in `units` are left out, those of places are not.
pub(super) fn standing_of(
    tx: &mut Tx<'_>,
    cards: Vec<DutyCard>,
    units: &BTreeMap<UnitId, UnitCard>,
    today: NaiveDate,
) -> Result<Vec<DutyLine>, Error> {
    let rules: BTreeMap<String, DutyRule> = tx
        .duty_rules()?
        .into_iter()
        .map(|rule| (rule.code.clone(), rule))
        .collect();
    let mut latest = tx.latest_completions(false)?;
    let mut checks = tx.latest_completions(true)?;
    let mut attempts = tx.duty_attempts()?;
    let spaces: BTreeMap<SpaceId, SpaceCard> =
        tx.spaces(None)?.into_iter().map(|s| (s.id, s)).collect();
    let buildings: BTreeMap<BuildingId, String> = tx
        .buildings()?
        .into_iter()
        .map(|b| (b.id, b.name))
        .collect();
    let known = tx.at();
    let mut letters = tx.letters_of_duties(known)?;
    let mut jobs = jobs_of(tx)?;
    let mut found = Vec::with_capacity(cards.len());
    for card in cards {
        let unit = card.unit.and_then(|id| units.get(&id));
        let Some(rule) = rules.get(&card.rule) else {
            continue;
        };
        // A unit may have moved since its duty was opened; a place stays where it is.
        let (space, building_name) = match unit {
            Some(unit) => (Some(unit.space), Some(unit.building_name.clone())),
            None if card.unit.is_some() => continue,
            None => (card.space, buildings.get(&card.building).cloned()),
        };
        let space = space.and_then(|id| spaces.get(&id));
        let latest = latest.remove(&card.id);
        let last_done = checks.remove(&card.id);
        let since = last_done.as_ref().and_then(|c| c.done_on);
        let tries = attempts.remove(&card.id).unwrap_or_default();
        let mut sent = letters.remove(&card.id).unwrap_or_default();
        sent.retain(|l| since.is_none_or(|day| l.happened_on > day) && l.kind.nth().is_some());
        let window = latest
            .as_ref()
            .and_then(|c| c.next_deadline)
            .map(|deadline| window(rule, deadline));
        found.push(DutyLine {
            duty: card.id,
            rule: rule.clone(),
            at: DutyAt::of(&card),
            unit: unit.cloned(),
            building: unit.map_or(card.building, |unit| unit.building),
            building_name: building_name.unwrap_or_default(),
            space_name: space.map_or_else(String::new, |s| s.name.clone()),
            standing: stands(window, latest.is_some(), today),
            window,
            latest,
            last_done,
            attempts: tries
                .into_iter()
                .filter(|at| since.is_none_or(|day| wall::day(*at) > day))
                .collect(),
            letters: sent,
            home: space.is_some_and(|s| s.used_as == UsedAs::Flat),
            jobs: jobs.remove(&card.id).unwrap_or_default(),
        });
    }
    Ok(found)
}

/// The open jobs by the duty each is to meet.
fn jobs_of(tx: &mut Tx<'_>) -> Result<BTreeMap<DutyId, Vec<DutyJob>>, Error> {
    let mut jobs: BTreeMap<DutyId, Vec<DutyJob>> = BTreeMap::new();
    for job in tx.duty_jobs()? {
        jobs.entry(job.duty).or_default().push(job);
    }
    Ok(jobs)
}

fn stands(window: Option<Window>, on_record: bool, today: NaiveDate) -> Standing {
    let Some(window) = window else {
        // A one-off duty that was met leaves no deadline; it is not due again.
        return if on_record {
            Standing::Ahead
        } else {
            Standing::Unknown
        };
    };
    if window.last < today {
        Standing::Late {
            days: days_between(window.last, today),
        }
    } else if window.first.is_none_or(|first| first <= today) {
        Standing::Open
    } else {
        Standing::Ahead
    }
}
