//! A temperature at an outlet of a monthly round against its limit, and what is done about it.
//!
//! Which row speaks of which place: HSE's pages on hot and cold water systems (published pages), as the rule book
//! holds them. That a reading taken long after the rule's minute says less is common practice, no source.
use crate::InspectionError;
use crate::expr::Values;
use crate::findings::judge;
use crate::rulebook::{Level, RuleBook};

/// What the rule says of one reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutletFinding {
    /// How grave.
    pub level: Level,
    /// In a sentence; the limit itself when passed.
    pub sentence: String,
    /// What is done about it; empty when nothing is.
    pub what_to_do: &'static str,
}

/// How one place is judged.
struct Rule {
    place: &'static str,
    row: &'static str,
    value: &'static str,
    /// Seconds within which the rule wants the reading; none for a store.
    within_s: Option<i64>,
    what_to_do: &'static str,
}

const RULES: [Rule; 4] = [
    Rule {
        place: "hot_sentinel",
        row: "B3",
        value: "hot_c_at_60s",
        within_s: Some(60),
        what_to_do: "Run it one minute more and read again. See that the store is hot and that the pump of the return \
            runs; with a mixing valve before this tap, read at its hot inlet. Tell the office today. Change no setting: \
            cooler water lets legionella grow, hotter water scalds a child in seconds.",
    },
    Rule {
        place: "cold_sentinel",
        row: "B4",
        value: "cold_c",
        within_s: Some(120),
        what_to_do: "Run it two minutes more and read again. Look for a warm pipe beside it, a warm tank, or hot water \
            passing a mixing valve. Tell the office today, and make no spray with it until it is looked at: legionella \
            grows in water of 20 to 45 °C.",
    },
    Rule {
        place: "store_outflow",
        row: "B1",
        value: "outflow_c",
        within_s: None,
        what_to_do: "Tell the office today: somebody competent looks at the heat source, the thermostat and the pump. \
            Change no setting: water from a store burns in seconds, and cooler water lets legionella grow.",
    },
    Rule {
        place: "store_return",
        row: "B2",
        value: "return_c",
        within_s: None,
        what_to_do: "Look whether the pump of the return runs and its pipe is warm. Tell the office today: a loop may be \
            shut or out of balance.",
    },
];

/// The limit of a place in words, with the row it comes from; none where no limit is held.
pub fn limit_of<'a>(book: &'a RuleBook, place: &str) -> Option<(&'static str, &'a str)> {
    let rule = RULES.iter().find(|r| r.place == place)?;
    let limit = book.limit(rule.row).ok()?;
    Some((rule.row, limit.limit.as_str()))
}

/// How long the water runs before the reading, in words; empty for a store and for any other outlet.
pub fn how_long(place: &str) -> &'static str {
    match place {
        "hot_sentinel" => "run it up to one minute",
        "cold_sentinel" => "run it up to two minutes",
        _ => "",
    }
}

/// Judges `temp_c` at a place after `seconds_run`. A place without a limit passes.
///
/// # Errors
/// Only if the rule book itself lacks a row.
pub fn judge_outlet(
    book: &RuleBook,
    place: &str,
    temp_c: f64,
    seconds_run: Option<i64>,
) -> Result<OutletFinding, InspectionError> {
    let Some(rule) = RULES.iter().find(|r| r.place == place) else {
        return Ok(OutletFinding {
            level: Level::Pass,
            sentence: "No limit is held for this outlet.".to_owned(),
            what_to_do: "",
        });
    };
    let judged = judge(
        book,
        rule.row,
        &Values::new().with(rule.value, temp_c),
        None,
    )?;
    let late = rule
        .within_s
        .zip(seconds_run)
        .filter(|(within, run)| run > within);
    if let (Level::Pass, Some((within, run))) = (judged.level, late) {
        return Ok(OutletFinding {
            level: Level::Watch,
            sentence: format!(
                "Read after {run} seconds; the limit speaks of {within}. Next time read it by then."
            ),
            what_to_do: "",
        });
    }
    Ok(OutletFinding {
        what_to_do: if judged.level >= Level::Act {
            rule.what_to_do
        } else {
            ""
        },
        level: judged.level,
        sentence: judged.sentence,
    })
}
