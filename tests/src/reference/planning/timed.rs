//! How long a sized case took, by the wall and by the processors, and whether that is within what is asked for its size.
use std::time::Instant;

use super::processor;
use crate::reference::economics::judge::Judge;

/// Of the time asked for, what a search is given: the rest is for handing over what it has found. Our choice.
const SEARCHED: f64 = 0.95;

/// A clock of one case: what counts is the larger of the wall's seconds and those of each processor, so that work on one of two
/// processors is not counted as half of it.
pub struct Timed {
    limit: f64,
    threads: usize,
    begun: Instant,
    used: Option<f64>,
}

/// What a case took, in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Took {
    limit: f64,
    threads: usize,
    wall: f64,
    /// Of all its processors; `None` where the system does not tell.
    processors: Option<f64>,
}

impl Timed {
    /// From now; `threads` processors are used, one = that of this thread alone.
    pub fn now(limit: f64, threads: usize) -> Self {
        Self {
            limit,
            threads: threads.max(1),
            begun: Instant::now(),
            used: processor(whose(threads)),
        }
    }

    /// What the search still has.
    pub fn left(&self) -> f64 {
        self.limit * SEARCHED - self.took().counted()
    }

    /// So far; to be read in the thread that began it.
    pub fn took(&self) -> Took {
        let now = processor(whose(self.threads));
        Took {
            limit: self.limit,
            threads: self.threads,
            wall: self.begun.elapsed().as_secs_f64(),
            processors: self.used.zip(now).map(|(before, now)| now - before),
        }
    }
}

impl Took {
    /// What counts against what was asked for.
    fn counted(&self) -> f64 {
        let each = self.processors.map_or(0.0, |all| all / self.threads as f64);
        self.wall.max(each)
    }

    /// Handed over in time.
    pub fn judge(&self, judge: &mut Judge) {
        let path = format!("handed over within {} s", self.limit);
        judge.same(&path, true, self.counted() <= self.limit);
    }

    /// ", 61.2 s by the wall, 98.0 s of 2 processors, of 120 s".
    pub fn words(&self) -> String {
        let processors = self.processors.map_or_else(String::new, |all| {
            format!(", {all:.1} s of {} processors", self.threads)
        });
        format!(
            ", {:.1} s by the wall{processors}, of {} s",
            self.wall, self.limit
        )
    }
}

/// One thread's work is its own: another case may be at work beside it.
const fn whose(threads: usize) -> &'static str {
    if threads > 1 { "self" } else { "thread-self" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_larger_of_wall_and_processor_counts() {
        let took = |wall, processors| Took {
            limit: 60.0,
            threads: 2,
            wall,
            processors,
        };
        for (wall, processors, counted, holds) in [
            (59.0, Some(60.0), 59.0, true),
            // One of two processors at work: the wall is past.
            (61.0, Some(61.0), 61.0, false),
            (30.0, Some(122.0), 61.0, false),
            (61.0, None, 61.0, false),
        ] {
            let took = took(wall, processors);
            assert!((took.counted() - counted).abs() < 1e-9, "{took:?}");
            let mut judge = Judge::default();
            took.judge(&mut judge);
            assert_eq!((judge.judged, judge.misses.is_empty()), (1, holds));
        }
        let said = took(61.2, Some(98.0)).words();
        assert_eq!(
            said,
            ", 61.2 s by the wall, 98.0 s of 2 processors, of 60 s"
        );
    }
}
