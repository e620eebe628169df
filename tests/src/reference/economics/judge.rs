//! Compares one value with its known answer; a missing value never holds.
use crate::reference::report::Miss;

/// Counts judged values and keeps the misses of one case.
#[derive(Default)]
pub struct Judge {
    /// Values judged so far.
    pub judged: usize,
    /// Those that did not hold.
    pub misses: Vec<Miss>,
}

impl Judge {
    /// A number, or `None` = undefined, within an absolute tolerance.
    pub fn number(&mut self, path: &str, wanted: Option<f64>, got: Option<f64>, tolerance: f64) {
        let holds = match (wanted, got) {
            (None, None) => true,
            (Some(a), Some(b)) => (a - b).abs() <= tolerance,
            _ => false,
        };
        self.note(path, holds, show(wanted), show(got), tolerance.to_string());
    }

    /// A name or whole number that must be the same.
    pub fn same<T: PartialEq + std::fmt::Debug>(&mut self, path: &str, wanted: T, got: T) {
        let holds = wanted == got;
        let (wanted, got) = (format!("{wanted:?}"), format!("{got:?}"));
        self.note(path, holds, wanted, got, "exact".to_owned());
    }

    /// A failure of its own, such as an input that was refused.
    pub fn fail(&mut self, path: &str, wanted: &str, got: String) {
        self.note(path, false, wanted.to_owned(), got, "exact".to_owned());
    }

    fn note(&mut self, path: &str, holds: bool, expected: String, got: String, tolerance: String) {
        self.judged += 1;
        if !holds {
            let path = path.to_owned();
            self.misses.push(Miss {
                path,
                expected,
                got,
                tolerance,
            });
        }
    }
}

fn show(value: Option<f64>) -> String {
    value.map_or_else(|| "undefined".to_owned(), |v| v.to_string())
}
