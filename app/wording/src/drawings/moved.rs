//! A reading that moved: the band where it should be, an open ring for before, a dot for now.
use super::Drawing;
use super::axis::Linear;
use super::svg::{Area, Form, Page};

/// One reading against its limits and its last value, all in the same unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Moved {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// "Rise at the hot tap, K"
    pub name: String,
    /// Lowest value that is right, if there is one.
    pub from: Option<f64>,
    /// Highest value that is right, if there is one.
    pub to: Option<f64>,
    /// Last time.
    pub before: Option<f64>,
    /// Now.
    pub now: f64,
}

impl Moved {
    /// One small form for both widths, for a cell of a table.
    pub fn draw(&self) -> Drawing {
        let all: Vec<f64> = [self.from, self.to, self.before, Some(self.now)]
            .into_iter()
            .flatten()
            .filter(|value| value.is_finite())
            .collect();
        let low = all.iter().copied().fold(f64::INFINITY, f64::min);
        let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let pad = ((high - low) * 0.25).max(low.abs().max(1.0) * 0.02);
        let x = Linear::new((low - pad, high + pad), (8.0, 184.0));
        let mut page = Page::new(&self.id, Form::Wide);
        let from = self.from.map_or(8.0, |value| x.at(value));
        let to = self.to.map_or(184.0, |value| x.at(value));
        page.rect("f2", Area::new(from, 5.0, (to - from).max(0.0), 14.0));
        page.line("hair", (4.0, 12.0), (188.0, 12.0));
        for edge in [self.from, self.to].into_iter().flatten() {
            page.line("pen", (x.at(edge), 3.0), (x.at(edge), 21.0));
        }
        if let Some(before) = self.before {
            page.line("pen", (x.at(before), 12.0), (x.at(self.now), 12.0));
            page.circle("hole", (x.at(before), 12.0), 4.5);
        }
        page.circle("ink", (x.at(self.now), 12.0), 4.5);
        let before = self
            .before
            .map_or_else(String::new, |value| format!("{value} before, "));
        let words = format!("{before}{} now", self.now);
        Drawing {
            id: self.id.clone(),
            wide_svg: page.finish_as("moved", (192.0, 24.0), &self.name, &words),
            caption: words,
            ..Drawing::default()
        }
    }
}
