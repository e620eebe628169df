//! Worked examples E1–E37 of the trade file on readings, section 3 (checked there by program;
//! physics unless the formula says otherwise), and the findings beside them.
#![expect(
    clippy::expect_used,
    reason = "a helper of a test stops at what cannot be"
)]

use inspection::findings::judge;
use inspection::formulas::evaluate;
use inspection::{Level, RuleBook, Values};

fn near(got: f64, printed: f64, half_digit: f64) {
    assert!(
        (got - printed).abs() <= half_digit,
        "got {got}, printed {printed}"
    );
}

/// One result of a formula for values by name.
fn f(code: &str, values: &[(&str, f64)], result: &str) -> f64 {
    let mut all = Values::new();
    for (name, value) in values {
        all.set(name, *value);
    }
    let book = RuleBook::shipped().expect("the shipped book");
    let results = evaluate(book, code, &all).expect("these values can be worked out");
    results.number(result).expect("a number")
}

fn found(row: &str, values: &[(&str, f64)]) -> (Level, String) {
    let mut all = Values::new();
    for (name, value) in values {
        all.set(name, *value);
    }
    let judged = judge(
        RuleBook::shipped().expect("the shipped book"),
        row,
        &all,
        None,
    )
    .expect("these values can be judged");
    assert!(
        !judged.sentence.contains(['{', '}', '–']),
        "{}",
        judged.sentence
    );
    (judged.level, judged.code)
}

fn code(row: &str, values: &[(&str, f64)]) -> String {
    found(row, values).1
}

#[test]
fn hot_water_power_e1_to_e6() {
    let power = |flow: f64, rise: f64| {
        let values = [("flow_lpm", flow), ("cold_c", 0.0), ("hot_c", rise)];
        f("F1", &values, "power_kw")
    };
    near(power(10.0, 35.0), 24.42, 0.005);
    for (kw, flow) in [(30.0, 12.29), (24.0, 9.83), (35.0, 14.33)] {
        near(
            f("F2", &[("rated_kw", kw), ("rise_k", 35.0)], "flow_lpm"),
            flow,
            0.005,
        );
    }
    near(power(9.5, 33.0), 21.87, 0.005);
    let a1 = |flow, cold, hot, rated| {
        let values = [
            ("flow_lpm", flow),
            ("cold_c", cold),
            ("hot_c", hot),
            ("rated_kw", rated),
        ];
        code("A1", &values)
    };
    assert_eq!(a1(9.5, 10.0, 43.0, 30.0), "A1_LOW_POWER");
    assert_eq!(a1(12.0, 10.0, 36.0, 30.0), "A1_LOW_RISE");
    assert_eq!(a1(12.0, 10.0, 36.0, 24.0), "A1_FLOW_TOO_HIGH");
    assert_eq!(a1(6.0, 10.0, 60.0, 30.0), "A1_LOW_FLOW");
    let store = [
        ("hot_out_c", 50.0),
        ("cold_in_c", 10.0),
        ("source_c", 75.0),
        ("commissioned", 0.72),
    ];
    near(f("F3", &store, "effectiveness"), 0.615, 0.0005);
    near(f("F3", &store, "index"), 0.855, 0.0005);
    assert_eq!(
        code("B15", &[("effectiveness_index", 0.855)]),
        "B15_SCALING"
    );
}

#[test]
fn gas_e7_to_e13() {
    let timed = [("gas_m3", 0.1), ("cv_mj_per_m3", 39.5), ("seconds", 120.0)];
    near(f("F9", &timed, "gross_kw"), 32.9, 0.05);
    near(f("F9", &timed, "net_kw"), 29.7, 0.05);
    for (co, co2, ratio, expected) in [
        (45.0, 9.0, 0.0005, "OK"),
        (360.0, 9.0, 0.0040, "A6_CO"),
        (400.0, 9.0, 0.00444, "A6_RATIO"),
        (330.0, 9.2, 0.00359, "OK"),
        (380.0, 9.6, 0.00396, "A6_CO"),
    ] {
        near(
            f("F10", &[("co_ppm", co), ("co2_percent", co2)], "ratio"),
            ratio,
            0.000_005,
        );
        assert_eq!(
            code("A6", &[("co_ppm", co), ("co2_percent", co2)]),
            expected
        );
    }
    near(
        f(
            "F11",
            &[("flue_c", 60.0), ("air_c", 20.0), ("co2_percent", 9.0)],
            "net_flue_loss_percent",
        ),
        2.0,
        0.05,
    );
}

#[test]
fn elements_and_stores_e14_to_e16() {
    near(f("F12", &[("watts", 3000.0)], "ohms"), 17.63, 0.005);
    near(f("F12", &[("watts", 3000.0)], "amps"), 13.04, 0.005);
    let heat_up = [
        ("litres", 150.0),
        ("rise_k", 50.0),
        ("power_kw", 3.0),
        ("measured_hours", 4.6),
    ];
    near(f("F13", &heat_up, "heat_kwh"), 8.72, 0.005);
    near(f("F13", &heat_up, "hours"), 2.91, 0.005);
    near(f("F13", &heat_up, "ratio"), 1.58, 0.005);
    assert_eq!(code("B16", &[("heatup_ratio", 1.58)]), "B16_TOO_SLOW");
    let cooled = [("litres", 150.0), ("drop_k", 8.0), ("hours", 10.0)];
    near(f("F14", &cooled, "loss_kwh_24h"), 3.35, 0.005);
    near(f("F14", &cooled, "limit_kwh_24h"), 1.886, 0.0005);
    near(f("F14", &cooled, "ratio"), 1.78, 0.005);
    assert_eq!(code("B13", &[("loss_ratio", 1.78)]), "B13_INSULATION");
}

#[test]
fn vessels_e17_to_e23() {
    let vessel = |litres: f64, p0: f64, result: &str| {
        let values = [
            ("system_l", litres),
            ("expansion", 0.0287),
            ("p0_bar", p0),
            ("pe_bar", 2.5),
        ];
        f("F15", &values, result)
    };
    near(vessel(2000.0, 1.5, "expansion_l"), 57.4, 0.05);
    near(vessel(2000.0, 1.5, "vessel_l"), 236.0, 0.5);
    near(vessel(100.0, 1.0, "vessel_l"), 12.6, 0.05);
    let quick = |litres: f64, bar: f64| {
        let values = Values::new().with("system_l", litres).with("cold_bar", bar);
        let book = RuleBook::shipped().expect("the shipped book");
        evaluate(book, "F16", &values)
            .expect("worked out")
            .number("vessel_l")
    };
    near(quick(100.0, 1.0).expect("a listed pressure"), 10.9, 0.05);
    near(quick(180.0, 1.0).expect("a listed pressure"), 19.6, 0.05);
    assert_eq!(quick(180.0, 1.2), None);
    let grown = [("cold_c", 10.0), ("hot_c", 65.0)];
    near(f("expansion", &grown, "expansion"), 0.0195, 0.0002);
    for (litres, needed) in [(210.0, 10.9), (300.0, 15.6)] {
        let values = [
            ("stored_l", litres),
            ("expansion", 0.0195),
            ("p0_bar", 3.0),
            ("valve_bar", 6.0),
        ];
        near(f("F15_unvented", &values, "vessel_l"), needed, 0.05);
    }
    for (charge, hot) in [(0.75, 2.44), (0.2, 3.64)] {
        let values = [
            ("vessel_l", 8.0),
            ("charge_bar", charge),
            ("fill_bar", 1.2),
            ("system_l", 80.0),
            ("expansion", 0.0287),
        ];
        near(f("F17", &values, "hot_bar"), hot, 0.005);
    }
    assert_eq!(code("A12", &[("hot_bar", 2.44)]), "OK");
    assert_eq!(code("A12", &[("hot_bar", 3.64)]), "A12_VESSEL");
    let leak = [
        ("vessel_l", 8.0),
        ("charge_bar", 0.75),
        ("from_bar", 1.5),
        ("to_bar", 1.0),
    ];
    near(f("F18", &leak, "lost_l"), 1.40, 0.005);
}

#[test]
fn flow_and_networks_e24_to_e31() {
    let circulation = [("power_kw", 24.0), ("dt_k", 20.0)];
    near(f("F5", &circulation, "flow_lps"), 0.287, 0.0005);
    let plate = [
        ("t1_in_c", 75.0),
        ("t1_out_c", 50.0),
        ("t2_in_c", 10.0),
        ("t2_out_c", 45.0),
        ("power_kw", 24.4),
        ("ua_commissioned", 1.05),
    ];
    near(f("F4", &plate, "lmtd_k"), 34.76, 0.005);
    near(f("F4", &plate, "ratio"), 0.67, 0.005);
    assert_eq!(code("D2", &[("ua_ratio", 0.6685)]), "D2_CLEAN");
    let metered = [
        ("flow_vw_c", 70.0),
        ("heat_kwh", 4000.0),
        ("volume_m3", 172.0),
    ];
    near(f("F7", &metered, "vwart_c"), 50.0, 0.05);
    let draws = serde_json::json!({ "draws": [
        { "volume_m3": 23.0, "return_c": 50.0 },
        { "volume_m3": 100.0, "return_c": 70.0 },
    ] });
    let values = Values::from_json(draws.as_object().expect("an object"));
    let book = RuleBook::shipped().expect("the shipped book");
    let mean = evaluate(book, "F7", &values).expect("m³");
    near(mean.number("vwart_c").expect("a number"), 66.3, 0.05);
    assert_eq!(code("C5", &[("vwart_c", 50.003)]), "C5_WARM");
    let year = [
        ("heat_in_kwh", 420_000.0),
        ("heat_metered_kwh", 260_000.0),
        ("homes", 60.0),
    ];
    near(f("F8", &year, "loss_w_per_home"), 304.0, 0.5);
    near(f("F8", &year, "loss_share"), 0.38, 0.005);
    let meter = [
        ("meter_kwh", 36.0),
        ("volume_m3", 1.2),
        ("dt_k", 28.0),
        ("accuracy_class", 2.0),
        ("qp_m3h", 1.5),
        ("q_m3h", 0.3),
        ("dt_min_k", 3.0),
    ];
    let permitted = [
        ("accuracy_class", 2.0),
        ("qp_m3h", 1.5),
        ("q_m3h", 0.3),
        ("dt_min_k", 3.0),
        ("dt_k", 30.0),
    ];
    near(f("F21", &permitted, "permitted_percent"), 3.5, 0.05);
    assert_eq!(code("M2", &meter), "M2_ENERGY");
    for (bore, speed) in [(13.6, 2.29), (20.2, 1.04)] {
        let pipe = [("flow_lpm", 20.0), ("bore_mm", bore)];
        near(f("F20", &pipe, "speed_m_s"), speed, 0.005);
    }
}

#[test]
fn water_e32_to_e37() {
    let store = [
        ("litres", 210.0),
        ("from_c", 75.0),
        ("to_c", 45.0),
        ("bath_l", 120.0),
        ("bath_c", 42.0),
        ("cold_c", 10.0),
    ];
    near(f("energy_in_store", &store, "store_kwh"), 7.33, 0.005);
    near(f("energy_in_store", &store, "bath_kwh"), 4.47, 0.005);
    let mix = [("mix_c", 48.0), ("hot_c", 60.0), ("cold_c", 10.0)];
    near(f("F19", &mix, "hot_share"), 0.76, 0.005);
    assert_eq!(code("B4", &[("cold_c", 20.0)]), "B4_WARM");
    assert_eq!(code("B3", &[("hot_c_at_60s", 49.6)]), "B3_COOL");
    near(f("F12", &[("watts", 9000.0)], "amps"), 39.1, 0.05);
    near(
        f("F12", &[("watts", 12_000.0)], "amps_three_phase"),
        17.3,
        0.05,
    );
    let hard = [("mg_per_l", 280.0)];
    near(f("hardness", &hard, "clark"), 19.6, 0.05);
    near(f("hardness", &hard, "german"), 15.7, 0.05);
    near(f("hardness", &hard, "french"), 28.0, 0.05);
    assert_eq!(code("A18", &[("mg_per_l", 280.0)]), "A18_HARD");
}

// What cannot be is refused with a reason, and a missing value is named.
#[test]
fn a_formula_refuses_what_cannot_be() {
    let book = RuleBook::shipped().expect("the shipped book");
    let refused = |code: &str, values: &Values| {
        evaluate(book, code, values)
            .expect_err("refused")
            .to_string()
    };
    let values = Values::new().with("rated_kw", 30.0).with("rise_k", 0.0);
    assert!(refused("F2", &values).contains("rise_k must be above 0"));
    assert_eq!(refused("F2", &Values::new()), "rated_kw is missing");
    assert!(refused("F99", &values).contains("no entry 'F99'"));
    let steam = Values::new().with("temp_c", 160.0);
    assert!(refused("density", &steam).contains("between 0 and 150"));
}

// READINGS E34: set to 41, reads 42.5, cold shut settles at 45: the second is over the maximum.
#[test]
fn a_valve_that_settles_too_hot_stops() {
    let book = RuleBook::shipped().expect("the shipped book");
    let values = Values::new().with("outlet", "shower").with("mix_c", 42.5);
    let drift = judge(book, "B8", &values, None).expect("judged");
    assert_eq!(drift.code, "B8_NO_SHUT_OFF_TEST");
    let hot = judge(book, "B8", &values.with("cold_shut_max_c", 45.0), None).expect("judged");
    assert_eq!((hot.level, hot.code.as_str()), (Level::Stop, "B8_OVER_MAX"));
}

// Expansion from 10 °C as printed in READINGS section 1 (physics, from the density of water).
#[test]
fn expansion_of_water() {
    for (hot, percent) in [(60.0, 1.68), (70.0, 2.24), (80.0, 2.87), (90.0, 3.56)] {
        near(
            100.0
                * f(
                    "expansion",
                    &[("cold_c", 10.0), ("hot_c", hot)],
                    "expansion",
                ),
            percent,
            0.02,
        );
    }
}

// Binary arithmetic must not decide: 1.1 − 1.0 counts as 0.1.
#[test]
fn a_value_is_rounded_before_it_meets_a_limit() {
    assert_eq!(
        code("A14", &[("charge_bar", 1.1), ("setting_bar", 1.0)]),
        "OK"
    );
    assert_eq!(
        code(
            "A1",
            &[("flow_lpm", 12.3), ("cold_c", 10.1), ("hot_c", 45.1)]
        ),
        "OK"
    );
}

#[test]
fn the_maker_comes_before_the_general_limit() {
    let book = RuleBook::shipped().expect("the shipped book");
    let values = Values::new().with("working_mbar", 18.0);
    let maker = Values::new().with("pass_min", 17.0).with("pass_max", 25.0);
    assert_eq!(
        judge(book, "A8", &values, None).expect("judged").level,
        Level::Stop
    );
    assert_eq!(
        judge(book, "A8", &values, Some(&maker))
            .expect("judged")
            .level,
        Level::Pass
    );
    let outside = judge(
        book,
        "A8",
        &Values::new().with("working_mbar", 16.0),
        Some(&maker),
    );
    let outside = outside.expect("judged");
    assert_eq!(
        (outside.level, outside.code.as_str()),
        (Level::Stop, "A8_MAKER")
    );
    assert!(
        outside.sentence.contains("17 to 25"),
        "{}",
        outside.sentence
    );
}
