//! Where the share of failures beyond repair comes from: what is believed of any kind, the kind's own record, the unit's own
//! forecast, the desk; each with its doubt.
use uuid::Uuid;

use super::estate::Estate;

/// φ of a new advice, the ends of its range, and where it comes from.
fn told(estate: &Estate) -> (f64, Option<(f64, f64)>, String) {
    let stored = estate.stored(estate.advised(estate.job(), 41_200));
    let old = &stored.inputs["case"]["old"];
    let range = serde_json::from_value(old["write_off_range"].clone()).unwrap();
    let lines = stored.inputs["lines"].as_array().unwrap();
    let said: Vec<&serde_json::Value> = lines
        .iter()
        .filter(|line| line["code"] == "write_off_share")
        .collect();
    assert_eq!(said.len(), 1, "said once");
    let words = format!("{}; {}", said[0]["source"], said[0]["status"]);
    (old["write_off_share"].as_f64().unwrap(), range, words)
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-6, "{a} for {b}");
}

#[test]
fn the_share_beyond_repair_is_the_units_before_its_kinds_before_what_is_believed() {
    let estate = Estate::new();
    let (share, range, words) = told(&estate);
    near(share, 0.03);
    let (low, high) = range.unwrap();
    assert!(low < share && share < high, "{low} {high}");
    assert!(words.contains("none of this one has failed on record"));
    assert!(words.contains("guess"), "{words}");
    // 9 written off over 67 failures beside 3 in 100 held like 33 failures: (0.99 + 9)/(33 + 67).
    let (e, fit) = (estate.seat.estate(), Uuid::new_v4());
    let body = r#"{"fit":{"n_failures":67},"life":{"written_off":9}}"#;
    estate.app.database.as_owner(&format!(
        "SET app.estate_id = '{e}';
         INSERT INTO estate.fits VALUES ('{e}', '{fit}', 'CB', now(), now(), 'converged', 20, 67, 0, '{body}', '')"
    ));
    let (share, range, words) = told(&estate);
    near(share, 0.0999);
    assert!(range.is_some_and(|(low, high)| low < share && share < high));
    assert!(
        words.contains("9 of its kind written off over 67 failures")
            && words.contains("own records 67 %"),
        "{words}"
    );
    // Its own forecast: 8 in 100 within the year, 0.4 failures expected: −ln(0.92)/0.4.
    estate.app.database.as_owner(&format!(
        "SET app.estate_id = '{e}';
         INSERT INTO estate.forecasts VALUES ('{e}', '{id}', '{u}', '{fit}', now(), now(), '2026-11-25', 0.33, 0.2, 0.5,
           0.4, 0.3, 0.2, 0.5, '2026-11-25', '2027-03-31', '{{\"lost_12m\":[0.08,0.03,0.15]}}', '', NULL)",
        id = Uuid::new_v4(),
        u = estate.unit,
    ));
    let (share, range, words) = told(&estate);
    near(share, 0.208_454);
    near(range.unwrap().0, 0.076_148);
    assert!(words.contains("forecast of 25 November 2026"), "{words}");
    let id = estate.advised(estate.job(), 41_200);
    let agent = estate.app.signed_in("agent@test");
    let page = agent.page(&format!("/advice/{id}"));
    assert!(page.contains("20.8 in 100") || page.contains("21 in 100"));
    assert!(
        page.contains("Single failures beyond repair, 7.6 to "),
        "{page}"
    );
    // What the desk states stands before all of it.
    let fields = [("key", "write_off_share"), ("value", "0.05")];
    let settings = agent.page("/prices?kind=CB");
    assert!(settings.contains("our guess, no source, as at 1 July 2026"));
    assert_eq!(agent.post("/prices/figure?kind=CB", &fields).status(), 303);
    let (share, range, words) = told(&estate);
    assert_eq!((share, range), (0.05, None));
    assert!(words.contains("estate setting"), "{words}");
}
