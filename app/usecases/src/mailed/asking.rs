//! The desk asks for a page to be mailed: with an offer, or to the firm that has the job.
use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use terms::{FirmId, JobId, Role};

use crate::work::{Job, OfferForm, must_reach_job, names_in, offer_in, wall};
use crate::{Error, Seat, World};

/// The task that writes the mail.
pub const MAIL_TASK: &str = "mail_page";

/// A page to be mailed, as the task is told of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PageToMail {
    /// About which job.
    pub job: JobId,
    /// To which firm.
    pub firm: FirmId,
    /// At which address.
    pub to: String,
}

/// Offers a job to a firm and mails it the page. An empty address is the one on record, another is kept for next time.
///
/// # Errors
/// Those of [`crate::work::offer`], and [`Error::Invalid`] at `mail_to`.
pub fn offer_by_mail(
    world: &World,
    seat: &Seat,
    (form, to): (OfferForm, String),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        tx.once(once, &(&form, &to), |tx| {
            offer_in(tx, seat, &form, &names)?;
            let job = tx.job(form.job)?;
            let to = address(tx, form.firm, &to)?;
            let now = tx.at();
            ask_for(tx, &job, (form.firm, to), now)
        })
    })
}

/// Mails the firm that has a job its page, to report the visit with.
///
/// # Errors
/// [`Error::Conflict`] when nobody has the job or it is over; [`Error::Invalid`] at `mail_to`.
pub fn mail_page(
    world: &World,
    seat: &Seat,
    (job, to): (JobId, String),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        tx.once(once, &(job, &to), |tx| {
            let job = tx.hold_job(job)?;
            must_reach_job(tx, seat, &job)?;
            let Some(firm) = job.firm.filter(|_| !job.state.is_closed()) else {
                return Err(Error::Conflict(format!(
                    "{} is {}: there is no firm to mail a page to.",
                    job.number, job.state
                )));
            };
            let to = address(tx, firm, &to)?;
            let now = tx.at();
            ask_for(tx, &job, (firm, to), now)
        })
    })
}

/// Queues the mail with what is being done, not to be written before `run_at`.
pub(super) fn ask_for(
    tx: &mut Tx<'_>,
    job: &Job,
    (firm, to): (FirmId, String),
    run_at: DateTime<Utc>,
) -> Result<(), Error> {
    let page = PageToMail {
        job: job.id,
        firm,
        to,
    };
    let payload = serde_json::to_value(&page).map_err(|e| Error::Internal(e.to_string()))?;
    let key = format!("page {} {firm} {}", job.id, wall::day(run_at));
    tx.queue_for(run_at, MAIL_TASK, payload, Some(&key))?;
    let when = if run_at > tx.at() {
        format!(" at {}", wall::words(run_at))
    } else {
        String::new()
    };
    let words = format!(
        "A page with a reply form goes by mail to {}{when}.",
        page.to
    );
    tx.add_job_event(job.id, job.state, Some((firm, job.engineer)), &words)?;
    tx.note(
        "page to be mailed",
        &format!("job {}", job.id),
        &json!({ "number": job.number, "firm": firm, "to": page.to }),
    );
    Ok(())
}

fn key_of(firm: FirmId) -> String {
    format!("mail.{firm}")
}

/// The address typed, kept for next time; else the one on record.
fn address(tx: &mut Tx<'_>, firm: FirmId, typed: &str) -> Result<String, Error> {
    let typed = typed.trim();
    let known = tx.setting(&key_of(firm))?;
    if typed.is_empty() {
        return known.ok_or_else(|| {
            Error::field(
                "mail_to",
                "No address of this firm is on record: type the one to mail to.",
            )
        });
    }
    if !is_address(typed) {
        return Err(Error::field(
            "mail_to",
            format!("“{typed}” is not a mail address such as office@firm.example."),
        ));
    }
    if known.as_deref() != Some(typed) {
        tx.set(&key_of(firm), typed)?;
    }
    Ok(typed.to_owned())
}

/// Whether a text is an address as a mail's head takes it: one @, letters, digits and the usual signs, a full domain.
fn is_address(text: &str) -> bool {
    let Some((name, domain)) = text.split_once('@') else {
        return false;
    };
    let named = |c: char| c.is_ascii_alphanumeric() || "!#$%&'*+/=?^_`{|}~.-".contains(c);
    let hosted = |c: char| c.is_ascii_alphanumeric() || c == '.' || c == '-';
    text.len() <= 254
        && !name.is_empty()
        && name.chars().all(named)
        && domain.contains('.')
        && domain.chars().all(hosted)
        && domain.split('.').all(|label| !label.is_empty())
}

/// The mail addresses of firms on record.
///
/// # Errors
/// [`Error::Forbidden`] for anybody but the desk.
pub fn firm_addresses(world: &World, seat: &Seat) -> Result<BTreeMap<FirmId, String>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let names = names_in(world, seat.estate())?;
    world.acting(seat, |tx| {
        let mut known = BTreeMap::new();
        for firm in &names.firms {
            if let Some(address) = tx.setting(&key_of(firm.id))? {
                known.insert(firm.id, address);
            }
        }
        Ok(known)
    })
}

#[cfg(test)]
mod tests {
    use super::is_address;

    #[test]
    fn what_could_bend_a_mails_head_is_no_address() {
        assert!(is_address("office@firm-a.example"));
        assert!(is_address("o'brien+jobs@mail.firm.example"));
        for wrong in [
            "",
            "office",
            "@firm.example",
            "office@firm",
            "office@firm..example",
            "a b@firm.example",
            "office@firm.example\r\nBcc: all@firm.example",
            "office@firm.example, other@firm.example",
            "ófice@firm.example",
        ] {
            assert!(!is_address(wrong), "{wrong}");
        }
    }
}
