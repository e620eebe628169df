//! Linear and mixed-integer programmes, solved by HiGHS; the only file that names it.
//!
//! Always one thread and one seed, so that the same model gives the same answer on the same machine
//! unless a time limit cuts it off. HiGHS measures its own seconds; they come from the caller's
//! [`Allowance`](crate::Allowance).
use highs::{HighsModelStatus, HighsSolutionStatus, RowProblem, Sense};

/// A column of a [`Model`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Var(pub usize);

#[derive(Clone, Debug)]
struct Column {
    cost: f64,
    low: f64,
    high: f64,
    whole: bool,
}

#[derive(Clone, Debug)]
struct Line {
    low: f64,
    high: f64,
    terms: Vec<(usize, f64)>,
}

/// min cᵀx subject to low ≤ Ax ≤ high, bounds on x, some x whole.
#[derive(Clone, Debug, Default)]
pub struct Model {
    columns: Vec<Column>,
    rows: Vec<Line>,
    /// Added to the objective.
    pub constant: f64,
}

/// How hard to try.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Seconds; infinite = no limit.
    pub seconds: f64,
    /// Stop when (objective − bound) / |objective| is at most this.
    pub relative_gap: f64,
    /// Stop when objective − bound is at most this.
    pub absolute_gap: f64,
    /// Share of the work spent on finding x early (HiGHS's own default is 0.05); 0 where a good start is
    /// given and only the bound is wanted.
    pub heuristics: f64,
}

impl Effort {
    /// To the proven optimum, within so many seconds.
    pub fn exact(seconds: f64) -> Self {
        Self {
            seconds,
            relative_gap: 0.0,
            absolute_gap: 1e-3,
            heuristics: 0.05,
        }
    }

    /// To a relative gap, within so many seconds.
    pub fn within(relative_gap: f64, seconds: f64) -> Self {
        Self {
            relative_gap,
            ..Self::exact(seconds)
        }
    }
}

/// How a solve ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// Solved to the gap asked for.
    Optimal,
    /// No x satisfies the rows.
    Infeasible,
    /// Stopped by time or nodes.
    Limit,
    /// The solver gave up (numerical trouble, unbounded).
    Failed,
}

/// What came of it.
#[derive(Clone, Debug)]
pub struct Solved {
    /// How it ended.
    pub ending: Ending,
    /// Objective of `values`, the constant with it; infinite without values.
    pub objective: f64,
    /// No x has a lower objective; −∞ when nothing was proven.
    pub bound: f64,
    /// One value a column; empty when no x was found.
    pub values: Vec<f64>,
    /// Shadow price of each row (linear programmes only): change of the objective per unit of the row.
    pub shadow_prices: Vec<f64>,
}

impl Solved {
    fn nothing(ending: Ending) -> Self {
        Self {
            ending,
            objective: f64::INFINITY,
            bound: f64::NEG_INFINITY,
            values: Vec::new(),
            shadow_prices: Vec::new(),
        }
    }

    /// The value of a column.
    pub fn value(&self, var: Var) -> f64 {
        self.values.get(var.0).copied().unwrap_or(0.0)
    }

    /// Whether a 0/1 column is 1.
    pub fn is_on(&self, var: Var) -> bool {
        self.value(var) > 0.5
    }
}

impl Model {
    /// A continuous column.
    pub fn continuous(&mut self, cost: f64, low: f64, high: f64) -> Var {
        self.column(cost, low, high, false)
    }

    /// A 0/1 column.
    pub fn binary(&mut self, cost: f64) -> Var {
        self.column(cost, 0.0, 1.0, true)
    }

    /// A whole-number column.
    pub fn integer(&mut self, cost: f64, low: f64, high: f64) -> Var {
        self.column(cost, low, high, true)
    }

    fn column(&mut self, cost: f64, low: f64, high: f64, whole: bool) -> Var {
        self.columns.push(Column {
            cost,
            low,
            high,
            whole,
        });
        Var(self.columns.len() - 1)
    }

    /// A row low ≤ Σ coefficient·column ≤ high; its index. Columns may be named twice.
    pub fn row(
        &mut self,
        low: f64,
        high: f64,
        terms: impl IntoIterator<Item = (Var, f64)>,
    ) -> usize {
        let mut terms: Vec<(usize, f64)> = terms.into_iter().map(|(v, a)| (v.0, a)).collect();
        terms.sort_by_key(|t| t.0);
        terms.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            if same {
                kept.1 += next.1;
            }
            same
        });
        terms.retain(|t| t.1 != 0.0);
        self.rows.push(Line { low, high, terms });
        self.rows.len() - 1
    }

    /// Σ ≤ high.
    pub fn at_most(&mut self, high: f64, terms: impl IntoIterator<Item = (Var, f64)>) -> usize {
        self.row(f64::NEG_INFINITY, high, terms)
    }

    /// Σ ≥ low.
    pub fn at_least(&mut self, low: f64, terms: impl IntoIterator<Item = (Var, f64)>) -> usize {
        self.row(low, f64::INFINITY, terms)
    }

    /// Σ = value.
    pub fn equal(&mut self, value: f64, terms: impl IntoIterator<Item = (Var, f64)>) -> usize {
        self.row(value, value, terms)
    }

    /// Adds to a column's cost.
    pub fn add_cost(&mut self, var: Var, cost: f64) {
        self.columns[var.0].cost += cost;
    }

    /// Fixes a column.
    pub fn fix(&mut self, var: Var, value: f64) {
        self.columns[var.0].low = value;
        self.columns[var.0].high = value;
    }

    /// Columns so far.
    pub fn width(&self) -> usize {
        self.columns.len()
    }

    /// The same with every column continuous.
    #[must_use]
    pub fn relaxed(mut self) -> Self {
        for column in &mut self.columns {
            column.whole = false;
        }
        self
    }

    /// Solves; `start` is a first x, one value a column, which need not satisfy the rows.
    pub fn solve(&self, effort: Effort, start: Option<&[f64]>) -> Solved {
        if effort.seconds <= 0.0 {
            return Solved::nothing(Ending::Limit);
        }
        let whole = self.columns.iter().any(|c| c.whole);
        let Some(model) = self.loaded(effort, start) else {
            return Solved::nothing(Ending::Failed);
        };
        let Ok(solved) = model.try_solve() else {
            return Solved::nothing(Ending::Failed);
        };
        let ending = match solved.status() {
            HighsModelStatus::Optimal | HighsModelStatus::ModelEmpty => Ending::Optimal,
            HighsModelStatus::Infeasible => Ending::Infeasible,
            HighsModelStatus::ReachedTimeLimit
            | HighsModelStatus::ReachedSolutionLimit
            | HighsModelStatus::ReachedIterationLimit
            | HighsModelStatus::ReachedInterrupt => Ending::Limit,
            _ => Ending::Failed,
        };
        let feasible = solved.primal_solution_status() == HighsSolutionStatus::Feasible;
        let mut out = Solved::nothing(ending);
        if feasible || ending == Ending::Optimal {
            let solution = solved.get_solution();
            out.values = solution.columns().to_vec();
            out.objective = self.constant + solved.objective_value();
            if !whole {
                out.shadow_prices = solution.dual_rows().to_vec();
            }
        }
        if whole {
            let bound = solved.double_info_value(c"mip_dual_bound");
            out.bound = bound.map_or(f64::NEG_INFINITY, |b| b + self.constant);
        } else if ending == Ending::Optimal {
            out.bound = out.objective;
        }
        out
    }

    fn loaded(&self, effort: Effort, start: Option<&[f64]>) -> Option<highs::Model> {
        let mut problem = RowProblem::new();
        let columns: Vec<_> = self
            .columns
            .iter()
            .map(|c| problem.add_column_with_integrality(c.cost, c.low..=c.high, c.whole))
            .collect();
        let mut terms = Vec::new();
        for row in &self.rows {
            terms.clear();
            terms.extend(row.terms.iter().map(|(v, a)| (columns[*v], *a)));
            problem.add_row(row.low..=row.high, &terms);
        }
        let mut model = problem.try_optimise(Sense::Minimise).ok()?;
        model.make_quiet();
        model.try_set_option("threads", 1).ok()?;
        model.try_set_option("parallel", "off").ok()?;
        model.try_set_option("random_seed", 7).ok()?;
        if effort.seconds.is_finite() {
            model.try_set_option("time_limit", effort.seconds).ok()?;
        }
        model
            .try_set_option("mip_rel_gap", effort.relative_gap)
            .ok()?;
        model
            .try_set_option("mip_abs_gap", effort.absolute_gap)
            .ok()?;
        model
            .try_set_option("mip_feasibility_tolerance", 1e-8)
            .ok()?;
        model
            .try_set_option("mip_heuristic_effort", effort.heuristics)
            .ok()?;
        if let Some(start) = start {
            // A start that HiGHS cannot use costs nothing: it begins without one.
            model.try_set_solution(Some(start), None, None, None).ok();
        }
        Some(model)
    }
}
