//! A photo as sent, made into one of our own: upright, at most 1,600 pixels, and nothing of the file but its picture.
//! Where it was taken, by which telephone, and whatever else was hidden in it, is gone because it is not copied.
use std::io::Cursor;
use std::sync::{Mutex, PoisonError};

use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits, Rgb, RgbImage};

/// The longer side of a kept photo, pixels.
const LONGEST: u32 = 1600;
/// The most pixels a photo may have.
const MOST_PIXELS: u64 = 40_000_000;
/// The most memory one may take when unpacked, bytes.
const MOST_MEMORY: u64 = 256 * 1024 * 1024;
/// Of 100.
const QUALITY: u8 = 82;

/// A photo as it is kept.
#[derive(Debug)]
pub struct Picture {
    /// JPEG.
    pub bytes: Vec<u8>,
    /// Pixels.
    pub width: u32,
    /// Pixels.
    pub height: u32,
}

/// The format the first bytes say, of those that are taken.
pub fn format_of(bytes: &[u8]) -> Option<ImageFormat> {
    if bytes.starts_with(b"\xff\xd8\xff") {
        Some(ImageFormat::Jpeg)
    } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        Some(ImageFormat::Png)
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP".as_slice()) {
        Some(ImageFormat::WebP)
    } else {
        None
    }
}

/// Makes a photo our own.
///
/// # Errors
/// A sentence: it cannot be read, or is larger than any photo.
pub fn made_ours(bytes: &[u8], format: ImageFormat) -> Result<Picture, String> {
    // One at a time: many large photos at once must not take the memory of the whole program.
    static ONE: Mutex<()> = Mutex::new(());
    let _held = ONE.lock().unwrap_or_else(PoisonError::into_inner);
    let unread = |e: image::ImageError| {
        tracing::info!(error = %e, "a photo could not be read");
        "The photo cannot be read. Take it again, or send another.".to_owned()
    };
    let mut reader = ImageReader::with_format(Cursor::new(bytes), format);
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_MEMORY);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(unread)?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > MOST_PIXELS || decoder.total_bytes() > MOST_MEMORY {
        return Err(format!(
            "The photo has {width} by {height} pixels; at most 40 million can be taken. Send a smaller one."
        ));
    }
    // A photo whose note on which way is up cannot be read is taken as it lies.
    let orientation = decoder.orientation();
    let mut picture = DynamicImage::from_decoder(decoder).map_err(unread)?;
    if picture.width().max(picture.height()) > LONGEST {
        picture = picture.thumbnail(LONGEST, LONGEST);
    }
    if let Ok(orientation) = orientation {
        picture.apply_orientation(orientation);
    }
    let plain = on_white(&picture);
    let mut kept = Vec::new();
    JpegEncoder::new_with_quality(&mut kept, QUALITY)
        .encode_image(&plain)
        .map_err(unread)?;
    Ok(Picture {
        bytes: kept,
        width: plain.width(),
        height: plain.height(),
    })
}

/// What shows through is white, as on paper.
fn on_white(picture: &DynamicImage) -> RgbImage {
    if !picture.color().has_alpha() {
        return picture.to_rgb8();
    }
    let clear = picture.to_rgba8();
    RgbImage::from_fn(clear.width(), clear.height(), |x, y| {
        let [r, g, b, a] = clear.get_pixel(x, y).0;
        let over = |c: u8| {
            let mixed = u16::from(c) * u16::from(a) + 255 * (255 - u16::from(a));
            (mixed / 255) as u8
        };
        Rgb([over(r), over(g), over(b)])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn png(picture: &DynamicImage) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, ImageFormat::Png).unwrap();
        bytes.into_inner()
    }

    #[test]
    fn a_large_photo_is_shrunk_and_a_clear_one_lies_on_white() {
        let large = png(&DynamicImage::new_rgb8(3200, 800));
        assert_eq!(format_of(&large), Some(ImageFormat::Png));
        let kept = made_ours(&large, ImageFormat::Png).unwrap();
        assert_eq!((kept.width, kept.height), (1600, 400));
        assert_eq!(format_of(&kept.bytes), Some(ImageFormat::Jpeg));
        let clear = made_ours(&png(&DynamicImage::new_rgba8(8, 8)), ImageFormat::Png).unwrap();
        let seen = image::load_from_memory(&clear.bytes).unwrap().to_rgb8();
        assert!(seen.pixels().all(|p| p.0.iter().all(|c| *c > 250)));
    }

    #[test]
    fn what_is_no_photo_is_refused_in_a_sentence() {
        assert_eq!(format_of(b"<html>"), None);
        let page = b"\xff\xd8\xff<html><script>alert(1)</script></html>";
        assert!(
            made_ours(page, ImageFormat::Jpeg)
                .unwrap_err()
                .contains("cannot be read")
        );
    }

    #[test]
    fn a_photo_of_more_pixels_than_any_is_refused_before_it_is_unpacked() {
        // A PNG that says 8,000 by 6,000 pixels and holds a few bytes; its check sums by Python's zlib.
        let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        bytes.extend_from_slice(&[
            0x00, 0x00, 0x1f, 0x40, 0x00, 0x00, 0x17, 0x70, 0x08, 0x02, 0x00, 0x00, 0x00,
        ]);
        bytes.extend_from_slice(&[0xbe, 0x06, 0x73, 0x69]);
        bytes.extend_from_slice(&[0, 0, 0, 12]);
        bytes.extend_from_slice(b"IDAT");
        bytes.extend_from_slice(&[
            0x78, 0x9c, 0x63, 0x60, 0xa0, 0x0c, 0x00, 0x00, 0x00, 0x40, 0x00, 0x01,
        ]);
        bytes.extend_from_slice(&[0xb7, 0x34, 0x7c, 0xef]);
        let refused = made_ours(&bytes, ImageFormat::Png).unwrap_err();
        assert!(refused.contains("at most 40 million"), "{refused}");
    }
}
