//! The purse: money by year against what comes in, and the reserve as a water level under it.
use terms::Pence;

use super::axis::{Linear, ticks};
use super::svg::{Anchor, Area, Form, Page, text_width};
use super::{Drawing, KeyItem, Table};
use crate::sentences::money;

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

/// Likely failures: pale and hatched.
fn likely(page: &mut Page, area: Area) {
    page.rect("f2", area);
    page.hatch(4, area);
    page.rect("pen", area);
}

struct Frame {
    left: f64,
    right: f64,
    pitch: f64,
    bars: Linear,
    bars_foot: f64,
    bars_most: f64,
    tank: Linear,
    tank_top: f64,
    tank_foot: f64,
    tank_most: f64,
    wide: bool,
}

impl Frame {
    fn new(purse: &Purse, form: Form) -> Self {
        let wide = form == Form::Wide;
        let (left, right) = if wide { (62.0, 770.0) } else { (44.0, 298.0) };
        let bars_most = purse
            .years
            .iter()
            .map(|year| year.spent().max(year.comes_in.0))
            .max()
            .unwrap_or(0)
            .max(100) as f64
            / 100.0
            * 1.12;
        let highest = purse
            .reserves()
            .into_iter()
            .chain([purse.opening, purse.floor])
            .map(|sum| sum.0)
            .max()
            .unwrap_or(0);
        let tank_most = highest.max(100) as f64 / 100.0 * 1.12;
        let (bars_top, bars_foot, tank_top, tank_foot) = if wide {
            (22.0, 168.0, 208.0, 312.0)
        } else {
            (20.0, 130.0, 178.0, 268.0)
        };
        Self {
            left,
            right,
            pitch: (right - left) / purse.years.len().max(1) as f64,
            bars: Linear::new((0.0, bars_most), (bars_foot, bars_top)),
            bars_foot,
            bars_most,
            tank: Linear::new((0.0, tank_most), (tank_foot, tank_top)),
            tank_top,
            tank_foot,
            tank_most,
            wide,
        }
    }

    fn scale(&self, page: &mut Page, most: f64, map: Linear) {
        for sum in ticks(0.0, most, 3) {
            let y = map.at(sum);
            page.line("hair", (self.left, y), (self.right, y));
            let words = money::axis(Pence((sum * 100.0) as i64));
            page.text("small s", Anchor::End, (self.left - 7.0, y + 5.0), &words);
        }
    }

    fn bars(&self, page: &mut Page, purse: &Purse) {
        self.scale(page, self.bars_most, self.bars);
        let every = if purse.years.len() > 12 || !self.wide {
            2
        } else {
            1
        };
        for (place, year) in purse.years.iter().enumerate() {
            let (middle, top) = self.year(page, *year, place);
            let over = year.spent() - year.comes_in.0;
            if over > year.comes_in.0 / 5 && over > 0 && self.wide {
                let words = format!("{} over", money::whole(Pence(over)));
                page.text("small b halo", Anchor::Middle, (middle, top - 7.0), &words);
            }
            if place % every == 0 {
                let at = (middle, self.bars_foot + 19.0);
                page.text("small s", Anchor::Middle, at, &year.year.to_string());
            }
        }
        page.line(
            "ground",
            (self.left, self.bars_foot),
            (self.right, self.bars_foot),
        );
        if self.wide {
            let level = purse.years.last().map_or(self.bars_foot, |year| {
                self.bars.at(year.comes_in.to_pounds())
            });
            page.text(
                "small b",
                Anchor::Start,
                (self.right + 10.0, level + 5.0),
                "comes in",
            );
            page.text(
                "small s",
                Anchor::Start,
                (self.right + 10.0, self.bars_foot + 2.0),
                "spent in the year",
            );
        } else {
            page.text(
                "small s",
                Anchor::Start,
                (self.left + 2.0, 10.0),
                "spent, and what comes in (heavy)",
            );
        }
    }

    /// One year's bar; answers its middle and its highest edge.
    fn year(&self, page: &mut Page, year: PurseYear, place: usize) -> (f64, f64) {
        let x = self.left + self.pitch * place as f64;
        let planned = self.bars.at(year.planned.to_pounds());
        let top = self.bars.at(year.spent() as f64 / 100.0);
        let (from, wide) = (x + self.pitch * 0.14, self.pitch * 0.72);
        let body = Area::new(from, planned, wide, self.bars_foot - planned);
        page.shade(3, body);
        page.rect("pen", body);
        likely(page, Area::new(from, top, wide, planned - top));
        let level = self.bars.at(year.comes_in.to_pounds());
        page.line("cut", (x + 3.0, level), (x + self.pitch - 3.0, level));
        (body.mid_x(), top.min(level))
    }

    fn tank(&self, page: &mut Page, purse: &Purse) {
        let reserves = purse.reserves();
        let level = |sum: Pence| self.tank.at(sum.to_pounds().max(0.0));
        let mut surface = vec![(self.left, level(purse.opening))];
        surface.extend(
            reserves
                .iter()
                .enumerate()
                .map(|(place, &sum)| (self.left + self.pitch * (place as f64 + 1.0), level(sum))),
        );
        let mut water = surface.clone();
        water.extend([(self.right, self.tank_foot), (self.left, self.tank_foot)]);
        page.path("water", &water, true);
        self.scale(page, self.tank_most, self.tank);
        page.path("keep", &surface, false);
        page.path(
            "cut",
            &[
                (self.left, self.tank_top - 4.0),
                (self.left, self.tank_foot),
                (self.right, self.tank_foot),
                (self.right, self.tank_top - 4.0),
            ],
            false,
        );
        page.text(
            "small b",
            Anchor::Start,
            (self.left + 8.0, level(purse.opening) + 20.0),
            &format!("{} today", money::whole(purse.opening)),
        );
        if purse.floor.0 > 0 {
            let y = level(purse.floor);
            page.line("pen dash", (self.left, y), (self.right, y));
            let words = format!("floor {}", money::whole(purse.floor));
            if self.wide {
                page.text(
                    "small b",
                    Anchor::Start,
                    (self.right + 10.0, y + 5.0),
                    &words,
                );
            } else {
                page.text(
                    "small halo",
                    Anchor::End,
                    (self.right - 6.0, y - 6.0),
                    &words,
                );
            }
        }
        if self.wide {
            page.text(
                "small s",
                Anchor::Start,
                (self.right + 10.0, self.tank_foot),
                "reserve at year end",
            );
        }
        self.lowest(page, purse, &reserves);
    }

    fn lowest(&self, page: &mut Page, purse: &Purse, reserves: &[Pence]) {
        let Some((place, &sum)) = reserves.iter().enumerate().min_by_key(|(_, sum)| **sum) else {
            return;
        };
        let at = (
            self.left + self.pitch * (place as f64 + 1.0),
            self.tank.at(sum.to_pounds().max(0.0)),
        );
        let year = purse.years.get(place).map_or(0, |year| year.year);
        let words = if sum.0 < 0 {
            format!(
                "empty at the end of {year}: {} short",
                money::whole(Pence(-sum.0))
            )
        } else {
            format!("lowest, end of {year}: {}", money::whole(sum))
        };
        page.circle("ink", at, 5.0);
        let wide = text_width(&words, 14.5);
        let x = (at.0 - wide / 2.0).clamp(
            self.left + 6.0,
            (self.right - wide - 6.0).max(self.left + 6.0),
        );
        page.line("fine", at, (at.0, self.tank_top + 8.0));
        page.text(
            "small b halo",
            Anchor::Start,
            (x, self.tank_top + 4.0),
            &words,
        );
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
