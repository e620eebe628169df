//! The best a round can do at given prices of jobs, its tour bounded from below.
//!
//! For each building b as the furthest: max Σ profit − travel·(2D(b) + Σ_{others} detour) over visits with
//! Σ length + 2D(b) + Σ detour ≤ H. Dynamic programming over minutes, building by building from the nearest; a
//! space gives at most one visit.
use super::menu::Menu;
use super::prices::Pricing;
use super::visits::Bundle;

/// Prices of jobs and of minutes in a week.
pub type At = (Vec<f64>, Vec<f64>);

/// Work space of one knapsack, and its choice.
#[derive(Default)]
pub struct Sack {
    /// Best by minutes over the buildings so far, each paying its detour.
    before: Vec<f64>,
    /// The same with the building at hand as the furthest.
    here: Vec<f64>,
    /// What each row took at each size; 0 = nothing.
    took: Vec<u32>,
    /// Whether the building was come to, at each size.
    used: Vec<bool>,
    steps: Vec<Step>,
    options: Vec<(usize, f64, u32)>,
    size: usize,
    /// Step and size of the best.
    top: Option<(usize, usize)>,
}

/// A building with something worth coming for.
struct Step {
    /// One past its last row.
    rows: usize,
    /// Units of its detour.
    detour: usize,
}

impl Sack {
    /// What the best knapsack of a round gains; the choice stays here.
    pub fn fill(&mut self, pricing: &Pricing<'_>, r: usize, menu: &Menu, at: &At) -> f64 {
        let shift = pricing.tables.shifts[r].unwrap_or([0, 0]);
        let hours = shift[1] - shift[0];
        let travel = pricing.tables.problem.costs.travel as f64;
        self.size = (hours / pricing.unit) as usize + 1;
        self.before.clear();
        self.before.resize(self.size, 0.0);
        self.took.clear();
        self.used.clear();
        self.steps.clear();
        self.top = None;
        let (mut gained, mut begun) = (0.0, 0);
        for reach in &menu.reaches {
            let rows = self.took.len();
            self.here.clone_from(&self.before);
            for offer in &menu.offers[begun..reach.until] {
                self.offer(pricing, r, menu, offer.bundles.clone(), at);
            }
            begun = reach.until;
            if self.took.len() == rows {
                continue;
            }
            let left = hours - reach.way;
            if left >= 0 {
                let c = (left / pricing.unit) as usize;
                let gain = self.here[c] - travel * f64::from(reach.way);
                if gain > gained {
                    (gained, self.top) = (gain, Some((self.steps.len(), c)));
                }
            }
            // Rounded down: that only loosens the bound.
            let detour = (reach.detour / pricing.unit) as usize;
            self.go_on(detour, travel * f64::from(reach.detour));
        }
        gained
    }

    /// Rows of one space.
    fn offer(
        &mut self,
        pricing: &Pricing<'_>,
        r: usize,
        menu: &Menu,
        bundles: std::ops::Range<usize>,
        at: &At,
    ) {
        self.options.clear();
        for i in bundles {
            let bundle = &pricing.bundles[menu.items[i] as usize];
            let profit = profit(pricing, r, bundle, at);
            if profit > 0.0 {
                let units = (bundle.length / pricing.unit) as usize;
                self.options.push((units, profit, i as u32 + 1));
            }
        }
        if self.options.is_empty() {
            return;
        }
        let row = self.took.len();
        self.took.resize(row + self.size, 0);
        // All choices of a space look at the row before it, so that at most one is taken.
        for c in (0..self.size).rev() {
            let mut best = self.here[c];
            for (units, profit, item) in &self.options {
                if *units <= c && self.here[c - units] + profit > best {
                    best = self.here[c - units] + profit;
                    self.took[row + c] = *item;
                }
            }
            self.here[c] = best;
        }
    }

    /// The building at hand as one on the way to another.
    fn go_on(&mut self, detour: usize, cost: f64) {
        for c in 0..self.size {
            let come = c >= detour && self.here[c - detour] - cost > self.before[c];
            self.used.push(come);
        }
        let used = &self.used[self.used.len() - self.size..];
        for c in (0..self.size).filter(|c| used[*c]) {
            self.before[c] = self.here[c - detour] - cost;
        }
        self.steps.push(Step {
            rows: self.took.len() / self.size,
            detour,
        });
    }

    /// Takes what was chosen off the slope.
    pub fn unpack(&self, pricing: &Pricing<'_>, r: usize, menu: &Menu, slope: &mut At) {
        let Some((last, mut c)) = self.top else {
            return;
        };
        let week = r % pricing.tables.days / 7;
        for step in (0..=last).rev() {
            if step < last {
                if !self.used[step * self.size + c] {
                    continue;
                }
                c -= self.steps[step].detour;
            }
            let first = step.checked_sub(1).map_or(0, |s| self.steps[s].rows);
            for row in (first..self.steps[step].rows).rev() {
                let item = self.took[row * self.size + c];
                if item == 0 {
                    continue;
                }
                let bundle = &pricing.bundles[menu.items[item as usize - 1] as usize];
                let share = if bundle.pair { 0.5 } else { 1.0 };
                for j in &bundle.jobs {
                    slope.0[*j] -= share;
                }
                slope.1[week] += f64::from(bundle.length);
                c -= (bundle.length / pricing.unit) as usize;
            }
        }
    }
}

/// What a bundle brings a round: its prices less its cost, travel apart.
fn profit(pricing: &Pricing<'_>, r: usize, bundle: &Bundle, at: &At) -> f64 {
    let day = r % pricing.tables.days;
    let share = if bundle.pair { 0.5 } else { 1.0 };
    let mut sum = 0.0;
    for j in &bundle.jobs {
        let job = &pricing.tables.problem.jobs[*j];
        let late = job.delay * i64::from(day as i32 - job.earliest);
        sum += at.0[*j] - late as f64;
    }
    share * sum - bundle.visit - at.1[day / 7] * f64::from(bundle.length)
}
