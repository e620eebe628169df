//! The building round the flats: roof, tank, walls, ground, plant room, pipes, notes.
use super::layout::Layout;
use super::pieces::Column;
use super::{Elevation, Plant, PlantItem, Roof, Tank, corners, pipes};
use crate::drawings::svg::{Anchor, Area, Form, Page, text_width};

/// What lies behind the storeys: roof, ground, plant.
pub fn behind(page: &mut Page, elevation: &Elevation, layout: &Layout) {
    roof(page, elevation, layout);
    if let Some(tank) = &elevation.tank
        && !layout.cut.1
    {
        draw_tank(page, elevation.roof, tank, layout);
    }
    ground(page, layout, plant_box(elevation, layout));
    if let (Some(plant), Some(area)) = (&elevation.plant, plant_box(elevation, layout)) {
        draw_plant(page, plant, area, layout);
    }
}

/// What lies over the storeys: outer walls, cuts, pipes, notes.
pub fn over(page: &mut Page, elevation: &Elevation, layout: &Layout) {
    for (x, cut) in [(layout.left, layout.cut.0), (layout.right, layout.cut.1)] {
        if cut {
            broken(page, x, layout);
        } else {
            page.line("cut", (x, layout.eaves), (x, layout.ground));
        }
    }
    pipes::draw(page, elevation, layout);
    if layout.form == Form::Wide {
        notes(page, elevation, layout);
    }
}

/// The zigzag of a cut: the building goes on beyond it.
fn broken(page: &mut Page, x: f64, layout: &Layout) {
    let mut points = vec![(x, layout.eaves)];
    let mut y = layout.eaves;
    let mut side = 3.0;
    while y < layout.ground {
        y = (y + 9.0).min(layout.ground);
        points.push((x + side, y));
        side = -side;
    }
    page.path("pen", &points, false);
}

fn roof(page: &mut Page, elevation: &Elevation, layout: &Layout) {
    let (left, right, eaves) = (layout.left, layout.right, layout.eaves);
    let whole = layout.cut == (false, false);
    match elevation.roof {
        Roof::Pitched if whole => {
            let rise = if layout.form == Form::Wide {
                104.0
            } else {
                64.0
            };
            let over = if layout.form == Form::Wide { 18.0 } else { 8.0 };
            let middle = f64::midpoint(left, right);
            page.path(
                "cut",
                &[
                    (left - over, eaves),
                    (middle, eaves - rise),
                    (right + over, eaves),
                ],
                false,
            );
            page.line("pen", (left, eaves), (right, eaves));
        }
        Roof::Sheds(count) => {
            let rise = if layout.form == Form::Wide {
                36.0
            } else {
                22.0
            };
            let count = (f64::from(count.clamp(1, 12)) * layout.share)
                .round()
                .max(1.0) as u8;
            let step = (right - left) / f64::from(count);
            let mut points = vec![(left, eaves)];
            for shed in 1..=count {
                let x = left + step * f64::from(shed);
                points.extend([(x, eaves - rise), (x, eaves)]);
            }
            page.path("cut", &points, false);
            page.line("cut", (left, eaves), (right, eaves));
        }
        Roof::Flat | Roof::Pitched => {
            let over = if layout.form == Form::Wide { 5.0 } else { 3.0 };
            let from = if layout.cut.0 { left } else { left - over };
            let to = if layout.cut.1 { right } else { right + over };
            page.line("cut", (from, eaves), (to, eaves));
        }
    }
}

/// The tank stands over the last stair, or in the middle of the loft.
fn draw_tank(page: &mut Page, roof: Roof, tank: &Tank, layout: &Layout) {
    let core = layout
        .placed
        .iter()
        .rev()
        .find(|placed| placed.column == Column::Core)
        .map_or(f64::midpoint(layout.left, layout.right), |placed| {
            placed.x.0 + placed.x.1 / 2.0
        });
    let loft = roof == Roof::Pitched;
    let (house, middle) = if loft {
        (
            Area::new(0.0, 0.0, 0.0, 0.0),
            f64::midpoint(layout.left, layout.right),
        )
    } else {
        let lift = if roof == Roof::Flat { 0.0 } else { 38.0 };
        (
            Area::new(core - 36.0, layout.eaves - 44.0 - lift, 72.0, 44.0),
            core,
        )
    };
    if !loft {
        page.path("cut", &corners(house), true);
    }
    let base = if loft {
        layout.eaves - 6.0
    } else {
        house.bottom() - 8.0
    };
    let vessel = Area::new(middle - 26.0, base - 22.0, 52.0, 22.0);
    let level = if tank.level.is_finite() {
        tank.level.clamp(0.0, 1.0)
    } else {
        0.0
    };
    let water = vessel.h * level;
    page.rect(
        "water",
        Area::new(vessel.x, vessel.bottom() - water, vessel.w, water),
    );
    page.path(
        "pen",
        &[
            (vessel.x, vessel.y - 4.0),
            (vessel.x, vessel.bottom()),
            (vessel.right(), vessel.bottom()),
            (vessel.right(), vessel.y - 4.0),
        ],
        false,
    );
    let lines = if layout.form == Form::Wide {
        tank.words.len()
    } else {
        tank.words.len().min(1)
    };
    for (place, words) in tank.words.iter().take(lines).enumerate() {
        let y = base - 6.0 - 15.0 * (lines - 1 - place) as f64;
        let left = if loft { vessel.x } else { house.x } - 8.0;
        if text_width(words, 13.5) < left && !loft {
            page.text("small s", Anchor::End, (left, y), words);
        } else if vessel.right() + 10.0 + text_width(words, 13.5) < layout.right {
            page.text("small s", Anchor::Start, (vessel.right() + 10.0, y), words);
        }
    }
}

/// Where the plant room stands, if it is in this piece.
pub fn plant_box(elevation: &Elevation, layout: &Layout) -> Option<Area> {
    let plant = elevation.plant.as_ref().filter(|_| !layout.cut.0)?;
    let wide = layout.form == Form::Wide;
    let symbols = plant.items.len() as f64 * if wide { 27.0 } else { 21.0 };
    let longest = plant
        .words
        .iter()
        .map(|words| text_width(words, 14.0))
        .fold(0.0, f64::max);
    let room = (layout.right - layout.left) * 0.86;
    let text = if wide { longest + 14.0 } else { 0.0 };
    let width = (symbols + text + 26.0).clamp(60.0, room.max(60.0));
    let x = layout.left + (layout.right - layout.left - width) / 2.0;
    let height = if wide { 56.0 } else { 34.0 };
    Some(Area::new(
        x,
        layout.ground + layout.below.plant,
        width,
        height,
    ))
}

fn ground(page: &mut Page, layout: &Layout, plant: Option<Area>) {
    let (from, to) = match layout.form {
        Form::Wide => (layout.left - 36.0, layout.right + 36.0),
        Form::Narrow => (layout.left - 10.0, layout.right + 4.0),
    };
    page.line("ground", (from, layout.ground), (to, layout.ground));
    let mut x = from + 4.0;
    while x < to {
        let inside = plant.is_some_and(|area| {
            let under = area.y < layout.ground + 14.0;
            under && x > area.x - 4.0 && x < area.right() + 8.0
        });
        if !inside {
            page.line(
                "earth",
                (x, layout.ground + 3.0),
                (x - 6.0, layout.ground + 11.0),
            );
        }
        x += 11.0;
    }
}

fn draw_plant(page: &mut Page, plant: &Plant, area: Area, layout: &Layout) {
    let linked = !plant.href.is_empty();
    if linked {
        page.open_link("flat s0", &plant.href, "Plant room");
        page.rect("wall", area);
    }
    page.rect("blank", area);
    page.path("cut", &corners(area), true);
    let wide = layout.form == Form::Wide;
    let step = if wide { 27.0 } else { 21.0 };
    let mut x = area.x + 14.0 + step / 2.0 - 4.0;
    for &item in &plant.items {
        if x + step / 2.0 > area.right() {
            break;
        }
        symbol(
            page,
            item,
            (x, area.mid_y() + 2.0),
            if wide { 9.0 } else { 7.5 },
        );
        x += step;
    }
    if wide {
        let first = area.mid_y() + 5.0 - 9.0 * (plant.words.len().max(1) - 1) as f64;
        for (place, words) in plant.words.iter().enumerate() {
            page.text(
                "small s",
                Anchor::Start,
                (x, first + 18.0 * place as f64),
                words,
            );
        }
    }
    if !plant.mains.is_empty() {
        for y in [area.mid_y() - 4.0, area.mid_y() + 4.0] {
            page.line(
                "pipe",
                (layout.left - 36.0 + if wide { 0.0 } else { 20.0 }, y),
                (area.x, y),
            );
        }
        if wide {
            page.text(
                "small s",
                Anchor::Start,
                (layout.left - 36.0, area.bottom()),
                &plant.mains,
            );
        }
    }
    if linked {
        page.rect("ring", area.inset(4.0));
        page.close_link();
    } else if !wide {
        let words = plant.words.first().map_or("plant", String::as_str);
        page.text(
            "small s",
            Anchor::Middle,
            (area.mid_x(), area.bottom() + 14.0),
            words,
        );
    }
}

fn symbol(page: &mut Page, item: PlantItem, at: (f64, f64), size: f64) {
    let (x, y) = at;
    match item {
        PlantItem::Pump => {
            page.circle("pen", at, size);
            let s = size * 0.62;
            page.path(
                "ink",
                &[(x - s * 0.8, y - s), (x + s, y), (x - s * 0.8, y + s)],
                true,
            );
        }
        PlantItem::Plate => {
            page.rect(
                "pen",
                Area::new(x - size * 0.7, y - size * 1.3, size * 1.4, size * 2.6),
            );
            for share in [-0.3, 0.0, 0.3] {
                let line = x + size * share;
                page.line("fine", (line, y - size * 1.3), (line, y + size * 1.3));
            }
        }
        PlantItem::Vessel => {
            page.circle("pen", (x, y), size * 0.95);
            page.line("pen", (x - size * 0.95, y), (x + size * 0.95, y));
            page.line("pen", (x, y + size * 0.95), (x, y + size * 1.5));
        }
        PlantItem::Boiler => {
            page.rect(
                "pen",
                Area::new(x - size, y - size * 1.2, size * 2.0, size * 2.4),
            );
            page.line("pen", (x, y - size * 1.2), (x, y - size * 1.9));
            page.circle("pen", (x, y + size * 0.3), size * 0.5);
        }
        PlantItem::Store => {
            let (w, h) = (size * 0.85, size * 1.4);
            page.path(
                "pen",
                &[
                    (x - w, y + h),
                    (x - w, y - h * 0.7),
                    (x - w * 0.5, y - h),
                    (x + w * 0.5, y - h),
                    (x + w, y - h * 0.7),
                    (x + w, y + h),
                ],
                true,
            );
        }
    }
}

fn notes(page: &mut Page, elevation: &Elevation, layout: &Layout) {
    let x = layout.right + 12.0;
    let last = elevation.storeys.len().saturating_sub(1);
    for note in &elevation.notes {
        let (low, high) = (note.storeys.0.min(last), note.storeys.1.min(last));
        let top = layout.storey_top(high) + 3.0;
        let bottom = layout.storey_top(low) + layout.storey - 3.0;
        let middle = f64::midpoint(top, bottom);
        if low == high {
            page.line("fine", (layout.right + 4.0, middle), (x + 4.0, middle));
        } else {
            page.path(
                "pen",
                &[(x - 4.0, top), (x, top), (x, bottom), (x - 4.0, bottom)],
                false,
            );
        }
        let first = middle + 5.0 - 9.0 * (note.lines.len().max(1) - 1) as f64;
        for (place, words) in note.lines.iter().enumerate() {
            let class = if place == 0 { "small b" } else { "small s" };
            page.text(
                class,
                Anchor::Start,
                (x + 9.0, first + 18.0 * place as f64),
                words,
            );
        }
    }
}
