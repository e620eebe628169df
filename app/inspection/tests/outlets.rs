//! Temperatures of a monthly round against their limits, and the figures a maker may state.
//!
//! HSE's pages on hot and cold water systems (published pages): hot outlets 50 °C within one minute, cold under 20 °C
//! within two, leaving the store 60 °C, coming back 50 °C. Boundaries: trade file on readings, B1 to B4 and example E35.
#![expect(
    clippy::expect_used,
    reason = "a helper of a test stops at what cannot be"
)]

use inspection::makers::{by_row, figures_for, in_words};
use inspection::outlets::{judge_outlet, limit_of};
use inspection::{Level, RuleBook};

fn book() -> &'static RuleBook {
    RuleBook::shipped().expect("the shipped book")
}

fn level(place: &str, temp: f64, seconds: Option<i64>) -> Level {
    judge_outlet(book(), place, temp, seconds)
        .expect("judged")
        .level
}

#[test]
fn each_place_has_its_limit_and_its_boundary() {
    for (place, temp, seconds, expected) in [
        // E35: 49.6 at one minute and 20.0 at two both ask for an action.
        ("hot_sentinel", 49.6, Some(60), Level::Act),
        ("hot_sentinel", 50.0, Some(60), Level::Watch),
        ("hot_sentinel", 51.0, Some(60), Level::Pass),
        ("cold_sentinel", 20.0, Some(120), Level::Act),
        ("cold_sentinel", 19.9, Some(120), Level::Watch),
        ("cold_sentinel", 18.9, Some(120), Level::Pass),
        ("store_outflow", 59.9, None, Level::Act),
        ("store_outflow", 60.0, None, Level::Watch),
        ("store_outflow", 61.0, None, Level::Pass),
        ("store_return", 49.9, None, Level::Act),
        ("store_return", 50.0, None, Level::Pass),
        // No limit is held for any other outlet, however warm.
        ("other", 35.0, None, Level::Pass),
    ] {
        assert_eq!(level(place, temp, seconds), expected, "{place} {temp}");
    }
}

#[test]
fn what_asks_for_an_action_says_what_to_do_and_what_passes_does_not() {
    for place in [
        "hot_sentinel",
        "cold_sentinel",
        "store_outflow",
        "store_return",
    ] {
        let out = if place == "cold_sentinel" { 25.0 } else { 40.0 };
        let bad = judge_outlet(book(), place, out, None).expect("judged");
        assert!(bad.what_to_do.contains("Tell the office today"), "{place}");
        let fine = if place == "cold_sentinel" { 10.0 } else { 65.0 };
        let good = judge_outlet(book(), place, fine, None).expect("judged");
        assert_eq!(good.what_to_do, "", "{place}");
        assert!(limit_of(book(), place).is_some());
    }
    assert_eq!(limit_of(book(), "other"), None);
}

#[test]
fn a_reading_taken_late_is_watched_but_never_excuses_one_out_of_its_limit() {
    assert_eq!(level("hot_sentinel", 55.0, Some(61)), Level::Watch);
    assert_eq!(level("hot_sentinel", 55.0, Some(60)), Level::Pass);
    assert_eq!(level("hot_sentinel", 45.0, Some(300)), Level::Act);
    assert_eq!(level("cold_sentinel", 12.0, Some(121)), Level::Watch);
}

#[test]
fn a_maker_may_move_what_is_the_units_and_nothing_else() {
    let names = |kind: &str| -> Vec<String> {
        figures_for(book(), kind)
            .into_iter()
            .map(|s| format!("{}.{}", s.row, s.name))
            .collect()
    };
    let combi = names("CB");
    for figure in [
        "A1.rise_min_k",
        "A1.rated_flow_lpm",
        "A6.ratio_max",
        "A6.co_max_ppm",
        "A11.pass_min",
        "A11.pass_max",
        "A14.charge_bar",
        "A15.pass_min",
    ] {
        assert!(combi.iter().any(|f| f == figure), "{figure} of {combi:?}");
    }
    // Insulation, CO in the room, the supply and the water's hardness are nobody's to move.
    for row in ["A4.", "A5.", "A7.", "A18.", "B3.", "B4.", "B14."] {
        assert!(!combi.iter().any(|f| f.starts_with(row)), "{row}");
    }
    assert!(names("TMV").is_empty() && names("CT").is_empty());
}

#[test]
fn the_figures_of_one_limit_are_said_with_their_names() {
    let rows = by_row([
        ("A6", "ratio_max", 0.003),
        ("A6", "co_max_ppm", 200.0),
        ("A15", "pass_min", 300.0),
    ]);
    let limit = book().limit("A6").expect("a limit");
    assert_eq!(
        in_words(limit, &rows["A6"]),
        "0.003 (greatest CO over CO₂) and 200 ppm (greatest CO)"
    );
    let limit = book().limit("A15").expect("a limit");
    assert_eq!(in_words(limit, &rows["A15"]), "300 ppm (least, inhibitor)");
}
