//! What a visit leaves of the place itself: facts of its site that options read, as found or as made there. They are kept
//! as of the day of the visit, under the name of whoever wrote them down.
use inspection::Values;
use serde_json::{Map, Value, json};
use store::Tx;

use super::assess::Assessment;
use super::facts::Facts;
use super::sheet::Sheet;
use crate::register::{read_fact, state_site};
use crate::{Error, FieldError};

/// Fields of the reading of the cold main, and what the site calls them.
const COLD_MAIN: [(&str, &str); 3] = [
    ("main_static_bar", "static_bar"),
    ("main_dynamic_bar", "dynamic_bar_at_12"),
    ("main_flow_lpm", "max_flow_lpm"),
];

/// What was measured through a pipe says nothing of a wider one: pressure while it flows, and the most it gives.
const THROUGH_THE_PIPE: [&str; 2] = ["dynamic_bar_at_12", "max_flow_lpm"];

/// Facts of the place that cannot be read, each at its field.
pub(super) fn wrongs(sheet: &Sheet) -> Vec<FieldError> {
    sheet
        .behind("site.")
        .filter(|(_, typed)| !typed.is_empty())
        .filter_map(|(key, typed)| {
            let sentence = read_fact(key, typed).err()?;
            Some(FieldError::at(format!("site.{key}"), sentence))
        })
        .collect()
}

/// The facts of the place that a sheet states; null forgets one.
fn stated(site: &Value, sheet: &Sheet, (before, after): (&Values, &Values)) -> Map<String, Value> {
    let mut said: Map<String, Value> = sheet
        .behind("site.")
        .filter(|(_, typed)| !typed.is_empty())
        .filter_map(|(key, typed)| Some((key.to_owned(), read_fact(key, typed).ok()?)))
        .collect();
    let new_pipe = said
        .get("cold_pipe_mm")
        .is_some_and(|pipe| site.get("cold_pipe_mm") != Some(pipe));
    for (field, key) in COLD_MAIN {
        let outdated = new_pipe && THROUGH_THE_PIPE.contains(&key);
        let found = before.number(field).filter(|_| !outdated);
        if let Some(number) = after.number(field).or(found) {
            said.insert(key.to_owned(), json!(number));
        } else if outdated {
            said.insert(key.to_owned(), Value::Null);
        }
    }
    said
}

/// Keeps what the sheet says of the place. `came`: a new unit came, so its scale reducer is one of the place.
pub(super) fn keep(
    tx: &mut Tx<'_>,
    facts: &Facts,
    (sheet, assessment): (&Sheet, &Assessment),
    came: bool,
) -> Result<(), Error> {
    let measured = (&assessment.before, &assessment.after);
    let mut said = stated(&facts.space.site, sheet, measured);
    if let (true, Some(fitted)) = (came, sheet.yes_no("new.reducer")) {
        let word = if fitted { "yes" } else { "no" };
        said.insert("reducer_fitted".to_owned(), json!(word));
    }
    let before = state_site(tx, facts.space.id, &said, facts.day)?;
    if !before.is_empty() {
        said.retain(|key, _| before.contains_key(key));
        let body = json!({ "job": facts.job.number, "site": said, "before": before });
        let about = format!("space {}", facts.space.id);
        tx.note("site stated at a visit", &about, &body);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wider_pipe_forgets_what_was_measured_through_the_old_one() {
        let site = json!({ "cold_pipe_mm": 15.0, "static_bar": 2.4, "dynamic_bar_at_12": 0.8, "max_flow_lpm": 10.0 });
        let nothing = Values::new();
        let old = Values::new().with("main_flow_lpm", 10.0);
        let wider = Sheet::new().with("site.cold_pipe_mm", "22");
        let said = stated(&site, &wider, (&old, &nothing));
        let expected =
            json!({ "cold_pipe_mm": 22.0, "dynamic_bar_at_12": null, "max_flow_lpm": null });
        assert_eq!(
            Value::Object(said),
            expected,
            "found before the work, through 15 mm"
        );
        let new = Values::new()
            .with("main_static_bar", 2.4)
            .with("main_flow_lpm", 18.0);
        let said = stated(&site, &wider, (&old, &new));
        let expected = json!({
            "cold_pipe_mm": 22.0, "static_bar": 2.4, "dynamic_bar_at_12": null, "max_flow_lpm": 18.0
        });
        assert_eq!(Value::Object(said), expected);
        // The same pipe said again: what is measured through it stands, as found.
        let same = Sheet::new().with("site.cold_pipe_mm", "15");
        let said = stated(&site, &same, (&old, &nothing));
        let expected = json!({ "cold_pipe_mm": 15.0, "max_flow_lpm": 10.0 });
        assert_eq!(Value::Object(said), expected);
    }

    #[test]
    fn what_cannot_be_is_told_at_its_field() {
        let sheet = Sheet::new()
            .with("site.cold_pipe_mm", "wide")
            .with("site.isolation_valve", "yes")
            .with("site.discharge_route", "");
        let fields: Vec<String> = wrongs(&sheet).into_iter().map(|w| w.field).collect();
        assert_eq!(fields, ["site.cold_pipe_mm"]);
    }
}
