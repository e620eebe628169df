//! Worked examples E1–E37 of the trade file on readings, section 3 (checked there by program;
//! physics unless the formula says otherwise), and the findings beside them.
#![expect(
    clippy::expect_used,
    reason = "a helper of a test stops at what cannot be"
)]

use inspection::findings::judge;
use inspection::formulas as f;
use inspection::{Level, RuleBook, Values};

fn near(got: f64, printed: f64, half_digit: f64) {
    assert!(
        (got - printed).abs() <= half_digit,
        "got {got}, printed {printed}"
    );
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
    near(f::hot_water_power_kw(10.0, 35.0), 24.42, 0.005);
    for (kw, flow) in [(30.0, 12.29), (24.0, 9.83), (35.0, 14.33)] {
        near(f::expected_flow_lpm(kw, 35.0).expect("a rise"), flow, 0.005);
    }
    near(f::hot_water_power_kw(9.5, 33.0), 21.87, 0.005);
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
    let (now, index) = f::effectiveness(50.0, 10.0, 75.0, Some(0.72)).expect("a warm store");
    near(now, 0.615, 0.0005);
    near(index.expect("commissioned"), 0.855, 0.0005);
    assert_eq!(
        code("B15", &[("effectiveness_index", 0.855)]),
        "B15_SCALING"
    );
}

#[test]
fn gas_e7_to_e13() {
    let (gross, net) = f::gas_rate_kw(0.1, 39.5, 120.0).expect("a time");
    near(gross, 32.9, 0.05);
    near(net, 29.7, 0.05);
    for (co, co2, ratio, expected) in [
        (45.0, 9.0, 0.0005, "OK"),
        (360.0, 9.0, 0.0040, "A6_CO"),
        (400.0, 9.0, 0.00444, "A6_RATIO"),
        (330.0, 9.2, 0.00359, "OK"),
        (380.0, 9.6, 0.00396, "A6_CO"),
    ] {
        near(f::co_ratio(co, co2).expect("CO₂"), ratio, 0.000_005);
        assert_eq!(
            code("A6", &[("co_ppm", co), ("co2_percent", co2)]),
            expected
        );
    }
    near(
        f::flue_loss_percent(60.0, 20.0, 9.0).expect("CO₂"),
        2.0,
        0.05,
    );
}

#[test]
fn elements_and_stores_e14_to_e16() {
    let element = f::element(3000.0, 230.0).expect("watts");
    near(element.ohms, 17.63, 0.005);
    near(element.amps, 13.04, 0.005);
    let heat_up = f::heat_up(150.0, 50.0, 3.0, Some(4.6)).expect("power");
    near(heat_up.heat_kwh, 8.72, 0.005);
    near(heat_up.hours, 2.91, 0.005);
    near(heat_up.ratio.expect("measured"), 1.58, 0.005);
    assert_eq!(code("B16", &[("heatup_ratio", 1.58)]), "B16_TOO_SLOW");
    let loss = f::standing_loss(150.0, 8.0, 10.0, None).expect("hours");
    near(loss.loss_kwh_24h, 3.35, 0.005);
    near(loss.limit_kwh_24h, 1.886, 0.0005);
    near(loss.ratio, 1.78, 0.005);
    assert_eq!(code("B13", &[("loss_ratio", 1.78)]), "B13_INSULATION");
}

#[test]
fn vessels_e17_to_e23() {
    let plant = f::vessel(2000.0, 0.0287, 1.5, 2.5).expect("pressures");
    near(plant.expansion_l, 57.4, 0.05);
    near(plant.vessel_l, 236.0, 0.5);
    let flat = f::vessel(100.0, 0.0287, 1.0, 2.5).expect("pressures");
    near(flat.vessel_l, 12.6, 0.05);
    near(
        f::vessel_quick_l(100.0, 1.0).expect("a listed pressure"),
        10.9,
        0.05,
    );
    near(
        f::vessel_quick_l(180.0, 1.0).expect("a listed pressure"),
        19.6,
        0.05,
    );
    assert_eq!(f::vessel_quick_l(180.0, 1.2), None);
    let share = f::expansion_share(10.0, 65.0).expect("liquid water");
    near(share, 0.0195, 0.0002);
    near(
        f::unvented_vessel(210.0, 0.0195, 3.0, 6.0)
            .expect("pressures")
            .vessel_l,
        10.9,
        0.05,
    );
    near(
        f::unvented_vessel(300.0, 0.0195, 3.0, 6.0)
            .expect("pressures")
            .vessel_l,
        15.6,
        0.05,
    );
    let hot = |charge| f::hot_pressure(8.0, charge, 1.2, (80.0, 0.0287)).expect("a vessel");
    near(hot(0.75).hot_bar.expect("not full"), 2.44, 0.005);
    near(hot(0.2).hot_bar.expect("not full"), 3.64, 0.005);
    assert_eq!(code("A12", &[("hot_bar", 2.44)]), "OK");
    assert_eq!(code("A12", &[("hot_bar", 3.64)]), "A12_VESSEL");
    let lost = f::vessel_water_l(8.0, 0.75, 1.5) - f::vessel_water_l(8.0, 0.75, 1.0);
    near(lost, 1.40, 0.005);
}

#[test]
fn flow_and_networks_e24_to_e31() {
    near(
        f::circulation_lps(24.0, 20.0).expect("a difference"),
        0.287,
        0.0005,
    );
    let plate = f::exchanger((75.0, 50.0), (10.0, 45.0), 24.4, Some(1.05)).expect("ends");
    near(plate.lmtd_k, 34.76, 0.005);
    near(plate.ratio.expect("commissioned"), 0.67, 0.005);
    assert_eq!(code("D2", &[("ua_ratio", 0.6685)]), "D2_CLEAN");
    near(
        f::volume_weighted_return_c(&[(23.0, 50.0), (100.0, 70.0)]).expect("m³"),
        66.3,
        0.05,
    );
    near(
        f::return_from_meter_c(70.0, 4000.0, 172.0).expect("m³"),
        50.0,
        0.05,
    );
    assert_eq!(code("C5", &[("vwart_c", 50.003)]), "C5_WARM");
    let loss = f::network_loss(420_000.0, 260_000.0, 60.0).expect("homes");
    near(loss.loss_w_per_home, 304.0, 0.5);
    near(loss.loss_share, 0.38, 0.005);
    let permitted = f::permitted_error(2, (1.5, 0.3), 3.0, 30.0).expect("class 2");
    near(permitted.permitted_percent, 3.5, 0.05);
    let meter = [
        ("meter_kwh", 36.0),
        ("volume_m3", 1.2),
        ("dt_k", 28.0),
        ("accuracy_class", 2.0),
        ("qp_m3h", 1.5),
        ("q_m3h", 0.3),
        ("dt_min_k", 3.0),
    ];
    assert_eq!(code("M2", &meter), "M2_ENERGY");
    near(f::pipe_speed_m_s(20.0, 13.6).expect("a bore"), 2.29, 0.005);
    near(f::pipe_speed_m_s(20.0, 20.2).expect("a bore"), 1.04, 0.005);
}

#[test]
fn water_e32_to_e37() {
    let bath = f::store_energy_kwh(120.0, 32.0);
    near(f::store_energy_kwh(210.0, 30.0), 7.33, 0.005);
    near(bath, 4.47, 0.005);
    near(f::hot_share(48.0, 60.0, 10.0).expect("hot"), 0.76, 0.005);
    assert_eq!(code("B4", &[("cold_c", 20.0)]), "B4_WARM");
    assert_eq!(code("B3", &[("hot_c_at_60s", 49.6)]), "B3_COOL");
    near(f::element(9000.0, 230.0).expect("watts").amps, 39.1, 0.05);
    near(
        f::element(12_000.0, 230.0).expect("watts").amps_three_phase,
        17.3,
        0.05,
    );
    let hard = f::hardness_degrees(280.0);
    near(hard.clark, 19.6, 0.05);
    near(hard.german, 15.7, 0.05);
    near(hard.french, 28.0, 0.05);
    assert_eq!(code("A18", &[("mg_per_l", 280.0)]), "A18_HARD");
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
            100.0 * f::expansion_share(10.0, hot).expect("liquid"),
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
