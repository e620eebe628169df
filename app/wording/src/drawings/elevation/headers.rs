//! Headers below the ground: from the shared units to the risers they feed, each at a depth of its own with its name
//! under it, and the plant room under them all.
use std::collections::BTreeSet;

use super::Elevation;
use super::fabric::plant_box;
use super::layout::Layout;
use super::pipes::shafts;
use crate::drawings::svg::{Anchor, Form, Page, text_width};
use crate::sentences::list;

/// The first header, below the ground.
const FIRST: f64 = 12.0;
/// From one line of a name to the next.
const LINE: f64 = 16.0;
/// Between a name and what lies below it.
const GAP: f64 = 8.0;

/// How deep everything under the ground lies in one piece.
#[derive(Clone, Debug, Default)]
pub struct Below {
    /// Each header, in the order of [`headers`].
    headers: Vec<Depth>,
    /// The top of the plant room.
    pub plant: f64,
    /// The lowest name.
    pub names: f64,
}

/// One header under the ground.
#[derive(Clone, Debug)]
struct Depth {
    down: f64,
    /// Its name, in as many lines as the piece's width asks for.
    name: Vec<String>,
}

/// Risers that share a feeding unit hang on one header.
struct Header<'a> {
    feeders: BTreeSet<&'a str>,
    /// The columns its risers stand left of.
    columns: Vec<usize>,
}

fn headers(elevation: &Elevation) -> Vec<Header<'_>> {
    let mut found: Vec<Header<'_>> = Vec::new();
    for riser in elevation.risers.iter().filter(|r| !r.feeders.is_empty()) {
        let mut own = Header {
            feeders: riser.feeders.iter().map(String::as_str).collect(),
            columns: vec![riser.column],
        };
        found.retain(|other| {
            let apart = own.feeders.is_disjoint(&other.feeders);
            if !apart {
                own.feeders.extend(&other.feeders);
                own.columns.extend(&other.columns);
            }
            apart
        });
        found.push(own);
    }
    // From left to right, so that the order does not change when a pipe is hung on another.
    found.sort_by_key(|header| header.columns.iter().copied().min());
    found
}

/// Lays the headers of a piece one under the other. One alone with room for its name beside the plant room has it there.
pub fn below(elevation: &Elevation, layout: &Layout) -> Below {
    let across = layout.right - layout.left;
    let size = text_size(layout.form);
    let mut down = FIRST;
    let mut all = Vec::new();
    for header in headers(elevation) {
        let names: Vec<&str> = header.feeders.iter().copied().collect();
        let name = lines(&format!("from {}", list(&names)), across, size);
        let under = down + LINE * name.len() as f64 + GAP;
        all.push(Depth { down, name });
        down = under;
    }
    let beside = plant_box(elevation, layout).map_or(across, |plant| plant.x - layout.left);
    let plant = match all.as_slice() {
        _ if elevation.risers.is_empty() => 0.0,
        [] => FIRST,
        [one]
            if one
                .name
                .iter()
                .all(|line| text_width(line, size) + GAP < beside) =>
        {
            FIRST
        }
        _ => down,
    };
    Below {
        plant,
        names: all
            .last()
            .map_or(0.0, |last| last.down + LINE * last.name.len() as f64),
        headers: all,
    }
}

/// How large small words are set.
pub const fn text_size(form: Form) -> f64 {
    match form {
        Form::Wide => 13.5,
        Form::Narrow => 12.5,
    }
}

/// Words in lines no longer than `across`; a single word may be.
fn lines(words: &str, across: f64, size: f64) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in words.split(' ') {
        match out.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), size) <= across => {
                line.push(' ');
                line.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
    }
    out
}

/// Where a riser ends: at the header that feeds it, or at the ground where nothing on record does.
pub fn foot(elevation: &Elevation, layout: &Layout, column: usize) -> f64 {
    let place = headers(elevation)
        .iter()
        .position(|header| header.columns.contains(&column));
    let depth = place.and_then(|place| layout.below.headers.get(place));
    layout.ground + depth.map_or(0.0, |depth| depth.down)
}

/// Draws the headers of this piece: lines first, so that no pipe runs over a name.
pub fn draw(page: &mut Page, elevation: &Elevation, layout: &Layout) {
    let all = headers(elevation);
    let mut named = Vec::new();
    for (place, (header, depth)) in all.iter().zip(&layout.below.headers).enumerate() {
        if header.draw(page, elevation, (layout, depth, place)) {
            named.push(depth);
        }
    }
    for depth in named {
        for (n, line) in depth.name.iter().enumerate() {
            let y = layout.ground + depth.down + LINE * (n as f64 + 1.0);
            page.text("small s halo", Anchor::Start, (layout.left, y), line);
        }
    }
}

impl Header<'_> {
    /// From the outermost risers to the plant room, or on to the next piece; whether it is seen in this one.
    fn draw(
        &self,
        page: &mut Page,
        elevation: &Elevation,
        (layout, depth, place): (&Layout, &Depth, usize),
    ) -> bool {
        let inside = shafts(elevation, layout);
        let here: Vec<f64> = inside
            .iter()
            .filter(|(column, _)| self.columns.contains(column))
            .map(|(_, x)| *x)
            .collect();
        let first = inside.first().map_or(0, |(column, _)| *column);
        let last = inside.last().map_or(0, |(column, _)| *column);
        let plant = plant_box(elevation, layout);
        // The plant room stands in the first piece.
        let plant_is_left = elevation.plant.is_some() && plant.is_none();
        let from_left =
            layout.cut.0 && (plant_is_left || self.columns.iter().any(|column| *column < first));
        let to_right = layout.cut.1 && self.columns.iter().any(|column| *column > last);
        let seen = !here.is_empty() || (to_right && (from_left || plant.is_some()));
        if !seen {
            return false;
        }
        let y = layout.ground + depth.down;
        let mut joints = here;
        let mut from = f64::INFINITY;
        let mut to = f64::NEG_INFINITY;
        if let Some(plant) = plant {
            if plant.y > y {
                // Each goes down at a place of its own; one alone beside its name, where that leaves room.
                let size = text_size(layout.form);
                let words = depth.name.iter().map(|line| text_width(line, size));
                let beside = layout.left + words.fold(0.0, f64::max) + GAP;
                let last = plant.right() - 6.0;
                let own = (plant.x + 14.0 + 12.0 * place as f64).min(last);
                let alone = layout.below.headers.len() == 1 && beside <= last;
                let x = if alone { own.max(beside) } else { own };
                page.line("pipe", (x, y), (x, plant.y));
                joints.push(x);
            } else {
                (from, to) = (plant.right(), plant.x);
            }
        }
        let cuts = [(from_left, layout.left), (to_right, layout.right)];
        let cuts = cuts.iter().filter_map(|(cut, x)| cut.then_some(*x));
        for x in joints.iter().copied().chain(cuts) {
            from = from.min(x);
            to = to.max(x);
        }
        if from < to {
            page.line("pipe", (from, y), (to, y));
        }
        if layout.below.headers.len() > 1 {
            // Where several lie one under the other a crossing is no joint, so joints are marked.
            let size = if layout.form == Form::Wide { 4.0 } else { 3.0 };
            for x in joints {
                page.circle("ink", (x, y), size);
            }
        }
        true
    }
}
