//! What falls due in the next days: the boxes of the year strip in one row, stacked when days coincide.
use chrono::NaiveDate;

use super::axis::Linear;
use super::svg::{Anchor, Area, Form, Page};
use super::year_strip::{Window, cross, key, open_box, pin};
use super::{Drawing, Table};
use crate::sentences::{capital, counted, dates, plural};

/// The next `days` from `today`; windows already late stand left of today.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DueStrip {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing.
    pub title: String,
    /// The present day.
    pub today: NaiveDate,
    /// How far it looks.
    pub days: u32,
    /// In any order; those done or due later are left out.
    pub windows: Vec<Window>,
}

impl DueStrip {
    /// Both forms, key and table.
    pub fn draw(&self) -> Drawing {
        let due = self.due();
        let rows = due
            .iter()
            .map(|window| vec![dates::day_short(window.deadline), window.words(self.today)]);
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide),
            narrow_svg: self.form(Form::Narrow),
            key: key(&self.id),
            table: Table::new(&["Due", "State"], rows.collect()),
            ..Drawing::default()
        }
    }

    fn due(&self) -> Vec<&Window> {
        let within =
            |window: &Window| (window.deadline - self.today).num_days() <= i64::from(self.days);
        let mut due: Vec<&Window> = self
            .windows
            .iter()
            .filter(|window| window.done.is_none() && within(window))
            .collect();
        due.sort_by_key(|window| window.deadline);
        due
    }

    /// "Three checks are late or fall due within 60 days."
    pub fn words(&self) -> String {
        let due = self.due();
        let late = due.iter().filter(|window| window.late(self.today)).count() as u64;
        let ahead = due.len() as u64 - late;
        let within = plural(u64::from(self.days), "day", "days");
        let verb = if ahead == 1 { "falls" } else { "fall" };
        let ahead = format!(
            "{} {verb} due within {within}",
            counted(ahead, "check", "checks")
        );
        match late {
            0 => capital(&format!("{ahead}.")),
            1 => capital(&format!("one check is late; {ahead}.")),
            n => capital(&format!(
                "{} are late; {ahead}.",
                counted(n, "check", "checks")
            )),
        }
    }

    fn form(&self, form: Form) -> String {
        let (left, right, size) = match form {
            Form::Wide => (44.0, 900.0, 14.0),
            Form::Narrow => (28.0, 290.0, 11.0),
        };
        let x = Linear::new((0.0, f64::from(self.days.max(1))), (left, right));
        let placed = self.stacked(x, size);
        let highest = placed
            .iter()
            .map(|(_, _, height)| *height)
            .max()
            .unwrap_or(0);
        let base = 20.0 + (size + 5.0) * f64::from(highest + 1);
        let mut page = Page::new(&self.id, form);
        page.line("ground", (left - size * 2.6, base), (right + 6.0, base));
        self.marks(&mut page, (x, size, base));
        for (window, middle, height) in placed {
            let top = base - 2.0 - (size + 5.0) * f64::from(height) - size;
            self.mark(
                &mut page,
                window,
                Area::new(middle - size / 2.0, top, size, size),
            );
        }
        let width = if form == Form::Wide { 940.0 } else { 302.0 };
        page.finish(width, base + 28.0, &self.title, &self.words(), false)
    }

    /// Each window with its middle and its place in the stack there.
    fn stacked(&self, x: Linear, size: f64) -> Vec<(&Window, f64, u32)> {
        let mut stacks: Vec<(f64, u32)> = Vec::new();
        let mut placed = Vec::new();
        for window in self.due() {
            let days = (window.deadline - self.today).num_days() as f64;
            let middle = if days < 0.0 {
                x.at(0.0) - size * 1.5
            } else {
                x.at(days)
            };
            let near = stacks
                .iter_mut()
                .find(|(at, _)| (*at - middle).abs() < size + 2.0);
            let here = if let Some(stack) = near {
                stack.1 += 1;
                *stack
            } else {
                stacks.push((middle, 0));
                (middle, 0)
            };
            placed.push((window, here.0, here.1));
        }
        placed
    }

    fn marks(&self, page: &mut Page, (x, size, base): (Linear, f64, f64)) {
        for mark in [0_u32, 14, 30, 60] {
            if mark > self.days {
                continue;
            }
            let today = mark == 0;
            let at = x.at(f64::from(mark)) + if today { -size * 0.75 } else { size * 0.75 };
            let class = if today { "pen" } else { "fine" };
            page.line(class, (at, 8.0), (at, base + 5.0));
            let words = if today {
                "today".into()
            } else {
                format!("{mark}\u{a0}days")
            };
            let class = if today { "small b" } else { "small s" };
            let anchor = if mark == self.days {
                Anchor::End
            } else {
                Anchor::Middle
            };
            page.text(class, anchor, (at, base + 21.0), &words);
        }
    }

    fn mark(&self, page: &mut Page, window: &Window, area: Area) {
        if window.late(self.today) {
            page.rect("ink", area);
            return;
        }
        page.rect("blank", area);
        open_box(page, area, false);
        if window.booked.is_some() {
            pin(page, area.mid_x(), area);
        } else if !window.no_access.is_empty() {
            cross(page, (area.mid_x(), area.mid_y()));
        }
    }
}
