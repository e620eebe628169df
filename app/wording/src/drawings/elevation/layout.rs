//! Where everything of an elevation stands: columns, storeys, heights.
use super::headers::{self, Below};
use super::pieces::{Column, Piece, atoms, flats_across, size, stretches, weight};
use super::pipes::{self, Name, ROW};
use super::{Bay, Elevation, Fill, Roof};
use crate::drawings::svg::{Area, Form};

/// Units across.
pub fn width(form: Form) -> f64 {
    match form {
        Form::Wide => 940.0,
        Form::Narrow => 302.0,
    }
}

/// One placed column.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// What it is.
    pub column: Column,
    /// Left edge and width.
    pub x: (f64, f64),
}

/// A piece with every height and edge settled.
#[derive(Clone, Debug)]
pub struct Layout {
    /// Columns from left to right.
    pub placed: Vec<Placed>,
    /// Whether the building goes on beyond the left and right edge.
    pub cut: (bool, bool),
    /// Outer left wall.
    pub left: f64,
    /// Outer right wall.
    pub right: f64,
    /// Underside of the roof.
    pub eaves: f64,
    /// Ground line.
    pub ground: f64,
    /// Lowest thing drawn.
    pub bottom: f64,
    /// Height of a storey.
    pub storey: f64,
    /// Width of the shaft left of each column of flats; 0 without pipes.
    pub shaft: f64,
    /// How much of the building this piece is, 0 to 1.
    pub share: f64,
    /// How cells are filled.
    pub fill: Fill,
    /// Which form.
    pub form: Form,
    /// Names of risers over the eaves.
    pub names: Vec<Name>,
    /// Headers and plant room under the ground.
    pub below: Below,
}

impl Layout {
    /// Places `piece` with its top at `top`.
    pub fn new(elevation: &Elevation, form: Form, piece: Piece, top: f64) -> Self {
        let left = match form {
            Form::Wide => 40.0,
            Form::Narrow => 24.0,
        };
        let beside = match form {
            Form::Wide if elevation.notes.is_empty() => 44.0,
            Form::Wide => 190.0,
            Form::Narrow => 4.0,
        };
        let core = match form {
            Form::Wide => 46.0,
            Form::Narrow => 20.0,
        };
        let cores = piece.columns.iter().filter(|&c| *c == Column::Core).count();
        let flats = flats_across(&piece.columns);
        let whole = flats_across(&atoms(elevation));
        let room = width(form) - left - beside - core * cores as f64;
        let most = if form == Form::Wide { 206.0 } else { 130.0 };
        let unit = (room / flats.max(1.0)).min(most);
        let mut x = left;
        let mut placed = Vec::new();
        for column in piece.columns {
            let wide = if column == Column::Core {
                core
            } else {
                unit * size(&column)
            };
            placed.push(Placed {
                column,
                x: (x, wide),
            });
            x += wide;
        }
        let fill = fill(elevation, form, unit);
        let storey = storey_height(fill, form);
        let mut layout = Self {
            placed,
            cut: piece.cut,
            left,
            right: x,
            eaves: 0.0,
            ground: 0.0,
            bottom: 0.0,
            storey,
            shaft: match (elevation.risers.is_empty(), form) {
                (true, _) => 0.0,
                (false, Form::Wide) => 14.0,
                (false, Form::Narrow) => 7.0,
            },
            share: flats / whole.max(1.0),
            fill,
            form,
            names: Vec::new(),
            below: Below::default(),
        };
        layout.settle(elevation, top);
        layout
    }

    /// Heights follow from what stands over the eaves and lies under the ground, and that from the columns.
    fn settle(&mut self, elevation: &Elevation, top: f64) {
        self.names = pipes::names(elevation, self, width(self.form));
        self.below = headers::below(elevation, self);
        let rows = self.names.iter().map(|name| name.row).max().unwrap_or(0);
        self.eaves = top + head(elevation, self.form, self.cut, rows);
        self.ground = self.eaves + self.storey * elevation.storeys.len() as f64;
        let has_plant = elevation.plant.is_some() && !self.cut.0;
        let plant = self.below.plant;
        let below: f64 = match (has_plant, self.form) {
            (true, Form::Wide) => (plant + 60.0).max(72.0),
            (true, Form::Narrow) => (plant + 50.0).max(62.0),
            (false, _) if !elevation.risers.is_empty() => 34.0,
            (false, _) => 14.0,
        };
        self.bottom = self.ground + below.max(self.below.names + 6.0);
    }

    /// Upper edge of storey `index` (0 at the bottom).
    pub fn storey_top(&self, index: usize) -> f64 {
        self.ground - self.storey * (index as f64 + 1.0)
    }

    /// Every bay of a storey that stands in this piece, with its area at storey `index`.
    pub fn bays<'a>(&self, bays: &'a [Bay], index: usize) -> Vec<(&'a Bay, Area)> {
        self.placed
            .iter()
            .flat_map(|placed| self.cells(bays, index, placed))
            .collect()
    }

    /// The bays of `bays` that stand in `placed`, with their areas at storey `index`.
    pub fn cells<'a>(&self, bays: &'a [Bay], index: usize, at: &Placed) -> Vec<(&'a Bay, Area)> {
        let Column::Stretch {
            stretch, columns, ..
        } = &at.column
        else {
            return Vec::new();
        };
        let parts = stretches(bays);
        let Some(all) = parts.get(*stretch).copied() else {
            return Vec::new();
        };
        let range = columns.clone().unwrap_or(0..all.len());
        let here = all
            .get(range.start..range.end.min(all.len()))
            .unwrap_or(&[]);
        let sum: f64 = here.iter().map(weight).sum();
        let mut x = at.x.0;
        here.iter()
            .map(|bay| {
                let wide = at.x.1 * weight(bay) / sum.max(0.001);
                let area = Area::new(x, self.storey_top(index), wide, self.storey);
                x += wide;
                (bay, area)
            })
            .collect()
    }
}

fn fill(elevation: &Elevation, form: Form, unit: f64) -> Fill {
    let few = elevation.flats().count() < 6 && unit >= 110.0;
    let tall = elevation.storeys.len() > 9;
    match form {
        _ if few => Fill::Room,
        Form::Wide if tall && unit >= 84.0 => Fill::Line,
        _ => Fill::Stack,
    }
}

fn storey_height(fill: Fill, form: Form) -> f64 {
    match (fill, form) {
        (Fill::Room, Form::Wide) => 104.0,
        (Fill::Room, Form::Narrow) => 74.0,
        (Fill::Line, _) => 27.0,
        (Fill::Stack, Form::Wide) => 50.0,
        (Fill::Stack, Form::Narrow) => 36.0,
    }
}

/// Space above the eaves: roof, tank, names of risers, the words of a cut.
fn head(elevation: &Elevation, form: Form, cut: (bool, bool), rows: usize) -> f64 {
    let roof: f64 = match (elevation.roof, form) {
        (Roof::Flat, _) => 10.0,
        (Roof::Pitched, Form::Wide) => 116.0,
        (Roof::Pitched, Form::Narrow) => 74.0,
        (Roof::Sheds(_), Form::Wide) => 52.0,
        (Roof::Sheds(_), Form::Narrow) => 36.0,
    };
    let tank = match (&elevation.tank, elevation.roof) {
        (Some(_), _) if cut.1 => 0.0,
        (Some(_), Roof::Flat) => 54.0,
        (Some(_), Roof::Sheds(_)) => 90.0,
        _ => 0.0,
    };
    let names: f64 = if elevation.risers.is_empty() {
        0.0
    } else {
        22.0 + ROW * rows as f64
    };
    let words = if cut == (false, false) { 0.0 } else { 20.0 };
    roof.max(tank).max(names) + words
}
