//! Price-and-branch for parts of the estate that share funds: block by block at prices, then a master.
//!
//! Prices of the shared funds start from the linear relaxation (of a sample of blocks when the part is
//! large) and are led by the master over all columns found, damped towards the prices with the best bound
//! (Wentges, "Weighted Dantzig–Wolfe decomposition for linear mixed-integer programming", ITOR 1997).
//! Every pass over the blocks proves a bound; the plan comes from the whole-number master, single moves
//! that bring it inside the funds, and [`super::neighbourhood`].
use super::Settings;
use super::columns::{Column, Master, PricedBlock, column, master, price_block, units_of, write};
use super::estate::{Block, Estate};
use super::formulation::{Formulation, Room};
use super::model::Plan;
use super::parallel::each;
use super::repair::repair;
use super::shared::Prices;
use crate::solver::{Effort, Ending};
use crate::{Allowance, Part};
fn envf(n: &str, d: f64) -> f64 {
    std::env::var(n)
        .ok()
        .and_then(|v| v.parse().ok())
        .unwrap_or(d)
}

/// Units of the linear relaxation that gives the first prices.
const SAMPLE_UNITS: usize = 700;
/// Weight of the prices with the best bound in the next ones.
const DAMPING: f64 = 0.6;
/// Passes without a better bound (by this share of it) after which prices are good enough.
const STALE: (u32, f64) = (3, 1e-6);
/// Most passes.
const PASSES: u32 = 40;
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

struct Work<'a> {
    estate: &'a Estate<'a>,
    blocks: Vec<Block>,
    funds: Vec<usize>,
    settings: Settings,
    columns: Vec<Column>,
    best: Prices,
    bound: f64,
    infeasible: bool,
}

/// Solves the part made of `blocks`, all in one component.
pub fn price_and_branch(
    estate: &Estate<'_>,
    blocks: Vec<Block>,
    settings: Settings,
    allowance: &dyn Allowance,
) -> Shared {
    let funds = shared_funds(estate, &blocks);
    let first = first_prices(estate, &blocks, &funds, allowance);
    let mut work = Work {
        estate,
        columns: Vec::new(),
        best: first.clone(),
        bound: f64::NEG_INFINITY,
        infeasible: false,
        blocks,
        funds,
        settings,
    };
    let many = work.blocks.len() > envf("MANY", 300.0) as usize;
    work.settings.block_gap = envf("GAP", 0.0015);
    let passes = if many {
        work.few_passes(first, allowance)
    } else {
        work.passes(first, &Part::share(allowance, 0.55))
    };
    let plan = if work.infeasible {
        None
    } else {
        work.plan(&Part::share(allowance, if many { 0.9 } else { 0.3 }))
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

/// Shadow prices of the linear relaxation of all blocks, or of a sample with its part of the funds.
fn first_prices(
    estate: &Estate<'_>,
    blocks: &[Block],
    funds: &[usize],
    allowance: &dyn Allowance,
) -> Prices {
    let total: usize = blocks.iter().map(|b| units_of(estate, b).len()).sum();
    let step = total.div_ceil(SAMPLE_UNITS).max(1);
    let mut prices = Prices::zero(estate, funds);
    // A fund at a time where there is a sample: each needs enough blocks of its own.
    for (k, fund) in funds.iter().enumerate() {
        let charged = |b: &&Block| b.iter().any(|b| estate.members[*fund].contains(b));
        let mine: Vec<&Block> = blocks.iter().filter(charged).collect();
        let picked: Vec<usize> = mine
            .iter()
            .step_by(step.div_ceil(funds.len()))
            .flat_map(|b| b.iter().copied())
            .collect();
        let cash = |b: usize| -> i64 {
            let units = estate.units[b].iter();
            units
                .map(|u| estate.problem.units[*u].options[0].cash[0])
                .sum()
        };
        let part = picked.iter().map(|b| cash(*b)).sum::<i64>() as f64;
        let all: i64 = mine.iter().flat_map(|b| b.iter()).map(|b| cash(*b)).sum();
        let scale = part / (all as f64).max(1.0);
        let (own, other) = estate.funds_of(&picked);
        let mut rooms: Vec<Room> = own.iter().map(|f| Room::whole(estate, *f)).collect();
        for f in other {
            let mut room = Room::whole(estate, f);
            for headroom in &mut room.headroom {
                *headroom *= scale;
            }
            for cap in room.caps.iter_mut().flatten() {
                *cap *= scale;
            }
            rooms.push(room);
        }
        let form = Formulation::new(estate, &picked, &rooms, &|_, _| 0.0);
        let effort = Effort::exact(allowance.seconds_left() * 0.3);
        let solved = form.model.clone().relaxed().solve(effort, None);
        if solved.ending != Ending::Optimal {
            continue;
        }
        let price = |row: usize| (-solved.shadow_prices[row]).max(0.0);
        for (f, t, row) in &form.balance_rows {
            if f == fund {
                prices.balance[k][*t] = price(*row);
            }
        }
        for (f, t, row) in &form.cap_rows {
            if f == fund {
                prices.caps[k][*t] = price(*row);
            }
        }
    }
    prices
}

impl Work<'_> {
    /// One pass over the blocks at these prices: columns, and the bound if every block proved one.
    fn pass(&mut self, prices: &Prices, gap: f64, each_seconds: f64, allowance: &dyn Allowance) {
        let table = prices.table(self.estate);
        let mut latest: Vec<Option<&Column>> = vec![None; self.blocks.len()];
        for column in &self.columns {
            latest[column.block] = Some(column);
        }
        let (estate, blocks) = (self.estate, &self.blocks);
        let priced: Vec<PricedBlock> = each(self.settings.threads, blocks.len(), |block| {
            let effort = Effort::within(gap, each_seconds);
            price_block(estate, blocks, block, &table, effort, latest[block])
        });
        let mut bound = -prices.worth(estate);
        let mut fresh = Vec::new();
        for answer in priced {
            bound += answer.bound;
            self.infeasible |= answer.infeasible;
            fresh.extend(answer.column);
        }
        eprintln!(
            "  pass gap {gap} each {each_seconds:.2} bound {bound:.0} cols {} left {:.1} prices {:?}",
            fresh.len(),
            allowance.seconds_left(),
            prices
                .balance
                .iter()
                .map(|p| p.iter().map(|x| (x * 1000.0).round()).collect::<Vec<_>>())
                .collect::<Vec<_>>()
        );
        if bound > self.bound {
            self.bound = bound;
            self.best = prices.clone();
        }
        for column in fresh {
            if !self.columns.contains(&column) {
                self.columns.push(column);
            }
        }
    }

    /// Column generation with damped prices. Returns the passes made.
    fn passes(&mut self, first: Prices, allowance: &dyn Allowance) -> u32 {
        let dear = Prices::dear(self.estate, &self.funds, DEAR);
        let seconds = allowance.seconds_left() / self.blocks.len() as f64;
        let each = (seconds * self.settings.threads as f64 * 0.2).max(0.5);
        self.pass(&dear, 0.01, each, allowance);
        let mut next = first;
        let (mut made, mut stale) = (1, 0);
        let mut gap = 1e-3;
        while made < PASSES && !allowance.spent() && !self.infeasible {
            let before = self.bound;
            self.pass(&next, gap, each * 2.0, allowance);
            made += 1;
            if self.bound > before + STALE.1 * before.abs() {
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

    /// For very many blocks: one careful pass at the sample's prices, more only if time is left.
    fn few_passes(&mut self, first: Prices, allowance: &dyn Allowance) -> u32 {
        let total = allowance.seconds_left();
        let (gap, share) = (self.settings.block_gap, 0.75);
        let budget = Part::share(allowance, share);
        let each = budget.seconds_left() * self.settings.threads as f64 / self.blocks.len() as f64;
        self.pass(&first, gap, (each * 4.0).max(0.2), &budget);
        let mut made = 1;
        let used = total - allowance.seconds_left();
        while made < 4 && !self.infeasible && budget.seconds_left() > used * 1.2 {
            let Some(led) = self.master(Effort::exact(f64::INFINITY), false).prices else {
                break;
            };
            let next = self.best.blend(&led, DAMPING);
            self.pass(&next, gap, (each * 4.0).max(0.2), &budget);
            made += 1;
        }
        made
    }

    fn master(&self, effort: Effort, whole: bool) -> Master {
        master(
            self.estate,
            self.blocks.len(),
            &self.funds,
            &self.columns,
            effort,
            whole,
        )
    }

    /// A plan inside the shared funds: from the whole-number master, else the relaxed one, mended.
    fn plan(&self, allowance: &dyn Allowance) -> Option<Plan> {
        let seconds = allowance.seconds_left() * 0.6;
        let mut plans = Vec::new();
        for whole in [true, false] {
            let effort = Effort::within(1e-5, seconds.min(60.0));
            let chosen = self.master(effort, whole).chosen;
            let picked: Option<Vec<usize>> = chosen.into_iter().collect();
            let Some(picked) = picked else { continue };
            let mut plan: Plan = vec![None; self.estate.problem.units.len()];
            for i in picked {
                write(self.estate, &self.blocks, &self.columns[i], &mut plan);
            }
            let c: i64 = (0..self.blocks.len())
                .map(|block| column(self.estate, &self.blocks, block, &plan).cost)
                .sum();
            eprintln!(
                "  master whole {whole} cost {c} left {:.1}",
                allowance.seconds_left()
            );
            plans.extend(repair(
                self.estate,
                &self.blocks,
                &self.funds,
                &plan,
                allowance,
            ));
        }
        for plan in &plans {
            let c: i64 = (0..self.blocks.len())
                .map(|block| column(self.estate, &self.blocks, block, plan).cost)
                .sum();
            eprintln!("  repaired {c} left {:.1}", allowance.seconds_left());
        }
        plans.into_iter().min_by_key(|plan| {
            let costs = 0..self.blocks.len();
            costs
                .map(|block| column(self.estate, &self.blocks, block, plan).cost)
                .sum::<i64>()
        })
    }
}
