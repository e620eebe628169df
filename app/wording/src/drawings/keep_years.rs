//! "How long, if it is kept": one bar for each number of further years, dearer than replacing now by so much.
use terms::Pence;

use super::axis::Linear;
use super::svg::{Anchor, Area, Form, Page};
use super::{Drawing, Table};
use crate::sentences::{money, plural};

/// Keeping for so many further years, then replacing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeptFor {
    /// Further years.
    pub years: u32,
    /// How much dearer than replacing now; negative when cheaper.
    pub dearer: Pence,
}

/// The bars.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeepYears {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing.
    pub title: String,
    /// The finding in one sentence.
    pub finding: String,
    /// In order of years.
    pub bars: Vec<KeptFor>,
    /// Whether a fault is in hand, so that keeping begins with its repair.
    pub repaired: bool,
}

impl KeepYears {
    /// The cheapest number of further years; the earliest of equals.
    pub fn best(&self) -> Option<KeptFor> {
        self.bars
            .iter()
            .copied()
            .min_by_key(|bar| (bar.dearer, bar.years))
    }

    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        let under = self.best().is_some_and(|best| best.dearer.0 < 0);
        let (begins, course, cheaper) = if self.repaired {
            ("Repaired and kept", "with a repair", "repairing")
        } else {
            ("Kept", "of keeping it", "keeping it")
        };
        let end = if under {
            format!("A bar under the line means {cheaper} is the cheaper course.")
        } else {
            "None reaches the line, which is replacing now.".to_owned()
        };
        let rows = self.bars.iter().map(|bar| {
            let (sum, word) = (
                Pence(bar.dearer.0.abs()),
                if bar.dearer.0 < 0 {
                    "cheaper"
                } else {
                    "dearer"
                },
            );
            vec![
                plural(u64::from(bar.years), "year", "years"),
                format!("{sum} {word}"),
            ]
        });
        Drawing {
            id: self.id.clone(),
            wide_svg: self.wide(),
            narrow_svg: self.narrow(),
            caption: format!(
                "{begins} so many further years, then replaced, against replacing now. \
                 The lowest bar is the best course {course}. {end}"
            ),
            table: Table::new(&["Kept for", "Against replacing now"], rows.collect()).numbers(&[1]),
            ..Drawing::default()
        }
    }

    fn range(&self) -> (f64, f64) {
        let sums = self.bars.iter().map(|bar| bar.dearer.to_pounds());
        (sums.clone().fold(0.0, f64::min), sums.fold(1.0, f64::max))
    }

    fn step(&self, bar: &KeptFor) -> u8 {
        if self.best() == Some(*bar) { 4 } else { 2 }
    }

    fn wide(&self) -> String {
        let (low, high) = self.range();
        let y = Linear::new(
            (high, low),
            (28.0, 28.0 + if low < 0.0 { 190.0 } else { 140.0 }),
        );
        let ground = y.at(0.0);
        let pitch = (760.0 / self.bars.len().max(1) as f64).min(76.0);
        let mut page = Page::new(&self.id, Form::Wide);
        for (place, bar) in self.bars.iter().enumerate() {
            let x = 10.0 + pitch * place as f64;
            let top = y.at(bar.dearer.to_pounds());
            let area = Area::new(
                x + pitch * 0.1,
                top.min(ground),
                pitch * 0.8,
                (top - ground).abs(),
            );
            page.shade(self.step(bar), area);
            page.rect("pen", area);
            let class = if self.step(bar) == 4 { "b" } else { "small" };
            let over = if top <= ground { top - 7.0 } else { top + 18.0 };
            page.text(
                class,
                Anchor::Middle,
                (area.mid_x(), over),
                &money::whole(bar.dearer),
            );
            let under = if top <= ground {
                ground + 20.0
            } else {
                ground - 8.0
            };
            page.text(
                class,
                Anchor::Middle,
                (area.mid_x(), under),
                &bar.years.to_string(),
            );
        }
        let end = 10.0 + pitch * self.bars.len() as f64 + 6.0;
        page.line("cut", (6.0, ground), (end, ground));
        page.text(
            "small b",
            Anchor::Start,
            (end + 8.0, ground - 2.0),
            "replacing now",
        );
        page.text(
            "small s",
            Anchor::Start,
            (end + 8.0, ground + 17.0),
            "further years kept",
        );
        page.finish(
            940.0,
            y.at(low).max(ground) + 30.0,
            &self.title,
            &self.finding,
            false,
        )
    }

    fn narrow(&self) -> String {
        let (low, high) = self.range();
        let x = Linear::new((low, high), (if low < 0.0 { 100.0 } else { 64.0 }, 240.0));
        let hinge = x.at(0.0);
        let mut page = Page::new(&self.id, Form::Narrow);
        // The words stand on the side that has room for them.
        let (anchor, at, words) = if hinge > 130.0 {
            (Anchor::End, hinge + 2.0, "cheaper, up to replacing now")
        } else {
            (Anchor::Start, hinge - 2.0, "replacing now, then dearer")
        };
        page.text("small b", anchor, (at, 12.0), words);
        for (place, bar) in self.bars.iter().enumerate() {
            let y = 22.0 + 26.0 * place as f64;
            let end = x.at(bar.dearer.to_pounds());
            let area = Area::new(end.min(hinge), y, (end - hinge).abs(), 19.0);
            page.shade(self.step(bar), area);
            page.rect("pen", area);
            let class = if self.step(bar) == 4 { "b" } else { "" };
            page.text(
                class,
                Anchor::Start,
                (2.0, y + 14.0),
                &plural(u64::from(bar.years), "year", "years"),
            );
            let (anchor, at) = if end >= hinge {
                (Anchor::Start, end + 6.0)
            } else {
                (Anchor::End, end - 6.0)
            };
            page.text(class, anchor, (at, y + 14.0), &money::whole(bar.dearer));
        }
        let bottom = 22.0 + 26.0 * self.bars.len() as f64;
        page.line("cut", (hinge, 20.0), (hinge, bottom));
        page.finish(302.0, bottom + 6.0, &self.title, &self.finding, false)
    }
}
