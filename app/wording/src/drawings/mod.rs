//! Drawings of the real building and of time and money, as SVG made from one struct each.
//!
//! Every drawing has a wide form (720 to 970 units, about one unit to the pixel at 1280) and a narrow
//! one (302 units, for a phone); the style sheet shows one. The SVG names classes only, never a colour
//! or a size, carries `title` and `desc`, and has its table as text alternative. Text is escaped here.
pub mod axis;
pub mod cold_night;
pub mod due_strip;
pub mod elevation;
pub mod fork;
pub mod history;
pub mod keep_years;
pub mod mean_curve;
pub mod moved;
pub mod pit;
pub mod purse;
pub mod ranges;
pub mod reserve;
pub mod said_happened;
pub mod sixty_days;
pub mod square_code;
pub mod squares;
pub mod steps;
pub mod svg;
pub mod tornado;
pub mod two_limits;
pub mod year_strip;

use std::borrow::Borrow;

/// One line of a key: a sample and what it means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyItem {
    /// A small SVG, already escaped.
    pub svg: String,
    /// What it means.
    pub words: String,
}

/// The text alternative of a drawing; rendered by `templates/parts/drawing.html`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// Says what the table holds; may be empty.
    pub caption: String,
    /// Column headings.
    pub headers: Vec<String>,
    /// Rows; the first cell of each is its heading. Not yet escaped: the template does it.
    pub rows: Vec<Vec<String>>,
    /// A row of sums, if the columns add up.
    pub sum: Option<Vec<String>>,
    /// Which columns hold numbers (0 is the first); set to the right.
    pub numbers: Vec<usize>,
}

impl Table {
    /// A table of `headers` over `rows`.
    pub fn new(headers: &[&str], rows: Vec<Vec<String>>) -> Self {
        Self {
            headers: headers.iter().map(|&head| head.to_owned()).collect(),
            rows,
            ..Self::default()
        }
    }

    /// With these columns set to the right.
    #[must_use]
    pub fn numbers(mut self, columns: &[usize]) -> Self {
        self.numbers = columns.to_vec();
        self
    }

    /// The heading of `column`, or nothing past the last.
    pub fn header(&self, column: impl Borrow<usize>) -> &str {
        self.headers
            .get(*column.borrow())
            .map_or("", String::as_str)
    }

    /// Whether a cell takes the whole width where the table folds on a phone.
    pub fn is_long(&self, cell: &str) -> bool {
        cell.chars().count() > 36
    }

    /// Whether `column` holds numbers.
    pub fn is_number(&self, column: impl Borrow<usize>) -> bool {
        self.numbers.contains(column.borrow())
    }
}

/// A drawing ready for a page: `{% call drawing::drawing(d) %}{% endcall %}`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Drawing {
    /// Unique on the page; prefixes every id inside the SVG.
    pub id: String,
    /// The form for a desk and for print.
    pub wide_svg: String,
    /// The form for a phone.
    pub narrow_svg: String,
    /// What the shapes mean, in one or two sentences; not yet escaped.
    pub caption: String,
    /// Samples of shade and marks; empty where labels on the thing are enough.
    pub key: Vec<KeyItem>,
    /// The same values as text.
    pub table: Table,
    /// Whether parts of it lead elsewhere.
    pub has_links: bool,
}
