//! The worst night of a winter: how many homes are without heating in how many winters, and how far the heaters go.
use super::axis::{Linear, step};
use super::svg::{Anchor, Area, Form, Page};
use super::{Drawing, Table};
use crate::sentences::plural;

/// The drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct ColdNight {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Share of winters whose worst night has 0, 1, 2 … homes without heating.
    pub worst: Vec<f64>,
    /// Homes the heaters in stock can warm.
    pub warmed: u32,
}

const TITLE: &str = "The worst night of a winter";

impl ColdNight {
    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        let rows = self
            .worst
            .iter()
            .enumerate()
            .map(|(homes, share)| {
                let more: f64 = self.worst[homes..].iter().sum();
                vec![
                    plural(homes as u64, "home", "homes"),
                    format!("{:.1}", 100.0 * share),
                    format!("{:.1}", 100.0 * more),
                    if homes as u32 > self.warmed {
                        "no"
                    } else {
                        "yes"
                    }
                    .to_owned(),
                ]
            })
            .collect();
        let heads = [
            "Homes without heating on the worst night",
            "Winters in 100",
            "This many or more",
            "Heaters go round",
        ];
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide),
            narrow_svg: self.form(Form::Narrow),
            caption: "Each bar: winters in 100 whose worst night has that many homes without heating. Hatched: more than \
                      the heaters in stock can warm."
                .into(),
            table: Table::new(&heads, rows).numbers(&[1, 2]),
            ..Drawing::default()
        }
    }

    fn told(&self) -> String {
        let short: f64 = self.worst.iter().skip(self.warmed as usize + 1).sum();
        format!(
            "In {:.0} winters of 100 every home stays heated or is lent heaters; in {:.0} one or more has neither.",
            100.0 * (1.0 - short),
            100.0 * short
        )
    }

    fn form(&self, form: Form) -> String {
        let wide = form == Form::Wide;
        let (left, right, width, height) = if wide {
            (40.0, 900.0, 940.0, 220.0)
        } else {
            (28.0, 298.0, 302.0, 200.0)
        };
        let count = self.worst.len().max(2) as f64;
        let most = self.worst.iter().copied().fold(0.01, f64::max);
        let (top, base) = (24.0, height - 44.0);
        let y = Linear::new((0.0, most), (base, top));
        let pitch = (right - left) / count;
        let mut page = Page::new(&self.id, form);
        page.text(
            "s",
            Anchor::Start,
            (0.0, top - 8.0),
            &format!("{:.0} winters in 100", 100.0 * most),
        );
        page.line("hair", (left, top), (right, top));
        for (homes, share) in self.worst.iter().enumerate() {
            let at = left + pitch * homes as f64;
            let bar = Area::new(
                at + 1.0,
                y.at(*share),
                (pitch - 2.0).max(1.0),
                base - y.at(*share),
            );
            page.shade(if homes as u32 > self.warmed { 4 } else { 2 }, bar);
        }
        page.line("pen", (left, base), (right, base));
        let unit = step(count, if wide { 10 } else { 5 }).max(1.0);
        let mut homes = 0.0;
        while homes < count {
            let at = left + pitch * (homes + 0.5);
            page.text(
                "small s",
                Anchor::Middle,
                (at, base + 18.0),
                &format!("{homes:.0}"),
            );
            homes += unit;
        }
        page.text(
            "s",
            Anchor::End,
            (right, base + 38.0),
            "homes without heating on the worst night",
        );
        if f64::from(self.warmed) + 1.0 < count {
            let at = left + pitch * (f64::from(self.warmed) + 1.0);
            page.line("cut", (at, top - 4.0), (at, base));
            let words = format!(
                "heaters reach {}",
                plural(u64::from(self.warmed), "home", "homes")
            );
            let (anchor, x) = if at > f64::midpoint(left, right) {
                (Anchor::End, at - 8.0)
            } else {
                (Anchor::Start, at + 8.0)
            };
            page.text("b halo", anchor, (x, top + 14.0), &words);
        }
        page.finish(width, height, TITLE, &self.told(), false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_heaters_reach_and_what_not_is_told() {
        let drawn = ColdNight {
            id: "worst".into(),
            worst: vec![0.5, 0.25, 0.15, 0.1],
            warmed: 1,
        }
        .draw();
        assert!(drawn.wide_svg.contains("in 25 one or more has neither"));
        assert_eq!(drawn.table.rows[2][2], "25.0");
        assert_eq!(drawn.table.rows[2][3], "no");
        assert!(drawn.narrow_svg.contains("heaters reach"));
        // Heaters for more homes than were ever cold: no line, nothing hatched.
        let enough = ColdNight {
            id: "worst".into(),
            worst: vec![0.9, 0.1],
            warmed: 9,
        };
        assert!(!enough.draw().wide_svg.contains("heaters reach"));
    }
}
