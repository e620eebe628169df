//! A maker's own figure for a unit beats the general limit, whichever way, and is never overwritten.
//! General limits: CO 350 ppm (published page), CO over CO₂ 0.0040 (READINGS A6). The maker's figures here are invented.
use terms::{FigureSource, JobKind, JobState};
use usecases::makers::{self, StateFigure, TakeBackFigure};
use usecases::visit::Sheet;
use usecases::{Error, Seat};

use crate::visit_sheet::{good_service, refused, says, submit};
use crate::work_estate::{AGENT, ANNA, BELLA, Loop};

fn state(
    estate: &Loop,
    seat: &Seat,
    (figure, value): (&str, f64),
    once: &str,
) -> Result<(), Error> {
    let form = StateFigure {
        unit: estate.boiler,
        figure: figure.to_owned(),
        value,
        source: FigureSource::Manual,
        reference: "page 31".to_owned(),
        read_on: "2026-11-20".parse().unwrap(),
    };
    makers::state_figure(estate.world(), seat, form, once)
}

fn service(estate: &Loop) -> terms::JobId {
    let duty = estate.duty(estate.boiler, "G1");
    estate.annas(JobKind::Service, estate.boiler, vec![duty])
}

/// What the rules said of the boiler's readings, in the record.
fn findings(estate: &Loop) -> Vec<(String, String)> {
    estate
        .world()
        .acting(&estate.seat, |tx| {
            Ok::<_, Error>(
                tx.findings_of(estate.boiler)?
                    .into_iter()
                    .map(|(_, f)| (f.level.code().to_owned(), f.words))
                    .collect(),
            )
        })
        .unwrap()
}

#[test]
fn a_reading_inside_the_general_limit_but_over_the_makers_blocks() {
    let estate = Loop::start();
    let job = service(&estate);
    // 40 ppm over 9.0 % is 0.00044, far inside the general 0.0040; the maker says 0.0004.
    state(
        &estate,
        &estate.seat_of(AGENT),
        ("A6.ratio_max", 0.0004),
        "f1",
    )
    .unwrap();
    let wrongs = refused(submit(&estate, job, &good_service()));
    assert!(says(&wrongs, "combustion inside the limits"), "{wrongs:?}");
    assert!(
        says(
            &wrongs,
            "By the maker’s figure of 0.0004 (greatest CO over CO₂)."
        ),
        "{wrongs:?}"
    );
    assert_eq!(
        estate.job(job).state,
        JobState::Taken,
        "nothing was changed"
    );
    // Taken back, the general limit holds again and the same sheet is taken.
    let back = TakeBackFigure {
        unit: estate.boiler,
        figure: "A6.ratio_max".to_owned(),
        reason: "misread: 0.004".to_owned(),
    };
    let agent = estate.seat_of(AGENT);
    makers::take_back_figure(estate.world(), &agent, back.clone(), "b1").unwrap();
    makers::take_back_figure(estate.world(), &agent, back.clone(), "b1").unwrap();
    let twice = makers::take_back_figure(estate.world(), &agent, back, "b2");
    assert!(matches!(twice, Err(Error::Conflict(_))));
    submit(&estate, job, &good_service()).unwrap();
    assert_eq!(estate.job(job).state, JobState::Done);
    let known = makers::unit_figures(estate.world(), &agent, estate.boiler).unwrap();
    assert_eq!(known.figures.len(), 1, "what was stated stays readable");
    assert!(known.figures[0].figure.superseded_at.is_some());
}

#[test]
fn a_reading_over_the_general_limit_but_inside_the_makers_passes() {
    let estate = Loop::start();
    let job = service(&estate);
    // 380 ppm over 9.6 % is 0.00396: the ratio passes, 380 is over the general 350 (READINGS example E12).
    let sheet = good_service()
        .with("r.co_ppm", "380")
        .with("r.co2_percent", "9.6");
    let wrongs = refused(submit(&estate, job, &sheet));
    assert!(says(&wrongs, "combustion inside the limits"), "{wrongs:?}");
    state(
        &estate,
        &estate.seat_of(ANNA),
        ("A6.co_max_ppm", 400.0),
        "f1",
    )
    .unwrap();
    submit(&estate, job, &sheet).unwrap();
    assert_eq!(estate.job(job).state, JobState::Done);
}

#[test]
fn a_vessel_is_judged_by_the_makers_charge_and_the_finding_says_so() {
    let estate = Loop::start();
    let job = service(&estate);
    // 1.0 bar against a charge of 0.75: more than a fifth off, to be acted on (READINGS A14).
    state(
        &estate,
        &estate.seat_of(AGENT),
        ("A14.charge_bar", 0.75),
        "f1",
    )
    .unwrap();
    submit(&estate, job, &good_service()).unwrap();
    let said = findings(&estate);
    let vessel = said
        .iter()
        .find(|(_, words)| {
            words.contains("By the maker’s figure of 0.75 bar (charge of the vessel).")
        })
        .unwrap_or_else(|| panic!("not said: {said:?}"));
    assert_eq!(vessel.0, "act");
    // The inhibitor is judged by the product's own band: 1000 ppm is under 80 % of 1300.
    state(
        &estate,
        &estate.seat_of(AGENT),
        ("A15.pass_min", 1300.0),
        "f2",
    )
    .unwrap();
    let job = estate.annas(JobKind::Service, estate.boiler, Vec::new());
    submit(&estate, job, &Sheet::clone(&good_service())).unwrap();
    assert!(
        findings(&estate)
            .iter()
            .any(|(level, words)| level == "act" && words.contains("re-dose"))
    );
}

#[test]
fn what_cannot_be_a_makers_figure_is_refused_and_who_may_state_one() {
    let estate = Loop::start();
    let agent = estate.seat_of(AGENT);
    let field = |answer: Result<(), Error>| match answer {
        Err(Error::Invalid(wrongs)) => wrongs[0].field.clone(),
        other => panic!("not refused: {other:?}"),
    };
    // The limits of the water and of people's safety are no maker's to move.
    for figure in [
        "B4.pass_max",
        "A5.pass_min",
        "A7.pass_max",
        "nonsense",
        "A6.rise_min_k",
    ] {
        assert_eq!(
            field(state(&estate, &agent, (figure, 30.0), figure)),
            "figure",
            "{figure}"
        );
    }
    assert_eq!(
        field(state(&estate, &agent, ("A6.ratio_max", 0.4), "w1")),
        "value"
    );
    assert_eq!(
        field(state(&estate, &agent, ("A6.ratio_max", f64::NAN), "w2")),
        "value"
    );
    state(&estate, &agent, ("A11.pass_max", 1.4), "w3").unwrap();
    assert_eq!(
        field(state(&estate, &agent, ("A11.pass_min", 1.6), "w4")),
        "value"
    );
    // An engineer of a firm that has nothing to do with the unit finds it is not there.
    let bella = state(
        &estate,
        &estate.seat_of(BELLA),
        ("A6.co_max_ppm", 300.0),
        "w5",
    );
    assert!(matches!(bella, Err(Error::NotFound(_))), "{bella:?}");
    let stranger = usecases::founding::found_estate(estate.world(), "Other", false).unwrap();
    let other = state(&estate, &stranger, ("A6.co_max_ppm", 300.0), "w6");
    assert!(matches!(other, Err(Error::NotFound(_))), "{other:?}");
}

#[test]
fn the_desk_and_the_engineer_enter_it_on_their_pages() {
    let estate = Loop::start();
    let job = service(&estate);
    let (agent, anna, bella) = (
        estate.client(AGENT),
        estate.client(ANNA),
        estate.client(BELLA),
    );
    let at = format!("/units/{}/maker", estate.boiler);
    let fields = |value: &'static str, once: &'static str| {
        [
            ("once", once),
            ("figure", "A6.co_max_ppm"),
            ("value", value),
            ("source", "plate"),
            ("reference", "second line"),
        ]
    };
    let wrong = agent.post(&at, &fields("a lot", "p1"));
    assert_eq!(wrong.status(), 422);
    let page = wrong.text().unwrap();
    assert!(page.contains("“a lot” is not a number") && page.contains("value=\"second line\""));
    assert_eq!(agent.post(&at, &fields("200", "p2")).status(), 303);
    assert_eq!(
        agent.post(&at, &fields("200", "p2")).status(),
        303,
        "sent twice"
    );
    assert_eq!(bella.get(&at).status(), 404);
    assert_eq!(bella.post(&at, &fields("900", "p3")).status(), 404);
    let unit = agent
        .page(&format!("/units/{}", estate.boiler))
        .replace('\u{a0}', " ");
    for words in [
        "Greatest CO. From the unit’s plate, second line, read on 25 November 2026; written by Ada Agent",
        "200 ppm",
        "It comes before the general limit: ratio up to 0.0040 and CO up to 350 ppm",
    ] {
        assert!(unit.contains(words), "“{words}” is not on the unit's page");
    }
    let sheet = anna.page(&format!("/sheet/{job}")).replace('\u{a0}', " ");
    assert!(
        sheet.contains("greatest CO, 200 ppm, from the unit’s plate, second line."),
        "{sheet}"
    );
    let entered = anna.post(
        &format!("/sheet/{job}/maker"),
        &[
            ("once", "s1"),
            ("figure", "A1.rise_min_k"),
            ("value", "38"),
            ("source", "manual"),
            ("reference", "page 9"),
        ],
    );
    assert_eq!(entered.status(), 303);
    let missing = anna.post(
        &format!("/sheet/{job}/maker"),
        &[
            ("once", "s2"),
            ("figure", "A1.rise_min_k"),
            ("value", "38"),
            ("source", "manual"),
        ],
    );
    assert_eq!(missing.status(), 422);
    assert!(
        missing
            .text()
            .unwrap()
            .contains("Say which page of the manual")
    );
    let known =
        makers::unit_figures(estate.world(), &estate.seat_of(AGENT), estate.boiler).unwrap();
    assert_eq!(known.figures.len(), 2);
}
