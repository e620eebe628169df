//! What must hold of a rule book before anything is judged by it.
use std::collections::BTreeSet;

use super::formulas::Formula;
use super::{Limit, Pages, SCHEMA, Set, Table};

/// The first thing wrong, as a sentence.
pub fn check(pages: &Pages) -> Result<(), String> {
    if pages.schema != SCHEMA {
        return Err(format!("its form is '{}', not '{SCHEMA}'", pages.schema));
    }
    once("constant", pages.constants.iter().map(|c| c.name.as_str()))?;
    check_formulas(&pages.formulas)?;
    once("limit", pages.limits.iter().map(|l| l.row.as_str()))?;
    pages.limits.iter().try_for_each(check_limit)?;
    once(
        "kind",
        pages
            .sets
            .iter()
            .flat_map(|s| s.kinds.iter().map(String::as_str)),
    )?;
    for set in &pages.sets {
        check_set(pages, set)?;
    }
    once(
        "symptom table",
        pages.suspects.iter().map(|t| t.kind.as_str()),
    )?;
    pages.suspects.iter().try_for_each(check_table)?;
    once("event", pages.events.iter().map(|e| e.event.as_str()))?;
    once("report", pages.response.iter().map(|r| r.report.as_str()))?;
    for rule in &pages.response {
        if rule.all.is_none() && (rule.winter.is_none() || rule.summer.is_none()) {
            return Err(format!("report {} has no times for a season", rule.report));
        }
        let held = |d: &String| pages.right_to_repair.iter().any(|r| r.defect == *d);
        if !rule.defect.iter().all(held) {
            return Err(format!(
                "report {} names a defect that is not listed",
                rule.report
            ));
        }
    }
    once(
        "feasibility row",
        pages.feasibility.iter().map(|f| f.reason.as_str()),
    )?;
    for soft in &pages.soft_blocks {
        let held = |row: &String| pages.limits.iter().any(|l| l.row == *row);
        if !soft.rows.iter().all(held) {
            return Err(format!(
                "soft block {} names a limit that is not listed",
                soft.key
            ));
        }
    }
    let numbers: Vec<u8> = pages.blocks.iter().map(|b| b.block).collect();
    if numbers.is_sorted_by(|a, b| a < b) {
        Ok(())
    } else {
        Err("the completion blocks are not in the order of their numbers".to_owned())
    }
}

fn once<'a>(what: &str, names: impl Iterator<Item = &'a str>) -> Result<(), String> {
    let mut met = BTreeSet::new();
    for name in names {
        if !met.insert(name) {
            return Err(format!("{what} '{name}' stands twice"));
        }
    }
    Ok(())
}

/// What a formula gives it must name, and it may only call formulas that stand before it.
fn check_formulas(formulas: &[Formula]) -> Result<(), String> {
    once("formula", formulas.iter().map(|f| f.formula.as_str()))?;
    for (n, formula) in formulas.iter().enumerate() {
        let code = &formula.formula;
        let made = |name: &String| formula.lets.iter().any(|step| step.name == *name);
        if let Some(name) = formula.gives.iter().find(|name| !made(name)) {
            return Err(format!("formula {code} gives {name} but never makes it"));
        }
        if let Some(name) = formula.optional.iter().find(|n| !formula.gives.contains(n)) {
            return Err(format!("formula {code} does not give {name}"));
        }
        for call in formula.lets.iter().filter_map(|step| step.call()) {
            let before = formulas.iter().take(n);
            let known = before
                .filter(|f| f.formula == call.formula)
                .any(|f| f.gives.contains(&call.result));
            if !known {
                return Err(format!(
                    "formula {code} calls {}, which does not stand before it",
                    call.formula
                ));
            }
        }
    }
    Ok(())
}

fn check_limit(limit: &Limit) -> Result<(), String> {
    let row = &limit.row;
    let open_end = match (limit.bands.last(), limit.rules.last()) {
        (Some(band), _) => band.to.is_none() && limit.value.is_some(),
        (None, Some(rule)) => rule.when.is_none(),
        (None, None) => false,
    };
    if !open_end {
        return Err(format!("limit {row} leaves some values without a level"));
    }
    let ends: Vec<f64> = limit.bands.iter().filter_map(|b| b.to).collect();
    if ends.len() + 1 < limit.bands.len() || !ends.is_sorted_by(|a, b| a < b) {
        return Err(format!("the bands of limit {row} are not in order"));
    }
    let codes = limit
        .rules
        .iter()
        .map(|r| (r.level, &r.code))
        .chain(limit.bands.iter().map(|b| (b.level, &b.code)));
    for (level, code) in codes {
        match code {
            None if level == super::Level::Pass => {}
            Some(code) if level != super::Level::Pass && limit.say.contains_key(code) => {}
            _ => {
                return Err(format!(
                    "limit {row} has a level without a code and its sentence"
                ));
            }
        }
    }
    Ok(())
}

fn check_set(pages: &Pages, set: &Set) -> Result<(), String> {
    let title = &set.title;
    let all = || set.readings.iter().chain(&set.tests);
    once("reading", all().map(|r| r.code.as_str())).map_err(|e| format!("{title}: {e}"))?;
    if let Some(empty) = all().find(|r| r.fields.is_empty()) {
        return Err(format!("{title}: reading {} asks nothing", empty.code));
    }
    for judge in &set.judge {
        if !pages.limits.iter().any(|l| l.row == judge.row) {
            return Err(format!("{title}: there is no limit {}", judge.row));
        }
        if set.reading(&judge.reading).is_none() {
            return Err(format!("{title}: there is no reading {}", judge.reading));
        }
    }
    match set
        .trends
        .iter()
        .find(|t| set.reading(&t.reading).is_none())
    {
        Some(trend) => Err(format!("{title}: there is no reading {}", trend.reading)),
        None => Ok(()),
    }
}

fn check_table(table: &Table) -> Result<(), String> {
    let kind = &table.kind;
    once("part", table.parts.iter().map(|p| p.code.as_str()))?;
    once(
        "observation",
        table.observations.iter().map(|o| o.code.as_str()),
    )?;
    if table.parts.is_empty() || table.parts.iter().any(|p| !(0.0..=1.0).contains(&p.prior)) {
        return Err(format!("table {kind}: a prior must lie between 0 and 1"));
    }
    let mut named = table
        .parts
        .iter()
        .flat_map(|p| p.seen.keys())
        .chain(table.from_readings.iter().map(|l| &l.observation));
    match named.find(|code| table.observation(code).is_none()) {
        Some(code) => Err(format!("table {kind}: there is no observation {code}")),
        None => Ok(()),
    }
}
