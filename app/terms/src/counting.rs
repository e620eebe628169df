//! Names in the order people count in: "Flat 9" before "Flat 10", "MM-2-1" before "MM-10-1".

/// Sorts names by their numbers: each word by the number it begins with, then by its letters.
pub fn counting_order(name: &str) -> Vec<(u64, String)> {
    name.split(|c: char| !c.is_alphanumeric())
        .map(|word| {
            let digits: String = word.chars().take_while(char::is_ascii_digit).collect();
            (digits.parse().unwrap_or(u64::MAX), word.to_lowercase())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_counted_not_spelt() {
        let mut names = [
            "MM-10-1",
            "MM-2-2",
            "MM-2-1",
            "Flat 14",
            "Flat 2",
            "Plant room",
        ];
        names.sort_by_key(|name| counting_order(name));
        assert_eq!(
            names,
            [
                "Flat 2",
                "Flat 14",
                "MM-2-1",
                "MM-2-2",
                "MM-10-1",
                "Plant room"
            ]
        );
    }
}
