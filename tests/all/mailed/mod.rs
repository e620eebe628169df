//! A job offered by mail: the mail as a file, its link, the page, and every use of it that is refused.
mod answers;
mod letter;
mod refusals;
mod sending;

use terms::{JobId, JobKind};

use crate::support::Client;
use crate::work_estate::{AGENT, Loop, fresh};

pub use letter::Outbox;

pub const OFFICE_A: &str = "office@firm-a.example";

/// Offers a job to a firm through the desk's page, by mail.
pub fn offer_by_mail(estate: &Loop, job: JobId, firm: terms::FirmId) {
    let firm = firm.to_string();
    let fields = [
        ("once", fresh()),
        ("firm", firm),
        ("hours", "300".to_owned()),
        ("mailed", "yes".to_owned()),
        ("mail_to", OFFICE_A.to_owned()),
    ];
    let fields: Vec<(&str, &str)> = fields.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let answer = estate
        .client(AGENT)
        .post(&format!("/jobs/{job}/offer"), &fields);
    assert_eq!(answer.status(), 303);
}

/// A survey on offer to Firm A by mail, with the address of its page.
pub fn offered(estate: &Loop, outbox: &Outbox) -> (JobId, String) {
    let job = estate.open(JobKind::Survey, estate.boiler, Vec::new());
    offer_by_mail(estate, job, estate.firm_a);
    let path = outbox.newest(estate).path(estate);
    (job, path)
}

pub fn post(
    client: &Client,
    path: &str,
    act: &str,
    more: &[(&str, &str)],
) -> reqwest::blocking::Response {
    let once = fresh();
    let mut fields = vec![("once", once.as_str()), ("act", act)];
    fields.extend(more);
    client.post(path, &fields)
}

pub const DAY: [(&str, &str); 3] = [("day", "2026-11-27"), ("from", "09:00"), ("until", "11:00")];

pub fn unused(estate: &Loop) -> bool {
    estate.count("door.reply_links WHERE used_at IS NOT NULL") == 0
}
