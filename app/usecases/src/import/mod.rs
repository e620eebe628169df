//! Bringing in lists: units and their history from CSV. A list is sent, its columns are matched, a preview says what
//! would change and what is wrong, causes are settled, and then everything comes in or nothing does. One step undoes it.
mod command;
mod dates;
mod fields;
mod history;
mod known;
mod lists;
mod plan;
mod problem;
mod reading;
mod row;
mod units;
mod values;
mod writing;

pub use command::{Wish, command};
pub use dates::{DateCell, Doubt, Order, Span, read as read_date};
pub use fields::{Field, How, ListKind};
pub use lists::{
    MatchForm, SettleForm, Upload, View, bad_rows, building_choices, drop_list, leave_rest_out,
    lists, match_columns, say_order, settle, upload, view,
};
pub use problem::{
    Cause, Change, Code, Column, Counts, DateColumn, Doubts, Matching, Preview, Problem, Remedy,
    Settled,
};
pub use store::imports::{ImportHead, Undone};
pub use writing::{commit, undo, undo_until};
