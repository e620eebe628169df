//! Facts about readings: limits, formulas, what is measured, which parts are suspected, what stops a job.
use usecases::facts::{Facts, Table as Suspects};
use usecases::visit::ReadingSpec;
use wording::Table;
use wording::sentences::{capital, dates};

use super::{Group, group};

/// Every limit of the rule book.
pub(super) fn limits(facts: &Facts) -> Vec<Group> {
    let as_at = dates::day(facts.book.as_at());
    let rows = facts
        .book
        .limits()
        .iter()
        .map(|limit| {
            let maker = if limit.maker_names().is_empty() {
                ""
            } else {
                " A maker’s figure for the unit comes first."
            };
            vec![
                format!("{} {}", limit.row.replace('_', " "), limit.title),
                format!("{}.{maker}", capital(&limit.limit)),
                limit.status.clone(),
                limit.source.clone(),
                as_at.clone(),
            ]
        })
        .collect();
    let table = Table::new(
        &["Reading", "Limit", "How it is known", "Source", "As at"],
        rows,
    );
    let mut calibration: Vec<String> = facts
        .book
        .sets()
        .iter()
        .flat_map(|set| set.readings.iter().chain(&set.tests))
        .filter(|r| facts.book.calibration_acts(&r.code))
        .map(|r| r.label.to_lowercase())
        .collect();
    calibration.sort();
    calibration.dedup();
    let mut found = group("limits", "Limits", "Row, limit, status", table);
    found.words.push(format!(
        "An instrument out of calibration is to be acted on for {}; elsewhere it is watched (common practice, no source).",
        wording::sentences::list(&calibration)
    ));
    found.words.push(
        "Trends, all common practice, no source: a limit crossed since the last visit; three visits moving the same way \
         by more than 15 %; a step of more than 20 % with no work on record; at this pace over the limit before the next \
         visit."
            .to_owned(),
    );
    vec![found]
}

/// The formulas in words and the constants they use.
pub(super) fn formulas(facts: &Facts) -> Vec<Group> {
    let as_at = dates::day(facts.book.as_at());
    let rows = facts
        .formulas
        .iter()
        .map(|f| {
            vec![
                format!("{} {}", f.code, f.name),
                f.formula.clone(),
                f.status.clone(),
                as_at.clone(),
            ]
        })
        .collect();
    let formulas = Table::new(&["What", "Formula", "How it is known", "As at"], rows);
    let rows = facts
        .book
        .formulas()
        .iter()
        .map(|f| {
            vec![
                format!("{} {}", f.formula, f.title),
                f.words.clone(),
                f.status.clone(),
                as_at.clone(),
            ]
        })
        .collect();
    let reckoned = Table::new(&["What", "As reckoned", "How it is known", "As at"], rows);
    let rows = facts
        .book
        .constant_rows()
        .iter()
        .map(|c| {
            vec![
                c.name.replace('_', " "),
                c.value.to_string(),
                c.status.clone(),
                as_at.clone(),
            ]
        })
        .collect();
    let constants =
        Table::new(&["Constant", "Value", "How it is known", "As at"], rows).numbers(&[1]);
    vec![
        group("formulas", "Formulas", "And the six date rules", formulas),
        group(
            "reckoned",
            "In the rule book",
            "As a reading is judged, here and on the phone",
            reckoned,
        ),
        group(
            "constants",
            "Constants",
            "The same figures as the program computes with",
            constants,
        ),
    ]
}

/// What a service measures of each kind of unit.
pub(super) fn sets(facts: &Facts) -> Vec<Group> {
    facts
        .book
        .sets()
        .iter()
        .map(|set| {
            let line = |spec: &ReadingSpec, when: &str| {
                let fields: Vec<String> = spec
                    .fields
                    .iter()
                    .map(|f| {
                        if f.unit.is_empty() {
                            f.label.to_lowercase()
                        } else {
                            format!("{}, {}", f.label.to_lowercase(), f.unit)
                        }
                    })
                    .collect();
                vec![
                    spec.label.clone(),
                    spec.place.clone(),
                    fields.join("; "),
                    when.to_owned(),
                    PRACTICE.to_owned(),
                    dates::day(facts.book.as_at()),
                ]
            };
            let rows = set
                .readings
                .iter()
                .map(|r| {
                    line(
                        r,
                        if r.first_service {
                            "at the first service"
                        } else {
                            "at every service"
                        },
                    )
                })
                .chain(set.tests.iter().map(|r| line(r, "when it is wanted")))
                .collect();
            let heads = [
                "Reading",
                "Where",
                "What is typed",
                "When",
                "How it is known",
                "As at",
            ];
            let table = Table::new(&heads, rows);
            let mut found = group(
                &format!("set-{}", set.kinds.join("-")),
                &set.title,
                &format!("as at {}", dates::day(facts.book.as_at())),
                table,
            );
            found.words.push(
                "The least a service records: common practice, no source. A reading not taken is itself a finding, on \
                 the visit and not on the unit."
                    .to_owned(),
            );
            found
        })
        .collect()
}

/// The symptom tables: each part with its prior and the chance of each sign given that part.
pub(super) fn symptoms(facts: &Facts) -> Vec<Group> {
    let ranking = facts.book.ranking();
    let mut groups = vec![Group {
        id: "ranking".to_owned(),
        heading: "How parts are ranked".to_owned(),
        note: ranking.status.clone(),
        words: vec![
            format!(
                "A sign not listed for a part is taken to be seen in {} of 1,000 cases, a direct proof in {} of 1,000; no \
                 chance counts under {} or over {} of 1,000.",
                thousand(ranking.background),
                thousand(ranking.proof),
                thousand(ranking.lowest),
                thousand(ranking.highest)
            ),
            format!(
                "A part replaced within {} months counts {} times as much; within {} months its warranty is named. Hard \
                 water over {} mg/l without a reducer makes parts that scale count {} times as much.",
                ranking.recent_months,
                ranking.recent_factor,
                ranking.warranty_months,
                ranking.hard_above_mg_l,
                ranking.hard_factor
            ),
            format!(
                "Own closed jobs replace the tables: a prior counts as {} jobs, a sign as {}.",
                ranking.prior_weight, ranking.likelihood_weight
            ),
            "Likely parts, by past faults and readings. Not a diagnosis.".to_owned(),
        ],
        table: None,
    }];
    groups.extend(facts.book.tables().iter().map(|t| suspects(facts, t)));
    groups
}

/// One kind's parts.
fn suspects(facts: &Facts, table: &Suspects) -> Group {
    let status = &facts.book.ranking().status;
    let rows = table
        .parts
        .iter()
        .map(|part| {
            let seen: Vec<String> = part
                .seen
                .iter()
                .map(|(code, chance)| {
                    let words = table
                        .observation(code)
                        .map_or(code.as_str(), |o| o.words.as_str());
                    format!("{words}: {} in 100", hundred(*chance))
                })
                .collect();
            vec![
                part.part.clone(),
                format!("{} in 100", hundred(part.prior)),
                seen.join(". "),
                status.clone(),
            ]
        })
        .collect();
    let list = Table::new(
        &[
            "Part",
            "Of all faults",
            "Seen when it is this part",
            "How it is known",
        ],
        rows,
    );
    group(
        &format!("table-{}", table.kind),
        &table.title,
        &format!("as at {}", dates::day(facts.book.as_at())),
        list,
    )
}

fn hundred(chance: f64) -> String {
    let text = format!("{:.1}", chance * 100.0);
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

fn thousand(chance: f64) -> String {
    format!("{:.0}", chance * 1000.0)
}

/// The hard and soft blocks of completion, and what rules a replacement out.
pub(super) fn blocks(facts: &Facts) -> Vec<Group> {
    vec![hard(facts), parts(facts), soft(facts), options(facts)]
}

/// Which parts are gas, electrical or wet work to fit, whatever was ticked on the sheet.
fn parts(facts: &Facts) -> Group {
    let as_at = dates::day(facts.book.as_at());
    let rows = facts
        .book
        .part_classes()
        .iter()
        .map(|row| {
            vec![
                format!("{} work", row.class.code()),
                row.kinds.join(", "),
                row.parts.join(", ").replace('_', " "),
                row.status.clone(),
                as_at.clone(),
            ]
        })
        .collect();
    let heads = [
        "Fitting it is",
        "Kinds",
        "Parts",
        "How it is known",
        "As at",
    ];
    group(
        "parts",
        "What a part makes of the work",
        "Whatever was ticked",
        Table::new(&heads, rows),
    )
}

fn hard(facts: &Facts) -> Group {
    let as_at = dates::day(facts.book.as_at());
    let rows = facts
        .book
        .blocks()
        .iter()
        .map(|b| {
            let who = if b.overridable {
                "a named supervisor, with a reason"
            } else {
                "nobody"
            };
            vec![
                b.block.to_string(),
                b.words.clone(),
                who.to_owned(),
                b.status.clone(),
                as_at.clone(),
            ]
        })
        .collect();
    let table = Table::new(
        &[
            "No.",
            "What must be so",
            "Who may override",
            "How it is known",
            "As at",
        ],
        rows,
    );
    group("hard", "Cannot be closed", "Other ends stay open", table)
}

/// How soft blocks and site rules are known: the trade file has no source for them.
const PRACTICE: &str = "common practice, no source";

fn soft(facts: &Facts) -> Group {
    let as_at = dates::day(facts.book.as_at());
    let rows = facts
        .book
        .soft_blocks()
        .iter()
        .map(|b| vec![b.words.clone(), PRACTICE.to_owned(), as_at.clone()])
        .collect();
    let table = Table::new(
        &["Asks for a typed reason", "How it is known", "As at"],
        rows,
    );
    group("soft", "Closed with a reason", "", table)
}

fn options(facts: &Facts) -> Group {
    let as_at = dates::day(facts.book.as_at());
    let rows = facts
        .book
        .feasibility()
        .iter()
        .map(|f| {
            let verdict = match f.verdict.code() {
                "ruled_out" => "ruled out",
                "fits_after_works" => "after works or a survey",
                _ => "fits",
            };
            vec![
                f.words.clone(),
                f.options.join(", "),
                verdict.to_owned(),
                PRACTICE.to_owned(),
                as_at.clone(),
            ]
        })
        .collect();
    let table = Table::new(
        &["When", "Options", "Verdict", "How it is known", "As at"],
        rows,
    );
    let note = "A survey by a licensed person decides";
    group("options", "What a site allows", note, table)
}
