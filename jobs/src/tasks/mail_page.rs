//! A mail with the link to a job's own page, written into the outbox as one file.
use std::fs::{self, OpenOptions};
use std::io::Write;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::Path;

use chrono_tz::Europe::London;
use usecases::mailed::{PageMail, PageToMail, prepare};
use usecases::tasks::Claimed;
use usecases::{Seat, World};
use wording::mail::message;
use wording::sentences::mailed::{Told, subject, text};

use super::Trouble;
use crate::Mail;

pub(super) fn run(
    world: &World,
    seat: &Seat,
    (mail, task): (Option<&Mail>, &Claimed),
) -> Result<String, Trouble> {
    let mail = mail.ok_or_else(|| Trouble::Unknown("folder for mails".to_owned()))?;
    let page: PageToMail = serde_json::from_value(task.payload.clone())
        .map_err(|e| Trouble::Unknown(format!("mail to be written: {e}")))?;
    let Some(told) = prepare(world, seat, &page)? else {
        return Ok("no mail: the job is not theirs to answer any more".to_owned());
    };
    // A second try of the same task has a newer link and takes the place of the first file.
    let id = task.id.to_string();
    let whole = written(world, mail, (&told, &id));
    keep(&mail.outbox, &id, &whole).map_err(|error| {
        let place = mail.outbox.display().to_string();
        Trouble::Unwritten(place, error)
    })?;
    Ok(format!("a mail to {} is in the outbox", told.to))
}

fn written(world: &World, mail: &Mail, (page, id): (&PageMail, &str)) -> String {
    let local = |at: chrono::DateTime<chrono::Utc>| at.with_timezone(&London).naive_local();
    let link = format!("{}{}", mail.pages, page.path);
    let told = Told {
        firm: &page.firm,
        from: &page.from.name,
        telephone: &page.from.telephone,
        number: &page.number,
        place: &page.place,
        kind: page.kind,
        lost: page.lost,
        due: page.due_at.map(local),
        offered_until: page.offered_until.map(local),
        booked: page.booked.map(|(from, _)| local(from)),
        link: &link,
        until: local(page.until_at),
    };
    message(&wording::mail::Mail {
        from: (&page.from.name, &mail.from),
        to: &page.to,
        subject: &subject(&told),
        at: world.now(),
        id,
        body: &text(&told),
    })
}

/// Writes beside the name and moves into place, so that nobody sends half a mail; only the owner may read it.
fn keep(outbox: &Path, id: &str, whole: &str) -> std::io::Result<()> {
    fs::DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(outbox)?;
    let part = outbox.join(format!("{id}.part"));
    let mut file = OpenOptions::new()
        .create(true)
        .truncate(true)
        .write(true)
        .mode(0o600)
        .open(&part)?;
    file.write_all(whole.as_bytes())?;
    file.sync_all()?;
    fs::rename(&part, outbox.join(format!("{id}.eml")))
}
