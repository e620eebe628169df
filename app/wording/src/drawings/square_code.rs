//! A text as a square code a device reads with its camera. Black on white in every scheme: cameras read no other.
use qrcode::{Color, QrCode};

use super::svg::{Area, Form, Page};
use super::{Drawing, Table};

/// Drawing units a module.
const MODULE: f64 = 5.0;
/// Modules left blank on every side (source: ISO/IEC 18004, quiet zone).
const QUIET: f64 = 4.0;

/// The code of `text`; `None` when it is too long for one. `words` say what it holds, for those who do not see it.
pub fn draw(id: &str, text: &str, words: &str) -> Option<Drawing> {
    let code = QrCode::new(text).ok()?;
    let width = code.width();
    let side = (width as f64 + 2.0 * QUIET) * MODULE;
    let mut page = Page::new(id, Form::Wide);
    page.rect("code-paper", Area::new(0.0, 0.0, side, side));
    for (y, row) in code.to_colors().chunks(width).enumerate() {
        let mut x = 0;
        for run in row.chunk_by(|a, b| a == b) {
            if run.first() == Some(&Color::Dark) {
                let at = |n: usize| (n as f64 + QUIET) * MODULE;
                let area = Area::new(at(x), at(y), run.len() as f64 * MODULE, MODULE);
                page.rect("code-ink", area);
            }
            x += run.len();
        }
    }
    Some(Drawing {
        id: id.to_owned(),
        wide_svg: page.finish_as("square-code", (side, side), words, ""),
        table: Table::default(),
        ..Drawing::default()
    })
}

#[cfg(test)]
mod tests {
    use super::draw;

    #[test]
    fn a_code_is_square_with_its_quiet_zone_and_too_long_a_text_has_none() {
        // Version 1 has 21 modules a side (source: ISO/IEC 18004): 29 with the quiet zone, 5 units each.
        let drawn = draw("c", "A", "A code.").unwrap();
        assert!(drawn.wide_svg.contains(r#"viewBox="0 0 145 145""#));
        assert!(drawn.wide_svg.contains("code-ink"));
        // 2,953 bytes is the most one holds (source: ISO/IEC 18004).
        assert!(draw("c", &"x".repeat(3_000), "").is_none());
    }
}
