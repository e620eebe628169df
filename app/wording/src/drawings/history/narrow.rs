//! The history line for a phone: turned upright, time runs down.
use super::labels::spread;
use super::{Ahead, HistoryLine, triangle};
use crate::drawings::axis::Linear;
use crate::drawings::svg::{Anchor, Area, Form, Page};
use crate::sentences::{chances, dates};

const WIDTH: f64 = 302.0;
const LINE: f64 = 58.0;
const WORDS: f64 = 84.0;
/// Letters that fit beside a day.
const ROOM: usize = 18;
const TOP: f64 = 14.0;
const WEDGE: f64 = 40.0;

struct Frame {
    past: Linear,
    ahead: Linear,
    today: f64,
    end: f64,
}

impl Frame {
    fn y(&self, history: &HistoryLine, day: chrono::NaiveDate) -> f64 {
        let days = (day - history.today).num_days() as f64;
        if days <= 0.0 {
            self.past.at(days).max(TOP)
        } else {
            self.ahead.at(days)
        }
    }
}

pub(super) fn draw(history: &HistoryLine) -> String {
    let times = history.times();
    let labels = history.labelled().len() as f64;
    let height = (times.past / 365.25 * 22.0)
        .clamp(150.0, 420.0)
        .max(labels * 36.0 + 60.0);
    let today = TOP + height;
    let last = history
        .forecast
        .last()
        .map_or(1.0, |last| (last.by - history.today).num_days() as f64);
    let end = if history.forecast.is_empty() {
        today + 12.0
    } else {
        today + 140.0
    };
    let frame = Frame {
        past: Linear::new((-times.past, 0.0), (TOP, today)),
        ahead: Linear::new((0.0, last), (today, today + 132.0)),
        today,
        end,
    };
    let mut page = Page::new(&history.id, Form::Narrow);
    for day in times.years(height, 20.0) {
        let y = frame.y(history, day);
        page.line("hair", (LINE - 20.0, y), (LINE, y));
        page.text(
            "small s",
            Anchor::End,
            (LINE - 23.0, y + 4.0),
            &day.format("%Y").to_string(),
        );
    }
    wedge(&mut page, history, &frame);
    life(&mut page, history, &frame);
    labelled(&mut page, history, &frame);
    let foot = clocks(&mut page, history, &frame);
    page.finish(WIDTH, foot, &history.title, &history.finding, false)
}

fn life(page: &mut Page, history: &HistoryLine, frame: &Frame) {
    let fitted = history.fitted.1.or(history.fitted.0);
    let start = fitted.map_or(TOP, |day| frame.y(history, day.min(history.today)));
    let opened = history
        .register_opened
        .filter(|day| *day < history.today)
        .map_or(start, |day| frame.y(history, day).max(start));
    page.line("pen dash", (LINE, start), (LINE, opened));
    page.line("cut", (LINE, opened), (LINE, frame.today));
    let from = history
        .fitted
        .0
        .map_or(TOP - 8.0, |day| frame.y(history, day));
    page.rect(
        "f2 edged",
        Area::new(LINE - 7.0, from - 2.0, 14.0, (start - from).max(4.0)),
    );
    for visit in &history.visits {
        let y = frame.y(history, visit.on);
        page.line("pen", (LINE - 10.0, y), (LINE - 4.0, y));
        if visit.readings {
            page.circle("ink", (LINE - 13.5, y), 2.0);
        }
    }
    for failure in &history.failures {
        let y = frame.y(history, failure.on);
        page.path(
            "ink",
            &triangle(LINE, y - 1.0).map(|(x, h)| (LINE + 2.0 + (y - 1.0 - h), y + (x - LINE))),
            true,
        );
        if let Some(on) = failure.repaired_on {
            page.circle("hole", (LINE, frame.y(history, on) + 2.0), 4.0);
        }
    }
}

/// The words beside the line: fitted, failures, today, in order of time and pushed apart.
fn labelled(page: &mut Page, history: &HistoryLine, frame: &Frame) {
    let mut all: Vec<(f64, String, String)> = history
        .labelled()
        .into_iter()
        .map(|failure| {
            let day = dates::day_brief(failure.on);
            let year = failure.on.format("%Y");
            // What does not fit beside the day stands under it.
            let (beside, under) = if failure.words.chars().count() > ROOM {
                (&failure.detail, &failure.words)
            } else {
                (&failure.words, &failure.detail)
            };
            let head = format!("{day}\u{a0}{year}: {beside}");
            (frame.y(history, failure.on), head, under.clone())
        })
        .collect();
    let fitted = dates::fitted_brief(history.fitted.0, history.fitted.1);
    all.insert(
        0,
        (
            TOP,
            if fitted == "unknown" {
                "fitting date unknown".into()
            } else {
                format!("fitted {fitted}")
            },
            String::new(),
        ),
    );
    let wanted: Vec<f64> = all.iter().map(|label| label.0).collect();
    let heights = spread(&wanted, 34.0, frame.today - 34.0);
    for ((y, head, detail), height) in all.iter().zip(heights) {
        page.path(
            "fine",
            &[
                (LINE + 12.0, *y),
                (WORDS - 6.0, height),
                (WORDS - 2.0, height),
            ],
            false,
        );
        let class = if *y <= TOP { "s" } else { "b" };
        page.text(class, Anchor::Start, (WORDS, height + 4.0), head);
        page.text("small s", Anchor::Start, (WORDS, height + 19.0), detail);
    }
    page.line(
        "pen",
        (LINE - 22.0, frame.today),
        (WIDTH - 4.0, frame.today),
    );
    page.text(
        "b halo",
        Anchor::End,
        (WIDTH - 4.0, frame.today - 5.0),
        "today",
    );
}

fn wedge(page: &mut Page, history: &HistoryLine, frame: &Frame) {
    if history.forecast.is_empty() {
        return;
    }
    let from = (LINE, frame.today);
    let band = |of: fn(&Ahead) -> f64| {
        let right = history
            .forecast
            .iter()
            .map(|ahead| (LINE + WEDGE * of(ahead), frame.y(history, ahead.by)));
        let left = history
            .forecast
            .iter()
            .rev()
            .map(|ahead| (LINE - WEDGE * of(ahead), frame.y(history, ahead.by)));
        std::iter::once(from)
            .chain(right)
            .chain(left)
            .collect::<Vec<_>>()
    };
    page.path("wide-band", &band(|ahead| ahead.high), true);
    page.path("close-band", &band(|ahead| ahead.low), true);
    for side in [-1.0, 1.0] {
        let mut points = vec![from];
        points.extend(history.forecast.iter().map(|ahead| {
            (
                LINE + side * WEDGE * ahead.chance,
                frame.y(history, ahead.by),
            )
        }));
        page.path("pen", &points, false);
    }
    let named: Vec<&Ahead> = history
        .forecast
        .iter()
        .filter(|ahead| ahead.named)
        .collect();
    let wanted: Vec<f64> = named
        .iter()
        .map(|ahead| frame.y(history, ahead.by))
        .collect();
    let heights = spread(&wanted, 20.0, frame.end);
    for (ahead, height) in named.iter().zip(heights) {
        let y = frame.y(history, ahead.by);
        page.path(
            "fine",
            &[
                (LINE + WEDGE * ahead.high, y),
                (LINE + WEDGE + 6.0, height),
                (LINE + WEDGE + 10.0, height),
            ],
            false,
        );
        let words = format!(
            "{} by {}",
            chances::brief(ahead.chance),
            dates::day_brief(ahead.by)
        );
        page.text(
            "b",
            Anchor::Start,
            (LINE + WEDGE + 14.0, height + 4.0),
            &format!("{words}\u{a0}{}", ahead.by.format("%Y")),
        );
    }
}

/// Part clocks under the wedge; answers where the drawing ends.
fn clocks(page: &mut Page, history: &HistoryLine, frame: &Frame) -> f64 {
    if history.parts.is_empty() {
        return frame.end + 12.0;
    }
    let times = history.times();
    let across = Linear::new((-times.past, 0.0), (190.0, 298.0));
    let x = |day: chrono::NaiveDate| {
        across
            .at((day - history.today).num_days() as f64)
            .max(190.0)
    };
    let mut y = frame.end + 30.0;
    page.text("s", Anchor::Start, (2.0, y), "Part clocks, to today");
    let start = history.fitted.0.or(history.fitted.1).map_or(190.0, x);
    for part in &history.parts {
        y += 24.0;
        let words = format!("{}, {}", part.name, history.part_age(part));
        page.text("small", Anchor::Start, (2.0, y), &words);
        let middle = y - 4.0;
        let since = part.replaced_on.map_or(start, x);
        page.line("fine", (start, middle), (298.0, middle));
        if part.replaced_on.is_some() {
            page.line("pen", (since, middle), (298.0, middle));
            page.circle("hole", (since, middle), 3.5);
        }
    }
    y + 14.0
}
