//! Photos and papers on units, visits and access attempts: who may send them, who may see them, and what is kept.
mod picture;

use serde_json::json;
use sha2::{Digest, Sha256};
use store::Tx;
use store::enclosures::WhichEnclosures;
use store::jobs::Job;
use terms::{AccountId, JobId, Role, UnitId, hex};
use uuid::Uuid;

use crate::register::may_read_unit;
use crate::work::{must_reach_job, must_see};
use crate::{Error, Seat, World};

pub use store::enclosures::Enclosure;

/// The largest file that is taken, bytes.
pub const MOST_BYTES: usize = 20 * 1024 * 1024;

const MAY_SEND: [Role; 4] = [
    Role::Agent,
    Role::Supervisor,
    Role::Contractor,
    Role::Office,
];

/// What a photo or paper is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub enum Of {
    /// A unit.
    Unit(UnitId),
    /// A job: its latest visit, or its latest attempt at access where nobody opened since.
    Job(JobId),
}

/// A file as sent.
#[derive(Clone, Debug)]
pub struct NewEnclosure {
    /// What it is of.
    pub of: Of,
    /// Its name.
    pub name: String,
    /// What is written to it.
    pub words: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Photos and papers as a page shows them.
#[derive(Clone, Debug)]
pub struct Shown {
    /// What they are of, in words: a unit's number and place, or a job's number and place.
    pub title: String,
    /// Newest first.
    pub all: Vec<Enclosure>,
    /// Names behind accounts.
    pub names: Vec<(AccountId, String)>,
    /// Whether this seat may send more.
    pub may_send: bool,
    /// Whether this seat may take one out.
    pub may_take_out: bool,
}

/// Photos and papers of a unit and of the visits to it, as far as this seat may see them.
pub fn of(world: &World, seat: &Seat, of: Of) -> Result<Shown, Error> {
    let (title, all) = world.acting(seat, |tx| {
        let (title, which) = match of {
            Of::Unit(id) => {
                let unit = tx.unit(id)?;
                may_read_unit(tx, seat, &unit)?;
                let title = format!("{}, {}", unit.number, unit.space_name);
                (title, WhichEnclosures::Unit(id))
            }
            Of::Job(id) => {
                let job = tx.job(id)?;
                must_see(tx, seat, &job)?;
                let title = format!("{}, {}", job.number, tx.space(job.space)?.name);
                (title, WhichEnclosures::Job(id))
            }
        };
        let mut all = Vec::new();
        for one in tx.enclosures(which)? {
            if may_see(tx, seat, &one).is_ok() {
                all.push(one);
            }
        }
        Ok((title, all))
    })?;
    let mut who: Vec<AccountId> = all.iter().map(|one| one.by).collect();
    who.sort();
    who.dedup();
    Ok(Shown {
        title,
        all,
        names: crate::door::names(world, &who)?,
        may_send: seat.must_be(&MAY_SEND).is_ok(),
        may_take_out: may_take_out(seat),
    })
}

fn may_take_out(seat: &Seat) -> bool {
    seat.must_be(&[Role::Agent, Role::Supervisor]).is_ok()
}

/// What is of a visit or an attempt is seen by whoever sees the job: the desk, and the firm that has it. What is of a
/// unit is seen by whoever may read of the unit, its landlord too.
fn may_see(tx: &mut Tx<'_>, seat: &Seat, one: &Enclosure) -> Result<(), Error> {
    match (one.job, one.unit) {
        (Some(job), _) => {
            let job = tx.job(job)?;
            must_see(tx, seat, &job)
        }
        (None, Some(unit)) => {
            let unit = tx.unit(unit)?;
            may_read_unit(tx, seat, &unit)
        }
        (None, None) => Err(Error::NotFound("file")),
    }
}

/// One photo or paper with its bytes.
///
/// # Errors
/// [`Error::NotFound`] for one that is not there, was taken out, or is not this seat's to see.
pub fn body(world: &World, seat: &Seat, id: Uuid) -> Result<(Enclosure, Vec<u8>), Error> {
    world.acting(seat, |tx| {
        let one = found(tx, id)?;
        may_see(tx, seat, &one)?;
        let bytes = tx.enclosure_body(&one.digest)?;
        Ok((one, bytes))
    })
}

fn found(tx: &mut Tx<'_>, id: Uuid) -> Result<Enclosure, Error> {
    let one = tx.enclosures(WhichEnclosures::One(id))?;
    one.into_iter().next().ok_or(Error::NotFound("file"))
}

/// A file as it is kept.
struct Kept {
    sort: &'static str,
    bytes: Vec<u8>,
    size: (u32, u32),
}

/// Keeps a photo, made our own, or a paper, untouched.
///
/// # Errors
/// [`Error::Invalid`] at `file` with the sentence why it cannot be taken.
pub fn add(world: &World, seat: &Seat, form: NewEnclosure, once: &str) -> Result<Uuid, Error> {
    seat.must_be(&MAY_SEND)?;
    // Who may not send is told so before anything is unpacked.
    world.acting(seat, |tx| place(tx, seat, form.of).map(drop))?;
    let kept = kept(form.bytes).map_err(|sentence| Error::field("file", sentence))?;
    let digest = hex(&Sha256::digest(&kept.bytes));
    let words: String = form.words.trim().chars().take(500).collect();
    let name = name_of(&form.name, kept.sort);
    world.acting(seat, |tx| {
        tx.once(once, &(form.of, &digest, &words), |tx| {
            let at = place(tx, seat, form.of)?;
            let new = Enclosure {
                sort: kept.sort.to_owned(),
                name: name.clone(),
                words: words.clone(),
                digest: digest.clone(),
                bytes: i32::try_from(kept.bytes.len()).unwrap_or(i32::MAX),
                width: kept.size.0 as i32,
                height: kept.size.1 as i32,
                ..at
            };
            let id = tx.add_enclosure(&new, &kept.bytes)?;
            tx.note(
                "photo or paper kept",
                &format!("{} {}", new.about, new.about_id),
                &json!({ "file": id, "sort": new.sort, "digest": digest, "bytes": new.bytes }),
            );
            Ok(id)
        })
    })
}

/// Made ours by its first bytes, whatever its name says.
fn kept(bytes: Vec<u8>) -> Result<Kept, String> {
    if bytes.len() > MOST_BYTES {
        return Err("The file has more than 20 MB. Send a smaller one.".to_owned());
    }
    if bytes.starts_with(b"%PDF-") {
        return Ok(Kept {
            sort: "paper",
            bytes,
            size: (0, 0),
        });
    }
    let format = picture::format_of(&bytes).ok_or_else(|| {
        "This is neither a photo (JPEG, PNG, WebP) nor a PDF, so it was not kept.".to_owned()
    })?;
    let picture = picture::made_ours(&bytes, format)?;
    Ok(Kept {
        sort: "photo",
        bytes: picture.bytes,
        size: (picture.width, picture.height),
    })
}

/// The last part of a path without control characters, ending as what is kept does.
fn name_of(said: &str, sort: &str) -> String {
    let last = said.rsplit(['/', '\\']).next().unwrap_or(said);
    let stem = last.rsplit_once('.').map_or(last, |parts| parts.0);
    let plain: String = stem.chars().filter(|c| !c.is_control()).take(80).collect();
    let stem = match plain.trim() {
        "" => sort,
        stem => stem,
    };
    let ending = if sort == "paper" { "pdf" } else { "jpg" };
    format!("{stem}.{ending}")
}

/// Where a file belongs; passes when the seat may send there.
fn place(tx: &mut Tx<'_>, seat: &Seat, of: Of) -> Result<Enclosure, Error> {
    match of {
        Of::Unit(id) => {
            let unit = tx.unit(id)?;
            may_read_unit(tx, seat, &unit)?;
            let mut at = nothing(tx, "unit", id.0, unit.building);
            at.unit = Some(id);
            Ok(at)
        }
        Of::Job(id) => {
            let job = tx.job(id)?;
            must_reach_job(tx, seat, &job)?;
            of_job(tx, &job)
        }
    }
}

/// The latest visit of a job, or the latest attempt at access where it was later.
fn of_job(tx: &mut Tx<'_>, job: &Job) -> Result<Enclosure, Error> {
    let visit = tx
        .visits_of(job.id)?
        .into_iter()
        .max_by_key(|v| v.arrived_at);
    let attempt = tx.last_access_attempt(job.id)?;
    let (about, id) = match (visit, attempt) {
        // An attempt at access is a visit of the same moment; its photos are the attempt's.
        (Some(visit), Some((_, at))) if visit.arrived_at > at => ("visit", visit.id.0),
        (_, Some((attempt, _))) => ("attempt", attempt),
        (Some(visit), None) => ("visit", visit.id.0),
        (None, None) => {
            return Err(Error::field(
                "file",
                "Nobody was there yet. Say first that you are at the unit, or that nobody opened.",
            ));
        }
    };
    let mut at = nothing(tx, about, id, job.building);
    at.unit = job.unit;
    at.job = Some(job.id);
    Ok(at)
}

fn nothing(tx: &Tx<'_>, about: &str, about_id: Uuid, building: terms::BuildingId) -> Enclosure {
    Enclosure {
        id: Uuid::nil(),
        about: about.to_owned(),
        about_id,
        building,
        unit: None,
        job: None,
        sort: String::new(),
        name: String::new(),
        words: String::new(),
        digest: String::new(),
        bytes: 0,
        width: 0,
        height: 0,
        at: tx.at(),
        by: tx.who(),
    }
}

/// Takes a photo or paper out of sight; that it was there, and who took it out, stays on record. Answers the unit and the
/// job it was of.
pub fn take_out(
    world: &World,
    seat: &Seat,
    id: Uuid,
    once: &str,
) -> Result<(Option<UnitId>, Option<JobId>), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &(id, "take out"), |tx| {
            let one = found(tx, id)?;
            may_see(tx, seat, &one)?;
            tx.take_enclosure_out(id)?;
            tx.note(
                "photo or paper taken out",
                &format!("{} {}", one.about, one.about_id),
                &json!({ "file": id, "digest": one.digest }),
            );
            Ok((one.unit, one.job))
        })
    })
}
