//! The value of an ageing unit under the best rule for replacing it, by dynamic programming.

/// A unit whose yearly profit depends on its age, and the price of a new one.
#[derive(Clone, Copy, Debug)]
pub struct Ageing<'a> {
    /// Profit of a year at age 1, 2, …; at the last age the unit must be replaced.
    pub profit: &'a [f64],
    /// Profit of the first year of a new one.
    pub profit_new: f64,
    /// Pounds for a new one.
    pub replace_cost: f64,
    /// Worth now of a pound next year, inside [0, 1).
    pub discount: f64,
}

/// V(a) = max(profit(a) + d V(a+1), profit_new − replace_cost + d V(1)); at the last age only the
/// second. Successive approximation, a contraction with factor d, until nothing moves by 1e-10.
/// `None` for no ages, a discount outside [0, 1), or one so near 1 that it does not settle.
pub fn values_by_age(unit: &Ageing<'_>) -> Option<Vec<f64>> {
    let ages = unit.profit.len();
    if ages == 0 || !(0.0..1.0).contains(&unit.discount) {
        return None;
    }
    let mut values = vec![0.0; ages];
    for _ in 0..100_000 {
        let renew = unit.profit_new - unit.replace_cost + unit.discount * values[0];
        let next: Vec<f64> = (0..ages)
            .map(|a| match values.get(a + 1) {
                Some(older) => (unit.profit[a] + unit.discount * older).max(renew),
                None => renew,
            })
            .collect();
        let moved = next
            .iter()
            .zip(&values)
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f64::max);
        values = next;
        if moved < 1e-10 * (1.0 - unit.discount) {
            return Some(values);
        }
        if !moved.is_finite() {
            return None;
        }
    }
    None
}
