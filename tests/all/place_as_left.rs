//! What a visit leaves of the place itself: read off any sheet, kept with the day and who said it, asked of by options.
use serde_json::json;
use terms::{JobKind, SpaceId};
use usecases::register;
use usecases::visit::{self, PaperSource, PaperVisit};

use crate::visit_sheet::{good_service, refused, says, submit};
use crate::work_estate::{AGENT, ANNA, Loop, fresh};

fn site(estate: &Loop, space: SpaceId) -> serde_json::Value {
    let seat = estate.seat_of(AGENT);
    register::space_view(estate.world(), &seat, space)
        .unwrap()
        .space
        .site
}

#[test]
fn what_a_sheet_says_of_the_place_stands_in_the_register_with_its_day_and_name() {
    let estate = Loop::start();
    let duty = estate.duty(estate.boiler, "G1");
    let job = estate.annas(JobKind::Service, estate.boiler, vec![duty]);
    let sheet = good_service()
        .with("site.cold_pipe_mm", "22")
        .with("site.isolation_valve", "yes")
        .with("site.electric_kw_spare", "7,5")
        .with("r.main_static_bar", "3.1")
        .with("r.main_flow_lpm", "14");
    let wrongs = refused(submit(
        &estate,
        job,
        &sheet.clone().with("site.cold_pipe_mm", "wide"),
    ));
    assert!(
        says(&wrongs, "“wide” is not a number between 0 and 108."),
        "{wrongs:?}"
    );
    assert!(wrongs.iter().any(|w| w.field == "site.cold_pipe_mm"));
    assert_eq!(
        site(&estate, estate.flat),
        json!({}),
        "nothing of it is kept"
    );
    submit(&estate, job, &sheet).unwrap();
    // The flow was found through another pipe than the one that is left, so it is not of this one.
    assert_eq!(
        site(&estate, estate.flat),
        json!({
            "cold_pipe_mm": 22.0, "isolation_valve": "yes", "electric_kw_spare": 7.5, "static_bar": 3.1
        })
    );
    let said = register::site_said(estate.world(), &estate.seat_of(AGENT), estate.flat).unwrap();
    let pipe = said.iter().find(|fact| fact.key == "cold_pipe_mm").unwrap();
    assert_eq!(
        (pipe.on, pipe.by.as_str(), pipe.before.clone()),
        ("2026-11-25".parse().unwrap(), "Anna Arrow", None)
    );
    let noted = "estate.audit_entries WHERE act = 'site stated at a visit'";
    assert_eq!(estate.count(noted), 1);
    let page = estate
        .client(AGENT)
        .page(&format!("/spaces/{}/site", estate.flat));
    assert!(page.contains("by Anna Arrow."), "{page}");
}

#[test]
fn a_visit_typed_in_from_paper_states_the_place_as_of_its_own_day() {
    let estate = Loop::start();
    let typed_in = |came: &str, mm: &str| {
        let form = PaperVisit {
            job: estate.annas(JobKind::Service, estate.boiler, Vec::new()),
            source: PaperSource::Paper,
            arrived_at: format!("{came}T09:00:00Z").parse().unwrap(),
            left_at: None,
            firm: None,
            engineer: Some(estate.anna),
            sheet: good_service()
                .with("site.cold_pipe_mm", mm)
                .with("r.main_static_bar", "2.8")
                .with("r.main_flow_lpm", "15"),
        };
        visit::paper_visit(estate.world(), &estate.seat_of(AGENT), form, &fresh()).unwrap();
    };
    typed_in("2026-11-20", "22");
    estate
        .app
        .database
        .clock
        .advance(chrono::TimeDelta::minutes(1));
    // The same pipe found again: what is measured through it stands.
    typed_in("2026-11-23", "22");
    assert_eq!(
        site(&estate, estate.flat),
        json!({ "cold_pipe_mm": 22.0, "static_bar": 2.8, "max_flow_lpm": 15.0 })
    );
    let said = register::site_said(estate.world(), &estate.seat_of(AGENT), estate.flat).unwrap();
    let on = |key: &str| said.iter().find(|fact| fact.key == key).unwrap().on;
    assert_eq!(on("cold_pipe_mm"), "2026-11-20".parse().unwrap());
    assert_eq!(on("max_flow_lpm"), "2026-11-23".parse().unwrap());
    assert!(
        said.iter().all(|fact| fact.by == "Ada Agent"),
        "whoever typed it in: {said:?}"
    );
    // Somebody who is not at the desk does not read the site.
    assert!(register::site_said(estate.world(), &estate.seat_of(ANNA), estate.flat).is_err());
}
