//! Everything the rules say of one visit: limits, gaps, trends, and what it shows of the parts.
use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::words::show_number;
use super::{Finding, Given, Judged, Level, Point, TrendQuery, TrendRule, gaps, judge, trend};
use crate::InspectionError;
use crate::calendar::{date_words, days_between};
use crate::expr::Values;
use crate::formulas::evaluate;
use crate::makers;
use crate::rulebook::{Judge, LimitKind, ReadingSpec, RuleBook, Set, TrendSpec};

/// The fields of an earlier visit to the same unit.
#[derive(Clone, Debug, PartialEq)]
pub struct EarlierVisit {
    /// Its day.
    pub on: NaiveDate,
    /// Its fields, by the codes of the readings set.
    pub readings: Values,
}

/// What is known at a visit. Names of values are the field codes of the readings set.
#[derive(Clone, Debug, PartialEq)]
pub struct VisitInput<'a> {
    /// Unit kind (`CB`, `HIU` …).
    pub kind: &'a str,
    /// The day.
    pub on: NaiveDate,
    /// First service of the unit.
    pub first_service: bool,
    /// A service, which owes the whole set; a repair owes only what it touches.
    pub service: bool,
    /// Fields entered now.
    pub readings: &'a Values,
    /// Earlier visits, oldest first.
    pub earlier: &'a [EarlierVisit],
    /// The unit's plate and settings (`rated_kw`, `relief_valve_bar` …).
    pub plate: &'a Values,
    /// The flat and the circumstances (`vulnerable`, `winter`, `heating_failed` …).
    pub site: &'a Values,
    /// Maker's limits by row of the rule book.
    pub makers: &'a BTreeMap<String, Values>,
    /// Last day of calibration of the instrument used, by reading.
    pub calibrated_until: &'a BTreeMap<String, NaiveDate>,
    /// The next due visit.
    pub next_due: Option<NaiveDate>,
    /// Work was recorded since the last visit.
    pub work_recorded_since_last: bool,
}

/// What the rules say of a visit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct VisitFindings {
    /// Everything worth showing, in the order of the sheet: limits, trends, then gaps.
    pub findings: Vec<Finding>,
    /// Code of every limit judged by row, `OK` when passed.
    pub judged: BTreeMap<String, String>,
    /// Observations of the symptom table the readings show.
    pub seen: Vec<String>,
    /// Observations they rule out.
    pub not_seen: Vec<String>,
}

impl VisitFindings {
    /// The gravest level found, `Pass` if nothing was.
    pub fn gravest(&self) -> Level {
        self.findings
            .iter()
            .map(|f| f.level)
            .max()
            .unwrap_or(Level::Pass)
    }
}

/// Judges a visit. A limit whose values are not all there is left out; the gap says so.
///
/// # Errors
/// A unit kind without a readings set; a value of the wrong sort.
pub fn at_visit(book: &RuleBook, input: &VisitInput<'_>) -> Result<VisitFindings, InspectionError> {
    let set = book
        .set(input.kind)
        .ok_or_else(|| InspectionError::unknown("the readings sets", input.kind))?;
    let mut known = known_at(book, input);
    let mut answer = VisitFindings::default();
    for rule in &set.judge {
        if let Some(judged) = judge_one(book, rule, &known, input)? {
            answer.judged.insert(rule.row.clone(), judged.code.clone());
            if judged.level != Level::Pass {
                answer.findings.push(finding(book, rule, judged, input)?);
            }
        }
    }
    answer
        .findings
        .extend(set.trends.iter().filter_map(|t| trend_of(t, &known, input)));
    if input.service {
        answer.findings.extend(gap_findings(book, set, input)?);
    }
    for (row, code) in &answer.judged {
        known.set(&format!("finding.{row}"), code.as_str());
    }
    if let Ok(table) = book.table(input.kind) {
        for link in &table.from_readings {
            // An unknown leaves the observation open: not looked for.
            if link.seen.truth(&known) == Ok(true) {
                answer.seen.push(link.observation.clone());
            } else if link.not_seen.truth(&known) == Ok(true) {
                answer.not_seen.push(link.observation.clone());
            }
        }
    }
    Ok(answer)
}

/// Fields now, `last.…`, `plate.…`, `site.…`, `constant.…` and what is worked out from them.
pub fn known_at(book: &RuleBook, input: &VisitInput<'_>) -> Values {
    let mut known = book.constants();
    known.take_over("", input.readings);
    known.take_over("plate.", input.plate);
    known.take_over("site.", input.site);
    if let Some(last) = input.earlier.iter().rev().find(|e| e.on < input.on) {
        known.take_over("last.", &last.readings);
        known.set("last.days_ago", days_between(last.on, input.on) as f64);
    }
    let exchanger = Values::new()
        .with("power_kw", input.readings.get("ua_power_kw"))
        .with("ua_commissioned", input.plate.get("ua_kw_per_k"));
    let mut ends = input.readings.clone();
    ends.take_over("", &exchanger);
    // Without all four ends and the power there is nothing to say of the exchanger.
    let ratio = evaluate(book, "F4", &ends)
        .ok()
        .and_then(|r| r.number("ratio"));
    if let Some(ratio) = ratio {
        known.set("derived.ua_ratio", ratio);
    }
    known
}

fn judge_one(
    book: &RuleBook,
    rule: &Judge,
    known: &Values,
    input: &VisitInput<'_>,
) -> Result<Option<Judged>, InspectionError> {
    if rule.given.iter().any(|name| !known.has(name)) {
        return Ok(None);
    }
    let mut values = known.clone();
    for (name, expr) in &rule.with {
        match expr.value(known) {
            Ok(value) => values.set(name, value),
            // A sum that cannot be made of these values (a division by nothing) judges nothing.
            Err(_) => values.set(name, crate::expr::Value::Unknown),
        }
    }
    match judge(book, &rule.row, &values, input.makers.get(&rule.row)) {
        Ok(judged) => Ok(Some(judged)),
        // Nor does one that divides by a figure typed as 0: the gap is a gap, not the end of the sheet.
        Err(InspectionError::Missing(_) | InspectionError::Impossible { .. }) => Ok(None),
        Err(other) => Err(other),
    }
}

fn finding(
    book: &RuleBook,
    rule: &Judge,
    judged: Judged,
    input: &VisitInput<'_>,
) -> Result<Finding, InspectionError> {
    let limit = book.limit(&rule.row)?;
    let maker = input.makers.get(&rule.row);
    let maker = maker.map_or_else(String::new, |figures| makers::in_words(limit, figures));
    let (sentence, limit_words, status) = if maker.is_empty() {
        (judged.sentence, limit.limit.clone(), limit.status.clone())
    } else {
        (
            format!("{} By the maker’s figure of {maker}.", judged.sentence),
            format!("the maker’s figure: {maker}"),
            "the maker's figure for this unit".to_owned(),
        )
    };
    Ok(Finding {
        level: judged.level,
        code: judged.code,
        reading: rule.reading.clone(),
        row: Some(rule.row.clone()),
        limit: limit_words,
        sentence,
        status,
        on: "unit".to_owned(),
    })
}

fn trend_of(spec: &TrendSpec, known: &Values, input: &VisitInput<'_>) -> Option<Finding> {
    let limit = spec.value.number(known).ok()?;
    let now = spec.of.number(known).ok()?;
    let mut series: Vec<Point> = input
        .earlier
        .iter()
        .filter(|e| e.on < input.on)
        .filter_map(|e| {
            let value = spec.of.number(&e.readings).ok()?;
            Some(Point { on: e.on, value })
        })
        .collect();
    series.push(Point {
        on: input.on,
        value: now,
    });
    let result = trend(&TrendQuery {
        series: &series,
        kind: spec.limit,
        limit,
        next_due: input.next_due,
        work_recorded_since_last: input.work_recorded_since_last,
    });
    let sentence = trend_sentence(spec, &series, &result.fired, result.projected, input)?;
    Some(Finding {
        level: result.level,
        code: "TREND".to_owned(),
        reading: spec.reading.clone(),
        row: None,
        limit: limit_words(spec, limit),
        sentence,
        status: "common practice, no source".to_owned(),
        on: "unit".to_owned(),
    })
}

fn limit_words(spec: &TrendSpec, limit: f64) -> String {
    let side = if spec.limit == LimitKind::Min {
        "at least"
    } else {
        "at most"
    };
    format!("{side} {}", amount(limit, spec))
        .trim_end()
        .to_owned()
}

fn amount(value: f64, spec: &TrendSpec) -> String {
    // A ratio such as CO over CO₂ lives in the fourth decimal.
    let decimals = if spec.unit.is_empty() { Some(4) } else { None };
    format!("{} {}", show_number(value, decimals), spec.unit)
        .trim_end()
        .to_owned()
}

/// None when no rule fired.
fn trend_sentence(
    spec: &TrendSpec,
    series: &[Point],
    fired: &[TrendRule],
    projected: Option<f64>,
    input: &VisitInput<'_>,
) -> Option<String> {
    let [.., before, last] = series else {
        return None;
    };
    let gravest = fired.last()?;
    let label = &spec.label;
    let mut text = format!(
        "The {label} is {}; it was {} on {}.",
        amount(last.value, spec),
        amount(before.value, spec),
        date_words(before.on)
    );
    let more = match gravest {
        TrendRule::Crossed => " It crossed the limit since then.".to_owned(),
        TrendRule::Drift => " It has moved the same way for three visits.".to_owned(),
        TrendRule::Step => " A large step with no work recorded.".to_owned(),
        TrendRule::Projected => format!(
            " At this pace {} by {}: do it at this visit.",
            projected.map(|p| amount(p, spec)).unwrap_or_default(),
            input.next_due.map(date_words).unwrap_or_default()
        ),
    };
    text.push_str(&more);
    Some(text)
}

/// Whether the fields of a reading were given.
fn taken(spec: &ReadingSpec, readings: &Values) -> bool {
    if spec.any {
        spec.fields.iter().any(|f| readings.has(&f.code))
    } else {
        let mut needed = spec.fields.iter().filter(|f| !f.optional).peekable();
        needed.peek().is_some() && needed.all(|f| readings.has(&f.code))
    }
}

fn gap_findings(
    book: &RuleBook,
    set: &Set,
    input: &VisitInput<'_>,
) -> Result<Vec<Finding>, InspectionError> {
    let given: Vec<Given> = set
        .readings
        .iter()
        .filter(|spec| taken(spec, input.readings))
        .map(|spec| Given {
            reading: spec.code.clone(),
            calibrated_until: input.calibrated_until.get(&spec.code).copied(),
        })
        .collect();
    let found = gaps(book, input.kind, input.on, input.first_service, &given)?;
    Ok(found
        .iter()
        .filter_map(|gap| {
            let spec = set.reading(&gap.reading)?;
            Some(gap.finding(spec, input.calibrated_until.get(&gap.reading).copied()))
        })
        .collect())
}
