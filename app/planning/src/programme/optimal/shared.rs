//! The funds several blocks share: their prices, what is spent from them, and the bound prices prove.
//!
//! Pricing the balance rows with μ(f,t) ≥ 0 and the yearly caps with ν(f,t) ≥ 0, a pound paid by building
//! b in year t costs Σ_{f∈F(b)} (Σ_{τ≥t} μ(f,τ) + ν(f,t)) more, and
//! bound = Σ_blocks min[cost + priced outflow] − Σ μ(f,t)·headroom(f,t) − Σ ν(f,t)·cap(f,t).
//! Source: `reference/planning/README.md` §1 "Lower bounds" (b).
use super::estate::Estate;
use super::formulation::pounds;
use crate::dice::Dice;

/// Shadow prices of shared funds, pounds per pound.
#[derive(Clone, Debug)]
pub struct Prices {
    /// The funds.
    pub funds: Vec<usize>,
    /// μ by fund of `funds`, then year.
    pub balance: Vec<Vec<f64>>,
    /// ν by fund of `funds`, then year; only where there is a cap.
    pub caps: Vec<Vec<f64>>,
}

impl Prices {
    /// Nothing costs more than it costs.
    pub fn zero(estate: &Estate<'_>, funds: &[usize]) -> Self {
        let years = estate.problem.years;
        Self {
            funds: funds.to_vec(),
            balance: vec![vec![0.0; years]; funds.len()],
            caps: vec![vec![0.0; years]; funds.len()],
        }
    }

    /// The same price on every pound in every year: what pays for nothing but the dated work.
    pub fn dear(estate: &Estate<'_>, funds: &[usize], price: f64) -> Self {
        let mut dear = Self::zero(estate, funds);
        for row in &mut dear.balance {
            if let Some(last) = row.last_mut() {
                *last = price;
            }
        }
        dear
    }

    /// share·self + (1 − share)·other.
    #[must_use]
    pub fn blend(&self, other: &Self, share: f64) -> Self {
        let mix = |a: &[Vec<f64>], b: &[Vec<f64>]| -> Vec<Vec<f64>> {
            a.iter()
                .zip(b)
                .map(|(x, y)| {
                    x.iter()
                        .zip(y)
                        .map(|(p, q)| share * p + (1.0 - share) * q)
                        .collect()
                })
                .collect()
        };
        Self {
            funds: self.funds.clone(),
            balance: mix(&self.balance, &other.balance),
            caps: mix(&self.caps, &other.caps),
        }
    }

    /// Each price times something between 1/most and most.
    #[must_use]
    pub fn shaken(&self, dice: &mut Dice, most: f64) -> Self {
        let mut shaken = self.clone();
        for price in shaken.balance.iter_mut().chain(&mut shaken.caps).flatten() {
            *price *= most.powf(2.0 * dice.unit() - 1.0);
        }
        shaken
    }

    /// Price of a pound for each building and year.
    pub fn table(&self, estate: &Estate<'_>) -> Vec<Vec<f64>> {
        let years = estate.problem.years;
        let mut table = vec![vec![0.0; years]; estate.problem.buildings.len()];
        for (k, fund) in self.funds.iter().enumerate() {
            let mut later = 0.0;
            for t in (0..years).rev() {
                later += self.balance[k][t];
                for &b in &estate.members[*fund] {
                    table[b][t] += later + self.caps[k][t];
                }
            }
        }
        table
    }

    /// Σ μ·headroom + Σ ν·cap, pounds: what the prices give back.
    pub fn worth(&self, estate: &Estate<'_>) -> f64 {
        let mut sum = 0.0;
        for (k, fund) in self.funds.iter().enumerate() {
            let card = &estate.problem.funds[*fund];
            for (t, headroom) in card.headroom().iter().enumerate() {
                sum += self.balance[k][t] * pounds(*headroom);
                sum += self.caps[k][t] * card.cap(t).map_or(0.0, pounds);
            }
        }
        sum
    }
}

/// Pence paid out of each shared fund by year.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ledger {
    /// The funds.
    pub funds: Vec<usize>,
    /// Spent by fund of `funds`, then year.
    pub spent: Vec<Vec<i64>>,
}

impl Ledger {
    /// Nothing spent.
    pub fn empty(estate: &Estate<'_>, funds: &[usize]) -> Self {
        Self {
            funds: funds.to_vec(),
            spent: vec![vec![0; estate.problem.years]; funds.len()],
        }
    }

    /// Books what buildings pay, `sign` times.
    pub fn book(&mut self, estate: &Estate<'_>, paid: &[(usize, Vec<i64>)], sign: i64) {
        for (b, years) in paid {
            for fund in &estate.problem.buildings[*b].funds {
                let Some(k) = self.funds.iter().position(|f| f == fund) else {
                    continue;
                };
                for (spent, pence) in self.spent[k].iter_mut().zip(years) {
                    *spent += sign * pence;
                }
            }
        }
    }

    /// Pence by which floors and caps are missed, all years together; 0 = every shared fund holds.
    pub fn short(&self, estate: &Estate<'_>) -> i64 {
        let mut short = 0;
        for (fund, spent) in self.funds.iter().zip(&self.spent) {
            let card = &estate.problem.funds[*fund];
            let mut sum = 0;
            for (t, headroom) in card.headroom().iter().enumerate() {
                sum += spent[t];
                short += (sum - headroom).max(0);
                short += card.cap(t).map_or(0, |cap| (spent[t] - cap).max(0));
            }
        }
        short
    }

    /// What others than those booked here may still spend from a fund.
    pub fn room(&self, estate: &Estate<'_>, fund: usize) -> super::formulation::Room {
        let k = self.funds.iter().position(|f| *f == fund);
        let nothing = vec![0; estate.problem.years];
        super::formulation::Room::after(estate, fund, k.map_or(&nothing, |k| &self.spent[k]))
    }
}
