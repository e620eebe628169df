//! The history line for a phone: turned upright, time runs down.
use super::labels::spread;
use super::{Ahead, HistoryLine, triangle};
use crate::drawings::axis::Linear;
use crate::drawings::svg::{Anchor, Area, Form, Page, text_width};
use crate::sentences::{chances, dates};

const WIDTH: f64 = 302.0;
const LINE: f64 = 58.0;
const WORDS: f64 = 84.0;
/// Size of words beside the line, and of small ones, as the style sheet has them.
const SIZE: f64 = 13.0;
const SMALL: f64 = 12.5;
/// Where the line of a part's clock begins and ends.
const CLOCK: (f64, f64) = (190.0, 298.0);
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
    let labels = labels(history);
    let tall = labels.iter().map(Label::tall).fold(34.0, f64::max);
    let failures = history.labelled().len() as f64;
    let height = (times.past / 365.25 * 22.0)
        .clamp(150.0, 420.0)
        .max(failures * (tall + 2.0) + 60.0);
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
    labelled(&mut page, history, &frame, (&labels, tall));
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

/// Words beside the line: a day with what fits beside it, the rest under it.
struct Label {
    on: Option<chrono::NaiveDate>,
    head: String,
    under: Vec<String>,
}

impl Label {
    /// How far below it the next one may begin.
    fn tall(&self) -> f64 {
        19.0 + 15.0 * self.under.len().max(1) as f64
    }
}

/// Fitted and the failures, in order of time.
fn labels(history: &HistoryLine) -> Vec<Label> {
    let fitted = dates::fitted_brief(history.fitted.0, history.fitted.1);
    let head = if fitted == "unknown" {
        "fitting date unknown".into()
    } else {
        format!("fitted {fitted}")
    };
    let first = Label {
        on: None,
        head,
        under: Vec::new(),
    };
    let failures = history.labelled().into_iter().map(|failure| {
        let day = dates::day_brief(failure.on);
        let day = format!("{day}\u{a0}{}", failure.on.format("%Y"));
        let beside = |words: &str| format!("{day}: {words}");
        let fits = |words: &str| WORDS + text_width(&beside(words), SIZE) <= WIDTH;
        let (words, detail) = (&failure.words, &failure.detail);
        // What does not fit beside the day stands under it.
        let (head, under) = if fits(words) {
            (beside(words), vec![detail.clone()])
        } else if fits(detail) && !detail.is_empty() {
            (beside(detail), vec![words.clone()])
        } else {
            (day, vec![words.clone(), detail.clone()])
        };
        Label {
            on: Some(failure.on),
            head,
            under: under.into_iter().filter(|line| !line.is_empty()).collect(),
        }
    });
    std::iter::once(first).chain(failures).collect()
}

/// The words beside the line: fitted, failures, today, in order of time and pushed apart.
fn labelled(
    page: &mut Page,
    history: &HistoryLine,
    frame: &Frame,
    (labels, tall): (&[Label], f64),
) {
    let wanted: Vec<f64> = labels
        .iter()
        .map(|label| label.on.map_or(TOP, |day| frame.y(history, day)))
        .collect();
    let heights = spread(&wanted, tall, frame.today - tall);
    for ((label, y), height) in labels.iter().zip(wanted).zip(heights) {
        page.path(
            "fine",
            &[
                (LINE + 12.0, y),
                (WORDS - 6.0, height),
                (WORDS - 2.0, height),
            ],
            false,
        );
        let class = if y <= TOP { "s" } else { "b" };
        page.text(class, Anchor::Start, (WORDS, height + 4.0), &label.head);
        for (line, words) in label.under.iter().enumerate() {
            let under = height + 19.0 + 15.0 * line as f64;
            page.text("small s", Anchor::Start, (WORDS, under), words);
        }
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
        history.end_words(),
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
    let across = Linear::new((-times.past, 0.0), CLOCK);
    let x = |day: chrono::NaiveDate| {
        across
            .at((day - history.today).num_days() as f64)
            .max(CLOCK.0)
    };
    let mut y = frame.end + 30.0;
    let title = if history.gone {
        "Part clocks, to the day it left"
    } else {
        "Part clocks, to today"
    };
    page.text("s", Anchor::Start, (2.0, y), title);
    let start = history.fitted.0.or(history.fitted.1).map_or(CLOCK.0, x);
    for part in &history.parts {
        y += 24.0;
        let words = format!("{}, {}", part.name, history.part_age(part));
        page.text("small", Anchor::Start, (2.0, y), &words);
        // Beside its words where they leave room, else under them.
        let mut middle = y - 4.0;
        if 2.0 + text_width(&words, SMALL) > CLOCK.0 - 6.0 && start < CLOCK.1 {
            middle = y + 9.0;
            y += 12.0;
        }
        let since = part.replaced_on.map_or(start, x);
        page.line("fine", (start, middle), (CLOCK.1, middle));
        if part.replaced_on.is_some() {
            page.line("pen", (since, middle), (CLOCK.1, middle));
            page.circle("hole", (since, middle), 3.5);
        }
    }
    y + 14.0
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::super::{Failure, HistoryLine, PartClock};
    use super::{CLOCK, SMALL, WIDTH, draw, text_width};

    fn on(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).expect("a day of the calendar")
    }

    fn number(tag: &str, name: &str) -> Option<f64> {
        let written = tag.split(&format!(" {name}=\"")).nth(1)?;
        written.split('"').next()?.parse().ok()
    }

    /// Long words of a part, as on a heat interface unit whose sensor failed (words ours).
    #[test]
    fn no_words_run_off_the_page_and_none_lies_on_a_clock() {
        let clock = |name: &str| PartClock {
            name: name.into(),
            replaced_on: None,
        };
        let drawn = draw(&HistoryLine {
            id: "long".into(),
            title: "A unit".into(),
            finding: "It works.".into(),
            today: on(2026, 11, 25),
            gone: false,
            fitted: (Some(on(2013, 1, 1)), Some(on(2015, 12, 31))),
            register_opened: Some(on(2017, 11, 25)),
            failures: vec![Failure {
                on: on(2023, 8, 11),
                words: "no heating, no hot water".into(),
                detail: "temperature sensor, £138".into(),
                repaired_on: Some(on(2023, 8, 11)),
                cost: None,
            }],
            visits: Vec::new(),
            parts: vec![clock("Hot-water control valve"), clock("Fan")],
            forecast: Vec::new(),
        });
        assert!(drawn.contains("temperature sensor, £138"));
        let mut clocks = Vec::new();
        for tag in drawn.split("<text").skip(1) {
            let words = tag.split('>').nth(1).and_then(|t| t.split('<').next());
            let (words, x) = (words.unwrap_or_default(), number(tag, "x").unwrap_or(0.0));
            let wide = text_width(words, SMALL);
            let ends_there = tag.split('>').next().is_some_and(|t| t.contains(" e\""));
            let right = if ends_there { x } else { x + wide };
            assert!(right <= WIDTH, "{words} ends at {right}");
            if words.contains("valve,") || words.contains("Fan,") {
                clocks.push((words.to_owned(), right, number(tag, "y").unwrap_or(0.0)));
            }
        }
        assert_eq!(clocks.len(), 2, "{drawn}");
        let level = |y: f64| drawn.contains(&format!("L{} {}", CLOCK.1, y));
        for (words, right, y) in clocks {
            let beside = level(y - 4.0);
            assert_eq!(beside, right < CLOCK.0 - 6.0, "{words} in {drawn}");
        }
    }
}
