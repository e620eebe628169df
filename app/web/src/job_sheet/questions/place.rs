//! The place itself as it is found or left: what options ask of it the next time.
use serde_json::Value;
use usecases::visit::SheetView;

use super::{Answers, Ask, Question};

/// Kinds that stand in a home and could give way to another: only there the place decides what fits.
const IN_A_HOME: [&str; 7] = ["CB", "EB", "GB", "HIU", "TS", "UV", "VC"];

/// What stands on record of a fact, beside its question.
fn on_record(view: &SheetView, key: &str, unit: &str) -> Option<(String, String)> {
    let words = match view.facts.space.site.get(key)? {
        Value::Number(number) => format!("{} {unit}", number.as_f64()?).trim_end().to_owned(),
        Value::String(word) => word.clone(),
        _ => return None,
    };
    Some(("On record".to_owned(), words))
}

/// The questions; none where no option would ask.
pub(super) fn place(view: &SheetView, answers: &Answers<'_>) -> Vec<Question> {
    if !IN_A_HOME.contains(&view.facts.kind_code()) {
        return Vec::new();
    }
    let mut pipe = answers.pick(
        "site.cold_pipe_mm",
        "The cold pipe to it, as you leave it",
        Ask::List,
        &[
            ("", "not looked at"),
            ("15", "15 mm"),
            ("22", "22 mm"),
            ("28", "28 mm"),
            ("35", "35 mm"),
        ],
    );
    pipe.then = on_record(view, "cold_pipe_mm", "mm");
    let yes_no = |key: &str, label: &str| {
        let mut asked = answers.yes_no(&format!("site.{key}"), label);
        asked.then = on_record(view, key, "");
        asked
    };
    let mut spare = answers.ask(
        "site.electric_kw_spare",
        "Electric supply to spare, kW",
        Ask::Line,
    );
    spare.then = on_record(view, "electric_kw_spare", "kW");
    vec![
        pipe,
        yes_no("isolation_valve", "An isolation valve on the cold main?"),
        yes_no(
            "discharge_route",
            "A route for the discharge pipes D1 and D2?",
        )
        .folded(),
        yes_no("condensate_route", "A drain for condensate?").folded(),
        spare.folded(),
    ]
}
