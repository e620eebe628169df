//! Plans of single blocks as columns of a master problem, and the master itself.
use super::estate::{Block, Estate};
use super::formulation::{Formulation, Room, pounds};
use super::model::Plan;
use super::outcome::outcome;
use super::shared::Prices;
use crate::solver::{Effort, Ending, Model, Var};

/// What a missing pound of a shared fund costs the master, so that it always has a solution, pounds.
const MISSING: f64 = 50.0;

/// One plan of one block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// The block.
    pub block: usize,
    /// Entries of its units, in the order of [`units_of`].
    pub entries: Vec<Option<(usize, usize)>>,
    /// Its part of the objective, pence.
    pub cost: i64,
    /// Outflow of its buildings.
    pub paid: Vec<(usize, Vec<i64>)>,
}

/// Units of a block, building by building.
pub fn units_of(estate: &Estate<'_>, block: &[usize]) -> Vec<usize> {
    block
        .iter()
        .flat_map(|b| estate.units[*b].iter().copied())
        .collect()
}

/// The block's part of `plan` as a column.
pub fn column(estate: &Estate<'_>, blocks: &[Block], block: usize, plan: &Plan) -> Column {
    let out = outcome(estate, &blocks[block], plan);
    let units = units_of(estate, &blocks[block]);
    Column {
        block,
        entries: units.iter().map(|u| plan[*u]).collect(),
        cost: out.cost,
        paid: out.paid,
    }
}

/// Writes a column into a plan.
pub fn write(estate: &Estate<'_>, blocks: &[Block], column: &Column, plan: &mut Plan) {
    for (u, entry) in units_of(estate, &blocks[column.block])
        .into_iter()
        .zip(&column.entries)
    {
        plan[u] = *entry;
    }
}

/// Answer of a priced block.
#[derive(Clone, Debug)]
pub struct PricedBlock {
    /// No plan of the block costs less at these prices, pounds.
    pub bound: f64,
    /// Its best plan found.
    pub column: Option<Column>,
    /// Whether no plan of the block exists.
    pub infeasible: bool,
}

/// The cheapest plan of a block when every pound it pays costs `price` more; funds of its own are rows.
pub fn price_block(
    estate: &Estate<'_>,
    blocks: &[Block],
    block: usize,
    price: &[Vec<f64>],
    effort: Effort,
    start: Option<&Column>,
) -> PricedBlock {
    let buildings = &blocks[block];
    let (own, _) = estate.funds_of(buildings);
    let rooms: Vec<Room> = own.iter().map(|f| Room::whole(estate, *f)).collect();
    let form = Formulation::new(estate, buildings, &rooms, &|b, t| price[b][t]);
    let mut plan: Plan = vec![None; estate.problem.units.len()];
    let first = start.map(|column| {
        write(estate, blocks, column, &mut plan);
        form.start(estate, &plan)
    });
    let solved = form.model.solve(effort, first.as_deref());
    let found = (!solved.values.is_empty()).then(|| {
        form.read(&solved, &mut plan);
        column(estate, blocks, block, &plan)
    });
    // Cut off early, a model may have proven less than its plain relaxation does.
    let mut bound = solved.bound;
    if solved.ending == Ending::Limit {
        let relaxed = form.model.relaxed();
        bound = bound.max(relaxed.solve(Effort::exact(f64::INFINITY), None).bound);
    }
    PricedBlock {
        bound,
        column: found.filter(|c| outcome_holds(estate, &blocks[c.block], &plan)),
        infeasible: solved.ending == Ending::Infeasible,
    }
}

/// Whether the rules inside the block hold to the penny (the solver works with a tolerance).
pub fn outcome_holds(estate: &Estate<'_>, block: &[usize], plan: &Plan) -> bool {
    let out = outcome(estate, block, plan);
    let (own, _) = estate.funds_of(block);
    let paid = |b: usize, t: usize| {
        let row = out.paid.iter().find(|(c, _)| *c == b);
        row.map_or(0, |(_, years)| years[t])
    };
    out.breaches == 0 && super::outcome::funds_hold(estate, &own, &paid)
}

/// The master over columns: exactly one a block, shared funds kept.
pub struct Master {
    /// Chosen column a block; `None` where the block has none.
    pub chosen: Vec<Option<usize>>,
    /// Shadow prices of the shared funds (of the relaxation only).
    pub prices: Option<Prices>,
}

/// Solves the master over `columns`, relaxed for prices or whole for a plan.
pub fn master(
    estate: &Estate<'_>,
    blocks: usize,
    funds: &[usize],
    columns: &[Column],
    effort: Effort,
    whole: bool,
) -> Master {
    let years = estate.problem.years;
    let mut model = Model::default();
    let vars: Vec<Var> = columns
        .iter()
        .map(|c| {
            let cost = pounds(c.cost);
            if whole {
                model.binary(cost)
            } else {
                model.continuous(cost, 0.0, f64::INFINITY)
            }
        })
        .collect();
    let mut one: Vec<Vec<(Var, f64)>> = vec![Vec::new(); blocks];
    let mut spent = vec![vec![Vec::new(); years]; funds.len()];
    for (column, var) in columns.iter().zip(&vars) {
        one[column.block].push((*var, 1.0));
        for (b, paid) in &column.paid {
            for fund in &estate.problem.buildings[*b].funds {
                if let Some(k) = funds.iter().position(|f| f == fund) {
                    for (t, pence) in paid.iter().enumerate().filter(|(_, p)| **p != 0) {
                        spent[k][t].push((*var, pounds(*pence)));
                    }
                }
            }
        }
    }
    for terms in one.into_iter().filter(|terms| !terms.is_empty()) {
        model.equal(1.0, terms);
    }
    let rows = fund_rows(estate, funds, &mut model, spent);
    let solved = model.solve(effort, None);
    let mut chosen: Vec<Option<usize>> = vec![None; blocks];
    let mut weight = vec![0.0; blocks];
    for (i, (column, var)) in columns.iter().zip(&vars).enumerate() {
        if solved.value(*var) > weight[column.block] {
            weight[column.block] = solved.value(*var);
            chosen[column.block] = Some(i);
        }
    }
    let prices = (!whole && solved.ending == Ending::Optimal).then(|| {
        let mut prices = Prices::zero(estate, funds);
        for (k, t, row, cap) in rows {
            let price = (-solved.shadow_prices[row]).max(0.0);
            if cap {
                prices.caps[k][t] = price;
            } else {
                prices.balance[k][t] = price;
            }
        }
        prices
    });
    Master { chosen, prices }
}

/// Rows of the shared funds, a missing pound at a high price; (fund, year, row, whether a cap).
fn fund_rows(
    estate: &Estate<'_>,
    funds: &[usize],
    model: &mut Model,
    spent: Vec<Vec<Vec<(Var, f64)>>>,
) -> Vec<(usize, usize, usize, bool)> {
    let mut rows = Vec::new();
    for (k, years) in spent.into_iter().enumerate() {
        let card = &estate.problem.funds[funds[k]];
        let mut before: Option<Var> = None;
        for (t, (terms, headroom)) in years.into_iter().zip(card.headroom()).enumerate() {
            let missing = model.continuous(MISSING, 0.0, f64::INFINITY);
            if let Some(cap) = card.cap(t) {
                let row =
                    model.at_most(pounds(cap), terms.iter().copied().chain([(missing, -1.0)]));
                rows.push((k, t, row, true));
            }
            let sum = model.continuous(0.0, f64::NEG_INFINITY, f64::INFINITY);
            let carried = before.map(|var| (var, 1.0));
            model.equal(0.0, terms.into_iter().chain(carried).chain([(sum, -1.0)]));
            let row = model.at_most(pounds(headroom), [(sum, 1.0), (missing, -1.0)]);
            rows.push((k, t, row, false));
            before = Some(sum);
        }
    }
    rows
}
