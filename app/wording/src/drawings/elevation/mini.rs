//! The building as a thumbnail: only today's troubles are inked, no words.
use super::layout::Layout;
use super::pieces::{Piece, pieces};
use super::{Bay, Elevation, Fill, Roof};
use crate::drawings::svg::{Area, Form, Page};
use crate::drawings::{Drawing, Table};

/// A thumbnail of `elevation`, 136 by 104 units, for a row of Today or Buildings.
pub fn mini(elevation: &Elevation) -> Drawing {
    let mut page = Page::new(&format!("{}-mini", elevation.id), Form::Wide);
    let plain = Elevation {
        risers: Vec::new(),
        notes: Vec::new(),
        ..elevation.clone()
    };
    let mut piece =
        pieces(&plain, Form::Wide)
            .into_iter()
            .fold(Piece::default(), |mut whole, part| {
                whole.columns.extend(part.columns);
                whole
            });
    piece.cut = (false, false);
    let layout = Layout::new(&plain, Form::Wide, piece, 0.0);
    let (wide, high) = (layout.right - layout.left, layout.ground - layout.eaves);
    // A tower's cells are drawn wide to hold words; without words it may be as slim as it is.
    let slim = if layout.fill == Fill::Line { 0.6 } else { 1.0 };
    let tall = (76.0 / high.max(1.0)).min(124.0 / (wide * slim).max(1.0));
    let broad = tall * slim;
    let place = |area: Area| {
        Area::new(
            6.0 + (area.x - layout.left) * broad,
            96.0 - (layout.ground - area.y) * tall,
            area.w * broad,
            area.h * tall,
        )
    };
    let outline = place(Area::new(layout.left, layout.eaves, wide, high));
    let mut troubled = 0_usize;
    for (index, storey) in plain.storeys.iter().enumerate() {
        for (bay, area) in layout.bays(&storey.bays, index) {
            if let Bay::Flat(flat) = bay {
                let wrong = flat.trouble.is_some();
                troubled += usize::from(wrong);
                page.rect(["fine", "ink"][usize::from(wrong)], place(area));
            }
        }
    }
    page.rect("pen", outline);
    roof(&mut page, plain.roof, outline);
    page.line("ground", (0.0, 96.0), (136.0, 96.0));
    let finding = match troubled {
        0 => "Nothing is wrong there now.".to_owned(),
        count => format!(
            "{} in trouble now.",
            crate::sentences::capital(&crate::sentences::counted(count as u64, "flat", "flats"))
        ),
    };
    Drawing {
        id: format!("{}-mini", elevation.id),
        wide_svg: page.finish_as("mini", (136.0, 104.0), &elevation.title, &finding),
        caption: finding,
        table: Table::default(),
        ..Drawing::default()
    }
}

fn roof(page: &mut Page, roof: Roof, outline: Area) {
    let (left, right, top) = (outline.x, outline.right(), outline.y);
    match roof {
        Roof::Flat => page.line("ground", (left - 2.0, top), (right + 2.0, top)),
        Roof::Pitched => page.path(
            "ground",
            &[
                (left - 3.0, top),
                (outline.mid_x(), top - 16.0),
                (right + 3.0, top),
            ],
            false,
        ),
        Roof::Sheds(count) => {
            let count = count.clamp(1, 12);
            let step = outline.w / f64::from(count);
            let mut points = vec![(left, top)];
            for shed in 1..=count {
                let x = left + step * f64::from(shed);
                points.extend([(x, top - 8.0), (x, top)]);
            }
            page.path("ground", &points, false);
        }
    }
}
