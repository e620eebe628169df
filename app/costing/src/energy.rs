//! What a unit's energy costs, year by year, at its seasonal efficiency as it ages.

/// What the heat of one home takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatNeed {
    /// Heat delivered, kWh a year.
    pub kwh: f64,
    /// Pounds a kWh of fuel or current, VAT as everywhere in the case.
    pub pounds_a_kwh: f64,
}

/// How well a unit turns fuel into heat over a season.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Efficiency {
    /// η, seasonal, as a new unit: heat delivered over fuel used; above 1 for a heat pump.
    pub new: f64,
    /// ℓ, share of it lost with each year of age, 0 to 1.
    pub lost_a_year: f64,
    /// Years after which it loses no more.
    pub ages_for: f64,
}

impl Efficiency {
    /// η (1 − ℓ)^min(age, ages_for), age in years.
    pub fn at(&self, age: f64) -> f64 {
        self.new * (1.0 - self.lost_a_year).powf(age.clamp(0.0, self.ages_for))
    }
}

/// kWh × price / η(age + i − ½) for i = 1 … `years`, pounds a year; nothing when the efficiency is not above nought.
pub fn by_year(need: &HeatNeed, efficiency: &Efficiency, age: f64, years: u32) -> Vec<f64> {
    (0..years)
        .map(|i| {
            let at = efficiency.at(age + f64::from(i) + 0.5);
            if at > 0.0 {
                need.kwh * need.pounds_a_kwh / at
            } else {
                0.0
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{Efficiency, HeatNeed, by_year};

    /// Arithmetic: 9,000 kWh at 6 p over 0.9 is £600 a year; an efficiency halved doubles it.
    #[test]
    fn energy_by_hand() {
        let need = HeatNeed {
            kwh: 9_000.0,
            pounds_a_kwh: 0.06,
        };
        let steady = Efficiency {
            new: 0.9,
            lost_a_year: 0.0,
            ages_for: 20.0,
        };
        for year in by_year(&need, &steady, 12.0, 3) {
            assert!((year - 600.0).abs() < 1e-9, "{year}");
        }
        let fading = Efficiency {
            lost_a_year: 0.5,
            ages_for: 1.0,
            ..steady
        };
        let years = by_year(&need, &fading, 1.0, 2);
        assert!((years[0] - 1200.0).abs() < 1e-9, "{years:?}");
        assert_eq!(years[0], years[1], "it loses no more after its first year");
        let none = Efficiency { new: 0.0, ..steady };
        assert_eq!(by_year(&need, &none, 0.0, 2), [0.0, 0.0]);
    }
}
