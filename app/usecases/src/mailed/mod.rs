//! A job by mail: one page with a reply form that needs no account, found by a link that answers for one firm about
//! one job, once, within seven days.
//!
//! The desk asks for the mail ([`offer_by_mail`], [`mail_page`]); a task writes it ([`prepare`]), and only then the link
//! is made, so its secret stands in the mail and nowhere else. Opening the page changes nothing ([`open`]); an answer
//! uses the link up in the transaction that carries it out, so one that is refused leaves it as it was.
mod answering;
mod asking;
mod link;
mod unsent;
mod writing;

pub use answering::{Day, Proposal, Taken, decline, propose, report, take};
pub use asking::{MAIL_TASK, PageToMail, firm_addresses, mail_page, offer_by_mail};
pub use link::{Found, MailedView, find, open};
pub use store::door::ReplyLink;
pub use unsent::say_unsent;
pub use writing::{PageMail, prepare};
