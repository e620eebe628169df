//! Passes over the blocks of a part: columns at given prices, and what the prices prove.
use super::Settings;
use super::columns::{
    Column, Master, PricedBlock, column, master, outcome_holds, price_block, write,
};
use super::descent::Descent;
use super::estate::{Block, Estate};
use super::model::Plan;
use super::parallel::each;
use super::shared::Prices;
use crate::Allowance;
use crate::dice::Dice;
use crate::solver::Effort;

/// The columns found so far, and the best prices with the bound they prove.
pub struct Work<'a> {
    pub estate: &'a Estate<'a>,
    pub blocks: Vec<Block>,
    pub funds: Vec<usize>,
    pub settings: Settings,
    pub columns: Vec<Column>,
    pub best: Prices,
    pub bound: f64,
    pub infeasible: bool,
}

impl Work<'_> {
    /// One pass over the blocks at these prices: columns, and the bound if every block proved one.
    pub fn pass(
        &mut self,
        prices: &Prices,
        gap: f64,
        each_seconds: f64,
        allowance: &dyn Allowance,
    ) {
        let table = prices.table(self.estate);
        let latest = self.latest();
        let (estate, blocks) = (self.estate, &self.blocks);
        let priced: Vec<PricedBlock> = each(self.settings.threads, blocks.len(), |block| {
            // Late: the plain relaxation still proves a bound.
            let spent = allowance.spent();
            let effort = Effort::within(gap, if spent { 0.0 } else { each_seconds });
            price_block(estate, blocks, block, &table, effort, latest[block])
        });
        let mut bound = -prices.worth(estate);
        let mut fresh = Vec::new();
        for answer in priced {
            bound += answer.bound;
            self.infeasible |= answer.infeasible;
            fresh.extend(answer.column);
        }
        if bound > self.bound {
            self.bound = bound;
            self.best = prices.clone();
        }
        self.keep(fresh.into_iter());
    }

    /// One pass of quick descents: columns, no bound.
    pub fn quick_pass(&mut self, prices: &Prices, shakes: usize, salt: u64) {
        let table = prices.table(self.estate);
        let latest = self.latest();
        let (estate, blocks, seed) = (self.estate, &self.blocks, self.settings.seed);
        let found: Vec<Option<Column>> = each(self.settings.threads, blocks.len(), |block| {
            if !Descent::suits(estate, &blocks[block]) {
                return None;
            }
            let mut plan: Plan = vec![None; estate.problem.units.len()];
            if let Some(column) = latest[block] {
                write(estate, blocks, column, &mut plan);
            }
            let mut dice = Dice::new(seed ^ (salt << 32) ^ block as u64);
            let search = Descent::new(estate, &blocks[block], &table, &plan);
            let holds = search.search(shakes, &mut dice, &mut plan)
                && outcome_holds(estate, &blocks[block], &plan);
            holds.then(|| column(estate, blocks, block, &plan))
        });
        self.keep(found.into_iter().flatten());
    }

    fn latest(&self) -> Vec<Option<&Column>> {
        let mut latest: Vec<Option<&Column>> = vec![None; self.blocks.len()];
        for column in &self.columns {
            latest[column.block] = Some(column);
        }
        latest
    }

    fn keep(&mut self, fresh: impl Iterator<Item = Column>) {
        for column in fresh {
            if !self.columns.contains(&column) {
                self.columns.push(column);
            }
        }
    }

    pub fn master(&self, effort: Effort, whole: bool) -> Master {
        master(
            self.estate,
            self.blocks.len(),
            &self.funds,
            &self.columns,
            effort,
            whole,
        )
    }
}
