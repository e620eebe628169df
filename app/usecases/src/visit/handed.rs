//! What a page of the sheet hands to the phone's scripts of the job and its past, so that they reckon with no signal
//! what the rules here reckon again when the sheet arrives.
use inspection::completion::MustDo;
use inspection::makers::in_words;
use inspection::{RuleBook, standing};
use serde_json::{Map, Value as Json, json};
use terms::{Covers, UsedAs};

use super::assess::{rank_query, told_before};
use super::blocks::registered;
use super::facts::{Facts, JobDuty, SheetView};
use crate::work::{report_of, wall};

/// The sheet as it is kept, and everything the likely parts, the blocks and the dates follow from besides it.
pub(super) fn handed(book: &RuleBook, view: &SheetView) -> Json {
    let facts = &view.facts;
    // What the phone said before, and what stood here instead, is no part of what was typed.
    let typed: Map<String, Json> = view
        .sheet
        .all()
        .filter(|(key, _)| !key.starts_with("p.") && !key.starts_with("d."))
        .map(|(key, text)| (key.to_owned(), Json::from(text)))
        .collect();
    json!({
        "typed": typed,
        "at": facts.at,
        "visit": view.visit.as_ref().map(|visit| visit.id),
        "told": told_before(book, facts),
        "ranking": rank_query(facts),
        "caution": standing::RANKING,
        "maker_words": maker_words(book, facts),
        "must": must_words(),
        "job": job(book, facts),
    })
}

/// The maker's figures in words, by row.
fn maker_words(book: &RuleBook, facts: &Facts) -> Map<String, Json> {
    let figures = facts.makers.iter();
    figures
        .filter_map(|(row, figures)| {
            let words = in_words(book.limit(row).ok()?, figures);
            (!words.is_empty()).then(|| (row.clone(), Json::from(words)))
        })
        .collect()
}

fn must_words() -> Map<String, Json> {
    let all = MustDo::ALL.iter();
    all.map(|must| (must.code().to_owned(), Json::from(must.words())))
        .collect()
}

/// The job as the completion blocks look at it.
fn job(book: &RuleBook, facts: &Facts) -> Json {
    let gas_kinds: Vec<&str> = facts
        .kinds
        .iter()
        .filter(|kind| kind.gas)
        .map(|kind| kind.code.as_str())
        .collect();
    let notices: Vec<Json> = facts
        .notices
        .iter()
        .map(|notice| {
            json!({
                "id": notice.id,
                "class": notice.class,
                "isolated": notice.isolated,
                "permission_refused": notice.permission_refused,
            })
        })
        .collect();
    let instruments: Map<String, Json> = facts
        .instruments
        .iter()
        .map(|i| (i.id.to_string(), json!(i.calibrated_until)))
        .collect();
    json!({
        "id": facts.job.id,
        "kind": facts.job.kind.code(),
        "lost": facts.job.function_lost.map(terms::FunctionLost::code),
        "first_service": facts.first_service(),
        "owes_the_set": facts.owes_the_set(),
        "gas": facts.burns_gas(),
        "gas_kinds": gas_kinds,
        "gas_check": facts.has_gas_check(),
        "gas_units": facts.gas_units,
        "higher_risk": facts.may_be_higher_risk(),
        "built_year": facts.building.built_year,
        "asbestos_listed": facts.building.asbestos_register == "present",
        "photographed": facts.photographed,
        "home": facts.space.used_as == UsedAs::Flat,
        "landlords_duty": facts.space.let_short != Some(false),
        "papers": {
            "gas": registered(facts, Covers::Gas),
            "gas_plant": registered(facts, Covers::GasPlant),
        },
        "notices": notices,
        "instruments": instruments,
        "duties": facts.duties.iter().filter(|d| !d.done).map(duty).collect::<Vec<_>>(),
        "clock": clock(book, facts),
    })
}

fn duty(duty: &JobDuty) -> Json {
    let dated = duty.dated.as_ref().map(|dated| {
        json!({
            "window_rule": dated.window_rule,
            "months": dated.months.max(1),
            "anchor": dated.anchor,
            "deadline": dated.deadline,
        })
    });
    json!({
        "code": duty.code,
        "name": duty.name,
        "photo": duty.photo,
        "gas_check": duty.gas_check,
        "dated": dated,
    })
}

/// The resident's clock, which goes on when a visit ends otherwise than done: of calls, where the rule book holds times.
fn clock(book: &RuleBook, facts: &Facts) -> Option<Json> {
    let lost = facts.job.function_lost?;
    let runs = facts.job.source == "call" && book.country() == facts.building.country.code();
    runs.then(|| {
        json!({
            "report": report_of(lost),
            "reported_local": wall::local(facts.job.opened_at).format("%Y-%m-%dT%H:%M").to_string(),
        })
    })
}
