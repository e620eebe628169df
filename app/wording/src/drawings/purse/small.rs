//! The reserve alone, small: for ways of doing it side by side.
use terms::Pence;

use super::Purse;
use crate::drawings::axis::Linear;
use crate::drawings::svg::{Form, Page};
use crate::drawings::{Drawing, Table};
use crate::sentences::money;

/// Width and height, and the edge left free.
const SIZE: (f64, f64) = (240.0, 80.0);
const EDGE: f64 = 3.0;

impl Purse {
    /// The reserve as water in a tank with its floor and its lowest point, in one small form: `drawing::small`.
    pub fn draw_small(&self) -> Drawing {
        let reserves = self.reserves();
        let all = reserves.iter().chain([&self.opening, &self.floor]);
        let most = all.map(|sum| sum.0).max().unwrap_or(0).max(100) as f64 / 100.0;
        let (left, right, foot) = (EDGE, SIZE.0 - EDGE, SIZE.1 - EDGE);
        let scale = Linear::new((0.0, most * 1.1), (foot, EDGE));
        let level = |sum: Pence| scale.at(sum.to_pounds().max(0.0));
        let pitch = (right - left) / reserves.len().max(1) as f64;
        let mut surface = vec![(left, level(self.opening))];
        surface.extend(
            (1u32..)
                .zip(&reserves)
                .map(|(place, sum)| (left + pitch * f64::from(place), level(*sum))),
        );
        let mut page = Page::new(&self.id, Form::Wide);
        let mut water = surface.clone();
        water.extend([(right, foot), (left, foot)]);
        page.path("water", &water, true);
        page.path("keep", &surface, false);
        let tank = [(left, EDGE), (left, foot), (right, foot), (right, EDGE)];
        page.path("cut", &tank, false);
        if self.floor.0 > 0 {
            let y = level(self.floor);
            page.line("pen dash", (left, y), (right, y));
        }
        if let Some((place, sum)) = (1u32..).zip(&reserves).min_by_key(|(_, sum)| sum.0) {
            page.circle("ink", (left + pitch * f64::from(place), level(*sum)), 4.0);
        }
        Drawing {
            id: self.id.clone(),
            wide_svg: page.finish_as("tank", SIZE, &self.title, &self.said()),
            caption: self.said(),
            table: Table::default(),
            ..Drawing::default()
        }
    }

    /// "The reserve opens at £1,000 and stands at £120 at its lowest, at the end of 2031."
    fn said(&self) -> String {
        let lowest = self.years.iter().zip(self.reserves());
        let lowest = lowest.min_by_key(|(_, sum)| sum.0);
        lowest.map_or(String::new(), |(year, sum)| {
            format!(
                "The reserve opens at {} and stands at {} at its lowest, at the end of {}.",
                money::whole(self.opening),
                money::whole(sum),
                year.year
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawings::purse::PurseYear;

    #[test]
    fn the_lowest_point_is_said_and_drawn() {
        let year = |year, planned| PurseYear {
            year,
            planned: Pence(planned),
            likely: Pence(0),
            comes_in: Pence(100_000),
        };
        let purse = Purse {
            id: "t".into(),
            title: "The reserve".into(),
            finding: String::new(),
            opening: Pence(50_000),
            floor: Pence(10_000),
            years: vec![year(2027, 120_000), year(2028, 20_000)],
        };
        let drawn = purse.draw_small();
        assert_eq!(
            drawn.caption,
            "The reserve opens at £500 and stands at £300 at its lowest, at the end of 2027."
        );
        assert!(drawn.wide_svg.contains("pen dash") && drawn.wide_svg.contains("<circle"));
    }
}
