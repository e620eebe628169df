//! Bringing in lists: units and their history from CSV or a workbook. A list is sent, its columns are matched, a preview says what
//! would change and what is wrong, causes are settled, and then everything comes in or nothing does. One step undoes it.
mod apart;
mod cause;
mod command;
mod dates;
mod duty_dates;
mod fields;
mod files;
mod handover;
mod history;
mod known;
mod likes;
mod lists;
mod memory;
mod mentioned;
mod on_record;
mod plan;
mod problem;
mod reading;
mod records;
mod row;
mod settling;
mod tenures;
mod units;
mod values;
mod workbook;
mod writing;

pub use apart::{BRING_IN_TASK, BroughtIn, Errand, READ_TASK, bring_in, bring_in_list, read_list};
pub use cause::Cause;
pub use command::{Wish, command, command_read};
pub use dates::{DateCell, Doubt, Order, Span, read as read_date};
pub use fields::{Field, How, ListKind};
pub use files::{Gathered, SheetText, Told, read_here, tell};
pub use handover::{Fault, Finding};
pub use lists::{
    MatchForm, Upload, View, bad_rows, building_choices, drop_list, lists, match_columns, standing,
    upload, view,
};
pub use problem::{
    Beside, Change, Code, Column, Counts, DateColumn, Doubts, Matching, Preview, Problem, Remedy,
    Settled,
};
pub use reading::MOST_BYTES;
pub use settling::{NameForm, SettleForm, leave_rest_out, say_name, say_order, settle};
pub use store::imports::{ImportHead, Progress, Undone};
pub use writing::{commit, undo, undo_until};
