//! What the rest of a warranty is worth: the failures expected in it, at what they would cost outside it.

/// Σ m_i f_i (c − d − excess), pounds: m_i failures expected in year i from now, f_i the share of that year inside the
/// cover, c the mean cost of a failure and d the disruption in it, which no warranty pays. Not discounted: it is a few
/// years at most. Nought when the cover pays nothing.
pub fn cover_left(faults: &[f64], years_left: f64, paid_a_failure: f64, excess: f64) -> f64 {
    let spared = (paid_a_failure - excess).max(0.0);
    (0u32..)
        .zip(faults)
        .map(|(i, m)| m * (years_left - f64::from(i)).clamp(0.0, 1.0) * spared)
        .sum()
}

#[cfg(test)]
mod tests {
    use super::cover_left;

    /// Arithmetic: 0.2 a year at £300 over a year and a half is £90; an excess of £100 leaves £60.
    #[test]
    fn cover_by_hand() {
        assert!((cover_left(&[0.2, 0.2, 0.2], 1.5, 300.0, 0.0) - 90.0).abs() < 1e-9);
        assert!((cover_left(&[0.2, 0.2, 0.2], 1.5, 300.0, 100.0) - 60.0).abs() < 1e-9);
        assert_eq!(cover_left(&[0.2], -1.0, 300.0, 0.0), 0.0);
        assert_eq!(cover_left(&[0.2], 1.0, 50.0, 100.0), 0.0);
    }
}
