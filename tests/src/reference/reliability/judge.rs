//! Walks `expected`, finds each leaf's tolerance, compares.
use serde_json::Value;

use crate::reference::report::Miss;

/// Judges `got` against `expected`: how many leaves were judged, and those that missed.
pub fn judge(expected: &Value, got: &Value, tolerance: &Value) -> (usize, Vec<Miss>) {
    let mut judge = Judge {
        tolerance,
        judged: 0,
        misses: Vec::new(),
    };
    judge.walk("", expected, Some(got));
    (judge.judged, judge.misses)
}

struct Judge<'a> {
    tolerance: &'a Value,
    judged: usize,
    misses: Vec<Miss>,
}

impl Judge<'_> {
    fn walk(&mut self, path: &str, expected: &Value, got: Option<&Value>) {
        match expected {
            Value::Object(fields)
                if fields.contains_key("columns") && fields.contains_key("rows") =>
            {
                self.table(path, expected, got);
            }
            Value::Object(fields) => {
                for (key, value) in fields {
                    self.walk(&join(path, key), value, got.and_then(|g| g.get(key)));
                }
            }
            Value::Array(items) => {
                let given = got.and_then(Value::as_array);
                // A longer answer than the known one is wrong too.
                if given.is_some_and(|g| g.len() != items.len()) {
                    let length = given.map_or(0, Vec::len);
                    self.miss(
                        path,
                        &format!("{} items", items.len()),
                        &format!("{length} items"),
                    );
                }
                for (i, item) in items.iter().enumerate() {
                    self.walk(path, item, given.and_then(|g| g.get(i)));
                }
                if items.is_empty() {
                    self.judged += 1;
                }
            }
            leaf => self.leaf(path, leaf, got),
        }
    }

    /// Rows shown are a selection: each is looked up by its first column, which must agree exactly.
    fn table(&mut self, path: &str, expected: &Value, got: Option<&Value>) {
        let columns = names(expected);
        let given = got.map(names).unwrap_or_default();
        let empty = Vec::new();
        let found = |key: &Value| {
            got.and_then(|g| g.get("rows"))
                .and_then(Value::as_array)
                .unwrap_or(&empty)
                .iter()
                .find(
                    |row| match (row.get(0).and_then(Value::as_f64), key.as_f64()) {
                        (Some(a), Some(b)) => a == b,
                        _ => row.get(0) == Some(key),
                    },
                )
        };
        for row in expected
            .get("rows")
            .and_then(Value::as_array)
            .unwrap_or(&empty)
        {
            let own = row.get(0).and_then(found);
            for (i, column) in columns.iter().enumerate() {
                let place = given.iter().position(|name| name == column);
                let value = own.and_then(|r| place.and_then(|p| r.get(p)));
                let path = join(path, column);
                match row.get(i) {
                    Some(wanted) => self.leaf(&path, wanted, value),
                    None => self.miss(&path, "a column", "a short row in the case file"),
                }
            }
        }
    }

    fn leaf(&mut self, path: &str, expected: &Value, got: Option<&Value>) {
        self.judged += 1;
        let passed = match (expected, got) {
            (Value::Null, None | Some(Value::Null)) => true,
            (Value::Number(wanted), Some(Value::Number(given))) => {
                let (abs, rel) = self.tolerance_of(path);
                match (wanted.as_f64(), given.as_f64()) {
                    (Some(w), Some(g)) => (g - w).abs() <= abs + rel * w.abs(),
                    _ => false,
                }
            }
            (wanted, Some(given)) => wanted == given,
            (_, None) => false,
        };
        if !passed {
            let given = got.map_or_else(|| "nothing".to_owned(), ToString::to_string);
            self.miss(path, &expected.to_string(), &given);
        }
    }

    fn miss(&mut self, path: &str, expected: &str, got: &str) {
        let (abs, rel) = self.tolerance_of(path);
        self.misses.push(Miss {
            path: path.to_owned(),
            expected: expected.to_owned(),
            got: got.to_owned(),
            tolerance: format!("abs {abs:e} rel {rel:e}"),
        });
    }

    /// (abs, rel) of the longest dotted ending of the path that has an entry, else of `default`.
    fn tolerance_of(&self, path: &str) -> (f64, f64) {
        let keys: Vec<&str> = path.split('.').collect();
        let entry = (0..keys.len())
            .find_map(|i| self.tolerance.get(keys[i..].join(".")))
            .or_else(|| self.tolerance.get("default"));
        let number = |key: &str| {
            entry
                .and_then(|e| e.get(key))
                .and_then(Value::as_f64)
                .unwrap_or(0.0)
        };
        (number("abs"), number("rel"))
    }
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

fn names(table: &Value) -> Vec<String> {
    let columns = table.get("columns").and_then(Value::as_array);
    columns
        .map(|c| {
            c.iter()
                .filter_map(Value::as_str)
                .map(str::to_owned)
                .collect()
        })
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn the_longest_ending_rules_and_a_missing_value_fails() {
        let tolerance = json!({"default": {"rel": 0.1}, "x": {"abs": 0.5}, "a.x": {"abs": 0.01}});
        let expected = json!({"a": {"x": 1.0}, "b": {"x": 1.0}, "c": 10.0, "d": null, "e": [1, 2]});
        let got = json!({"a": {"x": 1.4}, "b": {"x": 1.4}, "c": 10.9, "e": [1]});
        let (judged, misses) = judge(&expected, &got, &tolerance);
        assert_eq!(judged, 6);
        let paths: Vec<&str> = misses.iter().map(|m| m.path.as_str()).collect();
        assert_eq!(paths, ["a.x", "e", "e"]);
    }

    #[test]
    fn not_a_number_is_not_null() {
        // serde_json prints not-a-number as null; the families therefore answer with an option, never with NaN.
        let (_, misses) = judge(&json!({"a": null}), &json!({"a": 1.0}), &json!({}));
        assert_eq!(misses.len(), 1);
    }

    #[test]
    fn tables_are_looked_up_by_their_first_column() {
        let expected = json!({"columns": ["time", "S"], "rows": [[2.0, 0.5], [9.0, 0.1]]});
        let got = json!({"columns": ["S", "time"], "rows": [[0.5, 2.0]]});
        // First column of the answer must be the key too.
        assert_eq!(judge(&expected, &got, &json!({})).1.len(), 4);
        let got = json!({"columns": ["time", "n", "S"], "rows": [[1.0, 9, 0.9], [2.0, 8, 0.5]]});
        assert_eq!(judge(&expected, &got, &json!({})).1.len(), 2);
    }
}
