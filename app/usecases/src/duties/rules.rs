//! The duty rules as dated data: what was shipped, and what the desk states anew from a day on. What held before stays
//! readable, and the dates are reckoned and explained by the rule in force when each was next met.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::Tx;
use store::duty_rules::RuleVersion;
use terms::trade::DutyRule;
use terms::{AccountId, Role};

use super::shipped_rules::offered;
use super::{dates, is_gas_check, reckon};
use crate::founding::BASES;
use crate::work::wall;
use crate::{Error, FieldError, Seat, World};

pub(super) const MAY_STATE: [Role; 2] = [Role::Agent, Role::Supervisor];
/// The window rules whose dates come from months.
const BY_MONTHS: [&str; 4] = ["W1", "W2", "W3", "W6"];
/// The bases a rule may have.
pub const RULE_BASES: [&str; 6] = BASES;

/// A duty rule stated anew.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct StateRule {
    /// Whose: "G1".
    pub code: String,
    /// How its dates come.
    pub window_rule: String,
    /// How many months, weeks or days lie between.
    pub months: Option<i32>,
    /// "weeks" or "days"; anything else is months.
    pub unit: String,
    /// Law, code, standard, maker, good practice, contract.
    pub basis: String,
    /// How it is known.
    pub status: String,
    /// What proves it.
    pub evidence: String,
    /// From which day on it is stated.
    pub as_at: Option<NaiveDate>,
    /// What changed, and where that stands.
    pub note: String,
    /// When the rule that was read had been stated; another one since is a conflict.
    pub read: String,
}

/// One rule with everything it was before.
#[derive(Clone, Debug)]
pub struct RuleLine {
    /// As it stands.
    pub rule: DutyRule,
    /// Every statement, the newest first, with who stated it.
    pub versions: Vec<(RuleVersion, String)>,
    /// Open duties that go by it.
    pub duties: usize,
    /// As this program ships it, where that is something to look at.
    pub offered: Option<DutyRule>,
}

impl StateRule {
    /// The time between as it is kept: months, and the days in their place where weeks or days were stated. The months
    /// beside days are what an older program goes by: never less than the days.
    fn span(&self, old: &DutyRule) -> (i32, Option<i32>) {
        let Some(n) = self.months else {
            return (old.months, old.days);
        };
        match self.unit.as_str() {
            "weeks" => in_days(n.saturating_mul(7)),
            "days" => in_days(n),
            _ => (n, None),
        }
    }
}

fn in_days(days: i32) -> (i32, Option<i32>) {
    ((days.saturating_add(29) / 30).clamp(1, 120), Some(days))
}

impl RuleLine {
    /// The mark of the statement in force, for a form to send back.
    pub fn read(&self) -> String {
        let newest = self.versions.iter().find(|(v, _)| !v.superseded);
        newest.map_or_else(String::new, |(v, _)| mark(v, self.versions.len()))
    }
}

/// The moment alone would not tell two statements of one moment apart.
pub(super) fn mark(standing: &RuleVersion, statements: usize) -> String {
    format!("{statements} {}", standing.recorded_at.to_rfc3339())
}

/// Every duty rule with its earlier statements, by code.
pub fn rule_lines(world: &World, seat: &Seat) -> Result<Vec<RuleLine>, Error> {
    seat.must_be(&MAY_STATE)?;
    let mut lines = world.acting(seat, |tx| {
        let open = tx.open_duties()?;
        let mut lines: Vec<RuleLine> = Vec::new();
        for version in tx.duty_rule_versions(None)? {
            let known = lines.iter().position(|l| l.rule.code == version.rule.code);
            let at = known.unwrap_or_else(|| {
                lines.push(RuleLine {
                    rule: version.rule.clone(),
                    versions: Vec::new(),
                    duties: open.iter().filter(|d| d.rule == version.rule.code).count(),
                    offered: None,
                });
                lines.len() - 1
            });
            if let Some(line) = lines.get_mut(at) {
                if !version.superseded {
                    line.rule = version.rule.clone();
                }
                line.versions.insert(0, (version, String::new()));
            }
        }
        Ok::<_, Error>(lines)
    })?;
    let shipped = crate::founding::shipped()?.duties;
    for line in &mut lines {
        line.offered = offered(line, &shipped);
    }
    let who: Vec<AccountId> = lines
        .iter()
        .flat_map(|line| line.versions.iter().map(|(v, _)| v.recorded_by))
        .collect();
    let names: BTreeMap<AccountId, String> = crate::door::names(world, &who)?.into_iter().collect();
    for (version, by) in lines.iter_mut().flat_map(|line| &mut line.versions) {
        names
            .get(&version.recorded_by)
            .map_or("the program", String::as_str)
            .clone_into(by);
    }
    Ok(lines)
}

/// The window rules a duty may be stated anew by. What stands may stay. The landlord’s gas safety check keeps its date and
/// no other duty may: the window is in that law alone. A care valve’s dates follow from its tests, and what comes by an
/// event or is counted back is no interval.
pub fn windows_of(standing: &DutyRule) -> Vec<&str> {
    let stands = standing.window_rule.as_str();
    if is_gas_check(standing) || dates::is_care_valve(standing) {
        return vec![stands];
    }
    let mut may: Vec<&str> = BY_MONTHS
        .into_iter()
        .filter(|code| *code != "W1" || stands == "W1")
        .collect();
    if !may.contains(&stands) {
        may.push(stands);
    }
    may
}

/// What cannot be of how its dates come.
fn window_wrongs(old: &DutyRule, form: &StateRule) -> Vec<FieldError> {
    let mut wrongs = Vec::new();
    let mut wrong = |field: &str, sentence: &str| wrongs.push(FieldError::at(field, sentence));
    let asked = form.window_rule.as_str();
    if !windows_of(old).contains(&asked) {
        wrong(
            "window_rule",
            match asked {
                _ if dates::is_care_valve(old) => {
                    "The dates of a care valve’s tests follow from what each test shows: that is not stated here."
                }
                "W1" => {
                    "Only a duty whose law keeps its date may keep it; choose how the dates of this one come."
                }
                _ => "Choose how its dates come; the landlord’s gas safety check keeps its date.",
            },
        );
    }
    let (most, sentence) = match form.unit.as_str() {
        "weeks" => (520, "Give whole weeks, from 1 to 520."),
        "days" => (3660, "Give whole days, from 1 to 3,660."),
        _ => (120, "Give whole months, from 1 to 120."),
    };
    if !form.months.is_some_and(|n| (1..=most).contains(&n)) {
        wrong("months", sentence);
    } else if dates::is_care_valve(old) && form.span(old) != (old.months, old.days) {
        wrong(
            "months",
            "The time between the tests of a care valve follows from what each test shows, at the longest a year: it is \
             not stated here.",
        );
    }
    if asked == "W1" && form.months.is_some() && form.span(old) != (12, None) {
        wrong(
            "months",
            "A duty that keeps its date comes every 12 months: the law’s window knows no other.",
        );
    }
    wrongs
}

fn wrongs(old: &DutyRule, form: &StateRule, today: NaiveDate) -> Vec<FieldError> {
    let mut wrongs = window_wrongs(old, form);
    let mut wrong = |field: &str, sentence: &str| wrongs.push(FieldError::at(field, sentence));
    if !RULE_BASES.contains(&form.basis.as_str()) {
        wrong("basis", "Choose what it rests on.");
    }
    if form.status.trim().is_empty() {
        wrong(
            "status",
            "Say how it is known: law text read, a published page, from memory, a guess.",
        );
    }
    if form.evidence.trim().is_empty() {
        wrong("evidence", "Say what proves that it was done.");
    }
    match form.as_at {
        None => wrong("as_at", "Say from which day on it is stated."),
        Some(day) if day > today => wrong("as_at", "State a rule once it holds, not before."),
        Some(day) if day < old.as_at => wrong(
            "as_at",
            "What stands now is stated for a later day; give that day or a later one.",
        ),
        Some(_) => {}
    }
    if form.note.trim().is_empty() {
        wrong("note", "Say what changed, and where that stands.");
    }
    wrongs
}

/// The rule that stands, if it is still the one that was read.
///
/// # Errors
/// [`Error::NotFound`] for a code that is not known; [`Error::Conflict`] when somebody stated it in between.
pub(super) fn as_read(tx: &mut Tx<'_>, code: &str, read: &str) -> Result<DutyRule, Error> {
    let mut versions = tx.duty_rule_versions(Some(code))?;
    let count = versions.len();
    let standing = versions.iter().position(|v| !v.superseded);
    let old = versions.swap_remove(standing.ok_or(Error::NotFound("duty rule"))?);
    if mark(&old, count) == read {
        Ok(old.rule)
    } else {
        let words = "Somebody stated this duty before you. Nothing was changed by you.";
        Err(Error::Conflict(words.to_owned()))
    }
}

/// States a duty rule from a day on. Open duties get their dates anew; what was met before stays judged by the rule that
/// held then. Answers how many duties were looked at.
///
/// # Errors
/// [`Error::Invalid`] at a field; [`Error::Conflict`] when somebody stated it in between.
pub fn state_rule(
    world: &World,
    seat: &Seat,
    form: &StateRule,
    once: &str,
) -> Result<usize, Error> {
    seat.must_be(&MAY_STATE)?;
    world.acting(seat, |tx| {
        tx.once(once, form, |tx| {
            let old = &as_read(tx, &form.code, &form.read)?;
            Error::unless_empty(wrongs(old, form, wall::day(tx.at())))?;
            let (months, days) = form.span(old);
            let new = DutyRule {
                window_rule: form.window_rule.clone(),
                months,
                days,
                basis: form.basis.clone(),
                status: form.status.trim().to_owned(),
                evidence: form.evidence.trim().to_owned(),
                as_at: form.as_at.unwrap_or(old.as_at),
                ..old.clone()
            };
            tx.supersede_duty_rule(&form.code)?;
            tx.add_duty_rule(&new, form.note.trim())?;
            let moves = new.window_rule != old.window_rule
                || (new.months, new.days) != (old.months, old.days);
            let looked_at = if moves { reckon_all(tx, &new)? } else { 0 };
            tx.note(
                "duty rule stated",
                &format!("duty rule {}", form.code),
                &json!({ "was": old, "is": new, "note": form.note.trim(), "duties": looked_at }),
            );
            Ok(looked_at)
        })
    })
}

/// Reckons every open duty that goes by a rule; answers how many.
pub(super) fn reckon_all(tx: &mut Tx<'_>, rule: &DutyRule) -> Result<usize, Error> {
    let open: Vec<_> = tx
        .open_duties()?
        .into_iter()
        .filter(|duty| duty.rule == rule.code)
        .collect();
    for duty in &open {
        reckon(tx, duty.id, rule)?;
    }
    Ok(open.len())
}
