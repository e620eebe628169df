//! Flats, rooms and stairs: what fills the section.
use super::layout::{Layout, Placed};
use super::pieces::Column;
use super::{Bay, Elevation, Fill, Flat, corners};
use crate::drawings::steps::Shade;
use crate::drawings::svg::{Anchor, Area, Form, Page, text_width};

/// Draws every storey of the piece.
pub fn storeys(page: &mut Page, elevation: &Elevation, layout: &Layout) {
    for (index, storey) in elevation.storeys.iter().enumerate() {
        let top = layout.storey_top(index);
        let middle = top + layout.storey / 2.0 + 5.0;
        page.text(
            "small s",
            Anchor::End,
            (layout.left - 8.0, middle),
            &storey.label,
        );
        for placed in &layout.placed {
            if placed.column == Column::Core {
                stair(page, layout, placed, top);
            }
        }
        for (bay, area) in layout.bays(&storey.bays, index) {
            draw_bay(page, layout, bay, (&storey.label, area));
        }
        page.line("pen", (layout.left, top), (layout.right, top));
    }
}

fn draw_bay(page: &mut Page, layout: &Layout, bay: &Bay, (storey, area): (&str, Area)) {
    match bay {
        Bay::Flat(flat) => {
            let shaft = layout.shaft;
            if shaft > 0.0 {
                page.rect("wall pen", Area::new(area.x, area.y, shaft, area.h));
            }
            let wide = (area.w - shaft).max(1.0);
            let inside = Area::new(area.x + shaft, area.y, wide, area.h);
            draw_flat(page, layout, flat, storey, inside);
        }
        Bay::Room(name, _) => room(page, name, area),
        Bay::Core => {}
    }
}

/// A stair is a zigzag, the shaft beside it two lines.
fn stair(page: &mut Page, layout: &Layout, placed: &Placed, top: f64) {
    let (x, wide) = placed.x;
    let bottom = top + layout.storey;
    let (from, to) = (x + wide * 0.14, x + wide * 0.5);
    page.path(
        "zig",
        &[
            (from, top),
            (to, f64::midpoint(top, bottom)),
            (from, bottom),
        ],
        false,
    );
    for share in [0.68, 0.84] {
        page.line("zig", (x + wide * share, top), (x + wide * share, bottom));
    }
}

fn room(page: &mut Page, name: &str, area: Area) {
    page.open("space");
    page.rect("f0", area);
    page.rect("wall", area);
    if text_width(name, 13.0) < area.w - 6.0 {
        page.text(
            "small s",
            Anchor::Middle,
            (area.mid_x(), area.mid_y() + 5.0),
            name,
        );
    }
    page.close();
}

fn draw_flat(page: &mut Page, layout: &Layout, flat: &Flat, storey: &str, area: Area) {
    let class = format!("flat s{}", flat.shade.step());
    let linked = !flat.href.is_empty();
    if linked {
        page.open_link(&class, &flat.href, &label(flat, storey));
    } else {
        page.open(&class);
    }
    page.shade(flat.shade.step(), area);
    if flat.shade == Shade::Unknown {
        page.path("dots", &corners(area.inset(4.0)), true);
    }
    page.rect("wall", area);
    words(page, layout, flat, area);
    if flat.trouble.is_some() {
        let size = if layout.form == Form::Wide {
            13.0
        } else {
            10.0
        };
        let (x, y) = (area.right(), area.y);
        page.path("corner", &[(x - size, y), (x, y), (x, y + size)], true);
    }
    if linked {
        page.rect("ring", area.inset(3.0));
        page.close_link();
    } else {
        page.close();
    }
}

/// What a screen reader says of a flat.
fn label(flat: &Flat, storey: &str) -> String {
    let mut words = format!("Flat {}, storey {storey}", flat.number);
    if !flat.figure.is_empty() {
        words.push_str(": ");
        words.push_str(&flat.figure);
    }
    if let Some(trouble) = &flat.trouble {
        words.push_str("; ");
        words.push_str(trouble);
    }
    words
}

/// The figure that fits: the long one, the short one, or a question mark for unknown.
fn figure_for(flat: &Flat, room: f64, size: f64) -> &str {
    if flat.shade == Shade::Unknown && room < 60.0 {
        return "?";
    }
    if text_width(&flat.figure, size) > room && !flat.short.is_empty() {
        return &flat.short;
    }
    &flat.figure
}

fn words(page: &mut Page, layout: &Layout, flat: &Flat, area: Area) {
    let wide = layout.form == Form::Wide;
    let (no, size) = if wide { (13.0, 16.0) } else { (12.0, 12.5) };
    match (layout.fill, wide) {
        (Fill::Room, _) => {
            page.text(
                "no",
                Anchor::Start,
                (area.x + 8.0, area.y + 18.0),
                &format!("Flat {}", flat.number),
            );
            let figure = figure_for(flat, area.w - 8.0, size);
            page.text(
                "figure",
                Anchor::Middle,
                (area.mid_x(), area.mid_y() + 7.0),
                figure,
            );
            if text_width(&flat.kind, no) < area.w - 8.0 {
                page.text(
                    "no",
                    Anchor::Middle,
                    (area.mid_x(), area.bottom() - 10.0),
                    &flat.kind,
                );
            }
        }
        (Fill::Line, _) => {
            let base = area.mid_y() + 5.0;
            page.text("no", Anchor::Start, (area.x + 6.0, base), &flat.number);
            let room = area.w - text_width(&flat.number, no) - 18.0;
            let figure = figure_for(flat, room, 15.0);
            page.text(
                "figure line",
                Anchor::End,
                (area.right() - 7.0, base),
                figure,
            );
        }
        (Fill::Stack, true) => {
            page.text(
                "no",
                Anchor::Start,
                (area.x + 5.0, area.y + 15.0),
                &flat.number,
            );
            let figure = figure_for(flat, area.w - 6.0, size);
            page.text(
                "figure",
                Anchor::Middle,
                (area.mid_x(), area.bottom() - 12.0),
                figure,
            );
        }
        (Fill::Stack, false) => {
            page.text(
                "no",
                Anchor::Middle,
                (area.mid_x(), area.y + 14.0),
                &flat.number,
            );
            let figure = figure_for(flat, area.w - 2.0, size);
            page.text(
                "figure",
                Anchor::Middle,
                (area.mid_x(), area.bottom() - 7.0),
                figure,
            );
        }
    }
}
