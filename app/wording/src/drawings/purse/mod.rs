//! The purse: money by year against what comes in, and the reserve as a water level under it.
mod frame;
mod small;

use terms::Pence;

use super::svg::{Area, Form, Page};
use super::{Drawing, KeyItem, Table};
use crate::sentences::money;
use frame::{Frame, likely};

/// One year's money.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PurseYear {
    /// Calendar year, or the year a budget year begins in.
    pub year: i32,
    /// Planned replacements.
    pub planned: Pence,
    /// Likely failures.
    pub likely: Pence,
    /// What comes in.
    pub comes_in: Pence,
}

impl PurseYear {
    fn spent(self) -> i64 {
        self.planned.0.saturating_add(self.likely.0)
    }
}

/// Years of money with the reserve under them. The reserve is worked out here, so the sums always agree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Purse {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing.
    pub title: String,
    /// The finding in one sentence.
    pub finding: String,
    /// What the reserve holds before the first year.
    pub opening: Pence,
    /// What it should never fall under; 0 for none.
    pub floor: Pence,
    /// In order.
    pub years: Vec<PurseYear>,
}

impl Purse {
    /// The reserve at each year's end: opening + in − spent.
    pub fn reserves(&self) -> Vec<Pence> {
        let mut reserve = self.opening.0;
        self.years
            .iter()
            .map(|year| {
                reserve = reserve
                    .saturating_add(year.comes_in.0)
                    .saturating_sub(year.spent());
                Pence(reserve)
            })
            .collect()
    }

    /// Both forms, key and table.
    pub fn draw(&self) -> Drawing {
        let key = |name: &str, words: &str, draw: fn(&mut Page)| KeyItem {
            svg: super::svg::sample(&format!("{}-{name}", self.id), draw),
            words: words.into(),
        };
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide),
            narrow_svg: self.form(Form::Narrow),
            caption: "Above: what is spent in each year. Below: the reserve as water in a tank; each year opening + in \
                      − spent = what is left at its end."
                .into(),
            key: vec![
                key("kp", "planned replacements", |page| {
                    page.shade(3, Area::new(1.0, 1.0, 30.0, 18.0));
                    page.rect("pen", Area::new(1.0, 1.0, 30.0, 18.0));
                }),
                key("kl", "likely failures", |page| {
                    likely(page, Area::new(1.0, 1.0, 30.0, 18.0));
                }),
                key("ki", "what comes in", |page| page.line("cut", (2.0, 10.0), (30.0, 10.0))),
            ],
            table: self.table(),
            ..Drawing::default()
        }
    }

    fn table(&self) -> Table {
        let mut opening = self.opening;
        let mut rows = Vec::new();
        for (year, end) in self.years.iter().zip(self.reserves()) {
            rows.push(vec![
                year.year.to_string(),
                money::whole(opening),
                money::whole(year.comes_in),
                money::whole(year.planned),
                money::whole(year.likely),
                money::whole(end),
            ]);
            opening = end;
        }
        let total =
            |of: fn(&PurseYear) -> i64| money::whole(Pence(self.years.iter().map(of).sum()));
        let sum = vec![
            "All years".into(),
            money::whole(self.opening),
            total(|year| year.comes_in.0),
            total(|year| year.planned.0),
            total(|year| year.likely.0),
            money::whole(opening),
        ];
        let heads = [
            "Year",
            "Opening",
            "In",
            "Planned",
            "Likely failures",
            "Year end",
        ];
        Table {
            sum: Some(sum),
            ..Table::new(&heads, rows).numbers(&[1, 2, 3, 4, 5])
        }
    }

    fn form(&self, form: Form) -> String {
        let frame = Frame::new(self, form);
        let mut page = Page::new(&self.id, form);
        frame.bars(&mut page, self);
        frame.tank(&mut page, self);
        let width = if form == Form::Wide { 940.0 } else { 302.0 };
        page.finish(
            width,
            frame.tank_foot + 12.0,
            &self.title,
            &self.finding,
            false,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_year_opening_and_in_less_spent_is_its_end() {
        let year = |year, planned, likely| PurseYear {
            year,
            planned: Pence(planned),
            likely: Pence(likely),
            comes_in: Pence(2_800_000),
        };
        let purse = Purse {
            id: "p".into(),
            title: String::new(),
            finding: String::new(),
            opening: Pence(4_100_000),
            floor: Pence(1_500_000),
            years: vec![
                year(2027, 1_400_000, 900_000),
                year(2028, 9_000_000, 900_000),
            ],
        };
        assert_eq!(purse.reserves(), [Pence(4_600_000), Pence(-2_500_000)]);
        let drawing = purse.draw();
        assert!(drawing.wide_svg.contains("£25,000 short"));
        assert_eq!(
            drawing.table.sum,
            Some(
                [
                    "All years",
                    "£41,000",
                    "£56,000",
                    "£104,000",
                    "£18,000",
                    "−£25,000"
                ]
                .map(String::from)
                .to_vec()
            )
        );
    }
}
