//! The tokens of the style sheet against the contrast each pair of them needs, in both themes.
//!
//! Needs: WCAG 2.2, success criteria 1.4.3 (text, 4.5) and 1.4.11 (shapes, 3).
use measure::{colour, contrast, tokens};

const SHEET: &str = include_str!("../../web/assets/riserward.css");

/// Text or shape on ground, and what the pair needs.
const PAIRS: [(&str, &str, f64); 22] = [
    ("ink", "paper", 4.5),
    ("ink", "sheet", 4.5),
    ("soft", "paper", 4.5),
    ("soft", "sheet", 4.5),
    ("work", "paper", 4.5),
    ("work", "sheet", 4.5),
    ("workdeep", "paper", 4.5),
    ("workdeep", "wash", 4.5),
    ("onwork", "work", 4.5),
    ("onwork", "workdeep", 4.5),
    ("ink", "wash", 4.5),
    ("soft", "wash", 4.5),
    ("paper", "ink", 4.5),
    ("edge", "paper", 3.0),
    ("edge", "sheet", 3.0),
    ("ink", "r1", 4.5),
    ("ink", "r2", 4.5),
    ("on3", "r3", 4.5),
    ("on4", "r4", 4.5),
    ("on5", "r5", 4.5),
    ("on5", "h5", 4.5),
    ("soft", "r1", 4.5),
];

#[cfg(test)]
mod measure {
    use std::collections::BTreeMap;

    use super::SHEET;

    pub type Rgb = [f64; 3];

    /// "#FAF5EA" as three parts of one.
    pub fn colour(text: &str) -> Rgb {
        let digits = text.trim().trim_start_matches('#');
        [0, 2, 4].map(|at| {
            f64::from(u8::from_str_radix(&digits[at..at + 2], 16).expect("two digits")) / 255.0
        })
    }

    /// Relative luminance: WCAG 2.2, definition of the term.
    fn luminance(colour: Rgb) -> f64 {
        let [r, g, b] = colour.map(|part| {
            if part <= 0.04045 {
                part / 12.92
            } else {
                ((part + 0.055) / 1.055).powf(2.4)
            }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// The ratio of two colours: WCAG 2.2, definition of the term.
    pub fn contrast(a: Rgb, b: Rgb) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// Each token's (plain, light, dark) colour.
    pub fn tokens() -> BTreeMap<String, (Rgb, Rgb, Rgb)> {
        let part = &SHEET[..SHEET.find("@layer base {").expect("the layer after tokens")];
        let mut plain = BTreeMap::new();
        let mut both = BTreeMap::new();
        for declaration in part.split([';', '{']) {
            let Some((name, value)) = declaration.split_once(':') else {
                continue;
            };
            let Some(name) = name.trim().strip_prefix("--") else {
                continue;
            };
            let value = value.trim();
            if let Some(pair) = value
                .strip_prefix("light-dark(")
                .and_then(|rest| rest.strip_suffix(')'))
            {
                let (light, dark) = pair.split_once(',').expect("two colours");
                both.insert(name.to_owned(), (colour(light), colour(dark)));
            } else if value.starts_with('#') {
                plain.insert(name.to_owned(), colour(value));
            }
        }
        both.into_iter()
            .map(|(name, (light, dark))| {
                let alone = *plain
                    .get(&name)
                    .unwrap_or_else(|| panic!("--{name} has no plain colour"));
                (name, (alone, light, dark))
            })
            .collect()
    }
}

#[test]
fn the_measure_itself() {
    // Black on white is 21:1 (WCAG 2.2, note to "contrast ratio"); #767676 on white 4.54:1 (from memory).
    assert!((contrast(colour("#000000"), colour("#ffffff")) - 21.0).abs() < 1e-9);
    assert!((contrast(colour("#767676"), colour("#ffffff")) - 4.54).abs() < 0.005);
}

#[test]
fn every_pair_is_legible_in_both_themes() {
    let tokens = tokens();
    for (over, under, needs) in PAIRS {
        let (_, over_light, over_dark) = tokens[over];
        let (_, under_light, under_dark) = tokens[under];
        for (theme, got) in [
            ("light", contrast(over_light, under_light)),
            ("dark", contrast(over_dark, under_dark)),
        ] {
            assert!(
                got >= needs,
                "{over} on {under}, {theme}: {got:.2} of {needs}"
            );
        }
    }
}

#[test]
fn an_old_browser_sees_the_light_page() {
    for (name, (plain, light, _)) in tokens() {
        assert_eq!(plain, light, "--{name}");
    }
}

#[test]
fn each_step_lies_farther_from_the_paper() {
    let tokens = tokens();
    let distance = |name: &str, dark: bool| {
        let pick = |name: &str| if dark { tokens[name].2 } else { tokens[name].1 };
        contrast(pick(name), pick("paper"))
    };
    for dark in [false, true] {
        let steps = ["r1", "r2", "r3", "r4", "r5"].map(|name| distance(name, dark));
        assert!(steps.is_sorted_by(|a, b| a < b), "dark {dark}: {steps:?}");
    }
}

#[test]
fn the_content_policy_is_kept() {
    for sheet in [SHEET, include_str!("../../web/assets/drawing.css")] {
        assert!(!sheet.contains("http"), "nothing from elsewhere");
        assert!(!sheet.contains("data:"), "no data addresses");
        assert!(!sheet.contains("@import"), "one request a sheet");
    }
}
