//! The typefaces of the house, in memory; see fonts/README.md for where they are from.
use typst::foundations::Bytes;
use typst::text::{Font, FontBook};

use crate::Trouble;
use crate::legible::{MARK, plain};

const FILES: [&[u8]; 7] = [
    include_bytes!("../fonts/radio-canada-regular.ttf"),
    include_bytes!("../fonts/radio-canada-bold.ttf"),
    include_bytes!("../fonts/atkinson-hyperlegible-mono-regular.ttf"),
    include_bytes!("../fonts/noto-sans-letters.ttf"),
    include_bytes!("../fonts/noto-sans-signs.ttf"),
    include_bytes!("../fonts/noto-sans-shapes.ttf"),
    include_bytes!("../fonts/noto-emoji.ttf"),
];

/// Every face, in the order of `FILES`.
#[derive(Debug)]
pub(crate) struct Faces {
    fonts: Vec<Font>,
}

impl Faces {
    pub(crate) fn read() -> Result<Self, Trouble> {
        let fonts: Option<Vec<Font>> = FILES
            .into_iter()
            .map(|file| Font::new(Bytes::new(file), 0))
            .collect();
        let faces = Self {
            fonts: fonts.ok_or(Trouble::Face)?,
        };
        // What stands for anything else must have a shape itself, and so must what is never asked for.
        let whole = faces.hold(MARK)
            && ('\0'..='\u{7f}')
                .filter(|c| plain(*c))
                .all(|c| faces.hold(c));
        whole.then_some(faces).ok_or(Trouble::Face)
    }

    pub(crate) fn book(&self) -> FontBook {
        FontBook::from_fonts(&self.fonts)
    }

    pub(crate) fn at(&self, index: usize) -> Option<Font> {
        self.fonts.get(index).cloned()
    }

    /// Whether one of the faces has a shape for it.
    pub(crate) fn hold(&self, letter: char) -> bool {
        self.fonts
            .iter()
            .any(|font| font.info().coverage.contains(u32::from(letter)))
    }
}
