//! Reads JSON, packed or not.
use std::fs::File;
use std::io::{BufReader, Read};
use std::path::Path;

use flate2::read::GzDecoder;
use serde::de::DeserializeOwned;

/// Reads one JSON file; a name that ends in `.gz` is unpacked.
///
/// # Errors
/// A sentence naming the file.
pub fn json<T: DeserializeOwned>(path: &Path) -> Result<T, String> {
    let told = |e: &dyn std::fmt::Display| format!("{}: {e}", path.display());
    let file = BufReader::new(File::open(path).map_err(|e| told(&e))?);
    let packed = path.extension().is_some_and(|x| x == "gz");
    let mut text = String::new();
    let read = if packed {
        GzDecoder::new(file).read_to_string(&mut text)
    } else {
        BufReader::new(file).read_to_string(&mut text)
    };
    read.map_err(|e| told(&e))?;
    serde_json::from_str(&text).map_err(|e| told(&e))
}
