//! Room `papers`: words in, a tagged PDF out.
//!
//! Floor 3, pure: no I/O, no clock, no randomness. The only room that names the typesetter. A paper is data to it:
//! the template reads `/data.json` and nothing else, so nobody's words are ever markup. The same words make the same
//! bytes. Every PDF is PDF/A-2a and PDF/UA-1 (`tests/papers-valid/run` asks a validator).
mod beside;
mod faces;
mod legible;
mod room;

use chrono::Datelike;
use typst::diag::SourceDiagnostic;
use typst::foundations::{Datetime, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};
use wording::paper::Paper;

use crate::faces::Faces;
use crate::room::Room;

/// Why a paper was not set.
#[derive(Debug, thiserror::Error)]
pub enum Trouble {
    /// The typefaces are part of the program, so this is a fault of ours.
    #[error(
        "a typeface of the program cannot be read, or none holds the mark for what cannot be printed"
    )]
    Face,
    /// The words cannot be written as data.
    #[error("the words cannot be handed on: {0}")]
    Words(#[from] serde_json::Error),
    /// The date is none that a PDF can state.
    #[error("{0} is no date a PDF can state")]
    Day(chrono::NaiveDate),
    /// The typesetter's own reasons.
    #[error("the paper cannot be set: {0}")]
    Setting(String),
}

/// The setter of papers; keep it, as the first paper takes longer than the others.
#[derive(Debug)]
pub struct Papers {
    room: Room,
    standards: PdfStandards,
}

impl Papers {
    /// With the typefaces in memory.
    ///
    /// # Errors
    /// [`Trouble::Face`]
    pub fn new() -> Result<Self, Trouble> {
        let standards = PdfStandards::new(&[PdfStandard::A_2a, PdfStandard::Ua_1])
            .map_err(|error| Trouble::Setting(error.message().to_string()))?;
        Ok(Self {
            room: Room::new(Faces::read()?)?,
            standards,
        })
    }

    /// The paper as a PDF.
    ///
    /// # Errors
    /// [`Trouble`]; the next paper is not touched by it.
    pub fn set(&mut self, paper: &Paper) -> Result<Vec<u8>, Trouble> {
        let day = paper.made_on;
        let stamp = Datetime::from_ymd_hms(day.year(), day.month() as u8, day.day() as u8, 0, 0, 0)
            .filter(|_| (0..=9999).contains(&day.year()))
            .ok_or(Trouble::Day(day))?;
        let mut words = serde_json::to_value(paper)?;
        beside::arrange(&mut words);
        legible::make(&mut words, self.room.faces());
        let data = serde_json::to_vec(&words)?;
        let options = PdfOptions {
            // The digest of everything that stands on it.
            ident: Smart::Custom(digest(&data)),
            creator: Smart::Custom(Some("Riserward".to_owned())),
            timestamp: Some(Timestamp::new_utc(stamp)),
            standards: self.standards.clone(),
            ..PdfOptions::default()
        };
        self.room.lay(data);
        let set = typst::compile::<PagedDocument>(&self.room)
            .output
            .and_then(|document| typst_pdf::pdf(&document, &options))
            .map_err(|errors| Trouble::Setting(sentences(&errors)));
        // What is remembered would otherwise grow with every paper, also with one that failed.
        comemo::evict(KEPT);
        set
    }
}

/// For how many papers something stays remembered: the template and the faces' shapes are asked for by each.
const KEPT: usize = 2;

fn digest(data: &[u8]) -> String {
    typst::utils::hash128(data).to_string()
}

fn sentences(errors: &[SourceDiagnostic]) -> String {
    let said: Vec<&str> = errors.iter().map(|e| e.message.as_str()).collect();
    said.join("; ")
}
