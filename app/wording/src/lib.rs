//! Room `wording`: sentences from values, and drawings of the real building as SVG.
//!
//! Floor 2, pure: no I/O, no clock, no randomness. Pages in `web` are built from the plain structs here:
//! [`Shell`] (masthead and contents), [`Row`] (a sentence with its verbs and one figure), [`Drawing`]
//! (two SVG forms, caption, key and table). Numbers become words in [`sentences`] and nowhere else.
pub mod drawings;
pub mod mail;
pub mod paper;
pub mod rows;
pub mod sentences;
pub mod shell;

pub use drawings::{Drawing, KeyItem, Table};
pub use rows::{Ask, Choice, Fact, Figure, Link, Row, Urgency, Verb, Why};
pub use shell::{Shell, Theme, UndoBar, Voice, Way};
