//! The history line for a desk: time runs to the right.
use super::labels::{Hung, Wanted, hang};
use super::{Ahead, Failure, HistoryLine, PartClock, Times, triangle};
use crate::drawings::svg::{Anchor, Area, Form, Page, text_width};
use crate::sentences::{chances, dates};

const WIDTH: f64 = 940.0;
const LEFT: f64 = 160.0;
const RIGHT: f64 = 870.0;
const ROW: f64 = 38.0;
const WEDGE: f64 = 60.0;
/// Room for "fitted 2008 to 2011" above the line.
const FITTED: f64 = 116.0;
/// Two days of the forecast nearer than this have their words on two levels.
const APART: f64 = 66.0;
/// From one level of the forecast's days to the next.
const LIFT: f64 = 18.0;
/// How far the name of a part reaches to the left of its clock.
const NAMES: f64 = LEFT - 12.0;

struct Frame {
    times: Times,
    line: f64,
    clocks: f64,
    pitch: f64,
    foot: f64,
}

impl Frame {
    fn x(&self, day: chrono::NaiveDate) -> f64 {
        LEFT + self.times.share(day.max(self.times.start)) * (RIGHT - LEFT)
    }
}

pub(super) fn draw(history: &HistoryLine) -> String {
    let times = history.times();
    let labels = place(history, times);
    let levels = labels
        .iter()
        .map(|(_, hung)| hung.level + 1)
        .max()
        .unwrap_or(0)
        .max(1);
    let line = 46.0 + ROW * levels as f64;
    // Days of the forecast on two levels push the clocks down, so that no day stands in a part's age.
    let lifted = named(history, times)
        .windows(2)
        .any(|pair| matches!(pair, [(_, one), (_, next)] if next - one < APART));
    let clocks = line + WEDGE + 42.0 + if lifted { LIFT } else { 0.0 };
    let long = history.parts.iter().any(|part| name_lines(part).len() > 1);
    let pitch = if long { 30.0 } else { 24.0 };
    let frame = Frame {
        times,
        line,
        clocks,
        pitch,
        foot: clocks + pitch * history.parts.len() as f64,
    };
    let mut page = Page::new(&history.id, Form::Wide);
    years(&mut page, &frame);
    wedge(&mut page, history, &frame);
    life(&mut page, history, &frame);
    visits(&mut page, history, &frame);
    failures(&mut page, history, &frame, &labels);
    clocks_rows(&mut page, history, &frame);
    today(&mut page, &frame, history.end_words());
    page.finish(
        WIDTH,
        frame.foot + 26.0,
        &history.title,
        &history.finding,
        false,
    )
}

/// The labelled failures with where their words hang.
fn place(history: &HistoryLine, times: Times) -> Vec<(&Failure, Hung)> {
    let x = |day| LEFT + times.share(day) * (RIGHT - LEFT);
    let labelled = history.labelled();
    let wanted: Vec<Wanted> = labelled
        .iter()
        .map(|failure| Wanted {
            stem: x(failure.on),
            width: text_width(&heading(failure), 15.5).max(text_width(&failure.detail, 13.5)),
        })
        .collect();
    let room = x(history.today) - x(history.fitted.0.unwrap_or(times.start));
    // The words of a young one stand under the line.
    let fitted = if room < FITTED {
        (0.0, 0.0)
    } else {
        (LEFT - 6.0, LEFT + FITTED)
    };
    let hung = hang(&wanted, (2.0, x(history.today) - 2.0), fitted);
    labelled.into_iter().zip(hung).collect()
}

/// The named days of the forecast with where they stand.
fn named(history: &HistoryLine, times: Times) -> Vec<(&Ahead, f64)> {
    let named = history.forecast.iter().filter(|ahead| ahead.named);
    named
        .map(|ahead| (ahead, LEFT + times.share(ahead.by) * (RIGHT - LEFT)))
        .collect()
}

/// The name of a part in as many lines as the room left of the clocks asks for.
fn name_lines(part: &PartClock) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in part.name.split(' ') {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), 13.5) <= NAMES => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn heading(failure: &Failure) -> String {
    format!(
        "{}: {}",
        dates::day_brief(failure.on) + "\u{a0}" + &failure.on.format("%Y").to_string(),
        failure.words
    )
}

fn years(page: &mut Page, frame: &Frame) {
    for day in frame.times.years(RIGHT - LEFT, 56.0) {
        let x = frame.x(day);
        page.line("hair", (x, frame.clocks - 14.0), (x, frame.foot));
        page.text(
            "small s",
            Anchor::Middle,
            (x, frame.foot + 18.0),
            &day.format("%Y").to_string(),
        );
    }
}

fn wedge(page: &mut Page, history: &HistoryLine, frame: &Frame) {
    if history.forecast.is_empty() {
        return;
    }
    let from = (frame.x(history.today), frame.line);
    let band = |of: fn(&Ahead) -> f64| {
        let up = history
            .forecast
            .iter()
            .map(|ahead| (frame.x(ahead.by), frame.line - WEDGE * of(ahead)));
        let down = history
            .forecast
            .iter()
            .rev()
            .map(|ahead| (frame.x(ahead.by), frame.line + WEDGE * of(ahead)));
        std::iter::once(from)
            .chain(up)
            .chain(down)
            .collect::<Vec<_>>()
    };
    page.path("wide-band", &band(|ahead| ahead.high), true);
    page.path("close-band", &band(|ahead| ahead.low), true);
    for side in [-1.0, 1.0] {
        let mut points = vec![from];
        points.extend(
            history
                .forecast
                .iter()
                .map(|ahead| (frame.x(ahead.by), frame.line + side * WEDGE * ahead.chance)),
        );
        page.path("pen", &points, false);
    }
    let mut last = f64::NEG_INFINITY;
    let mut lift = 0.0;
    for (ahead, x) in named(history, frame.times) {
        lift = if x - last < APART && lift == 0.0 {
            LIFT
        } else {
            0.0
        };
        last = x;
        // Near today the words stand to the right of its line, not across it.
        let clear = |words: &str| from.0 + 6.0 + text_width(words, 15.5) / 2.0;
        let top = frame.line - WEDGE * ahead.high - 8.0 - lift;
        page.line(
            "fine",
            (x, top + 4.0),
            (x, frame.line + WEDGE * ahead.high + 4.0),
        );
        let chance = chances::brief(ahead.chance);
        page.text(
            "b halo",
            Anchor::Middle,
            (x.max(clear(&chance)), top),
            &chance,
        );
        let by = format!(
            "{}\u{a0}{}",
            dates::month_short(ahead.by),
            ahead.by.format("%Y")
        );
        page.text(
            "small s halo",
            Anchor::Middle,
            (x.max(clear(&by)), frame.line + WEDGE + 18.0 + lift),
            &by,
        );
    }
}

fn life(page: &mut Page, history: &HistoryLine, frame: &Frame) {
    let today = frame.x(history.today);
    let start = history
        .fitted
        .1
        .or(history.fitted.0)
        .map_or(LEFT, |day| frame.x(day.min(history.today)));
    let opened = history
        .register_opened
        .filter(|day| *day > frame.times.start && *day < history.today)
        .map_or(start, |day| frame.x(day).max(start));
    if opened > start {
        page.line("pen dash", (start, frame.line), (opened, frame.line));
        page.text(
            "small s",
            Anchor::Start,
            (start + 4.0, frame.line + 40.0),
            "on paper until the register opened",
        );
    }
    page.line("cut", (opened, frame.line), (today, frame.line));
    let (from, to) = match history.fitted {
        (Some(from), Some(to)) => (frame.x(from), frame.x(to.min(history.today))),
        (None, Some(to)) => (LEFT - 30.0, frame.x(to.min(history.today))),
        (Some(from), None) => (frame.x(from), today),
        (None, None) => (LEFT - 30.0, LEFT),
    };
    page.rect(
        "f2 edged",
        Area::new(from - 2.0, frame.line - 7.0, (to - from).max(4.0), 14.0),
    );
    let words = dates::fitted_brief(history.fitted.0, history.fitted.1);
    if today - from < FITTED {
        // A young one: no room between its box and today, so the words stand under the line, before today.
        let down = if opened > start { 58.0 } else { 40.0 };
        let at = (today - 8.0, frame.line + down);
        page.text("small s halo", Anchor::End, at, &format!("fitted {words}"));
        return;
    }
    for (up, words) in [(30.0, "fitted"), (14.0, words.as_str())] {
        let at = (from.min(LEFT), frame.line - up);
        page.text("small s halo", Anchor::Start, at, words);
    }
}

fn visits(page: &mut Page, history: &HistoryLine, frame: &Frame) {
    for visit in &history.visits {
        let x = frame.x(visit.on);
        page.line("pen", (x, frame.line + 4.0), (x, frame.line + 14.0));
        if visit.readings {
            page.circle("ink", (x, frame.line + 20.0), 2.5);
        }
    }
}

fn failures(page: &mut Page, history: &HistoryLine, frame: &Frame, labels: &[(&Failure, Hung)]) {
    for (failure, hung) in labels {
        let foot = frame.line - 30.0 - ROW * hung.level as f64;
        page.line(
            "pen",
            (hung.stem, frame.line - 8.0),
            (hung.stem, foot - 14.0),
        );
        let (anchor, x) = if hung.words.1 < hung.stem {
            (Anchor::End, hung.stem - 6.0)
        } else {
            (Anchor::Start, hung.stem + 6.0)
        };
        page.text("b halo", anchor, (x, foot), &heading(failure));
        page.text("small s halo", anchor, (x, foot + 16.0), &failure.detail);
    }
    for failure in &history.failures {
        let x = frame.x(failure.on);
        page.path("ink", &triangle(x, frame.line - 2.0), true);
        if let Some(on) = failure.repaired_on {
            page.circle("hole", (frame.x(on) + 3.0, frame.line), 4.5);
        }
    }
}

fn clocks_rows(page: &mut Page, history: &HistoryLine, frame: &Frame) {
    let today = frame.x(history.today);
    let start = history
        .fitted
        .0
        .or(history.fitted.1)
        .map_or(LEFT, |day| frame.x(day));
    for (row, part) in history.parts.iter().enumerate() {
        let y = frame.clocks + frame.pitch * row as f64;
        let lines = name_lines(part);
        let first = y + 5.0 - 6.5 * (lines.len() as f64 - 1.0);
        for (n, words) in lines.iter().enumerate() {
            let at = (LEFT - 12.0, first + 13.0 * n as f64);
            page.text("small", Anchor::End, at, words);
        }
        let since = part.replaced_on.map_or(start, |on| frame.x(on));
        page.line("fine", (start, y), (since, y));
        if part.replaced_on.is_some() {
            page.line("pen", (since, y), (today, y));
            page.circle("hole", (since, y), 4.0);
        } else {
            page.line("fine", (since, y), (today, y));
        }
        page.text(
            "small halo",
            Anchor::Start,
            (today + 8.0, y + 5.0),
            &history.part_age(part),
        );
    }
}

fn today(page: &mut Page, frame: &Frame, words: &str) {
    let x = frame.x(frame.times.today);
    page.line("pen", (x, 8.0), (x, frame.foot));
    // What stands at the end has room after it, or stands before it.
    let (anchor, at) = if x + 7.0 + text_width(words, 15.5) <= WIDTH {
        (Anchor::Start, x + 7.0)
    } else {
        (Anchor::End, x - 7.0)
    };
    page.text("b", anchor, (at, 18.0), words);
    let wider = "from here three times as wide";
    // Where it has no room the caption alone says it.
    if frame.times.factor >= 3.0 && x + 7.0 + text_width(wider, 13.5) <= WIDTH {
        page.text("small s", Anchor::Start, (x + 7.0, 35.0), wider);
    }
}
