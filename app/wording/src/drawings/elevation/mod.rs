//! The block in section, as it stands: storeys, flats in their columns, stairs, pipes, plant, tank, ground.
mod cells;
mod fabric;
mod headers;
mod layout;
mod mini;
mod pieces;
mod pipes;

use super::steps::{Scale, Shade};
use super::svg::{Area, Form, Page, sample};
use super::{Drawing, KeyItem, Table};
use layout::Layout;
pub use mini::mini;

/// One flat in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Flat {
    /// "22"
    pub number: String,
    /// One short figure: "1 in 3", "8 d", "2008 to 2011", "£640". Empty on a plain drawing.
    pub figure: String,
    /// Used instead where the cell is under 60 units; empty when `figure` always fits.
    pub short: String,
    /// What is in it ("combi boiler"); printed only where flats are few and wide.
    pub kind: String,
    /// How much.
    pub shade: Shade,
    /// Trouble now: an ink corner. Says what, for the table and the screen reader; `None` when all is well.
    pub trouble: Option<String>,
    /// Where pressing it leads; empty for none.
    pub href: String,
    /// Width against its neighbours in the same stretch; 1 unless the flats differ.
    pub width: f64,
}

impl Flat {
    /// Flat `number` with its `figure` and shade, as wide as its neighbours.
    pub fn new(number: &str, figure: &str, shade: Shade) -> Self {
        Self {
            number: number.into(),
            figure: figure.into(),
            short: String::new(),
            kind: String::new(),
            shade,
            trouble: None,
            href: String::new(),
            width: 1.0,
        }
    }
}

/// One bay of a storey, from left to right.
#[derive(Clone, Debug, PartialEq)]
pub enum Bay {
    /// A flat.
    Flat(Flat),
    /// A stair with its lift or riser shaft; every storey has the same cores in the same order.
    Core,
    /// A part that is not a flat and says what it is: "Hall", "Bins". The number is its width (see [`Flat::width`]).
    Room(String, f64),
}

/// One storey.
#[derive(Clone, Debug, PartialEq)]
pub struct Storey {
    /// "G", "1" …
    pub label: String,
    /// From left to right.
    pub bays: Vec<Bay>,
}

/// The shape of the top.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Roof {
    /// Flat, with a parapet.
    #[default]
    Flat,
    /// Two slopes.
    Pitched,
    /// So many sheds, as on a mill.
    Sheds(u8),
}

/// A water tank on (or under) the roof.
#[derive(Clone, Debug, PartialEq)]
pub struct Tank {
    /// How full, 0 to 1.
    pub level: f64,
    /// One or two lines beside it: "Tank, 4.5 m³", "17 °C at the inlet".
    pub words: Vec<String>,
}

/// What stands below the ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlantItem {
    /// A pump (ring with a triangle).
    Pump,
    /// A plate heat exchanger.
    Plate,
    /// An expansion vessel or pressure set.
    Vessel,
    /// A boiler.
    Boiler,
    /// A store or calorifier.
    Store,
}

/// The plant room.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plant {
    /// Symbols from left to right.
    pub items: Vec<PlantItem>,
    /// One or two lines beside them: "3 pumps, 2 needed".
    pub words: Vec<String>,
    /// Network mains arriving from the left, if any: "network mains".
    pub mains: String,
    /// Where pressing it leads; empty for none.
    pub href: String,
}

/// A riser: it stands left of one column of flats and feeds the homes that hang on it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Riser {
    /// "riser 4"
    pub name: String,
    /// The column it stands left of, counting flats and rooms (not cores) from the left, from 0.
    pub column: usize,
    /// The homes that hang on it: storey from the bottom and column, both from 0.
    pub fed: Vec<(usize, usize)>,
    /// The shared units that feed it: "BT-P-2". Without one it ends at the ground.
    pub feeders: Vec<String>,
    /// The stretch in trouble: lowest and highest storey, counting from 0 at the bottom.
    pub trouble: Option<(usize, usize)>,
}

/// A note in the right margin at the height it speaks of; wide form only.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// Lowest and highest storey spoken of, counting from 0 at the bottom.
    pub storeys: (usize, usize),
    /// The first line is bold.
    pub lines: Vec<String>,
}

/// A building to draw. Storeys run from the lowest up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Elevation {
    /// Unique on the page, a valid XML id ("slab").
    pub id: String,
    /// Names the drawing: "Alder House in section".
    pub title: String,
    /// The finding, as the sentence above the drawing says it.
    pub finding: String,
    /// Lowest first.
    pub storeys: Vec<Storey>,
    /// The top.
    pub roof: Roof,
    /// The tank, if there is one.
    pub tank: Option<Tank>,
    /// The plant room, if there is one.
    pub plant: Option<Plant>,
    /// Pipes, drawn as part of the section when given.
    pub risers: Vec<Riser>,
    /// Right margin.
    pub notes: Vec<Note>,
    /// What the shading means; `None` when flats stay plain.
    pub scale: Option<Scale>,
    /// Column of the table that holds the figures: "Fails before April".
    pub figures_are: String,
    /// What the ink corner means; "something is wrong there now" when empty.
    pub corner_is: String,
    /// Stands under the drawing; may be empty.
    pub caption: String,
}

/// How a cell is filled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fill {
    /// Few flats: name, figure, kind.
    Room,
    /// Number top left (narrow: above), figure centred.
    Stack,
    /// Tower: number left, figure right.
    Line,
}

impl Elevation {
    /// Both forms, key and table.
    pub fn draw(&self) -> Drawing {
        let links = self.flats().any(|(_, flat)| !flat.href.is_empty())
            || self
                .plant
                .as_ref()
                .is_some_and(|plant| !plant.href.is_empty());
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide, links),
            narrow_svg: self.form(Form::Narrow, links),
            caption: self.caption.clone(),
            key: self.key(),
            table: self.table(),
            has_links: links,
        }
    }

    /// Every flat with the label of its storey, lowest storey first.
    pub(crate) fn flats(&self) -> impl Iterator<Item = (&str, &Flat)> {
        self.storeys.iter().flat_map(|storey| {
            storey.bays.iter().filter_map(move |bay| match bay {
                Bay::Flat(flat) => Some((storey.label.as_str(), flat)),
                Bay::Core | Bay::Room(..) => None,
            })
        })
    }

    fn form(&self, form: Form, links: bool) -> String {
        let mut page = Page::new(&self.id, form);
        let pieces = pieces::pieces(self, form);
        let mut top = 4.0;
        let count = pieces.len();
        for (place, piece) in pieces.into_iter().enumerate() {
            let layout = Layout::new(self, form, piece, top);
            if count > 1 {
                let words = format!("{} of {count}, from the left", place + 1);
                page.text(
                    "small s",
                    super::svg::Anchor::Start,
                    (layout.left, top + 12.0),
                    &words,
                );
            }
            fabric::behind(&mut page, self, &layout);
            cells::storeys(&mut page, self, &layout);
            fabric::over(&mut page, self, &layout);
            top = layout.bottom + 16.0;
        }
        page.finish(
            layout::width(form),
            top - 8.0,
            &self.title,
            &self.finding,
            links,
        )
    }

    fn key(&self) -> Vec<KeyItem> {
        let mut key = self
            .scale
            .map_or_else(Vec::new, |scale| scale.key(&self.id));
        let area = Area::new(0.5, 0.5, 31.0, 19.0);
        if self.flats().any(|(_, flat)| flat.shade == Shade::Unknown) {
            key.push(KeyItem {
                svg: sample(&format!("{}-keyu", self.id), |page| {
                    page.rect("f0", area);
                    page.path("dots", &corners(area.inset(3.0)), true);
                    page.rect("wall pen", area);
                }),
                words: "unknown".into(),
            });
        }
        if self.flats().any(|(_, flat)| flat.trouble.is_some()) {
            let words = if self.corner_is.is_empty() {
                "something is wrong there now"
            } else {
                &self.corner_is
            };
            key.push(KeyItem {
                svg: sample(&format!("{}-keyc", self.id), |page| {
                    page.rect("wall pen", area);
                    page.path("corner", &[(18.0, 0.5), (31.5, 0.5), (31.5, 14.0)], true);
                }),
                words: words.into(),
            });
        }
        if self.risers.iter().any(|riser| riser.trouble.is_some()) {
            key.push(KeyItem {
                svg: sample(&format!("{}-keyp", self.id), |page| {
                    page.line("pipe trouble", (6.0, 1.0), (6.0, 19.0));
                    page.line("pipe", (6.0, 10.0), (26.0, 10.0));
                }),
                words: "the stretch of pipe in trouble".into(),
            });
        }
        key
    }

    fn table(&self) -> Table {
        let rows = self
            .storeys
            .iter()
            .rev()
            .flat_map(|storey| {
                storey.bays.iter().filter_map(move |bay| match bay {
                    Bay::Flat(flat) => Some(vec![
                        flat.number.clone(),
                        storey.label.clone(),
                        if flat.figure.is_empty() {
                            "–".into()
                        } else {
                            flat.figure.clone()
                        },
                        flat.trouble
                            .clone()
                            .unwrap_or_else(|| "nothing reported".into()),
                    ]),
                    Bay::Core | Bay::Room(..) => None,
                })
            })
            .collect();
        let figures = if self.figures_are.is_empty() {
            "Figure"
        } else {
            &self.figures_are
        };
        Table::new(&["Flat", "Storey", figures, "Now"], rows).numbers(&[2])
    }
}

/// The four corners of `area`, for a closed path.
pub(crate) fn corners(area: Area) -> [(f64, f64); 4] {
    [
        (area.x, area.y),
        (area.right(), area.y),
        (area.right(), area.bottom()),
        (area.x, area.bottom()),
    ]
}
