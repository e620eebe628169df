//! A quote and its two limits on two rulers, side by side and never mixed.
use terms::Pence;

use super::axis::{Linear, step, ticks};
use super::svg::{Anchor, Area, Form, Page};
use super::{Drawing, Table};
use crate::sentences::money;

/// One quote against what repairing is worth and what may be agreed without asking.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TwoLimits {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// The price asked.
    pub quote: Pence,
    /// The highest price at which repairing is still the cheaper course.
    pub repair_limit: Pence,
    /// What this person may agree without asking.
    pub authority: Pence,
}

/// How a quote stands to the two limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Go ahead, told afterwards.
    InsideBoth,
    /// Worth doing, needs a yes.
    OverAuthority,
    /// You may, but replacing is cheaper.
    OverRepairLimit,
    /// Decision pack.
    OverBoth,
}

impl TwoLimits {
    /// A quote equal to a limit is inside it.
    pub fn outcome(&self) -> Outcome {
        match (self.quote > self.repair_limit, self.quote > self.authority) {
            (false, false) => Outcome::InsideBoth,
            (false, true) => Outcome::OverAuthority,
            (true, false) => Outcome::OverRepairLimit,
            (true, true) => Outcome::OverBoth,
        }
    }

    /// Advantage of replacing now: quote less repair limit, to the penny; negative when repairing is cheaper.
    pub fn advantage(&self) -> Pence {
        Pence(self.quote.0.saturating_sub(self.repair_limit.0))
    }

    /// The outcome in words.
    pub fn words(&self) -> String {
        let dearer = self.advantage();
        match self.outcome() {
            Outcome::InsideBoth => {
                "Inside both limits: go ahead; the landlord is told afterwards.".into()
            }
            Outcome::OverAuthority => {
                "Worth doing, needs a yes: it is over what may be agreed without asking.".into()
            }
            Outcome::OverRepairLimit => format!("You may, but replacing is cheaper by {dearer}."),
            Outcome::OverBoth => format!(
                "Over both limits, so a decision pack goes to the landlord: replacing is cheaper by {dearer}."
            ),
        }
    }

    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        let rows = vec![
            vec!["quote".into(), self.quote.to_string(), String::new()],
            vec![
                "worth paying (repair limit)".into(),
                self.repair_limit.to_string(),
                self.against(self.repair_limit),
            ],
            vec![
                "may be agreed (authority)".into(),
                self.authority.to_string(),
                self.against(self.authority),
            ],
        ];
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide),
            narrow_svg: self.form(Form::Narrow),
            caption: "Two questions: what the repair is worth, and what may be agreed without asking. Pale up to the \
                      limit, hatched past it. Making safe and temporary heat wait for neither."
                .into(),
            table: Table::new(&["", "Pounds", "The quote is"], rows).numbers(&[1]),
            ..Drawing::default()
        }
    }

    fn against(&self, limit: Pence) -> String {
        let apart = self.quote.0.saturating_sub(limit.0);
        let side = if apart > 0 { "over" } else { "under" };
        if apart == 0 {
            "exactly at it".into()
        } else {
            format!("{} {side} it", Pence(apart.abs()))
        }
    }

    fn form(&self, form: Form) -> String {
        let wide = form == Form::Wide;
        let (left, right, width) = if wide {
            (4.0, 900.0, 940.0)
        } else {
            (4.0, 298.0, 302.0)
        };
        let most = [self.quote, self.repair_limit, self.authority]
            .iter()
            .map(|sum| sum.to_pounds())
            .fold(1.0, f64::max);
        let pieces = if wide { 6 } else { 4 };
        let unit = step(most * 1.15, pieces);
        let end = (most * 1.1 / unit).ceil() * unit;
        let x = Linear::new((0.0, end), (left, right));
        let mut page = Page::new(&self.id, form);
        let quote = x.at(self.quote.to_pounds());
        let rulers = [
            ("worth paying", self.repair_limit, 48.0),
            ("may be agreed", self.authority, 104.0),
        ];
        let mut named = Vec::new();
        for (words, limit, y) in rulers {
            let reach = x.at(limit.to_pounds().max(0.0)).clamp(left, right);
            let pale = Area::new(left, y, reach - left, 14.0);
            let past = Area::new(reach, y, right - reach, 14.0);
            page.shade(1, pale);
            page.shade(4, past);
            page.rect("pen", Area::new(left, y, right - left, 14.0));
            page.line("cut", (reach, y - 4.0), (reach, y + 18.0));
            let words = format!(
                "{words}, to {}",
                if limit.0 < 0 {
                    "nothing".into()
                } else {
                    limit.to_string()
                }
            );
            named.push((y, left + 7.6 * words.chars().count() as f64));
            page.text("b halo", Anchor::Start, (left, y - 10.0), &words);
        }
        self.mark(&mut page, quote, (left, right), &named);
        for sum in ticks(0.0, end, pieces) {
            let at = x.at(sum);
            page.line("fine", (at, 118.0), (at, 124.0));
            let anchor = if sum <= 0.0 {
                Anchor::Start
            } else if sum >= end {
                Anchor::End
            } else {
                Anchor::Middle
            };
            page.text(
                "small s",
                anchor,
                (at, 142.0),
                &money::whole(Pence((sum * 100.0) as i64)),
            );
        }
        page.finish(width, 150.0, "A quote and two limits", &self.words(), false)
    }

    /// The quote's mark, its line and its words. Where a ruler's words lie (each ruler's height, and where they end) the line
    /// leaves them alone.
    fn mark(&self, page: &mut Page, quote: f64, (left, right): (f64, f64), named: &[(f64, f64)]) {
        let mut from = 18.0;
        for &(y, end) in named {
            if quote < end {
                page.line("pen", (quote, from), (quote, y - 24.0));
                from = y - 4.0;
            }
        }
        page.line("pen", (quote, from), (quote, 124.0));
        page.path(
            "ink",
            &[(quote - 6.0, 10.0), (quote + 6.0, 10.0), (quote, 20.0)],
            true,
        );
        let words = format!("quote {}", self.quote);
        let (anchor, at) = if quote > f64::midpoint(left, right) {
            (Anchor::End, quote - 10.0)
        } else {
            (Anchor::Start, quote + 10.0)
        };
        page.text("b halo", anchor, (at, 18.0), &words);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_outcomes_and_the_advantage_to_the_penny() {
        let case = |quote, repair_limit, authority| TwoLimits {
            id: "q".into(),
            quote: Pence(quote),
            repair_limit: Pence(repair_limit),
            authority: Pence(authority),
        };
        let over_both = case(41_200, 9_786, 25_000);
        assert_eq!(over_both.outcome(), Outcome::OverBoth);
        assert_eq!(over_both.advantage(), Pence(31_414));
        assert!(over_both.words().contains("£314.14"));
        assert_eq!(case(8_400, 64_000, 25_000).outcome(), Outcome::InsideBoth);
        assert_eq!(
            case(28_600, 30_203, 25_000).outcome(),
            Outcome::OverAuthority
        );
        assert_eq!(
            case(23_000, 17_160, 25_000).outcome(),
            Outcome::OverRepairLimit
        );
        assert_eq!(case(25_000, 25_000, 25_000).outcome(), Outcome::InsideBoth);
        assert!(
            case(5_000, -2_000, 25_000)
                .draw()
                .wide_svg
                .contains("to nothing")
        );
    }
}
