//! Natural frequency as squares: filled and hatched is likely, hatched only may be.
use super::svg::{Area, Form, Page};
use super::{Drawing, Table};
use crate::sentences::{capital, number_word, plural};

/// A row of squares: 12 for "1 in 3", 10 for shares.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Squares {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// How many squares.
    pub of: u32,
    /// How many are filled.
    pub filled: u32,
    /// How many more may be: up to the upper limit.
    pub may_be: u32,
    /// What one square is, once and many: ("boiler like this one", "boilers like this one").
    pub things: (String, String),
    /// What is likely: "to fail before April".
    pub what: String,
}

impl Squares {
    /// Squares for a chance and the upper end of its interval, of these things to do so.
    pub fn of_chance(
        id: &str,
        of: u32,
        (chance, high): (f64, f64),
        (things, what): ((&str, &str), &str),
    ) -> Self {
        let share = |p: f64| {
            let p = if p.is_finite() {
                p.clamp(0.0, 1.0)
            } else {
                0.0
            };
            (p * f64::from(of)).round() as u32
        };
        let filled = share(chance);
        Self {
            id: id.into(),
            of,
            filled,
            may_be: share(high).saturating_sub(filled),
            things: (things.0.into(), things.1.into()),
            what: what.into(),
        }
    }

    /// "Of 12 boilers like this one, four are likely to fail before April and two more may."
    pub fn words(&self) -> String {
        let all = plural(u64::from(self.of), &self.things.0, &self.things.1);
        let what = &self.what;
        let filled = match self.filled {
            0 => format!("none is likely {what}"),
            1 => format!("one is likely {what}"),
            n => format!("{} are likely {what}", number_word(u64::from(n))),
        };
        let may_be = match self.may_be {
            0 => String::new(),
            n if self.filled == 0 => format!("; {} may", number_word(u64::from(n))),
            n => format!(" and {} more may", number_word(u64::from(n))),
        };
        capital(&format!("of {all}, {filled}{may_be}."))
    }

    /// One small form for both widths: `{% call drawing::small(d) %}{% endcall %}`.
    pub fn draw(&self) -> Drawing {
        let mut page = Page::new(&self.id, Form::Wide);
        for place in 0..self.of {
            let area = Area::new(1.0 + 22.0 * f64::from(place), 1.0, 18.0, 18.0);
            if place < self.filled {
                page.shade(5, area);
            } else if place < self.filled.saturating_add(self.may_be) {
                page.rect("f1", area);
                page.hatch(4, area);
            } else {
                page.rect("f0", area);
            }
            page.rect("pen", area);
        }
        let size = (22.0 * f64::from(self.of.max(1)) - 2.0, 20.0);
        Drawing {
            id: self.id.clone(),
            wide_svg: page.finish_as("squares", size, "How often", &self.words()),
            caption: self.words(),
            table: Table::default(),
            ..Drawing::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn squares_follow_the_chance() {
        let things = ("boiler", "boilers");
        let fail = (things, "to fail before April");
        let third = Squares::of_chance("s", 12, (0.34, 0.5), fail);
        assert_eq!((third.filled, third.may_be), (4, 2));
        assert_eq!(
            third.words().replace('\u{a0}', " "),
            "Of 12 boilers, four are likely to fail before April and two more may."
        );
        assert_eq!(third.draw().wide_svg.matches(r#"class="f5""#).count(), 4);
        let broken = Squares::of_chance("s", 10, (f64::NAN, 2.0), fail);
        assert_eq!((broken.filled, broken.may_be), (0, 10));
        let rare = Squares::of_chance("s", 12, (0.02, 0.1), fail);
        assert_eq!(
            rare.words().replace('\u{a0}', " "),
            "Of 12 boilers, none is likely to fail before April; one may."
        );
    }
}
