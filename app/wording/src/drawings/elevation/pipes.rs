//! Risers with a branch into each home that hangs on them, and the header from the shared units that feed them.
use std::collections::BTreeSet;

use super::fabric::plant_box;
use super::layout::Layout;
use super::{Bay, Elevation, Riser};
use crate::drawings::svg::{Anchor, Area, Form, Page, text_width};
use crate::sentences::list;

/// Draws every riser that stands in this piece.
pub fn draw(page: &mut Page, elevation: &Elevation, layout: &Layout) {
    for riser in &elevation.risers {
        if let Some(x) = shaft(elevation, layout, riser.column) {
            // What nothing on record feeds does not reach the header.
            let foot = if riser.feeders.is_empty() {
                layout.ground
            } else {
                header_at(layout)
            };
            page.line("pipe", (x, layout.eaves + 8.0), (x, foot));
            branches(page, elevation, layout, (riser, x));
            trouble(page, elevation, layout, (riser, x));
            let at = (x - 5.0, layout.eaves - 7.0);
            page.text("small s", Anchor::Start, at, &name(riser, layout.form));
        }
    }
    for header in headers(elevation, layout) {
        header.draw(page, elevation, layout);
    }
}

fn header_at(layout: &Layout) -> f64 {
    layout.ground + 12.0
}

/// Risers that share a feeding unit hang on one header.
struct Header<'a> {
    feeders: BTreeSet<&'a str>,
    /// Where each stands; `None`: in another piece.
    risers: Vec<Option<f64>>,
}

fn headers<'a>(elevation: &'a Elevation, layout: &Layout) -> Vec<Header<'a>> {
    let mut found: Vec<Header<'a>> = Vec::new();
    for riser in elevation.risers.iter().filter(|r| !r.feeders.is_empty()) {
        let mut own = Header {
            feeders: riser.feeders.iter().map(String::as_str).collect(),
            risers: vec![shaft(elevation, layout, riser.column)],
        };
        found.retain(|other| {
            let apart = own.feeders.is_disjoint(&other.feeders);
            if !apart {
                own.feeders.extend(&other.feeders);
                own.risers.extend(&other.risers);
            }
            apart
        });
        found.push(own);
    }
    found
}

impl Header<'_> {
    /// From the outermost risers to the plant room, or on to the next piece, with the name of what feeds it.
    fn draw(&self, page: &mut Page, elevation: &Elevation, layout: &Layout) {
        let here: Vec<f64> = self.risers.iter().copied().flatten().collect();
        let elsewhere = here.len() < self.risers.len();
        let y = header_at(layout);
        let mut from = here.iter().copied().fold(f64::INFINITY, f64::min);
        let mut to = here.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let plant = plant_box(elevation, layout);
        if let (Some(plant), false) = (plant, here.is_empty()) {
            from = from.min(plant.right());
            to = to.max(plant.x);
        }
        if elsewhere && layout.cut.0 {
            from = from.min(layout.left);
        }
        if elsewhere && layout.cut.1 {
            to = to.max(layout.right);
        }
        if from < to {
            page.line("pipe", (from, y), (to, y));
        }
        let names: Vec<&str> = self.feeders.iter().copied().collect();
        let words = format!("from {}", list(&names));
        let room = plant.map_or(layout.right, |plant| plant.x) - layout.left;
        if !here.is_empty() && text_width(&words, 13.5) + 8.0 < room {
            page.text("small s", Anchor::Start, (layout.left, y + 17.0), &words);
        }
    }
}

/// The whole name, or on a phone its number.
fn name(riser: &Riser, form: Form) -> String {
    match form {
        Form::Wide => riser.name.clone(),
        Form::Narrow => riser.name.chars().filter(char::is_ascii_digit).collect(),
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

/// The middle of the shaft left of column `column`, counting over the storey with the most bays.
fn shaft(elevation: &Elevation, layout: &Layout, column: usize) -> Option<f64> {
    let widest = elevation
        .storeys
        .iter()
        .max_by_key(|storey| storey.bays.len())?;
    let target = widest
        .bays
        .iter()
        .filter(|bay| !matches!(bay, Bay::Core))
        .nth(column)?;
    layout
        .bays(&widest.bays, 0)
        .into_iter()
        .find(|(bay, _)| std::ptr::eq(*bay, target))
        .map(|(_, area)| area.x + layout.shaft / 2.0)
}
