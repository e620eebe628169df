//! `clock.*`
use inspection::RuleBook;
use inspection::clock::{
    AwaabKind, DemandOrNotice, HoursQuery, ResponseQuery, Section20Query, ThresholdQuery,
    WorkingDays, awaab, hours, response, right_to_repair, section20, section20_threshold,
    section20b,
};
use serde_json::{Value as Json, json};

use super::Answer;
use super::inputs::{say, show, take, whole};

pub fn answer(family: &str, i: &Json) -> Answer {
    let england = WorkingDays::england();
    match family {
        "clock.hours" => {
            let query: HoursQuery = whole(i)?;
            show(&hours(&query).map_err(say)?)
        }
        "clock.bank_holidays" => {
            let country: String = take(i, "country")?;
            let days = WorkingDays::of(&country).map_err(say)?;
            Ok(json!({ "weekdays": days.bank_holidays(take(i, "year")?) }))
        }
        "clock.working_days" => {
            let country: String = take(i, "country")?;
            let days = WorkingDays::of(&country).map_err(say)?;
            Ok(json!({ "due": days.after(take(i, "start_on")?, take(i, "working_days")?) }))
        }
        "clock.right_to_repair" => {
            let book = RuleBook::shipped().map_err(say)?;
            let (country, defect): (String, String) = (take(i, "country")?, take(i, "defect")?);
            let on = take(i, "reported_on")?;
            show(&right_to_repair(book, &england, &country, &defect, on).map_err(say)?)
        }
        "clock.awaab" => {
            let kind: AwaabKind = take(i, "kind")?;
            let hazard: String = take(i, "hazard")?;
            let ended = take(i, "investigation_ended_on")?;
            show(&awaab(
                &england,
                kind,
                &hazard,
                take(i, "aware_local")?,
                ended,
            ))
        }
        "clock.response" => {
            let book = RuleBook::shipped().map_err(say)?;
            let query: ResponseQuery = whole(i)?;
            show(&response(book, &england, &query).map_err(say)?)
        }
        "clock.section20" => {
            let query: Section20Query = whole(i)?;
            show(&section20(&england, &query))
        }
        "clock.section20_threshold" => {
            let query: ThresholdQuery = whole(i)?;
            show(&section20_threshold(&query).map_err(say)?)
        }
        "clock.section20b" => {
            let kind: DemandOrNotice = take(i, "kind")?;
            show(&section20b(
                take(i, "incurred_on")?,
                take(i, "served_on")?,
                kind,
            ))
        }
        _ => Err(format!("there is no family '{family}'")),
    }
}
