//! Bytes as text.

/// Bytes as lower-case hexadecimal.
pub fn hex(bytes: &[u8]) -> String {
    let digit = |nibble: u8| char::from_digit(u32::from(nibble), 16);
    bytes
        .iter()
        .flat_map(|byte| [digit(byte >> 4), digit(byte & 15)])
        .flatten()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::hex;

    #[test]
    fn two_digits_a_byte() {
        assert_eq!(hex(&[]), "");
        assert_eq!(hex(&[0x00, 0x0a, 0xff, 0x90]), "000aff90");
    }
}
