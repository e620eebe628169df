//! The reserve: the money each year will need, as a spread: 8 years in 10 inside the wide band, 5 in 10 inside the close
//! one, the expected sum as a line.
use terms::ExpectedPounds;

use super::axis::{Linear, ticks};
use super::svg::{Anchor, Form, Page};
use super::{Drawing, Table};

/// The money of one year, pounds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ReserveYear {
    /// Calendar year.
    pub year: i32,
    /// Expected.
    pub mean: f64,
    /// 8 years in 10 lie within these.
    pub eighty: (f64, f64),
    /// 5 years in 10 lie within these.
    pub fifty: (f64, f64),
    /// Replacements expected.
    pub units: f64,
}

/// Years of money as a spread.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reserve {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing.
    pub title: String,
    /// The finding in one sentence.
    pub finding: String,
    /// In order.
    pub years: Vec<ReserveYear>,
}

impl Reserve {
    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide),
            narrow_svg: self.form(Form::Narrow),
            caption: "The line is the expected sum. 8 years in 10 lie inside the wide band, 5 in 10 inside the close one."
                .to_owned(),
            table: self.table(),
            ..Drawing::default()
        }
    }

    fn table(&self) -> Table {
        let pounds = |sum: f64| ExpectedPounds(sum).to_string();
        let within = |(low, high): (f64, f64)| format!("{} to {}", pounds(low), pounds(high));
        let rows = self
            .years
            .iter()
            .map(|y| {
                vec![
                    y.year.to_string(),
                    pounds(y.mean),
                    within(y.fifty),
                    within(y.eighty),
                    format!("{:.1}", y.units),
                ]
            })
            .collect();
        let heads = [
            "Year",
            "Expected",
            "5 in 10 within",
            "8 in 10 within",
            "Replacements expected",
        ];
        let mut table = Table::new(&heads, rows).numbers(&[1, 2, 3, 4]);
        let all: f64 = self.years.iter().map(|y| y.mean).sum();
        let units: f64 = self.years.iter().map(|y| y.units).sum();
        table.sum = Some(vec![
            "All years".to_owned(),
            pounds(all),
            String::new(),
            String::new(),
            format!("{units:.1}"),
        ]);
        table
    }

    fn form(&self, form: Form) -> String {
        let (left, right, top, bottom, width) = match form {
            Form::Wide => (72.0, 880.0, 16.0, 270.0, 940.0),
            Form::Narrow => (56.0, 290.0, 12.0, 200.0, 302.0),
        };
        let most = self
            .years
            .iter()
            .map(|y| y.eighty.1.max(y.mean))
            .filter(|sum| sum.is_finite())
            .fold(100.0, f64::max);
        let first = f64::from(self.years.first().map_or(0, |y| y.year));
        let last = f64::from(self.years.last().map_or(1, |y| y.year));
        let x = Linear::new((first, last.max(first + 1.0)), (left, right));
        let y = Linear::new((0.0, most * 1.05), (bottom, top));
        let mut page = Page::new(&self.id, form);
        for sum in ticks(0.0, most, 4) {
            let at = y.at(sum);
            page.line("hair", (left, at), (right, at));
            let words = ExpectedPounds(sum).to_string();
            page.text("small s", Anchor::End, (left - 7.0, at + 5.0), &words);
        }
        let line = |of: fn(&ReserveYear) -> f64| -> Vec<(f64, f64)> {
            self.years
                .iter()
                .map(|year| (x.at(f64::from(year.year)), y.at(of(year))))
                .collect()
        };
        let band = |high: fn(&ReserveYear) -> f64, low: fn(&ReserveYear) -> f64| {
            let mut points = line(high);
            points.extend(line(low).into_iter().rev());
            points
        };
        if !self.years.is_empty() {
            page.path("wide-band", &band(|y| y.eighty.1, |y| y.eighty.0), true);
            page.path("close-band", &band(|y| y.fifty.1, |y| y.fifty.0), true);
            page.path("keep", &line(|y| y.mean), false);
        }
        page.line("ground", (left, bottom), (right, bottom));
        let every = self
            .years
            .len()
            .div_ceil(if form == Form::Wide { 12 } else { 5 });
        for year in self.years.iter().step_by(every.max(1)) {
            let at = (x.at(f64::from(year.year)), bottom + 19.0);
            page.text("small s", Anchor::Middle, at, &year.year.to_string());
        }
        page.finish(width, bottom + 28.0, &self.title, &self.finding, false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_says_what_is_drawn() {
        let year = |year, mean| ReserveYear {
            year,
            mean,
            eighty: (0.0, mean * 2.0),
            fifty: (mean / 2.0, mean * 1.5),
            units: 1.5,
        };
        let drawing = Reserve {
            id: "r".into(),
            title: "Reserve".into(),
            finding: "About £4,000 a year.".into(),
            years: vec![year(2027, 4_000.0), year(2028, 5_000.0)],
        }
        .draw();
        assert_eq!(
            drawing.table.rows.first().map(|row| row.join("; ")),
            Some("2027; £4,000; £2,000 to £6,000; £0 to £8,000; 1.5".to_owned())
        );
        assert_eq!(
            drawing
                .table
                .sum
                .as_ref()
                .and_then(|s| s.get(1))
                .map(String::as_str),
            Some("£9,000")
        );
        for svg in [&drawing.wide_svg, &drawing.narrow_svg] {
            assert!(svg.contains("wide-band") && svg.contains("2028"), "{svg}");
        }
        assert!(Reserve::default().draw().table.rows.is_empty());
    }
}
