//! Duty rules the program ships, in an estate that was founded before they were: what is new comes in by itself, once and on
//! record; what the estate has otherwise is offered to the desk and never written over.
use std::collections::BTreeSet;

use inspection::calendar::date_words;
use serde::{Deserialize, Serialize};
use serde_json::json;
use terms::Role;
use terms::trade::DutyRule;

use super::rules::{MAY_STATE, RuleLine, as_read, reckon_all};
use crate::work::wall;
use crate::{Error, Seat, THE_PROGRAM, World};

/// What the desk wants to have as it is shipped.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct AsShipped {
    /// Whose: "G1".
    pub code: String,
    /// The mark of the statement that was read; another one since is a conflict.
    pub read: String,
}

/// Writes the rules this program ships and the estate never had. Answers their codes.
pub fn take_in_shipped(world: &World, seat: &Seat) -> Result<Vec<String>, Error> {
    take_in(world, seat, &crate::founding::shipped()?.duties)
}

/// The same of these rules. One the estate knows by its code, however it is stated there, is left alone; so is one that came in
/// before.
pub fn take_in(world: &World, seat: &Seat, rules: &[DutyRule]) -> Result<Vec<String>, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let versions = tx.duty_rule_versions(None)?.into_iter();
        let known: BTreeSet<String> = versions.map(|v| v.rule.code).collect();
        let fresh = rules.iter().filter(|rule| !known.contains(&rule.code));
        let mut came = Vec::new();
        for rule in fresh {
            let today = wall::day(tx.at());
            // Two workers at once: the key lets one of them write it.
            let key = format!("shipped duty rule {}", rule.code);
            let at = tx.once(&key, &rule.code, |tx| {
                let note = format!(
                    "Came with the program, which ships it since this estate was founded; taken in on {}",
                    date_words(today)
                );
                tx.add_duty_rule(rule, &note)?;
                Ok::<_, Error>(tx.at())
            })?;
            if at == tx.at() {
                came.push(rule);
            }
        }
        if !came.is_empty() {
            tx.note(
                "duty rules came with the program",
                "estate",
                &json!({ "rules": came }),
            );
        }
        Ok(came.into_iter().map(|rule| rule.code.clone()).collect())
    })
}

/// The rule as it is shipped, where the desk has reason to look at it: nobody stated it and it is shipped otherwise by now, or
/// it is shipped for a later day than it was stated for.
pub(super) fn offered(line: &RuleLine, shipped: &[DutyRule]) -> Option<DutyRule> {
    let rule = shipped.iter().find(|rule| rule.code == line.rule.code)?;
    let by_the_program = |by: terms::AccountId| by == THE_PROGRAM;
    let as_it_came = line
        .versions
        .iter()
        .all(|(v, _)| by_the_program(v.recorded_by));
    let otherwise = *rule != line.rule;
    (otherwise && (as_it_came || rule.as_at > line.rule.as_at)).then(|| rule.clone())
}

/// States a rule as this program ships it. Open duties get their dates anew; what was met before stays judged by the rule that
/// held then. Answers how many duties were looked at.
///
/// # Errors
/// [`Error::NotFound`] for a rule that is not shipped or not known; [`Error::Conflict`] when somebody stated it in between.
pub fn state_as_shipped(
    world: &World,
    seat: &Seat,
    form: &AsShipped,
    once: &str,
) -> Result<usize, Error> {
    seat.must_be(&MAY_STATE)?;
    let shipped = crate::founding::shipped()?.duties.into_iter();
    let mut shipped = shipped.filter(|rule| rule.code == form.code);
    let new = shipped.next().ok_or(Error::NotFound("duty rule"))?;
    world.acting(seat, |tx| {
        tx.once(once, form, |tx| {
            let old = &as_read(tx, &form.code, &form.read)?;
            // What stood for a later day than it is shipped for holds from that day on.
            let new = DutyRule {
                as_at: new.as_at.max(old.as_at),
                ..new
            };
            tx.supersede_duty_rule(&form.code)?;
            tx.add_duty_rule(&new, "As this program ships it")?;
            let looked_at = reckon_all(tx, &new)?;
            tx.note(
                "duty rule stated",
                &format!("duty rule {}", form.code),
                &json!({ "was": old, "is": new, "note": "as shipped", "duties": looked_at }),
            );
            Ok(looked_at)
        })
    })
}
