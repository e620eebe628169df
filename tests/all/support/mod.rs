//! The harness: a database of its own for each test, a server on a free port, a client a person.
pub mod alone;
pub mod browser;
pub mod built;
pub mod database;
pub mod dated;
pub mod line;
pub mod long_list;
pub mod pdf;
pub mod server;
pub mod workbook;

pub use browser::{Browser, Width};
pub use database::TestDatabase;
pub use line::Line;
pub use server::{Client, TestApp};
