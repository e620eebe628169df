//! Several doubtful figures on one scale, one line each: a tick for the estimate, a thick bar that holds half of the cases,
//! a thin line that holds eight in ten. A figure without a range is a plain bar from nought.
use super::axis::Linear;
use super::svg::{Anchor, Area, Form, Page, text_width};
use super::{Drawing, Table};

/// How unsure a figure is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubt {
    /// Eight cases in ten lie between these.
    pub eight: (f64, f64),
    /// Half of the cases lie between these.
    pub half: (f64, f64),
}

/// One figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// "within three months"
    pub name: String,
    /// The estimate.
    pub value: f64,
    /// How unsure it is; `None` where no range is given.
    pub doubt: Option<Doubt>,
    /// The estimate in words: "1 in 6".
    pub words: String,
    /// The range in words: "1 in 10 to 1 in 4"; may be empty.
    pub range: String,
}

/// The figures, in their order.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranges {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing.
    pub title: String,
    /// The finding in one sentence.
    pub finding: String,
    /// What a row is of and what is measured: ("Stretch of time", "Chance of a failure").
    pub heads: (String, String),
    /// The scale ends here; it begins at nought.
    pub top: f64,
    /// Marks of the scale: where, and its words.
    pub ticks: Vec<(f64, String)>,
    /// One line each.
    pub figures: Vec<Figure>,
}

impl Ranges {
    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        let doubtful = self.figures.iter().any(|f| f.doubt.is_some());
        let caption = if doubtful {
            "The stroke is the estimate; half of the cases lie in the bar, eight in ten along the line."
        } else {
            ""
        };
        let rows = self.figures.iter().map(|f| {
            let mut row = vec![f.name.clone(), f.words.clone()];
            if doubtful {
                row.push(f.range.clone());
            }
            row
        });
        let mut heads = vec![self.heads.0.as_str(), self.heads.1.as_str()];
        if doubtful {
            heads.push("8 cases in 10");
        }
        Drawing {
            id: self.id.clone(),
            wide_svg: self.wide(),
            narrow_svg: self.narrow(),
            caption: caption.to_owned(),
            table: Table::new(&heads, rows.collect()),
            ..Drawing::default()
        }
    }

    fn scale(&self, from: f64, to: f64) -> Linear {
        let top = if self.top.is_finite() && self.top > 0.0 {
            self.top
        } else {
            1.0
        };
        Linear::new((0.0, top), (from, to))
    }

    fn one(page: &mut Page, figure: &Figure, x: Linear, (left, right): (f64, f64), y: f64) {
        let at = |value: f64| x.at(value).clamp(left, right);
        let Some(doubt) = figure.doubt else {
            let bar = Area::new(left, y - 7.0, (at(figure.value) - left).max(2.0), 14.0);
            page.shade(2, bar);
            page.rect("pen", bar);
            return;
        };
        page.line("pen", (at(doubt.eight.0), y), (at(doubt.eight.1), y));
        let (from, to) = (at(doubt.half.0), at(doubt.half.1));
        let bar = Area::new(from, y - 7.0, (to - from).max(2.0), 14.0);
        page.shade(2, bar);
        page.rect("pen", bar);
        let mid = at(figure.value);
        page.line("cut", (mid, y - 9.0), (mid, y + 9.0));
    }

    fn wide(&self) -> String {
        let longest = self
            .figures
            .iter()
            .map(|f| text_width(&f.name, 14.5))
            .fold(110.0, f64::max);
        let (left, right) = (longest.min(300.0) + 16.0, 700.0);
        let x = self.scale(left, right);
        let bottom = 34.0 + 34.0 * self.figures.len() as f64;
        let mut page = Page::new(&self.id, Form::Wide);
        for (value, words) in &self.ticks {
            page.line("hair", (x.at(*value), 22.0), (x.at(*value), bottom - 10.0));
            page.text("small s", Anchor::Middle, (x.at(*value), 14.0), words);
        }
        for (row, figure) in self.figures.iter().enumerate() {
            let y = 42.0 + 34.0 * row as f64;
            page.text("small", Anchor::Start, (2.0, y + 5.0), &figure.name);
            Self::one(&mut page, figure, x, (left, right), y);
            page.text("small b", Anchor::Start, (716.0, y + 5.0), &figure.words);
        }
        page.finish(940.0, bottom, &self.title, &self.finding, false)
    }

    fn narrow(&self) -> String {
        let (left, right) = (4.0, 296.0);
        let x = self.scale(left, right);
        let bottom = 24.0 + 66.0 * self.figures.len() as f64;
        let mut page = Page::new(&self.id, Form::Narrow);
        for (place, (value, words)) in self.ticks.iter().enumerate() {
            page.line("hair", (x.at(*value), 18.0), (x.at(*value), bottom - 8.0));
            let anchor = match place {
                0 => Anchor::Start,
                p if p + 1 == self.ticks.len() => Anchor::End,
                _ => Anchor::Middle,
            };
            page.text("small s", anchor, (x.at(*value), 12.0), words);
        }
        for (row, figure) in self.figures.iter().enumerate() {
            let y = 38.0 + 66.0 * row as f64;
            let words = format!("{}: {}", figure.name, figure.words);
            page.text("small", Anchor::Start, (2.0, y), &words);
            Self::one(&mut page, figure, x, (left, right), y + 20.0);
        }
        page.finish(302.0, bottom, &self.title, &self.finding, false)
    }
}
