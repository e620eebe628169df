//! Chances in words: natural frequencies, never a score, never more than "about 19 in 20".

/// Stands on every page that shows a ranking.
pub const CAUTION: &str = crate::standing::RANKING;

/// A chance as "about 1 in 4". Observations are taken as independent, so figures run high; the
/// words stop at 19 in 20 and start at "less than 1 in 50".
pub fn chance_words(chance: f64) -> String {
    if !(0.02..=1.0).contains(&chance) {
        return "less than 1 in 50".to_owned();
    }
    if chance >= 0.925 {
        return "about 19 in 20".to_owned();
    }
    if chance >= 0.15 {
        let tenths = (chance * 10.0).round().clamp(1.0, 9.0);
        return match tenths as u8 {
            5 => "about 1 in 2".to_owned(),
            n => format!("about {n} in 10"),
        };
    }
    let of = (1.0 / chance).round();
    format!("about 1 in {of}")
}
