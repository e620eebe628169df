//! A page to draw on: writes SVG with classes only, escapes text, keeps numbers short and finite.
use std::fmt::Write;

/// `text` with the five characters that mean something to XML written as references.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// A coordinate with at most one decimal; anything not finite becomes 0, so no drawing holds NaN.
pub fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".into();
    }
    let rounded = (value * 10.0).round() / 10.0;
    if rounded == 0.0 {
        "0".into()
    } else {
        format!("{rounded}")
    }
}

/// About how wide `text` is when set at `size`: enough to choose between two wordings.
pub fn text_width(text: &str, size: f64) -> f64 {
    text.chars()
        .map(|character| match character {
            ' ' | '\u{a0}' | '.' | ',' | 'i' | 'l' | 'j' | '1' | 't' | 'r' | 'f' | '\'' => 0.36,
            'm' | 'w' | 'M' | 'W' => 0.85,
            c if c.is_uppercase() || c.is_ascii_digit() => 0.6,
            _ => 0.53,
        })
        .sum::<f64>()
        * size
}

/// Where text hangs from its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Begins at the point.
    Start,
    /// Is centred on the point.
    Middle,
    /// Ends at the point.
    End,
}

/// A rectangle in drawing units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Area {
    /// From left, top, width, height.
    pub fn new(x: f64, y: f64, w: f64, h: f64) -> Self {
        Self { x, y, w, h }
    }

    /// The right edge.
    pub fn right(self) -> f64 {
        self.x + self.w
    }

    /// The lower edge.
    pub fn bottom(self) -> f64 {
        self.y + self.h
    }

    /// The middle from left to right.
    pub fn mid_x(self) -> f64 {
        self.x + self.w / 2.0
    }

    /// The middle from top to bottom.
    pub fn mid_y(self) -> f64 {
        self.y + self.h / 2.0
    }

    /// Smaller by `by` on every side.
    #[must_use]
    pub fn inset(self, by: f64) -> Self {
        Self::new(
            self.x + by,
            self.y + by,
            (self.w - 2.0 * by).max(0.0),
            (self.h - 2.0 * by).max(0.0),
        )
    }
}

/// Which of the two forms is being drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Desk and print.
    Wide,
    /// Phone.
    Narrow,
}

impl Form {
    /// The class of the `svg` element.
    pub fn class(self) -> &'static str {
        match self {
            Self::Wide => "wide",
            Self::Narrow => "narrow",
        }
    }
}

/// An SVG being written.
#[derive(Clone, Debug)]
pub struct Page {
    id: String,
    form: Form,
    body: String,
    hatched: bool,
}

impl Page {
    /// An empty page; `id` must be unique in the document together with `form`.
    pub fn new(id: &str, form: Form) -> Self {
        Self {
            id: format!("{}-{}", escape(id), form.class()),
            form,
            body: String::new(),
            hatched: false,
        }
    }

    /// The form drawn.
    pub fn form(&self) -> Form {
        self.form
    }

    /// A line from (`x1`, `y1`) to (`x2`, `y2`).
    pub fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        self.path(class, &[from, to], false);
    }

    /// Straight strokes through `points`.
    pub fn path(&mut self, class: &str, points: &[(f64, f64)], closed: bool) {
        let mut d = String::new();
        for (place, &(x, y)) in points.iter().enumerate() {
            let letter = if place == 0 { 'M' } else { 'L' };
            let _ = write!(d, "{letter}{} {}", number(x), number(y));
        }
        if closed {
            d.push('Z');
        }
        let _ = write!(self.body, r#"<path class="{class}" d="{d}"/>"#);
    }

    /// A rectangle.
    pub fn rect(&mut self, class: &str, area: Area) {
        let _ = write!(
            self.body,
            r#"<rect class="{class}" x="{}" y="{}" width="{}" height="{}"/>"#,
            number(area.x),
            number(area.y),
            number(area.w.max(0.0)),
            number(area.h.max(0.0))
        );
    }

    /// A disc or ring.
    pub fn circle(&mut self, class: &str, centre: (f64, f64), radius: f64) {
        let _ = write!(
            self.body,
            r#"<circle class="{class}" cx="{}" cy="{}" r="{}"/>"#,
            number(centre.0),
            number(centre.1),
            number(radius)
        );
    }

    /// Words at a point (base line).
    pub fn text(&mut self, class: &str, anchor: Anchor, at: (f64, f64), words: &str) {
        let hang = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " m",
            Anchor::End => " e",
        };
        let all = format!("{class}{hang}");
        let _ = write!(
            self.body,
            r#"<text class="{}" x="{}" y="{}">{}</text>"#,
            all.trim(),
            number(at.0),
            number(at.1),
            escape(words)
        );
    }

    /// Lays the hatching of step 4 or 5 over `area`; other steps have none.
    pub fn hatch(&mut self, step: u8, area: Area) {
        if step < 4 {
            return;
        }
        self.hatched = true;
        let _ = write!(
            self.body,
            r#"<rect class="hatched" fill="url(#{}-h{step})" x="{}" y="{}" width="{}" height="{}"/>"#,
            self.id,
            number(area.x),
            number(area.y),
            number(area.w.max(0.0)),
            number(area.h.max(0.0))
        );
    }

    /// A shade of the five steps (0 is plain paper) with its hatching.
    pub fn shade(&mut self, step: u8, area: Area) {
        self.rect(&format!("f{}", step.min(5)), area);
        self.hatch(step.min(5), area);
    }

    /// Opens a group.
    pub fn open(&mut self, class: &str) {
        let _ = write!(self.body, r#"<g class="{class}">"#);
    }

    /// Closes a group.
    pub fn close(&mut self) {
        self.body.push_str("</g>");
    }

    /// Opens a link; `label` is what a screen reader says.
    pub fn open_link(&mut self, class: &str, href: &str, label: &str) {
        let _ = write!(
            self.body,
            r#"<a class="{class}" href="{}" aria-label="{}">"#,
            escape(href),
            escape(label)
        );
    }

    /// Closes a link.
    pub fn close_link(&mut self) {
        self.body.push_str("</a>");
    }

    /// The finished element, `width` by `height` units, named by `title` and told by `desc`.
    pub fn finish(self, width: f64, height: f64, title: &str, desc: &str, links: bool) -> String {
        self.element(self.form.class(), (width, height), (title, desc), links)
    }

    /// A small drawing that stands in a row: one form only, with a `class` of its own.
    pub fn finish_as(self, class: &str, size: (f64, f64), title: &str, desc: &str) -> String {
        self.element(class, size, (title, desc), false)
    }

    fn element(&self, class: &str, size: (f64, f64), words: (&str, &str), links: bool) -> String {
        let role = if links { "group" } else { "img" };
        let defs = if self.hatched {
            hatching(&self.id)
        } else {
            String::new()
        };
        format!(
            r#"<svg class="{class}" viewBox="0 0 {w} {h}" role="{role}" aria-labelledby="{id}-t" aria-describedby="{id}-d"><title id="{id}-t">{title}</title><desc id="{id}-d">{desc}</desc>{defs}{body}</svg>"#,
            w = number(size.0),
            h = number(size.1),
            id = self.id,
            title = escape(words.0),
            desc = escape(words.1),
            body = self.body,
        )
    }
}

/// The two hatchings: single lines for step 4, crossed lines for step 5.
fn hatching(id: &str) -> String {
    format!(
        r#"<defs><pattern id="{id}-h4" width="7" height="7" patternUnits="userSpaceOnUse"><path class="hatch4" d="M-1 1L1 -1M0 7L7 0M6 8L8 6"/></pattern><pattern id="{id}-h5" width="5" height="5" patternUnits="userSpaceOnUse"><path class="hatch5" d="M-1 1L1 -1M0 5L5 0M4 6L6 4M-1 4L1 6M0 0L5 5M4 -1L6 1"/></pattern></defs>"#
    )
}

/// A sample for a key: 32 by 20 units, drawn by `draw`.
pub fn sample(id: &str, draw: impl FnOnce(&mut Page)) -> String {
    let mut page = Page::new(id, Form::Wide);
    draw(&mut page);
    let defs = if page.hatched {
        hatching(&page.id)
    } else {
        String::new()
    };
    format!(
        r#"<svg class="sample" viewBox="0 0 32 20" aria-hidden="true" focusable="false">{defs}{}</svg>"#,
        page.body
    )
}

#[cfg(test)]
mod tests {
    use super::{escape, number};

    #[test]
    fn text_is_escaped_and_numbers_are_finite() {
        assert_eq!(
            escape(r#"<a & "b">'"#),
            "&lt;a &amp; &quot;b&quot;&gt;&#39;"
        );
        assert_eq!(escape("a\u{0}b"), "a b");
        assert_eq!(number(f64::NAN), "0");
        assert_eq!(number(f64::INFINITY), "0");
        assert_eq!(number(-0.01), "0");
        assert_eq!(number(12.34), "12.3");
    }
}
