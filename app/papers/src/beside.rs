//! Courses side by side become tables: one line a fact, one column a course, as many tables as the sheet is narrow.
use serde_json::{Map, Value, json};

/// Courses that have room beside one another.
const ABREAST: usize = 3;

/// Puts tables in the place of columns, in every section.
pub(crate) fn arrange(paper: &mut Value) {
    let sections = paper.get_mut("sections").and_then(Value::as_array_mut);
    for section in sections.into_iter().flatten() {
        if let Some(parts) = section.get_mut("parts").and_then(Value::as_array_mut) {
            *parts = parts.drain(..).flat_map(tables).collect();
        }
    }
}

fn tables(part: Value) -> Vec<Value> {
    match part.get("columns").and_then(Value::as_array) {
        Some(columns) => columns.chunks(ABREAST).map(table).collect(),
        None => vec![part],
    }
}

fn table(columns: &[Value]) -> Value {
    let heads: Vec<Value> = columns
        .iter()
        .map(|c| json!({ "title": c["title"], "verdict": c["verdict"] }))
        .collect();
    let rows: Vec<Vec<&str>> = names(columns)
        .into_iter()
        .map(|name| {
            let cells = columns.iter().map(|column| value(column, name));
            std::iter::once(name).chain(cells).collect()
        })
        .collect();
    json!({ "is": "columns", "heads": heads, "rows": rows })
}

/// Every name once, each after the one it follows in its own column.
fn names(columns: &[Value]) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for column in columns {
        let mut next = 0;
        for fact in facts(column) {
            let name = text(fact, "name");
            next = if let Some(place) = names.iter().position(|n| *n == name) {
                place + 1
            } else {
                names.insert(next, name);
                next + 1
            };
        }
    }
    names
}

fn value<'a>(column: &'a Value, name: &str) -> &'a str {
    facts(column)
        .find(|fact| text(fact, "name") == name)
        .map_or("–", |fact| text(fact, "value"))
}

fn facts(column: &Value) -> impl Iterator<Item = &Map<String, Value>> {
    let facts = column.get("facts").and_then(Value::as_array);
    facts.into_iter().flatten().filter_map(Value::as_object)
}

fn text<'a>(fact: &'a Map<String, Value>, key: &str) -> &'a str {
    fact.get(key).and_then(Value::as_str).unwrap_or_default()
}
