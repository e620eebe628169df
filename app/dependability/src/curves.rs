//! Curves without a model: Kaplan–Meier with late entry, Nelson–Aalen, Aalen–Johansen for several causes.

/// A life for the curves: watched over (entry, exit], ended by `cause` (0: still running).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Watched {
    /// Age at entry.
    pub entry: f64,
    /// Age at exit.
    pub exit: f64,
    /// Cause of the end; 0: running.
    pub cause: usize,
}

/// One step of the survival curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurvivalStep {
    /// Age.
    pub age: f64,
    /// At risk: entry < age ≤ exit.
    pub at_risk: u32,
    /// Events.
    pub events: u32,
    /// S just after.
    pub survival: f64,
    /// Greenwood's standard error; `None` once S is 0.
    pub se: Option<f64>,
    /// Nelson–Aalen cumulative hazard.
    pub cumulative: f64,
}

/// Steps at the event ages above `from` (S = 1 there).
pub fn kaplan_meier(lives: &[Watched], from: f64) -> Vec<SurvivalStep> {
    let (mut survival, mut greenwood, mut cumulative) = (1.0, 0.0, 0.0);
    event_ages(lives)
        .into_iter()
        .filter(|age| *age > from)
        .map(|age| {
            let (risk, events) = at(lives, age);
            let (r, d) = (f64::from(risk), f64::from(events));
            survival *= 1.0 - d / r;
            greenwood += d / (r * (r - d));
            cumulative += d / r;
            let se = (survival > 0.0).then(|| survival * f64::sqrt(greenwood));
            SurvivalStep {
                age,
                at_risk: risk,
                events,
                survival,
                se,
                cumulative,
            }
        })
        .collect()
}

/// (age, S, F₁ … F_K) at the event ages: F_k += S(t−) d_k/R.
pub fn aalen_johansen(lives: &[Watched], causes: usize) -> Vec<(f64, f64, Vec<f64>)> {
    let mut survival = 1.0;
    let mut ended = vec![0.0; causes];
    event_ages(lives)
        .into_iter()
        .map(|age| {
            let (risk, events) = at(lives, age);
            for (k, share) in ended.iter_mut().enumerate() {
                let own = lives
                    .iter()
                    .filter(|l| l.exit == age && l.cause == k + 1)
                    .count();
                *share += survival * own as f64 / f64::from(risk);
            }
            survival *= 1.0 - f64::from(events) / f64::from(risk);
            (age, survival, ended.clone())
        })
        .collect()
}

fn event_ages(lives: &[Watched]) -> Vec<f64> {
    let mut ages: Vec<f64> = lives
        .iter()
        .filter(|l| l.cause > 0)
        .map(|l| l.exit)
        .collect();
    ages.sort_by(f64::total_cmp);
    ages.dedup();
    ages
}

fn at(lives: &[Watched], age: f64) -> (u32, u32) {
    let risk = lives
        .iter()
        .filter(|l| l.entry < age && age <= l.exit)
        .count();
    let events = lives
        .iter()
        .filter(|l| l.cause > 0 && l.exit == age)
        .count();
    (risk as u32, events as u32)
}
