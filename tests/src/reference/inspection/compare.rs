//! Every key of `expected` against the answer: numbers within abs + rel × |expected|, everything
//! else equal, lists in order. Keys the product adds are passed over; missing ones fail.
use serde_json::Value as Json;

use crate::reference::report::Miss;

struct Judge {
    abs: f64,
    rel: f64,
    judged: usize,
    misses: Vec<Miss>,
}

/// How many values were judged, and those that missed.
pub fn compare(got: &Json, expected: &Json, tolerance: &Json) -> (usize, Vec<Miss>) {
    let part = |key: &str| tolerance.get(key).and_then(Json::as_f64).unwrap_or(0.0);
    let mut judge = Judge {
        abs: part("abs"),
        rel: part("rel"),
        judged: 0,
        misses: Vec::new(),
    };
    judge.value("", Some(got), expected);
    (judge.judged, judge.misses)
}

impl Judge {
    fn value(&mut self, path: &str, got: Option<&Json>, expected: &Json) {
        match expected {
            Json::Object(members) => {
                for (key, inner) in members {
                    let path = format!("{path}.{key}");
                    self.value(&path, got.and_then(|g| g.get(key)), inner);
                }
                if members.is_empty() {
                    self.leaf(path, got, expected, got.is_some_and(Json::is_object));
                }
            }
            Json::Array(items) => {
                let list = got.and_then(Json::as_array);
                let length = list.map(Vec::len);
                self.leaf(path, got, expected, length == Some(items.len()));
                for (i, inner) in items.iter().enumerate() {
                    let member = list.and_then(|l| l.get(i));
                    self.value(&format!("{path}[{i}]"), member, inner);
                }
            }
            Json::Number(number) => {
                let near = match (got.and_then(Json::as_f64), number.as_f64()) {
                    (Some(got), Some(want)) => {
                        (got - want).abs() <= self.abs + self.rel * want.abs()
                    }
                    _ => false,
                };
                self.leaf(path, got, expected, near);
            }
            _ => self.leaf(path, got, expected, got == Some(expected)),
        }
    }

    fn leaf(&mut self, path: &str, got: Option<&Json>, expected: &Json, holds: bool) {
        self.judged += 1;
        if !holds {
            self.misses.push(Miss {
                path: path.trim_start_matches('.').to_owned(),
                expected: expected.to_string(),
                got: got.map_or_else(|| "missing".to_owned(), ToString::to_string),
                tolerance: format!("{} + {} rel", self.abs, self.rel),
            });
        }
    }
}
