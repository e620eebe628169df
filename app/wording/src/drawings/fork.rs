//! The fork: expected cost so far on two paths from today, keep and replace, in today's money.
use terms::{ExpectedPounds, Pence};

mod labels;

use super::axis::{Linear, ticks};
use super::history::spread;
use super::svg::{Anchor, Form, Page};
use super::{Drawing, Table};
use crate::sentences::money;

/// An expected sum with the band that holds 8 cases in 10, in real pounds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Band {
    /// Expected.
    pub mid: f64,
    /// 1 case in 10 lies under it.
    pub low: f64,
    /// 1 case in 10 lies over it.
    pub high: f64,
}

/// Spent by the end of one year, both paths, the first outlay included.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ForkYear {
    /// Calendar year; the first is this year, right after the outlay.
    pub year: i32,
    /// If it is repaired and kept.
    pub keep: Band,
    /// If it is replaced now.
    pub replace: Band,
}

/// The two paths.
#[derive(Clone, Debug, PartialEq)]
pub struct Fork {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing.
    pub title: String,
    /// The finding in one sentence.
    pub finding: String,
    /// What is paid at once: "repair, £412".
    pub keep_outlay_words: String,
    /// What is paid at once: "new boiler fitted, £2,750".
    pub replace_outlay_words: String,
    /// In order of years, at least two.
    pub years: Vec<ForkYear>,
    /// Taken off the replace path at its right end: what the new unit is still worth. 0 for none.
    pub left_in_new: ExpectedPounds,
    /// The year in which replacing is best if it is kept now, for a ring on the keep path.
    pub best_year: Option<i32>,
    /// Whether a fault is in hand, so that keeping begins with its repair.
    pub repaired: bool,
}

impl Fork {
    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide),
            narrow_svg: self.form(Form::Narrow),
            caption: self.caption(),
            table: self.table(),
            ..Drawing::default()
        }
    }

    /// Where the paths cross, as (year with fraction, pounds); the first crossing only.
    pub fn crossing(&self) -> Option<(f64, f64)> {
        self.years.windows(2).find_map(|pair| {
            let (a, b) = (pair.first()?, pair.get(1)?);
            let (before, after) = (a.keep.mid - a.replace.mid, b.keep.mid - b.replace.mid);
            let crosses = before.is_finite() && after.is_finite() && before * after < 0.0;
            let share = before / (before - after);
            crosses.then(|| {
                let year = f64::from(a.year) + share * f64::from(b.year - a.year);
                (year, a.keep.mid + share * (b.keep.mid - a.keep.mid))
            })
        })
    }

    fn caption(&self) -> String {
        let crossing = self.crossing().map_or_else(
            || {
                format!(
                    "In {} years the two paths do not cross.",
                    self.years.len().saturating_sub(1)
                )
            },
            |(year, _)| {
                format!(
                    "The money paid is equal in {}; that is not yet the break-even year.",
                    year.floor()
                )
            },
        );
        let left = if self.left_in_new.0 > 0.0 {
            format!(
                " At the right end {} are taken off: the years still in the new unit.",
                self.left_in_new
            )
        } else {
            String::new()
        };
        let solid = if self.repaired {
            "repair and keep"
        } else {
            "keep"
        };
        format!(
            "Solid: {solid}. Dashed: replace now. Bands: 8 cases in 10 end inside, 1 in 10 under, 1 in 10 over. {crossing}{left}"
        )
    }

    fn table(&self) -> Table {
        let pounds = |sum: f64| ExpectedPounds(sum).to_string();
        let rows = self
            .years
            .iter()
            .map(|year| {
                let range = |band: Band| format!("{} to {}", pounds(band.low), pounds(band.high));
                vec![
                    year.year.to_string(),
                    pounds(year.keep.mid),
                    range(year.keep),
                    pounds(year.replace.mid),
                    range(year.replace),
                ]
            })
            .collect();
        let heads = [
            "Year",
            "Keep, so far",
            "8 in 10 within",
            "Replace, so far",
            "8 in 10 within",
        ];
        Table::new(&heads, rows).numbers(&[1, 2, 3, 4])
    }

    fn form(&self, form: Form) -> String {
        let (left, right, top, bottom) = match form {
            Form::Wide => (64.0, 680.0, 16.0, 300.0),
            Form::Narrow => (46.0, 286.0, 12.0, 222.0),
        };
        let most = self
            .years
            .iter()
            .flat_map(|year| {
                [
                    year.keep.high,
                    year.keep.mid,
                    year.replace.high,
                    year.replace.mid,
                ]
            })
            .filter(|sum| sum.is_finite())
            .fold(1.0, f64::max);
        let first = self.years.first().map_or(0, |year| year.year);
        let last = self.years.last().map_or(1, |year| year.year);
        let plot = Plot {
            x: Linear::new(
                (f64::from(first), f64::from(last.max(first + 1))),
                (left, right),
            ),
            y: Linear::new((0.0, most * 1.04), (bottom, top)),
            edges: (left, right, top, bottom),
            most,
        };
        let mut page = Page::new(&self.id, form);
        self.grid(&mut page, &plot);
        self.paths(&mut page, &plot);
        self.marks(&mut page, &plot);
        let height = match form {
            Form::Wide => self.ends_beside(&mut page, &plot),
            Form::Narrow => self.ends_below(&mut page, &plot),
        };
        let width = if form == Form::Wide { 940.0 } else { 302.0 };
        page.finish(width, height, &self.title, &self.finding, false)
    }

    fn grid(&self, page: &mut Page, plot: &Plot) {
        let (left, right, _, bottom) = plot.edges;
        for sum in ticks(0.0, plot.most, 5) {
            let y = plot.y.at(sum);
            page.line("hair", (left, y), (right, y));
            let words = ExpectedPounds(sum).to_string();
            page.text("small s", Anchor::End, (left - 7.0, y + 5.0), &words);
        }
        page.line("ground", (left, bottom), (right, bottom));
        let every = self.years.len().div_ceil(6).max(1);
        for year in self.years.iter().step_by(every) {
            let x = plot.x.at(f64::from(year.year));
            page.text(
                "small s",
                Anchor::Middle,
                (x, bottom + 19.0),
                &year.year.to_string(),
            );
        }
    }

    /// A sum over the years as it is drawn.
    fn line(&self, plot: &Plot, of: fn(&ForkYear) -> f64) -> Vec<(f64, f64)> {
        self.years
            .iter()
            .map(|year| (plot.x.at(f64::from(year.year)), plot.y.at(of(year))))
            .collect()
    }

    fn paths(&self, page: &mut Page, plot: &Plot) {
        let line = |of: fn(&ForkYear) -> f64| self.line(plot, of);
        let band = |high: fn(&ForkYear) -> f64, low: fn(&ForkYear) -> f64| {
            let mut points = line(high);
            points.extend(line(low).into_iter().rev());
            points
        };
        page.path("wide-band", &band(|y| y.keep.high, |y| y.keep.low), true);
        page.path(
            "close-band",
            &band(|y| y.replace.high, |y| y.replace.low),
            true,
        );
        let start = (plot.edges.0, plot.edges.3);
        for (class, of) in [
            ("keep", (|y| y.keep.mid) as fn(&ForkYear) -> f64),
            ("swap", |y| y.replace.mid),
        ] {
            let mut points = vec![start];
            points.extend(line(of));
            page.path(class, &points, false);
        }
        page.circle("ink", start, 5.0);
    }

    /// Where the ring of the best year stands on the path of keeping.
    fn best(&self, plot: &Plot) -> Option<(f64, f64)> {
        let best = self.best_year?;
        let year = self.years.iter().find(|year| year.year == best)?;
        Some((plot.x.at(f64::from(year.year)), plot.y.at(year.keep.mid)))
    }

    fn marks(&self, page: &mut Page, plot: &Plot) {
        for label in labels::labels(self, plot) {
            page.text("small halo", label.anchor, label.at, &label.words);
        }
        if let Some(at) = self.best(plot) {
            page.circle("hole", at, 5.5);
        }
        if let Some((year, sum)) = self.crossing() {
            page.circle("hole", (plot.x.at(year), plot.y.at(sum)), 4.5);
        }
        if let Some(last) = self.years.last().filter(|_| self.left_in_new.0 > 0.0) {
            let from = plot.y.at(last.replace.mid);
            let to = plot
                .y
                .at(last.replace.mid - self.left_in_new.0)
                .min(plot.edges.3);
            page.line("swap", (plot.edges.1, from), (plot.edges.1, to));
            page.circle("hole", (plot.edges.1, to), 5.5);
        }
    }

    /// The words at the right ends: each a bold line and soft ones.
    fn ends(&self, plot: &Plot) -> Vec<(f64, Vec<String>)> {
        let Some(last) = self.years.last() else {
            return Vec::new();
        };
        let pounds = |sum: f64| ExpectedPounds(sum).to_string();
        let words = |name: &str, band: Band| {
            vec![
                name.to_owned(),
                format!("{} by {}", pounds(band.mid), last.year),
                format!("8 in 10: {} to {}", pounds(band.low), pounds(band.high)),
            ]
        };
        let mut ends = vec![
            (plot.y.at(last.keep.mid), words("Keep, solid", last.keep)),
            (
                plot.y.at(last.replace.mid),
                words("Replace now, dashed", last.replace),
            ),
        ];
        if self.left_in_new.0 > 0.0 {
            let rest = last.replace.mid - self.left_in_new.0;
            let less = format!("less {} still in", self.left_in_new);
            ends.push((
                plot.y.at(rest),
                vec![less, format!("the new unit: {}", pounds(rest))],
            ));
        }
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        ends
    }

    fn ends_beside(&self, page: &mut Page, plot: &Plot) -> f64 {
        let ends = self.ends(plot);
        let wanted: Vec<f64> = ends.iter().map(|end| end.0 - 14.0).collect();
        let heights = spread(&wanted, 66.0, plot.edges.3 - 26.0);
        for ((y, lines), height) in ends.iter().zip(heights) {
            let x = plot.edges.1 + 12.0;
            page.line("fine", (x - 4.0, *y), (x + 8.0, height));
            for (row, words) in lines.iter().enumerate() {
                let class = ["small b", "small s"][row.min(1)];
                page.text(
                    class,
                    Anchor::Start,
                    (x + 12.0, height + 5.0 + 18.0 * row as f64),
                    words,
                );
            }
        }
        plot.edges.3 + 30.0
    }

    fn ends_below(&self, page: &mut Page, plot: &Plot) -> f64 {
        let mut y = plot.edges.3 + 44.0;
        for (_, lines) in self.ends(plot) {
            for (row, words) in lines.iter().enumerate() {
                let class = ["b", "s"][row.min(1)];
                page.text(class, Anchor::Start, (2.0, y), words);
                y += 17.0;
            }
            y += 8.0;
        }
        y - 12.0
    }
}

/// Where sums and years land.
struct Plot {
    x: Linear,
    y: Linear,
    edges: (f64, f64, f64, f64),
    most: f64,
}

/// "repair, £412": the words for an outlay.
pub fn outlay(what: &str, price: Pence) -> String {
    format!("{what}, {}", money::whole(price))
}
