//! Price-and-branch for parts of the estate that share funds: block by block at prices, then a master.
//!
//! Prices of the shared funds start from the linear relaxation (of a sample of blocks when the part is
//! large) and are led by the master over all columns found, damped towards the prices with the best bound
//! (Wentges, "Weighted Dantzig–Wolfe decomposition for linear mixed-integer programming", ITOR 1997).
//! Every pass over the blocks proves a bound; the plan comes from the whole-number master, single moves
//! that bring it inside the funds, and [`super::neighbourhood`].
use super::Settings;
use super::columns::{column, write};
use super::estate::{Block, Estate};
use super::model::Plan;
use super::relaxed::relaxed_prices;
use super::repair::repair;
use super::shared::Prices;
use super::work::Work;
use crate::dice::Dice;
use crate::solver::Effort;
use crate::{Allowance, Part};

/// Blocks above which a pass over all of them is made once or twice only.
const MANY: usize = 60;
/// Quick passes that lead the first prices, and shakes of each block's descent in one.
const QUICK: (u32, usize) = (30, 6);
/// New columns a pass, as a share of the blocks, below which the first prices are led no further.
const FEW_NEW: f64 = 0.02;
/// Quick passes at prices shaken by up to this factor, up and down, that give the master more to choose.
const ENRICH: (u64, f64) = (200, 1.6);
/// Weight of the prices with the best bound in the next ones.
const DAMPING: f64 = 0.6;
/// Passes without a better bound (by this share of it) after which prices are good enough.
const STALE: (u32, f64) = (2, 2e-5);
/// Most passes.
const PASSES: u32 = 40;
/// Price of a pound, in the last year, that the search for prices begins with where nothing better is
/// known.
const FIRST_GUESS: f64 = 0.3;
/// A price at which nothing is bought that must not be.
const DEAR: f64 = 20.0;

/// What came of it.
#[derive(Clone, Debug)]
pub struct Shared {
    /// The plan, in which only this part's units are set; `None` where none was found.
    pub plan: Option<Plan>,
    /// No plan of this part costs less, pounds.
    pub bound: f64,
    /// A block has no plan at all.
    pub infeasible: bool,
    /// Passes over the blocks.
    pub passes: u32,
}

/// Solves the part made of `blocks`, all in one component.
pub fn price_and_branch(
    estate: &Estate<'_>,
    blocks: Vec<Block>,
    settings: Settings,
    allowance: &dyn Allowance,
) -> Shared {
    let funds = shared_funds(estate, &blocks);

    let mut work = Work {
        estate,
        columns: Vec::new(),
        best: Prices::zero(estate, &funds),
        bound: f64::NEG_INFINITY,
        infeasible: false,
        blocks,
        funds,
        settings,
    };
    let many = work.blocks.len() > MANY;
    // Parts of the time, each ending when so much of the whole is left.
    let part = |share: f64| Part::share(allowance, share);
    let (quick, price, enrich, plan) = if many {
        (part(0.2), part(0.65), part(0.75), part(0.95))
    } else {
        (part(0.15), part(0.65), part(0.8), part(1.0))
    };
    let first = work.quick_prices(&quick);
    let passes = if many {
        work.few_passes(first, &price)
    } else {
        work.passes(first, &price)
    };
    let plan = if work.infeasible {
        None
    } else {
        work.enrich(&enrich);
        work.plan(&plan)
    };
    Shared {
        plan,
        bound: work.bound,
        infeasible: work.infeasible,
        passes,
    }
}

/// Funds that more than one of the blocks is charged to.
pub fn shared_funds(estate: &Estate<'_>, blocks: &[Block]) -> Vec<usize> {
    let mut charged = vec![0usize; estate.problem.funds.len()];
    for block in blocks {
        let mut named: Vec<usize> = block
            .iter()
            .flat_map(|b| estate.problem.buildings[*b].funds.iter().copied())
            .collect();
        named.sort_unstable();
        named.dedup();
        for fund in named {
            charged[fund] += 1;
        }
    }
    (0..charged.len()).filter(|f| charged[*f] > 1).collect()
}

impl Work<'_> {
    /// First prices: those of the relaxation, led on by the master over quick columns.
    fn quick_prices(&mut self, allowance: &dyn Allowance) -> Prices {
        let seconds = allowance.seconds_left() * 0.6;
        let relaxed = relaxed_prices(self.estate, &self.blocks, &self.funds, seconds);
        let mut prices = match &relaxed {
            Some(prices) => prices.clone(),
            None => Prices::dear(self.estate, &self.funds, FIRST_GUESS),
        };
        let dear = Prices::dear(self.estate, &self.funds, DEAR);
        self.quick_pass(&dear, 1, 0);
        for pass in 1..=QUICK.0 {
            let before = self.columns.len();
            self.quick_pass(&prices, QUICK.1, u64::from(pass));
            if allowance.spent() {
                break;
            }
            let Some(led) = self.master(Effort::exact(f64::INFINITY), false).prices else {
                break;
            };
            let fresh = self.columns.len() - before;
            prices = prices.blend(&led, 0.5);
            if (fresh as f64) < FEW_NEW * self.blocks.len() as f64 {
                break;
            }
        }
        relaxed.unwrap_or(prices)
    }

    /// Column generation with damped prices. Returns the passes made.
    fn passes(&mut self, first: Prices, allowance: &dyn Allowance) -> u32 {
        let seconds = allowance.seconds_left() / self.blocks.len() as f64;
        let each = (seconds * self.settings.threads as f64 * 0.2).max(0.5);
        let mut next = first;
        let (mut made, mut stale) = (0, 0);
        let mut gap = 1e-3;
        while made < PASSES && !allowance.spent() && !self.infeasible {
            let before = self.bound;
            self.pass(&next, gap, each * 2.0, allowance);
            made += 1;
            if before == f64::NEG_INFINITY || self.bound > before + STALE.1 * before.abs() {
                stale = 0;
            } else {
                stale += 1;
                gap = f64::max(gap * 0.2, 1e-6);
                if stale >= STALE.0 {
                    break;
                }
            }
            let effort = Effort::exact(allowance.seconds_left().max(1.0));
            let led = self.master(effort, false).prices;
            let Some(led) = led else { break };
            next = self.best.blend(&led, DAMPING);
        }
        made
    }

    /// For very many blocks: one careful pass, more only if time is left.
    fn few_passes(&mut self, first: Prices, allowance: &dyn Allowance) -> u32 {
        let begun = allowance.seconds_left();
        let each = begun * self.settings.threads as f64 / self.blocks.len() as f64;
        let gap = self.settings.block_gap;
        let (mut made, mut next) = (0, first);
        while made < 4 && !self.infeasible {
            self.pass(&next, gap, (each * 4.0).max(0.2), allowance);
            made += 1;
            let used = begun - allowance.seconds_left();
            if allowance.seconds_left() < 1.2 * used / f64::from(made) {
                break;
            }
            let Some(led) = self.master(Effort::exact(f64::INFINITY), false).prices else {
                break;
            };
            next = self.best.blend(&led, DAMPING);
        }
        made
    }

    /// More columns, at prices shaken around the best.
    fn enrich(&mut self, allowance: &dyn Allowance) {
        let mut dice = Dice::new(self.settings.seed);
        for pass in 0..ENRICH.0 {
            if allowance.spent() {
                break;
            }
            let prices = self.best.shaken(&mut dice, ENRICH.1);
            self.quick_pass(&prices, 3, 1000 + pass);
        }
    }

    /// A plan inside the shared funds: from the whole-number master, else the relaxed one, mended.
    fn plan(&self, allowance: &dyn Allowance) -> Option<Plan> {
        let seconds = allowance.seconds_left() * 0.7;
        let mut plans = Vec::new();
        for whole in [true, false] {
            // The relaxed one is quick and is waited for: there is to be a plan.
            let seconds = if whole { seconds } else { f64::INFINITY };
            let effort = Effort::within(1e-5, seconds);
            let chosen = self.master(effort, whole).chosen;
            let picked: Option<Vec<usize>> = chosen.into_iter().collect();
            let Some(picked) = picked else { continue };
            let mut plan: Plan = vec![None; self.estate.problem.units.len()];
            for i in picked {
                write(self.estate, &self.blocks, &self.columns[i], &mut plan);
            }
            plans.extend(repair(self.estate, &self.blocks, &self.funds, &plan));
        }
        plans.into_iter().min_by_key(|plan| {
            let costs = 0..self.blocks.len();
            costs
                .map(|block| column(self.estate, &self.blocks, block, plan).cost)
                .sum::<i64>()
        })
    }
}
