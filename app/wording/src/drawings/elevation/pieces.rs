//! Cuts a long building into pieces that fit a form: between flats where columns are even, else at a stair.
use std::ops::Range;

use super::{Bay, Elevation};
use crate::drawings::svg::Form;

/// A stretch between cores, or a core: the same on every storey.
#[derive(Clone, Debug, PartialEq)]
pub enum Column {
    /// Stair and shafts.
    Core,
    /// Bays `range` of the stretch (counting from its left), out of the flats between two cores.
    Stretch {
        /// Which stretch from the left.
        stretch: usize,
        /// Which columns of it; `None` when storeys differ and it cannot be cut.
        columns: Option<Range<usize>>,
        /// Width in flats.
        flats: f64,
    },
}

/// One piece of the building: consecutive columns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Piece {
    /// From left to right.
    pub columns: Vec<Column>,
    /// Whether the building goes on to the left or right of it.
    pub cut: (bool, bool),
}

/// The bays of one storey, split at its cores.
pub fn stretches(bays: &[Bay]) -> Vec<&[Bay]> {
    bays.split(|bay| matches!(bay, Bay::Core)).collect()
}

/// Width of a bay against its neighbours.
pub fn weight(bay: &Bay) -> f64 {
    match bay {
        Bay::Flat(flat) => sane(flat.width),
        Bay::Room(_, width) => sane(*width),
        Bay::Core => 0.0,
    }
}

fn sane(width: f64) -> f64 {
    if width.is_finite() {
        width.clamp(0.2, 8.0)
    } else {
        1.0
    }
}

/// Cuts the building where it is too long for the form: between flats, or at a stair.
pub fn pieces(elevation: &Elevation, form: Form) -> Vec<Piece> {
    let atoms = atoms(elevation);
    let most = match form {
        Form::Wide => 14.0,
        Form::Narrow => 6.4,
    };
    let total: f64 = atoms.iter().map(size).sum();
    let count = (total / most).ceil().max(1.0);
    let aim = total / count;
    let mut out: Vec<Piece> = Vec::new();
    let mut piece = Piece::default();
    let mut filled = 0.0;
    for atom in atoms {
        let is_core = atom == Column::Core;
        let over = filled + size(&atom) > most + 0.01;
        let enough = filled >= aim - 0.3 && !is_core;
        if !piece.columns.is_empty() && (over || enough) && out.len() + 1 < count as usize + 2 {
            piece.cut.1 = true;
            out.push(std::mem::take(&mut piece));
            piece.cut.0 = true;
            filled = 0.0;
        }
        filled += size(&atom);
        piece.columns.push(atom);
    }
    out.push(piece);
    for piece in &mut out {
        piece.columns = merged(std::mem::take(&mut piece.columns));
    }
    out
}

/// Width in flats; a core counts as less than half.
pub fn size(column: &Column) -> f64 {
    match column {
        Column::Core => 0.4,
        Column::Stretch { flats, .. } => *flats,
    }
}

/// Columns as small as they can be cut.
pub fn atoms(elevation: &Elevation) -> Vec<Column> {
    let storeys: Vec<Vec<&[Bay]>> = elevation
        .storeys
        .iter()
        .map(|storey| stretches(&storey.bays))
        .collect();
    let count = storeys.iter().map(Vec::len).max().unwrap_or(0);
    let mut out = Vec::new();
    for stretch in 0..count {
        if stretch > 0 {
            out.push(Column::Core);
        }
        let here: Vec<&[Bay]> = storeys
            .iter()
            .filter_map(|storey| storey.get(stretch).copied())
            .filter(|bays| !bays.is_empty())
            .collect();
        let Some(first) = here.first() else { continue };
        let even = here
            .iter()
            .all(|bays| bays.len() == first.len() && bays.iter().all(|bay| weight(bay) == 1.0));
        if even {
            out.extend((0..first.len()).map(|column| Column::Stretch {
                stretch,
                columns: Some(column..column + 1),
                flats: 1.0,
            }));
        } else {
            let flats = here
                .iter()
                .map(|bays| bays.iter().map(weight).sum::<f64>())
                .fold(0.0, f64::max);
            out.push(Column::Stretch {
                stretch,
                columns: None,
                flats,
            });
        }
    }
    out
}

/// Neighbouring single columns of one stretch become one.
fn merged(columns: Vec<Column>) -> Vec<Column> {
    let mut out: Vec<Column> = Vec::new();
    for column in columns {
        if let (
            Some(Column::Stretch {
                stretch: last,
                columns: Some(range),
                flats,
            }),
            Column::Stretch {
                stretch,
                columns: Some(next),
                flats: more,
            },
        ) = (out.last_mut(), &column)
            && *last == *stretch
        {
            range.end = next.end;
            *flats += more;
        } else {
            out.push(column);
        }
    }
    out
}

/// How many flats stand side by side in `columns`.
pub fn flats_across(columns: &[Column]) -> f64 {
    columns
        .iter()
        .filter(|&column| *column != Column::Core)
        .map(size)
        .sum()
}
