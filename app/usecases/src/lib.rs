//! One function per thing a person or the clock may ask for.
//!
//! Each is three paragraphs: load rows, decide with a pure room, save rows in the same transaction. Who may
//! ask is checked here and nowhere else: a function takes a [`Seat`], and starts with what the seat must be.
pub mod advice;
pub mod authority;
pub mod bag;
pub mod bank_holidays;
pub mod cost_demands;
pub mod cover;
pub mod door;
pub mod drill;
pub mod duties;
pub mod enclosures;
mod error;
pub mod facts;
pub mod forecast;
pub mod founding;
pub mod gaps;
pub mod heaters;
pub mod import;
pub mod in_date;
pub mod invoices;
pub mod letterhead;
pub mod letters;
pub mod mailed;
pub mod makers;
pub mod outages;
mod part_prices;
pub mod past;
pub mod plan;
pub mod prices;
pub mod recalls;
pub mod records;
pub mod register;
pub mod reserve;
mod seat;
pub mod second_device;
pub mod stands_out;
pub mod tasks;
pub mod today;
pub mod visit;
pub mod water;
pub mod winter;
pub mod work;
mod world;

pub use error::{Error, FieldError};
pub use seat::{Seat, THE_PROGRAM};
pub use world::World;
