//! `duty.*`
use chrono::NaiveDate;
use inspection::RuleBook;
use inspection::duties::{
    Round, RuleVersion, g3, keep_gas_record, keep_legionella_assessment, keep_water_log,
    rule_as_at, v1, w1, w1_chain, w2, w3, w4, w6,
};
use serde_json::Value as Json;

use super::Answer;
use super::inputs::{say, show, take, whole};

pub fn answer(family: &str, i: &Json) -> Answer {
    match family {
        "duty.w1" => show(&w1(
            take(i, "deadline")?,
            take(i, "done")?,
            take(i, "check_complete")?,
        )),
        "duty.w1_chain" => {
            let checks: Vec<NaiveDate> = take(i, "checks")?;
            show(&w1_chain(take(i, "first_deadline")?, &checks))
        }
        "duty.g3" => show(&g3(
            take(i, "installed_on")?,
            take(i, "flat_deadline")?,
            take(i, "already_used")?,
            take(i, "done")?,
        )),
        "duty.w2" => show(&w2(
            take(i, "deadline")?,
            take(i, "done")?,
            take(i, "interval_months")?,
            take(i, "shorter_interval_months")?,
        )),
        "duty.w3" => {
            let round: Round = whole(i)?;
            show(&w3(&round, take(i, "open_round")?, take(i, "done")?).map_err(say)?)
        }
        "duty.w4" => {
            let book = RuleBook::shipped().map_err(say)?;
            let event: String = take(i, "event")?;
            let period = take(i, "report_period_days")?;
            show(&w4(book, &event, take(i, "on")?, period).map_err(say)?)
        }
        "duty.v1" => show(&v1(
            take(i, "fitted_on")?,
            take(i, "change_1_k")?,
            take(i, "change_2_k")?,
        )),
        "duty.w6" => {
            let triggers: Vec<NaiveDate> = take(i, "triggers")?;
            show(&w6(
                take(i, "last_review")?,
                take(i, "longest_gap_months")?,
                &triggers,
            ))
        }
        "duty.rule_as_at" => {
            let versions: Vec<RuleVersion<Json>> = take(i, "versions")?;
            show(&rule_as_at(&versions, take(i, "on")?, take(i, "known_on")?))
        }
        "duty.keep" => keep(i),
        _ => Err(format!("there is no family '{family}'")),
    }
}

fn keep(i: &Json) -> Answer {
    let kind: String = take(i, "kind")?;
    let outcome = match kind.as_str() {
        "gas_record" => {
            let later: Option<Vec<NaiveDate>> = take(i, "later_checks")?;
            keep_gas_record(
                take(i, "last_check_on")?,
                &later.unwrap_or_default(),
                take(i, "removed_on")?,
            )
        }
        "water_log" => keep_water_log(take(i, "made_on")?),
        "legionella_assessment" => keep_legionella_assessment(take(i, "superseded_on")?),
        _ => return Err(format!("there is no record kind '{kind}'")),
    };
    show(&outcome)
}
