//! Letters to whoever lives in a flat: the three about access, and notices of a visit or a repair.
//!
//! A letter is written each time it is shown; that it went out is a fact with its day and way. Names are read from
//! the residents' own table when a letter is shown to the desk, and kept nowhere else.
mod filled;
mod next;
mod notices;
mod sending;
mod view;

pub use filled::Filled;
pub use next::{NextStep, PartOfDay, next_step};
pub use notices::{NOTICE_DAYS, NoticeDue, notices_due};
pub use sending::{Sending, send, take_back};
pub use store::letters::{SentLetter, Tried};
pub use view::{Advice, LetterView, letter, letters_of_job, sent_letter};
