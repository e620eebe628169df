//! Risers with a branch into each flat, and the header under the ground.
use super::layout::Layout;
use super::{Bay, Elevation, Riser};
use crate::drawings::svg::{Anchor, Form, Page};

/// Draws every riser that stands in this piece.
pub fn draw(page: &mut Page, elevation: &Elevation, layout: &Layout) {
    let header = layout.ground + 12.0;
    let mut ends: Vec<f64> = Vec::new();
    for riser in &elevation.risers {
        if let Some(x) = shaft(elevation, layout, riser.column) {
            ends.push(x);
            page.line("pipe", (x, layout.eaves + 8.0), (x, header));
            branches(page, elevation, layout, x);
            trouble(page, elevation, layout, (riser, x));
            let at = (x - 5.0, layout.eaves - 7.0);
            page.text("small s", Anchor::Start, at, &name(riser, layout.form));
        }
    }
    let first = ends.iter().copied().fold(f64::INFINITY, f64::min);
    let last = ends.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if first < last {
        page.line("pipe", (first, header), (last, header));
    }
}

/// The whole name, or on a phone its number.
fn name(riser: &Riser, form: Form) -> String {
    match form {
        Form::Wide => riser.name.clone(),
        Form::Narrow => riser.name.chars().filter(char::is_ascii_digit).collect(),
    }
}

fn branches(page: &mut Page, elevation: &Elevation, layout: &Layout, x: f64) {
    let reach = layout.shaft / 2.0 + if layout.form == Form::Wide { 4.0 } else { 1.0 };
    for (index, storey) in elevation.storeys.iter().enumerate() {
        let fed = layout.bays(&storey.bays, index).iter().any(|(bay, area)| {
            matches!(bay, Bay::Flat(_)) && x > area.x && x < area.x + layout.shaft
        });
        if fed {
            let y = layout.storey_top(index) + layout.storey / 2.0;
            page.line("pipe", (x, y), (x + reach, y));
        }
    }
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
