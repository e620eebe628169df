//! Notices of planned visits that are still to go out.
use chrono::NaiveDate;
use terms::LetterKind;
use usecases::letters::NoticeDue;
use wording::sentences::{dates, plural, spans};
use wording::{Link, Row, Urgency, Verb};

/// Notices shown one by one before the rest is summed up.
const SHOWN: usize = 8;

/// Notices of planned visits to send, soonest first; the letter behind each is filled in already.
pub(super) fn rows(due: &[NoticeDue], today: NaiveDate) -> Vec<Row> {
    let mut rows: Vec<Row> = due
        .iter()
        .take(SHOWN)
        .map(|notice| {
            let job = &notice.job;
            let subject = Link::new(
                format!("{}, {}", job.space_name, job.building_name),
                format!("/jobs/{}", job.id),
            );
            let before = match notice.named {
                Some(day) => format!(" The notice that went out names {}.", dates::day(day)),
                None => String::new(),
            };
            let sentence = format!(
                ": notice to send by {} of the visit on {}.{before}",
                dates::day(notice.by),
                dates::weekday_day(notice.visit)
            );
            let urgency = if notice.by < today {
                Urgency::Late
            } else {
                Urgency::Soon
            };
            Row::about(format!("notice-{}", job.id), subject, sentence)
                .urgency(urgency)
                .figure(spans::due(today, notice.by), job.number.clone())
                .verb(Verb::link(
                    "Read and send the notice",
                    format!(
                        "/jobs/{}/letters/{}",
                        job.id,
                        LetterKind::PlannedVisit.code()
                    ),
                ))
        })
        .collect();
    if due.len() > SHOWN {
        let more = plural((due.len() - SHOWN) as u64, "more notice", "more notices");
        rows.push(Row::plain("notices-more", format!("And {more} to send.")));
    }
    rows
}
