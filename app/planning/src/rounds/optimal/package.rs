//! What goes in as one visit: jobs of one space with the days and engineers open to all of them.
use super::tables::Tables;

/// A visit to be placed.
pub struct Package {
    /// The jobs, all of one space.
    pub jobs: Vec<usize>,
    /// Minutes.
    pub length: i32,
    /// Days on which all of them are open, ascending.
    pub open: Vec<u32>,
    /// Engineers who may do all of them.
    pub able: Vec<usize>,
}

fn both<T: PartialEq + Copy>(a: &[T], b: &[T]) -> Vec<T> {
    a.iter().copied().filter(|x| b.contains(x)).collect()
}

fn both_days(a: &[u32], b: &[u32]) -> Vec<u32> {
    a.iter()
        .copied()
        .filter(|x| b.binary_search(x).is_ok())
        .collect()
}

impl Package {
    /// One job alone.
    pub fn of(tables: &Tables<'_>, job: usize) -> Self {
        let named = tables.problem.jobs[job]
            .fixed
            .as_ref()
            .and_then(|f| f.engineer);
        let able = tables.leads[job].iter().copied();
        Self {
            jobs: vec![job],
            length: tables.length(&[job]),
            open: tables.open[job].clone(),
            able: able.filter(|e| named.is_none_or(|n| n == *e)).collect(),
        }
    }

    /// With another job of the space, if one visit can do both.
    pub fn with(&self, tables: &Tables<'_>, mate: usize) -> Option<Self> {
        let other = Self::of(tables, mate);
        let open = both_days(&self.open, &other.open);
        let able = both(&self.able, &other.able);
        let first = *open.first()?;
        if able.is_empty() {
            return None;
        }
        let mut jobs = self.jobs.clone();
        jobs.push(mate);
        tables.starts(&jobs, first as usize)?;
        Some(Self {
            length: tables.length(&jobs),
            jobs,
            open,
            able,
        })
    }
}
