//! What would change the answer: one bar per doubt round a heavy hinge line, in pounds of advantage.
use terms::Pence;

use super::axis::Linear;
use super::svg::{Anchor, Area, Form, Page, text_width};
use super::{Drawing, Table};
use crate::sentences::money;

/// One doubt, all else worked out again at its two ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubt {
    /// "Faults of this boiler, 40 % fewer to 60 % more"
    pub name: String,
    /// Advantage of replacing now at one end.
    pub one_end: Pence,
    /// And at the other.
    pub other_end: Pence,
    /// The value at which the advice turns ("at 0.54 a year"); empty when it never does.
    pub turns: String,
}

impl Doubt {
    fn ends(&self) -> (Pence, Pence) {
        (
            self.one_end.min(self.other_end),
            self.one_end.max(self.other_end),
        )
    }

    /// Whether the advice turns inside the doubt.
    pub fn crosses(&self) -> bool {
        let (low, high) = self.ends();
        low.0 < 0 && high.0 > 0
    }
}

/// The bars, widest first whatever their order here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tornado {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing.
    pub title: String,
    /// The finding in one sentence.
    pub finding: String,
    /// In any order.
    pub doubts: Vec<Doubt>,
    /// Whether a repair is in question; else it is keeping that is weighed against replacing.
    pub repaired: bool,
}

impl Tornado {
    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        let sorted = self.sorted();
        let crossing = sorted.iter().filter(|doubt| doubt.crosses()).count();
        let words = match crossing {
            0 => "Nothing within its range changes the advice.".into(),
            1 => "Only the bold bar crosses the line.".into(),
            count => format!(
                "The {} bold bars cross the line.",
                crate::sentences::number_word(count as u64)
            ),
        };
        let rows = sorted.iter().map(|doubt| {
            let (low, high) = doubt.ends();
            let turns = if doubt.turns.is_empty() {
                "never".into()
            } else {
                doubt.turns.clone()
            };
            vec![doubt.name.clone(), low.to_string(), high.to_string(), turns]
        });
        let heads = ["Doubt", "Least advantage", "Most advantage", "Advice turns"];
        Drawing {
            id: self.id.clone(),
            wide_svg: wide(self, &sorted),
            narrow_svg: narrow(self, &sorted),
            caption: format!(
                "Pounds in favour of replacing now. {words} “Turns” is the value at which the advice changes."
            ),
            table: Table::new(&heads, rows.collect()).numbers(&[1, 2]),
            ..Drawing::default()
        }
    }

    /// What is cheaper left of the line.
    fn left(&self) -> &'static str {
        if self.repaired {
            "repair is cheaper"
        } else {
            "keeping is cheaper"
        }
    }

    fn sorted(&self) -> Vec<Doubt> {
        let mut sorted = self.doubts.clone();
        sorted.sort_by_key(|doubt| {
            let (low, high) = doubt.ends();
            std::cmp::Reverse((doubt.crosses(), high.0.saturating_sub(low.0)))
        });
        sorted
    }
}

fn reach(doubts: &[Doubt]) -> (f64, f64) {
    let ends = doubts
        .iter()
        .flat_map(|doubt| [doubt.one_end.to_pounds(), doubt.other_end.to_pounds()]);
    (ends.clone().fold(-1.0, f64::min), ends.fold(1.0, f64::max))
}

/// One bar; answers its area.
fn bar(page: &mut Page, doubt: &Doubt, x: Linear, y: f64) -> Area {
    let (low, high) = doubt.ends();
    let (from, to) = (x.at(low.to_pounds()), x.at(high.to_pounds()));
    let area = Area::new(from, y, (to - from).max(2.0), 17.0);
    page.shade(if doubt.crosses() { 4 } else { 2 }, area);
    page.rect("pen", area);
    area
}

fn wide(tornado: &Tornado, doubts: &[Doubt]) -> String {
    let longest = doubts
        .iter()
        .map(|doubt| text_width(&doubt.name, 14.5))
        .fold(120.0, f64::max);
    let left = longest.min(330.0) + 84.0;
    // The longest word on where it turns, and the figure at the bar's end before it.
    let turning = doubts
        .iter()
        .map(|doubt| text_width(&doubt.turns, 14.5))
        .fold(0.0, f64::max);
    let right = (936.0 - turning - 84.0).clamp(left + 120.0, 740.0);
    let x = Linear::new(reach(doubts), (left, right));
    let hinge = x.at(0.0);
    let mut page = Page::new(&tornado.id, Form::Wide);
    page.text("small s", Anchor::End, (hinge - 8.0, 14.0), tornado.left());
    page.text(
        "small s",
        Anchor::Start,
        (hinge + 8.0, 14.0),
        "replace is cheaper",
    );
    page.text("small s", Anchor::End, (936.0, 14.0), "turns");
    for (row, doubt) in doubts.iter().enumerate() {
        let y = 28.0 + 30.0 * row as f64;
        let area = bar(&mut page, doubt, x, y);
        let class = if doubt.crosses() { "small b" } else { "small" };
        let (low, high) = doubt.ends();
        page.text(
            class,
            Anchor::End,
            (area.x - 6.0, y + 14.0),
            &money::whole(low),
        );
        let at = (area.right() + 6.0, y + 14.0);
        page.text(class, Anchor::Start, at, &money::whole(high));
        page.text(class, Anchor::Start, (2.0, y + 14.0), &doubt.name);
        let turns = if doubt.turns.is_empty() {
            "never"
        } else {
            &doubt.turns
        };
        page.text(class, Anchor::End, (936.0, y + 14.0), turns);
    }
    let bottom = 28.0 + 30.0 * doubts.len() as f64;
    page.line("cut", (hinge, 20.0), (hinge, bottom));
    page.finish(940.0, bottom + 6.0, &tornado.title, &tornado.finding, false)
}

fn narrow(tornado: &Tornado, doubts: &[Doubt]) -> String {
    let x = Linear::new(reach(doubts), (50.0, 250.0));
    let hinge = x.at(0.0);
    let mut page = Page::new(&tornado.id, Form::Narrow);
    page.text(
        "small s",
        Anchor::Start,
        (2.0, 12.0),
        &format!("left of the line {}", tornado.left()),
    );
    for (row, doubt) in doubts.iter().enumerate() {
        let y = 24.0 + 62.0 * row as f64;
        let class = if doubt.crosses() { "b" } else { "" };
        page.text(class, Anchor::Start, (2.0, y + 12.0), &doubt.name);
        bar(&mut page, doubt, x, y + 19.0);
        page.line("cut", (hinge, y + 17.0), (hinge, y + 38.0));
        let turns = if doubt.turns.is_empty() {
            "never turns".into()
        } else {
            format!("turns {}", doubt.turns)
        };
        let (low, high) = doubt.ends();
        let words = format!("{}; {turns}", money::range(low, high));
        page.text("small s", Anchor::Start, (2.0, y + 51.0), &words);
    }
    page.finish(
        302.0,
        28.0 + 62.0 * doubts.len() as f64,
        &tornado.title,
        &tornado.finding,
        false,
    )
}
