//! What stands on a paper: words in reading order, without layout. A page makes it, the room `papers` sets it.
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::{Drawing, Fact, Row, Table};

/// A paper of a landlord's decision, ready to be set.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Paper {
    /// Names the document, in its window and at its foot.
    pub title: String,
    /// Who stands for it.
    pub author: String,
    /// The day it states things as of; the document's own date, so that the same words make the same bytes.
    pub made_on: NaiveDate,
    /// Small words beside the heading: estate, number, place, day.
    pub beside: Vec<Part>,
    /// What it says, in one sentence.
    pub heading: String,
    /// In reading order.
    pub sections: Vec<Section>,
}

/// A stretch under a heading of its own.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Section {
    /// Its heading.
    pub heading: String,
    /// Small words under the heading; may be empty.
    pub note: String,
    /// In reading order.
    pub parts: Vec<Part>,
}

/// What a section holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "snake_case", deny_unknown_fields)]
pub enum Part {
    /// A paragraph, or a number set in the face that tells 1, I and l apart.
    Words {
        /// What it says.
        words: String,
        /// Whether it is a serial or lasting number.
        typed: bool,
    },
    /// A sentence and perhaps a figure at its right.
    Row {
        /// What it speaks of, in heavier letters; may be empty.
        subject: String,
        /// The rest.
        sentence: String,
        /// Further paragraphs.
        more: Vec<String>,
        /// The figure; may be empty.
        figure: String,
        /// Small words under the figure.
        small: String,
    },
    /// A drawing with what a person who does not see it is told.
    Drawing {
        /// As the page shows it, wide.
        svg: String,
        /// What it is called and what it shows.
        told: String,
        /// What the shapes mean.
        caption: String,
        /// Its width in hundredths of the column's.
        width: u32,
    },
    /// Courses side by side; facts of the same name stand on one line.
    Columns {
        /// One a course.
        columns: Vec<Column>,
    },
    /// Rows under headings; the first cell of a row is its heading.
    Table {
        /// The headings.
        headers: Vec<String>,
        /// As many cells a row as there are headings.
        rows: Vec<Vec<String>>,
    },
    /// Names and values in a frame, the empty ones to be written in by hand.
    Plate {
        /// In order.
        facts: Vec<Named>,
    },
}

/// One course.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Column {
    /// What it is called.
    pub title: String,
    /// What is thought of it.
    pub verdict: String,
    /// What it comes to.
    pub facts: Vec<Named>,
}

/// A name and a value.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Named {
    /// "Warranty"
    pub name: String,
    /// "7 years"
    pub value: String,
    /// Whether it is a serial or lasting number.
    pub typed: bool,
}

impl From<&Fact> for Named {
    fn from(fact: &Fact) -> Self {
        Self {
            name: fact.name.clone(),
            value: fact.value.clone(),
            typed: fact.typed,
        }
    }
}

impl Section {
    /// `parts` under `heading`; nothing where there is nothing to say.
    pub fn of(heading: &str, note: &str, parts: Vec<Part>) -> Option<Self> {
        (!parts.is_empty()).then(|| Self {
            heading: heading.to_owned(),
            note: note.to_owned(),
            parts,
        })
    }
}

impl Part {
    /// A paragraph.
    pub fn words(words: impl Into<String>) -> Self {
        Self::Words {
            words: words.into(),
            typed: false,
        }
    }

    /// The rows as a page lists them, without what can be pressed there.
    pub fn rows(rows: &[Row]) -> Vec<Self> {
        rows.iter().map(Self::row).collect()
    }

    fn row(row: &Row) -> Self {
        let subject = row.subject.as_ref().map(|s| s.text.clone());
        let figure = row.figure.clone();
        let (figure, small) = figure.map(|f| (f.words, f.small)).unwrap_or_default();
        Self::Row {
            subject: format!("{}{}", row.before, subject.unwrap_or_default()),
            sentence: row.sentence.clone(),
            more: row.more.clone(),
            figure,
            small,
        }
    }

    /// A drawing in its wide form, `width` hundredths of the column wide.
    pub fn drawing(drawing: &Drawing, width: u32) -> Self {
        Self::Drawing {
            told: told(drawing),
            svg: drawing.wide_svg.clone(),
            caption: drawing.caption.clone(),
            width,
        }
    }

    /// A table.
    pub fn table(table: &Table) -> Self {
        Self::Table {
            headers: table.headers.clone(),
            rows: table.rows.iter().chain(&table.sum).cloned().collect(),
        }
    }

    /// A frame to be signed in.
    pub fn plate(facts: &[Fact]) -> Self {
        Self::Plate {
            facts: facts.iter().map(Named::from).collect(),
        }
    }
}

/// A drawing's title and description, as its SVG states them for those who do not see it.
fn told(drawing: &Drawing) -> String {
    let said: Vec<String> = ["title", "desc"]
        .into_iter()
        .filter_map(|name| element(&drawing.wide_svg, name))
        .filter(|words| !words.is_empty())
        .collect();
    if said.is_empty() {
        drawing.caption.clone()
    } else {
        said.join(". ").replace("..", ".")
    }
}

/// The text of the first element of this name, references read back.
fn element(svg: &str, name: &str) -> Option<String> {
    let (_, after) = svg.split_once(&format!("<{name}"))?;
    let (_, inside) = after.split_once('>')?;
    let (text, _) = inside.split_once('<')?;
    Some(
        text.replace("&lt;", "<")
            .replace("&gt;", ">")
            .replace("&quot;", "\"")
            .replace("&#39;", "'")
            .replace("&amp;", "&"),
    )
}

/// Sets papers as PDF.
pub trait Typesetter: std::fmt::Debug + Send + Sync {
    /// Whether it can be asked already; it may be built later than the program.
    fn is_there(&self) -> bool;

    /// The paper as a PDF.
    ///
    /// # Errors
    /// It is not there yet, or it could not do it.
    fn set(&self, paper: &Paper) -> Result<Vec<u8>, NotSet>;
}

/// Why there is no PDF.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotSet {
    /// What sets papers is still being built, or was never built here.
    NotThere,
    /// It was asked and gave none; the log says why.
    Failed,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawings::svg::{Form, Page};

    #[test]
    fn a_drawing_tells_what_its_svg_tells() {
        let page = Page::new("d", Form::Wide);
        let drawing = Drawing {
            wide_svg: page.finish(10.0, 10.0, "Costs <now>", "It's £3 & more.", false),
            caption: "A caption".to_owned(),
            ..Drawing::default()
        };
        let Part::Drawing { told, caption, .. } = Part::drawing(&drawing, 100) else {
            panic!("a drawing stays one");
        };
        assert_eq!(told, "Costs <now>. It's £3 & more.");
        assert_eq!(caption, "A caption");
    }

    #[test]
    fn a_section_without_parts_is_left_out() {
        assert_eq!(Section::of("Later", "", Vec::new()), None);
        let row = Row::plain("x", "A sentence.").figure("£5", "a year");
        let section = Section::of("Later", "", Part::rows(&[row])).unwrap();
        assert_eq!(section.parts.len(), 1);
    }
}
