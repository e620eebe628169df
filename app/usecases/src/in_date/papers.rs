//! The papers of firms and engineers, each with the booked visits it would stop.
use chrono::{DateTime, NaiveDate, Utc};
use inspection::calendar::days_between;
use store::jobs::{Job, Which};
use terms::{Covers, Engineer, EngineerId, Firm, FirmId, FirmPaperSort, Instrument, JobId, Role};

use crate::work::{asked_of_firm, wall};
use crate::{Error, Seat, World};

/// Days ahead a paper counts as running out soon (our choice; a renewal takes weeks).
pub const SOON_DAYS: i64 = 60;

/// What a paper is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// An instrument's calibration.
    Calibration {
        /// As written on it.
        name: String,
    },
    /// A paper of the firm itself.
    OfFirm {
        /// Which.
        sort: FirmPaperSort,
        /// The number.
        number: String,
    },
    /// What an engineer may work on.
    Qualification {
        /// The field.
        covers: Covers,
        /// The number.
        number: String,
    },
}

/// A booked visit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stopped {
    /// The job.
    pub job: JobId,
    /// Its number.
    pub number: String,
    /// "Flat 14, Alder House"
    pub place: String,
    /// When it is booked.
    pub at: DateTime<Utc>,
}

/// One paper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paper {
    /// The firm's name.
    pub firm: String,
    /// The engineer's name; `None` for an instrument anyone of the firm carries.
    pub engineer: Option<String>,
    /// What it is about.
    pub what: What,
    /// Its last day.
    pub until: NaiveDate,
    /// Days from today to that day; negative when it has run out.
    pub days_left: i64,
    /// Booked visits it would stop.
    pub stops: Vec<Stopped>,
}

impl Paper {
    /// Whether it comes first: it runs out soon, or before a booked visit.
    pub fn is_pressing(&self) -> bool {
        self.days_left < SOON_DAYS || !self.stops.is_empty()
    }
}

/// A booked visit whose engineer never had the paper its work asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Missing {
    /// The firm's name.
    pub firm: String,
    /// Who is to attend.
    pub engineer: String,
    /// What the work asks for.
    pub covers: Covers,
    /// The visit.
    pub visit: Stopped,
}

/// Everything about papers in date.
#[derive(Clone, Debug, Default)]
pub struct Papers {
    /// The papers: pressing ones first, each part by its last day.
    pub papers: Vec<Paper>,
    /// Visits booked to somebody without the paper.
    pub missing: Vec<Missing>,
    /// Papers of firms of which none is on record: nobody has asked yet.
    pub not_asked: Vec<(String, FirmPaperSort)>,
    /// The firms, by name, whose papers the reader may state.
    pub firms: Vec<(FirmId, String)>,
}

/// The papers of everybody who works for the desk's estate, or of the office's own firm in every estate it serves.
///
/// # Errors
/// [`Error::Forbidden`] for anybody else.
pub fn papers(world: &World, seats: &[Seat]) -> Result<Papers, Error> {
    let mut firms: Vec<Firm> = Vec::new();
    let mut visits: Vec<Job> = Vec::new();
    for seat in seats {
        seat.must_be(&[Role::Agent, Role::Supervisor, Role::Office])?;
        let own = match seat.role() {
            Role::Office => Some(seat.firm()?),
            _ => None,
        };
        let here = world
            .pool
            .at_door::<_, Error>(|door| Ok(door.firms_of(seat.estate())?))?;
        for firm in here {
            let wanted = own.is_none_or(|own| own == firm.id);
            if wanted && firms.iter().all(|f| f.id != firm.id) {
                firms.push(firm);
            }
        }
        visits.extend(booked(world, seat, own)?);
    }
    if seats.is_empty() {
        return Err(Error::Forbidden("not in this role"));
    }
    let ids: Vec<FirmId> = firms.iter().map(|f| f.id).collect();
    let (engineers, instruments) = world.pool.at_door::<_, Error>(|door| {
        Ok((door.engineers_of(&ids)?, door.instruments_of_firms(&ids)?))
    })?;
    let facts = Facts {
        today: wall::day(world.now()),
        firms: &firms,
        engineers: &engineers,
        instruments: &instruments,
        visits: &visits,
    };
    let mut found = facts.qualifications();
    found.extend(facts.calibrations());
    found.extend(facts.of_firms());
    found.sort_by(|a, b| {
        let key = |p: &Paper| (!p.is_pressing(), p.until);
        key(a)
            .cmp(&key(b))
            .then_with(|| (&a.firm, &a.engineer).cmp(&(&b.firm, &b.engineer)))
    });
    Ok(Papers {
        papers: found,
        missing: facts.missing(),
        not_asked: facts.not_asked(),
        firms: firms.iter().map(|f| (f.id, f.name.clone())).collect(),
    })
}

/// The visits booked from now on, within the seat's reach.
fn booked(world: &World, seat: &Seat, own: Option<FirmId>) -> Result<Vec<Job>, Error> {
    let now = world.now();
    world.acting(seat, |tx| {
        Ok(tx
            .jobs(&Which::Open)?
            .into_iter()
            .filter(|j| seat.grant().reaches(j.building))
            .filter(|j| own.is_none_or(|own| j.firm == Some(own)))
            .filter(|j| !j.state.is_closed() && j.booked.is_some_and(|(_, until)| until >= now))
            .collect())
    })
}

struct Facts<'a> {
    today: NaiveDate,
    firms: &'a [Firm],
    engineers: &'a [Engineer],
    instruments: &'a [(FirmId, Option<EngineerId>, Instrument)],
    visits: &'a [Job],
}

fn asks_for(job: &Job, covers: Covers) -> bool {
    job.covers
        .split_whitespace()
        .any(|code| code == covers.code())
}

fn day_of(job: &Job) -> Option<NaiveDate> {
    job.booked.map(|(from, _)| wall::day(from))
}

fn stopped(job: &Job) -> Option<Stopped> {
    Some(Stopped {
        job: job.id,
        number: job.number.clone(),
        place: format!("{}, {}", job.space_name, job.building_name),
        at: job.booked?.0,
    })
}

impl Facts<'_> {
    fn firm(&self, id: FirmId) -> String {
        let firm = self.firms.iter().find(|f| f.id == id);
        firm.map_or_else(String::new, |f| f.name.clone())
    }

    /// The latest paper of each engineer in each field: an older one that was renewed says nothing any more.
    fn qualifications(&self) -> Vec<Paper> {
        let mut found = Vec::new();
        for engineer in self.engineers {
            for covers in Covers::ALL {
                let latest = engineer
                    .qualifications
                    .iter()
                    .filter(|q| q.covers == *covers)
                    .max_by_key(|q| q.until_on);
                let Some(paper) = latest else { continue };
                let stops = self
                    .visits
                    .iter()
                    .filter(|job| job.engineer == Some(engineer.id) && asks_for(job, *covers))
                    .filter(|job| {
                        day_of(job).is_some_and(|day| engineer.covers(*covers, day).is_none())
                    })
                    .filter_map(stopped)
                    .collect();
                found.push(Paper {
                    firm: self.firm(engineer.firm),
                    engineer: Some(engineer.name.clone()),
                    what: What::Qualification {
                        covers: *covers,
                        number: paper.number.clone(),
                    },
                    until: paper.until_on,
                    days_left: days_between(self.today, paper.until_on),
                    stops,
                });
            }
        }
        found
    }

    /// The latest paper of each sort of each firm: one that was renewed says nothing any more.
    fn of_firms(&self) -> Vec<Paper> {
        let mut found = Vec::new();
        for firm in self.firms {
            for sort in FirmPaperSort::ALL {
                let of_sort = firm.papers.iter().filter(|p| p.what == *sort);
                let Some(paper) = of_sort.max_by_key(|p| p.until_on) else {
                    continue;
                };
                let stops = self
                    .visits
                    .iter()
                    .filter(|job| job.firm == Some(firm.id) && asked_of_firm(&job.covers, *sort))
                    .filter(|job| day_of(job).is_some_and(|day| firm.stopped_by(*sort, day)))
                    .filter_map(stopped)
                    .collect();
                found.push(Paper {
                    firm: firm.name.clone(),
                    engineer: None,
                    what: What::OfFirm {
                        sort: *sort,
                        number: paper.number.clone(),
                    },
                    until: paper.until_on,
                    days_left: days_between(self.today, paper.until_on),
                    stops,
                });
            }
        }
        found
    }

    fn not_asked(&self) -> Vec<(String, FirmPaperSort)> {
        let mut found = Vec::new();
        for firm in self.firms {
            for sort in FirmPaperSort::ALL {
                if firm.papers.iter().all(|p| p.what != *sort) {
                    found.push((firm.name.clone(), *sort));
                }
            }
        }
        found
    }

    /// An analyser out of calibration stops gas work, unless who attends has another in date.
    fn calibrations(&self) -> Vec<Paper> {
        let mut found = Vec::new();
        for (firm, carrier, instrument) in self.instruments {
            let gone = carrier.is_some_and(|id| self.engineers.iter().all(|e| e.id != id));
            if gone {
                continue;
            }
            let stops = self
                .visits
                .iter()
                .filter(|job| {
                    let gas = asks_for(job, Covers::Gas) || asks_for(job, Covers::GasPlant);
                    measures_gas(&instrument.name) && gas
                })
                .filter(|job| job.firm == Some(*firm))
                .filter(|job| carrier.is_none() || job.engineer == *carrier)
                .filter(|job| {
                    day_of(job).is_some_and(|day| {
                        instrument.calibrated_until < day && !self.has_another(job, day)
                    })
                })
                .filter_map(stopped)
                .collect();
            let name = carrier.and_then(|id| self.engineers.iter().find(|e| e.id == id));
            found.push(Paper {
                firm: self.firm(*firm),
                engineer: name.map(|e| e.name.clone()),
                what: What::Calibration {
                    name: instrument.name.clone(),
                },
                until: instrument.calibrated_until,
                days_left: days_between(self.today, instrument.calibrated_until),
                stops,
            });
        }
        found
    }

    /// Whether who attends can measure combustion with another instrument in date on the day.
    fn has_another(&self, job: &Job, day: NaiveDate) -> bool {
        self.instruments.iter().any(|(firm, carrier, i)| {
            job.firm == Some(*firm)
                && (carrier.is_none() || *carrier == job.engineer)
                && measures_gas(&i.name)
                && i.calibrated_until >= day
        })
    }

    fn missing(&self) -> Vec<Missing> {
        let mut found = Vec::new();
        for job in self.visits {
            let engineer = self.engineers.iter().find(|e| Some(e.id) == job.engineer);
            let Some(engineer) = engineer else { continue };
            for covers in Covers::ALL {
                let never = engineer.qualifications.iter().all(|q| q.covers != *covers);
                if let (true, true, Some(visit)) = (never, asks_for(job, *covers), stopped(job)) {
                    found.push(Missing {
                        firm: self.firm(engineer.firm),
                        engineer: engineer.name.clone(),
                        covers: *covers,
                        visit,
                    });
                }
            }
        }
        found.sort_by_key(|m| m.visit.at);
        found
    }
}

/// Whether an instrument is one combustion is measured with, by its name: nothing else is known of it.
fn measures_gas(name: &str) -> bool {
    name.to_lowercase().contains("analyser")
}
