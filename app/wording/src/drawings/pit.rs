//! Where in what was said the number that happened fell: bars that are even where the doubt was stated rightly.
use super::axis::Linear;
use super::svg::{Anchor, Area, Form, Page};
use super::{Drawing, Table};

/// 95 % point of the standard normal: nine bars in ten lie inside the band.
const Z90: f64 = 1.645;

/// The drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct WhereItFell {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Share of the forecasts in each bar, from the lowest; they add up to 1.
    pub shares: Vec<f64>,
    /// Forecasts.
    pub forecasts: usize,
}

const TITLE: &str = "Where in what was said the number that happened fell";

impl WhereItFell {
    /// What an even bar holds.
    fn even(&self) -> f64 {
        1.0 / self.shares.len().max(1) as f64
    }

    /// How far from even luck takes a share of this size in one case of ten, at most: the forecasts taken as independent
    /// of one another; whole numbers near nought vary less.
    fn reach(&self, share: f64) -> f64 {
        Z90 * (share * (1.0 - share) / self.forecasts.max(1) as f64).sqrt()
    }

    fn band(&self) -> (f64, f64) {
        let (even, reach) = (self.even(), self.reach(self.even()));
        ((even - reach).max(0.0), even + reach)
    }

    /// What the bars say in one sentence: the three lowest and the three highest tenths against luck.
    pub fn reading(&self) -> &'static str {
        let bars = self.shares.len();
        if bars < 10 {
            return "There is too little to say where the numbers fell.";
        }
        let low: f64 = self.shares.iter().take(3).sum();
        let high: f64 = self.shares.iter().skip(bars - 3).sum();
        let wanted = 3.0 * self.even();
        let reach = self.reach(wanted);
        match (low - wanted, high - wanted) {
            (l, h) if l > reach && h > reach => {
                "More fell at both ends than luck makes it: the forecast was too sure of itself."
            }
            (l, _) if l > reach => {
                "More fell at the low end than luck makes it: too many failures were said."
            }
            (_, h) if h > reach => {
                "More fell at the high end than luck makes it: too few failures were said."
            }
            (l, h) if l < -reach && h < -reach => {
                "More fell in the middle than luck makes it: the forecast was less sure than it could have been."
            }
            _ => {
                "They fell about evenly, inside what luck does: the doubt was stated rightly as far as can be told."
            }
        }
    }

    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        let bars = self.shares.len();
        let row = |(place, share): (usize, &f64)| {
            let edge = |k: usize| format!("{:.1}", k as f64 / bars.max(1) as f64);
            vec![
                format!("{} to {}", edge(place), edge(place + 1)),
                format!("{:.0}", 100.0 * share),
                format!("{:.1}", share * self.forecasts as f64),
            ]
        };
        let (low, high) = self.band();
        let mut table = Table::new(
            &["Place in what was said", "Of 100", "Forecasts"],
            self.shares.iter().enumerate().map(row).collect(),
        )
        .numbers(&[1, 2]);
        table.caption = format!(
            "Probability integral transform, not randomised. Even bars hold {:.0} of 100 each; 9 in 10 lie between {:.0} and {:.0} by luck alone.",
            100.0 * self.even(),
            100.0 * low,
            100.0 * high
        );
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide),
            narrow_svg: self.form(Form::Narrow),
            caption: "Bars: of 100 forecasts, how many numbers fell in each tenth of what was said, the fewest failures at the left. \
                      Between the two dashed lines luck alone leaves 9 bars in 10 if the doubt was stated rightly."
                .into(),
            table,
            ..Drawing::default()
        }
    }

    fn form(&self, form: Form) -> String {
        let wide = form == Form::Wide;
        let (left, right, width) = if wide {
            (64.0, 700.0, 720.0)
        } else {
            (30.0, 298.0, 302.0)
        };
        let (top, bottom) = (16.0, if wide { 176.0 } else { 136.0 });
        let most = self.shares.iter().copied().fold(self.band().1, f64::max);
        let y = Linear::new((0.0, most * 1.08), (bottom, top));
        let pitch = (right - left) / self.shares.len().max(1) as f64;
        let mut page = Page::new(&self.id, form);
        for (place, share) in self.shares.iter().enumerate() {
            let at = y.at(*share);
            let bar = Area::new(
                left + pitch * place as f64 + 2.0,
                at,
                pitch - 4.0,
                bottom - at,
            );
            page.shade(2, bar);
            page.rect("pen", bar);
        }
        let (low, high) = self.band();
        for edge in [low, high] {
            page.line("pen dash", (left, y.at(edge)), (right, y.at(edge)));
        }
        page.line("pen", (left, bottom), (right, bottom));
        page.text(
            "s",
            Anchor::End,
            (left - 6.0, y.at(self.even()) + 5.0),
            &format!("{:.0}", 100.0 * self.even()),
        );
        page.text("s", Anchor::End, (left - 6.0, bottom + 4.0), "0");
        let ends = if wide {
            ["fewer failures than said", "more failures than said"]
        } else {
            ["fewer than said", "more than said"]
        };
        page.text("s", Anchor::Start, (left, bottom + 20.0), ends[0]);
        page.text("s", Anchor::End, (right, bottom + 20.0), ends[1]);
        page.finish(width, bottom + 30.0, TITLE, self.reading(), false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(shares: &[f64], forecasts: usize) -> WhereItFell {
        WhereItFell {
            id: "fell".into(),
            shares: shares.to_vec(),
            forecasts,
        }
    }

    /// Of 1,000 forecasts 300 belong to three tenths, 1.645 √(0.3 · 0.7/1000) = 2.4 of 100 more or fewer by luck.
    #[test]
    fn the_bars_are_read_against_luck() {
        let even = of(&[0.1; 10], 1000);
        assert!(even.reading().contains("about evenly"));
        let tilted = |first: f64, middle: f64, last: f64| {
            let mut all = vec![first / 3.0; 3];
            all.extend(vec![middle / 4.0; 4]);
            all.extend(vec![last / 3.0; 3]);
            of(&all, 1000).reading()
        };
        assert!(tilted(0.35, 0.4, 0.25).contains("too many"));
        assert!(tilted(0.25, 0.4, 0.35).contains("too few"));
        assert!(tilted(0.35, 0.3, 0.35).contains("too sure"));
        assert!(tilted(0.25, 0.5, 0.25).contains("less sure"));
        assert!(tilted(0.32, 0.38, 0.30).contains("about evenly"));
        assert!(of(&[], 0).reading().contains("too little"));
    }

    #[test]
    fn it_draws_both_forms_with_its_reading_and_its_table() {
        let drawn = of(&[0.1; 10], 400).draw();
        for svg in [&drawn.wide_svg, &drawn.narrow_svg] {
            assert!(svg.contains("about evenly") && !svg.contains("NaN"));
        }
        assert_eq!(drawn.table.rows[3], ["0.3 to 0.4", "10", "40.0"]);
        // 1.645 √(0.1 · 0.9/400) = 0.0247.
        assert!(drawn.table.caption.contains("between 8 and 12"));
        assert!(!of(&[], 0).draw().wide_svg.contains("NaN"));
    }
}
