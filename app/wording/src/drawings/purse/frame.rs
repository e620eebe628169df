//! The geometry of the purse: bars above, tank below.
use terms::Pence;

use super::{Purse, PurseYear};
use crate::drawings::axis::{Linear, ticks};
use crate::drawings::svg::{Anchor, Area, Form, Page, text_width};
use crate::sentences::money;

/// Likely failures: pale and hatched.
pub fn likely(page: &mut Page, area: Area) {
    page.rect("f2", area);
    page.hatch(4, area);
    page.rect("pen", area);
}

/// Where bars and tank stand.
pub struct Frame {
    left: f64,
    right: f64,
    pitch: f64,
    bars: Linear,
    bars_foot: f64,
    bars_most: f64,
    tank: Linear,
    tank_top: f64,
    /// Floor of the tank.
    pub tank_foot: f64,
    tank_most: f64,
    wide: bool,
}

impl Frame {
    /// Settles scales and edges.
    pub fn new(purse: &Purse, form: Form) -> Self {
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

    /// What is spent and what comes in, by year.
    pub fn bars(&self, page: &mut Page, purse: &Purse) {
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

    /// The reserve as water, its floor and its lowest point.
    pub fn tank(&self, page: &mut Page, purse: &Purse) {
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
            &format!("opens with {}", money::whole(purse.opening)),
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
            // At the last level, clear of the floor's own words.
            let end = level(*reserves.last().unwrap_or(&purse.opening));
            let clear = end.min(level(purse.floor) - 17.0) + 5.0;
            page.text(
                "small s",
                Anchor::Start,
                (self.right + 10.0, clear),
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
