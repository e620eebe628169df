//! What was said and what happened, group by group, with the reach of luck beside it.
use super::axis::Linear;
use super::svg::{Anchor, Area, Form, Page};
use super::{Drawing, Table};
use crate::sentences::chances;

/// Units of which about the same was said.
#[derive(Clone, Debug, PartialEq)]
pub struct SaidGroup {
    /// Mean chance said.
    pub said: f64,
    /// Units.
    pub units: usize,
    /// Units expected to fail.
    pub expected: f64,
    /// Units that failed.
    pub failed: usize,
    /// Where the number that failed would fall 8 times in 10 by luck alone.
    pub luck: (u64, u64),
}

/// The drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct SaidHappened {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// From the least said.
    pub groups: Vec<SaidGroup>,
}

const TITLE: &str = "What was said and what happened";

impl SaidGroup {
    fn share(&self, failed: f64) -> f64 {
        100.0 * failed / self.units.max(1) as f64
    }

    fn per_100(&self) -> f64 {
        self.share(self.failed as f64)
    }

    fn inside(&self) -> bool {
        (self.luck.0..=self.luck.1).contains(&(self.failed as u64))
    }
}

impl SaidHappened {
    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        let row = |g: &SaidGroup| {
            vec![
                chances::about(g.said),
                g.units.to_string(),
                format!("{:.1}", g.expected),
                g.failed.to_string(),
                format!("{:.0}", g.per_100()),
                format!("{} to {}", g.luck.0, g.luck.1),
            ]
        };
        let heads = [
            "We said",
            "Units",
            "Expected to fail",
            "Failed",
            "Per 100",
            "By luck alone, 8 times in 10",
        ];
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide),
            narrow_svg: self.form(Form::Narrow),
            caption: "Open ring: what we said, per 100. Filled: what happened. Pale bar: where 8 years in 10 would fall \
                      by luck alone if we were right."
                .into(),
            table: Table::new(&heads, self.groups.iter().map(row).collect())
                .numbers(&[1, 2, 3, 4, 5]),
            ..Drawing::default()
        }
    }

    /// Told in words, for who cannot see it.
    fn told(&self) -> String {
        let one = |g: &SaidGroup| {
            let side = if g.inside() { "inside" } else { "outside" };
            format!(
                "said {}, happened {:.0} in 100, {side} what luck does",
                chances::about(g.said),
                g.per_100()
            )
        };
        let all: Vec<String> = self.groups.iter().map(one).collect();
        format!("{}.", all.join("; "))
    }

    fn form(&self, form: Form) -> String {
        let wide = form == Form::Wide;
        let (left, right, width) = if wide {
            (158.0, 670.0, 960.0)
        } else {
            (8.0, 294.0, 302.0)
        };
        let pitch = if wide { 46.0 } else { 62.0 };
        let most = self
            .groups
            .iter()
            .flat_map(|g| [g.per_100(), 100.0 * g.said, g.share(g.luck.1 as f64)])
            .fold(20.0, f64::max);
        let end = (most / 20.0).ceil() * 20.0;
        let x = Linear::new((0.0, end), (left, right));
        let bottom = 30.0 + pitch * self.groups.len() as f64;
        let mut page = Page::new(&self.id, form);
        for tick in 0..=(end / 20.0) as u32 {
            let at = x.at(f64::from(tick) * 20.0);
            page.line("hair", (at, 30.0), (at, bottom + 8.0));
            let (anchor, words) = match tick {
                0 if wide => (Anchor::Start, "0 in 100".to_owned()),
                0 => (Anchor::Start, "0".to_owned()),
                _ if at >= right => (Anchor::End, (tick * 20).to_string()),
                _ => (Anchor::Middle, (tick * 20).to_string()),
            };
            page.text("s", anchor, (at, 22.0), &words);
        }
        for (place, group) in self.groups.iter().enumerate() {
            let y = 60.0 + pitch * place as f64 + if wide { 0.0 } else { 18.0 };
            let (low, high) = (
                x.at(group.share(group.luck.0 as f64)),
                x.at(group.share(group.luck.1 as f64)),
            );
            page.shade(1, Area::new(low, y - 9.0, (high - low).max(3.0), 18.0));
            let (said, came) = (x.at(100.0 * group.said), x.at(group.per_100()));
            page.line("pen", (said, y), (came, y));
            page.circle("hole", (said, y), 6.0);
            page.circle("ink", (came, y), 6.5);
            let words = format!("Said {}", chances::about(group.said));
            let count = format!(
                "of {}, {} failed: {:.0} in 100",
                group.units,
                group.failed,
                group.per_100()
            );
            if wide {
                page.text("b", Anchor::Start, (0.0, y + 5.0), &words);
                page.text("s", Anchor::Start, (right + 16.0, y + 5.0), &count);
            } else {
                page.text("b halo", Anchor::Start, (0.0, y - 16.0), &words);
                page.text("s halo", Anchor::End, (302.0, y - 16.0), &count);
            }
        }
        page.finish(width, bottom + 14.0, TITLE, &self.told(), false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_group_is_told_in_the_picture_and_in_the_table() {
        let drawn = SaidHappened {
            id: "said".into(),
            groups: vec![
                SaidGroup {
                    said: 0.05,
                    units: 72,
                    expected: 3.6,
                    failed: 5,
                    luck: (1, 6),
                },
                SaidGroup {
                    said: 0.5,
                    units: 17,
                    expected: 8.5,
                    failed: 15,
                    luck: (6, 11),
                },
            ],
        }
        .draw();
        let wide = drawn.wide_svg.replace('\u{a0}', " ");
        assert!(wide.contains("of 72, 5 failed: 7 in 100"));
        assert!(wide.contains("happened 88 in 100, outside what luck does"));
        assert_eq!(drawn.table.rows.len(), 2);
        assert_eq!(drawn.table.rows[1][5], "6 to 11");
    }
}
