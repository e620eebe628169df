//! The year strip: twelve months across, one line per flat or engineer, windows as boxes that close when done.
//!
//! A window is a box without a lid; a pin drops in when it is booked; crosses are attempts without access;
//! done puts the lid on and fills it; late is ink from the deadline to today.
use chrono::{Datelike, Months, NaiveDate, TimeDelta};

use super::axis::Linear;
use super::svg::{Anchor, Area, Form, Page, sample};
use super::{Drawing, KeyItem, Table};
use crate::sentences::dates;

/// One window of one duty.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    /// First day it may be done.
    pub opens: NaiveDate,
    /// Last day.
    pub deadline: NaiveDate,
    /// The day it is booked for.
    pub booked: Option<NaiveDate>,
    /// Attempts without access.
    pub no_access: Vec<NaiveDate>,
    /// The day it was done.
    pub done: Option<NaiveDate>,
}

impl Window {
    /// A window nobody has touched yet.
    pub fn open(opens: NaiveDate, deadline: NaiveDate) -> Self {
        Self {
            opens,
            deadline,
            booked: None,
            no_access: Vec::new(),
            done: None,
        }
    }

    pub(super) fn late(&self, today: NaiveDate) -> bool {
        self.done.is_none() && self.deadline < today
    }

    /// "late since 22 Nov, no access 3 times".
    pub(super) fn words(&self, today: NaiveDate) -> String {
        let brief = dates::day_brief;
        let state = match (self.done, self.late(today)) {
            (Some(on), _) => format!("done {}", brief(on)),
            (None, true) => format!("late since {}", brief(self.deadline)),
            (None, false) => format!("open {} to {}", brief(self.opens), brief(self.deadline)),
        };
        let booked = match (self.done, self.booked) {
            (None, Some(on)) => format!(", booked {}", brief(on)),
            _ => String::new(),
        };
        let attempts = match self.no_access.len() {
            0 => String::new(),
            1 => ", no access once".into(),
            n => format!(", no access {n} times"),
        };
        format!("{state}{booked}{attempts}")
    }
}

/// One line of the strip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StripRow {
    /// "Flat 40"
    pub name: String,
    /// Where the name leads; empty for none.
    pub href: String,
    /// The heading it stands under when there are more than forty rows ("Stair 1"); else unused.
    pub group: String,
    /// Beside the line: "by 3 Dec; no access twice".
    pub words: String,
    /// Its windows within the twelve months.
    pub windows: Vec<Window>,
}

/// Twelve months of windows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct YearStrip {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing.
    pub title: String,
    /// The finding in one sentence.
    pub finding: String,
    /// The present day.
    pub today: NaiveDate,
    /// Any day of the first month drawn.
    pub first_month: NaiveDate,
    /// In any order; late ones are drawn first, then by deadline.
    pub rows: Vec<StripRow>,
}

impl YearStrip {
    /// Both forms, key and table.
    pub fn draw(&self) -> Drawing {
        let rows = self.sorted();
        let cells = rows.iter().map(|row| {
            let windows: Vec<String> = row
                .windows
                .iter()
                .map(|window| window.words(self.today))
                .collect();
            vec![row.name.clone(), windows.join("; "), row.words.clone()]
        });
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide, &rows),
            narrow_svg: self.form(Form::Narrow, &rows),
            caption: String::new(),
            key: key(&self.id),
            table: Table::new(&["Line", "Windows", "Words"], cells.collect()),
            has_links: rows.iter().any(|row| !row.href.is_empty()),
        }
    }

    /// Late first, then by the earliest deadline not done; within groups when there are many.
    fn sorted(&self) -> Vec<&StripRow> {
        let mut rows: Vec<&StripRow> = self.rows.iter().collect();
        let grouped = rows.len() > 40;
        rows.sort_by_key(|row| {
            let open = row.windows.iter().filter(|window| window.done.is_none());
            let late = open.clone().any(|window| window.late(self.today));
            let deadline = open.map(|window| window.deadline).min();
            let group = if grouped { row.group.as_str() } else { "" };
            (group, !late, deadline.is_none(), deadline)
        });
        rows
    }

    fn form(&self, form: Form, rows: &[&StripRow]) -> String {
        let frame = Frame::new(self, form);
        let mut page = Page::new(&self.id, form);
        let mut y = 30.0;
        let mut group = "";
        let mut body: Vec<(f64, &StripRow)> = Vec::new();
        for row in rows {
            if rows.len() > 40 && row.group != group {
                group = &row.group;
                page.text("b", Anchor::Start, (2.0, y + 16.0), group);
                y += 26.0;
            }
            body.push((y, row));
            y += frame.row;
        }
        frame.months(&mut page, y);
        for (y, row) in body {
            self.row(&mut page, &frame, row, y);
        }
        let x = frame.x(self.today);
        page.line("pen", (x, 22.0), (x, y + 2.0));
        let words = format!("today, {}", dates::day_brief(self.today));
        page.text(
            "small b halo",
            Anchor::Middle,
            (x.clamp(frame.left + 50.0, frame.right - 50.0), y + 19.0),
            &words,
        );
        let width = if form == Form::Wide { 940.0 } else { 302.0 };
        let links = rows.iter().any(|row| !row.href.is_empty());
        page.finish(width, y + 26.0, &self.title, &self.finding, links)
    }

    fn row(&self, page: &mut Page, frame: &Frame, row: &StripRow, y: f64) {
        let late = row.windows.iter().any(|window| window.late(self.today));
        let class = if late { "b" } else { "" };
        let (name, words) = if frame.wide {
            ((2.0, y + 17.0), (frame.right + 12.0, y + 17.0))
        } else {
            ((2.0, y + 12.0), (298.0, y + 12.0))
        };
        if row.href.is_empty() {
            page.text(class, Anchor::Start, name, &row.name);
        } else {
            page.open_link("named", &row.href, &row.name);
            page.text(class, Anchor::Start, name, &row.name);
            page.close_link();
        }
        let anchor = if frame.wide {
            Anchor::Start
        } else {
            Anchor::End
        };
        let soft = if late { "small b" } else { "small s" };
        page.text(soft, anchor, words, &row.words);
        let top = if frame.wide { y + 5.0 } else { y + 22.0 };
        for window in &row.windows {
            draw_window(page, frame, window, (self.today, top));
        }
    }
}

struct Frame {
    left: f64,
    right: f64,
    row: f64,
    wide: bool,
    first: NaiveDate,
    last: NaiveDate,
    across: Linear,
}

impl Frame {
    fn new(strip: &YearStrip, form: Form) -> Self {
        let wide = form == Form::Wide;
        let (left, right, row) = if wide {
            (96.0, 690.0, 30.0)
        } else {
            (2.0, 298.0, 46.0)
        };
        let first = strip.first_month.with_day(1).unwrap_or(strip.first_month);
        let last = first.checked_add_months(Months::new(12)).unwrap_or(first);
        let days = (last - first).num_days() as f64;
        Self {
            left,
            right,
            row,
            wide,
            first,
            last,
            across: Linear::new((0.0, days), (left, right)),
        }
    }

    /// Where a day begins, kept inside the strip.
    fn x(&self, day: NaiveDate) -> f64 {
        let day = day.clamp(self.first, self.last);
        self.across.at((day - self.first).num_days() as f64)
    }

    /// Where a day ends.
    fn end(&self, day: NaiveDate) -> f64 {
        self.x(day.checked_add_signed(TimeDelta::days(1)).unwrap_or(day))
    }

    fn months(&self, page: &mut Page, bottom: f64) {
        let letters = if self.wide { 3 } else { 1 };
        for n in 0..=12 {
            let Some(day) = self.first.checked_add_months(Months::new(n)) else {
                continue;
            };
            let x = self.x(day);
            page.line("hair", (x, 22.0), (x, bottom));
            if n < 12 {
                let name = dates::month_short(day);
                let name = &name[..letters];
                let middle = f64::midpoint(
                    x,
                    self.x(day.checked_add_months(Months::new(1)).unwrap_or(day)),
                );
                page.text("small s", Anchor::Middle, (middle, 15.0), name);
            }
        }
    }
}

fn draw_window(page: &mut Page, frame: &Frame, window: &Window, (today, top): (NaiveDate, f64)) {
    if window.deadline < frame.first || window.opens > frame.last {
        return;
    }
    let area = Area::new(
        frame.x(window.opens),
        top,
        (frame.end(window.deadline) - frame.x(window.opens)).max(4.0),
        16.0,
    );
    open_box(page, area, window.done.is_some());
    if window.late(today) {
        page.rect(
            "ink",
            Area::new(
                area.right() - 1.0,
                top,
                (frame.x(today) - area.right()).max(6.0),
                16.0,
            ),
        );
    }
    for &day in &window.no_access {
        cross(page, (frame.x(day), area.mid_y()));
    }
    match (window.done, window.booked) {
        (Some(on), _) => page.circle("ink", (frame.x(on), area.mid_y()), 3.0),
        (None, Some(on)) => pin(page, frame.x(on), area),
        (None, None) => {}
    }
}

pub(super) fn open_box(page: &mut Page, area: Area, done: bool) {
    if done {
        page.rect("f2", area);
    }
    page.path(
        "pen",
        &[
            (area.x, area.y),
            (area.x, area.bottom()),
            (area.right(), area.bottom()),
            (area.right(), area.y),
        ],
        false,
    );
    if done {
        page.line("cut", (area.x - 1.0, area.y), (area.right() + 1.0, area.y));
    }
}

pub(super) fn pin(page: &mut Page, x: f64, area: Area) {
    page.line("pen", (x, area.bottom()), (x, area.y + 2.0));
    page.circle("ink", (x, area.y), 3.5);
}

pub(super) fn cross(page: &mut Page, (x, y): (f64, f64)) {
    page.line("pen", (x - 3.5, y - 3.5), (x + 3.5, y + 3.5));
    page.line("pen", (x - 3.5, y + 3.5), (x + 3.5, y - 3.5));
}

pub(super) fn key(id: &str) -> Vec<KeyItem> {
    let area = Area::new(6.0, 4.0, 20.0, 14.0);
    let item = |name: &str, words: &str, draw: &dyn Fn(&mut Page)| KeyItem {
        svg: sample(&format!("{id}-{name}"), draw),
        words: words.into(),
    };
    vec![
        item("ko", "window open", &|page| open_box(page, area, false)),
        item("kb", "booked", &|page| {
            open_box(page, area, false);
            pin(page, 16.0, area);
        }),
        item("kx", "no access", &|page| {
            open_box(page, area, false);
            cross(page, (16.0, 11.0));
        }),
        item("kd", "done, lid closed", &|page| {
            open_box(page, area, true);
            page.circle("ink", (16.0, 11.0), 3.0);
        }),
        item("kl", "late", &|page| {
            open_box(page, Area::new(2.0, 4.0, 14.0, 14.0), false);
            page.rect("ink", Area::new(16.0, 4.0, 12.0, 14.0));
        }),
    ]
}
