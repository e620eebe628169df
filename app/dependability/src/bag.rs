//! What to put in the bag: the parts that most raise the number of visits finished first time, within a price.
//!
//! Each visit of the week needs one part, or none: the ranking of suspects or the part forecast says with what chance.
//! Of part k, N_k visits need one; with q_k aboard min(q_k, N_k) of them are finished first time. The expected number
//! finished is Σ_v P(none) + Σ_k E[min(q_k, N_k)], and the j-th copy of part k adds P(N_k ≥ j), which falls with j: each
//! copy is an article with a gain and a price, and the best bag is a knapsack. N_k is a sum of unlike chances, its law
//! exact by convolution; visits are taken as independent of one another.
//!
//! The knapsack is solved exactly by branch and bound (bound: the articles by gain a penny, the last one cut) as long as
//! it takes few enough steps. Beyond that stands the better of greedy and the best single article, never less than half
//! of the best possible gain (G. B. Dantzig 1957; the gain is monotone and submodular), and the cut bound says how much
//! better any bag could be.
use serde::{Deserialize, Serialize};

use crate::prior::{InputError, within};

/// Steps of the exact search before it is given up.
const STEPS: usize = 200_000;
/// Chances below this are cut off a law's tail.
const NOTHING: f64 = 1e-12;
/// Gains below this are no reason to carry anything.
const LEAST: f64 = 1e-4;

/// A visit of the week.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Call {
    /// (place of a part, chance that the visit needs it); the rest needs none. They add up to at most 1.
    pub needs: Vec<(usize, f64)>,
}

/// One part in the bag.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Carried {
    /// Its place.
    pub part: usize,
    /// Copies.
    pub copies: u32,
    /// Visits finished first time that these copies add.
    pub gain: f64,
    /// Their price, in pence.
    pub price: i64,
}

/// A bag.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bag {
    /// Parts, the greatest gain first.
    pub carried: Vec<Carried>,
    /// Its price, in pence.
    pub price: i64,
    /// Visits.
    pub visits: usize,
    /// Visits expected to be finished first time with an empty bag.
    pub without: f64,
    /// And with this one.
    pub with: f64,
    /// No bag within the price can have more than this.
    pub at_most: f64,
    /// Proven to be the best.
    pub best: bool,
}

struct Article {
    part: usize,
    gain: f64,
    price: i64,
}

/// Fills the bag: `prices` of the parts in pence, all positive; `purse` the most it may come to.
///
/// # Errors
/// Numbers that cannot be meant, in words.
pub fn fill(calls: &[Call], prices: &[i64], purse: i64) -> Result<Bag, InputError> {
    check(calls, prices)?;
    let articles = articles(calls, prices, purse);
    let (chosen, best) = choose(&articles, purse);
    let without: f64 = calls
        .iter()
        .map(|c| 1.0 - c.needs.iter().map(|n| n.1).sum::<f64>())
        .sum();
    let mut carried: Vec<Carried> = Vec::new();
    for article in chosen.iter().map(|&i| &articles[i]) {
        match carried.iter_mut().find(|c| c.part == article.part) {
            Some(one) => {
                one.copies += 1;
                one.gain += article.gain;
                one.price += article.price;
            }
            None => carried.push(Carried {
                part: article.part,
                copies: 1,
                gain: article.gain,
                price: article.price,
            }),
        }
    }
    carried.sort_by(|a, b| b.gain.total_cmp(&a.gain).then(a.part.cmp(&b.part)));
    let gain: f64 = carried.iter().map(|c| c.gain).sum();
    let cut = bound(&articles, 0, purse);
    Ok(Bag {
        price: carried.iter().map(|c| c.price).sum(),
        visits: calls.len(),
        without,
        with: without + gain,
        at_most: without + if best { gain } else { cut.max(gain) },
        best,
        carried,
    })
}

fn check(calls: &[Call], prices: &[i64]) -> Result<(), InputError> {
    for price in prices {
        within("price of a part in pence", *price as f64, 1.0, 1e9)?;
    }
    for call in calls {
        let sum: f64 = call.needs.iter().map(|n| n.1).sum();
        within("chances of a visit's parts", sum, 0.0, 1.0 + 1e-9)?;
        for (part, chance) in &call.needs {
            within("chance that a visit needs a part", *chance, 0.0, 1.0)?;
            within(
                "place of a part",
                *part as f64,
                0.0,
                prices.len() as f64 - 1.0,
            )?;
        }
    }
    Ok(())
}

/// Every copy worth carrying that fits at all, the most gain a penny first.
fn articles(calls: &[Call], prices: &[i64], purse: i64) -> Vec<Article> {
    let mut all = Vec::new();
    for (part, price) in prices.iter().enumerate().filter(|(_, p)| **p <= purse) {
        let chances = calls
            .iter()
            .flat_map(|c| &c.needs)
            .filter(|n| n.0 == part)
            .map(|n| n.1);
        let law = number_needed(chances);
        let mut at_least = 1.0;
        for exactly in &law[..law.len() - 1] {
            at_least -= exactly;
            if at_least < LEAST {
                break;
            }
            all.push(Article {
                part,
                gain: at_least,
                price: *price,
            });
        }
    }
    all.sort_by(|a, b| {
        let (x, y) = (a.gain / a.price as f64, b.gain / b.price as f64);
        y.total_cmp(&x).then(a.part.cmp(&b.part))
    });
    all
}

/// Law of the number of visits that need a part.
fn number_needed(chances: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut law = vec![1.0];
    for p in chances {
        law.push(0.0);
        for i in (0..law.len()).rev() {
            let before = if i > 0 { law[i - 1] } else { 0.0 };
            law[i] = law[i] * (1.0 - p) + before * p;
        }
        // Past what any bag would hold the tail is cut: a street of small chances costs no more than a few large ones.
        while law.len() > 2 && law.last().is_some_and(|last| *last < NOTHING) {
            law.pop();
        }
    }
    law
}

/// Most gain from the articles at `from` on within a purse, the last one cut to fit.
fn bound(articles: &[Article], from: usize, purse: i64) -> f64 {
    let (mut left, mut gain) = (purse, 0.0);
    for article in &articles[from..] {
        if article.price > left {
            return gain + article.gain * left as f64 / article.price as f64;
        }
        left -= article.price;
        gain += article.gain;
    }
    gain
}

fn greedy(articles: &[Article], purse: i64) -> Vec<usize> {
    let mut left = purse;
    let mut chosen = Vec::new();
    for (i, article) in articles.iter().enumerate() {
        if article.price <= left {
            left -= article.price;
            chosen.push(i);
        }
    }
    chosen
}

/// The articles of the best bag, and whether it is proven.
fn choose(articles: &[Article], purse: i64) -> (Vec<usize>, bool) {
    let gain = |chosen: &[usize]| chosen.iter().map(|&i| articles[i].gain).sum::<f64>();
    let mut best = greedy(articles, purse);
    let dearest =
        (0..articles.len()).max_by(|&a, &b| articles[a].gain.total_cmp(&articles[b].gain));
    if let Some(one) = dearest.filter(|&i| articles[i].gain > gain(&best)) {
        best = vec![one];
    }
    let mut most = gain(&best);
    let mut steps = 0;
    // Depth first, an article taken before it is left: (next article, purse left, gain, articles taken).
    let mut open: Vec<(usize, i64, f64, Vec<usize>)> = vec![(0, purse, 0.0, Vec::new())];
    while let Some((at, left, so_far, taken)) = open.pop() {
        steps += 1;
        if steps > STEPS {
            return (best, false);
        }
        if so_far > most + 1e-12 {
            most = so_far;
            best.clone_from(&taken);
        }
        if at == articles.len() || so_far + bound(articles, at, left) <= most + 1e-9 {
            continue;
        }
        open.push((at + 1, left, so_far, taken.clone()));
        let article = &articles[at];
        if article.price <= left {
            let mut with = taken;
            with.push(at);
            open.push((at + 1, left - article.price, so_far + article.gain, with));
        }
    }
    (best, true)
}
