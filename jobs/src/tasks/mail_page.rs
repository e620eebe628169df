//! A mail with the link to a job's own page: written into the outbox as one file, then handed to the mail server, if one
//! is set. The task is tried again until the server has taken the mail.
use std::fs::{self, OpenOptions};
use std::io::Write;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt};
use std::path::Path;

use chrono_tz::Europe::London;
use usecases::mailed::{PageMail, PageToMail, prepare, say_unsent};
use usecases::tasks::Claimed;
use usecases::{Seat, World};
use wording::mail::message;
use wording::sentences::mailed::{Told, subject, text};

use super::Trouble;
use crate::Mail;
use crate::mail_server::Refusal;

pub(super) fn run(
    world: &World,
    seat: &Seat,
    (mail, task): (Option<&Mail>, &Claimed),
) -> Result<String, Trouble> {
    let mail = mail.ok_or_else(|| Trouble::Unknown("folder for mails".to_owned()))?;
    let page: PageToMail = serde_json::from_value(task.payload.clone())
        .map_err(|e| Trouble::Unknown(format!("mail to be written: {e}")))?;
    let id = task.id.to_string();
    let sent = mail.outbox.join(format!("{id}.sent"));
    // As after a crash between the server's yes and the end of the task: a newer link would end the one that is out.
    if mail.server.is_some() && sent.exists() {
        return Ok("the mail had gone out already".to_owned());
    }
    let Some(told) = prepare(world, seat, &page)? else {
        return Ok("no mail: the job is not theirs to answer any more".to_owned());
    };
    // A second try of the same task has a newer link and takes the place of the first file.
    let whole = written(world, mail, (&told, &id));
    let unwritten = |error| Trouble::Unwritten(mail.outbox.display().to_string(), error);
    keep(&mail.outbox, &id, &whole).map_err(unwritten)?;
    let Some(server) = &mail.server else {
        return Ok(format!("a mail to {} is in the outbox", told.to));
    };
    // Made beforehand, so that a full disk is noticed before the mail is out and not after.
    let note = mail.outbox.join(format!("{id}.sending"));
    keep_file(&note, &format!("{}\n", world.now().to_rfc3339())).map_err(unwritten)?;
    let said = match server.send((&mail.from, &told.to), &whole) {
        Ok(said) => said,
        Err(Refusal::ForNow(why)) => return Err(Trouble::Unsent(server.to_string(), why)),
        Err(Refusal::ForGood(why)) => {
            fs::remove_file(&note).map_err(unwritten)?;
            say_unsent(world, seat, (&page, &why), &id)?;
            return Ok(format!("{server} refused the mail to {}: {why}", told.to));
        }
    };
    fs::rename(&note, &sent).map_err(unwritten)?;
    Ok(format!(
        "a mail to {} was taken by {server}: {said}",
        told.to
    ))
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
    keep_file(&part, whole)?;
    fs::rename(&part, outbox.join(format!("{id}.eml")))
}

fn keep_file(place: &Path, whole: &str) -> std::io::Result<()> {
    let mut file = OpenOptions::new()
        .create(true)
        .truncate(true)
        .write(true)
        .mode(0o600)
        .open(place)?;
    file.write_all(whole.as_bytes())?;
    file.sync_all()
}
