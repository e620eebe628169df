//! Risers with a branch into each home that hangs on them, and their names over the eaves.
use super::headers::{self, foot};
use super::layout::Layout;
use super::{Bay, Elevation, Riser};
use crate::drawings::svg::{Anchor, Area, Form, Page, text_width};

/// Rows of names over the eaves: neighbours too close for one stand one above the other.
const ROWS: usize = 3;
/// From one row of names to the next.
pub const ROW: f64 = 15.0;

/// The name of a riser over the eaves.
#[derive(Clone, Debug)]
pub struct Name {
    /// Where its riser stands.
    x: f64,
    /// Where it begins.
    start: f64,
    /// Counted upwards.
    pub row: usize,
    words: String,
}

/// Draws every riser that stands in this piece, and what feeds them.
pub fn draw(page: &mut Page, elevation: &Elevation, layout: &Layout) {
    let inside = shafts(elevation, layout);
    for riser in &elevation.risers {
        if let Some((_, x)) = inside
            .iter()
            .copied()
            .find(|(column, _)| *column == riser.column)
        {
            let foot = foot(elevation, layout, riser.column);
            page.line("pipe", (x, layout.eaves + 8.0), (x, foot));
            branches(page, elevation, layout, (riser, x));
            trouble(page, elevation, layout, (riser, x));
        }
    }
    let base = |name: &Name| layout.eaves - 7.0 - ROW * name.row as f64;
    for name in layout.names.iter().filter(|name| name.row > 0) {
        page.line("fine", (name.x, layout.eaves), (name.x, base(name) + 3.0));
    }
    for name in &layout.names {
        page.text(
            "small s halo",
            Anchor::Start,
            (name.start, base(name)),
            &name.words,
        );
    }
    headers::draw(page, elevation, layout);
}

/// The names over the eaves of a piece, from left to right, each in the lowest row that has room.
pub fn names(elevation: &Elevation, layout: &Layout, page_width: f64) -> Vec<Name> {
    let inside = shafts(elevation, layout);
    let mut risers: Vec<(f64, &Riser)> = elevation
        .risers
        .iter()
        .filter_map(|riser| {
            let (_, x) = inside.iter().find(|(column, _)| *column == riser.column)?;
            Some((*x, riser))
        })
        .collect();
    risers.sort_by(|a, b| a.0.total_cmp(&b.0));
    let size = headers::text_size(layout.form);
    let mut ends = [f64::NEG_INFINITY; ROWS];
    risers
        .into_iter()
        .map(|(x, riser)| {
            let words = name(riser, layout.form);
            let wide = text_width(&words, size);
            let start = (x - 5.0).min(page_width - wide).max(0.0);
            let row = ends.iter().position(|end| *end + 6.0 <= start);
            let row = row.unwrap_or(ROWS - 1);
            ends[row] = start + wide;
            Name {
                x,
                start,
                row,
                words,
            }
        })
        .collect()
}

/// The whole name; on a phone a riser's is its number: "4", "5, gas riser".
fn name(riser: &Riser, form: Form) -> String {
    let short = |name: &str| name.strip_prefix("riser ").unwrap_or(name).to_owned();
    match form {
        Form::Wide => riser.name.clone(),
        Form::Narrow => {
            let each: Vec<String> = riser.name.split(", ").map(short).collect();
            each.join(", ")
        }
    }
}

fn branches(page: &mut Page, elevation: &Elevation, layout: &Layout, (riser, x): (&Riser, f64)) {
    for (index, storey) in elevation.storeys.iter().enumerate() {
        let homes: Vec<&Bay> = storey
            .bays
            .iter()
            .filter(|bay| !matches!(bay, Bay::Core))
            .collect();
        for (bay, area) in layout.bays(&storey.bays, index) {
            let column = homes.iter().position(|home| std::ptr::eq(*home, bay));
            if column.is_some_and(|column| riser.fed.contains(&(index, column))) {
                branch(page, layout, x, area);
            }
        }
    }
}

/// Into the home: straight where it stands beside the shaft, else along the floor under those between.
fn branch(page: &mut Page, layout: &Layout, x: f64, home: Area) {
    let into = if layout.form == Form::Wide { 4.0 } else { 1.0 };
    let end = if home.right() <= x {
        home.right() - into
    } else {
        (home.x + layout.shaft).max(x + layout.shaft / 2.0) + into
    };
    let beside = (end - x).abs() <= layout.shaft * 1.6;
    let y = if beside {
        home.mid_y()
    } else {
        home.bottom() - 3.5
    };
    page.line("pipe", (x, y), (end, y));
}

fn trouble(page: &mut Page, elevation: &Elevation, layout: &Layout, (riser, x): (&Riser, f64)) {
    let Some((low, high)) = riser.trouble else {
        return;
    };
    let last = elevation.storeys.len().saturating_sub(1);
    let from = layout.storey_top(low.min(last)) + layout.storey;
    let to = layout.storey_top(high.min(last)) + if high >= last { 8.0 } else { 0.0 };
    page.line("pipe trouble", (x, from), (x, to));
}

/// The columns of this piece from left to right, counted over the storey with the most bays, each with the middle of the
/// shaft on its left.
pub fn shafts(elevation: &Elevation, layout: &Layout) -> Vec<(usize, f64)> {
    let Some(widest) = elevation
        .storeys
        .iter()
        .max_by_key(|storey| storey.bays.len())
    else {
        return Vec::new();
    };
    let homes: Vec<&Bay> = widest
        .bays
        .iter()
        .filter(|bay| !matches!(bay, Bay::Core))
        .collect();
    layout
        .bays(&widest.bays, 0)
        .into_iter()
        .filter_map(|(bay, area)| {
            let column = homes.iter().position(|home| std::ptr::eq(*home, bay))?;
            Some((column, area.x + layout.shaft / 2.0))
        })
        .collect()
}
