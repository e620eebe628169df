//! The rule book itself: it reads, every sentence can be filled, and a wrong one is refused.
#![expect(
    clippy::expect_used,
    reason = "a helper of a test stops at what cannot be"
)]

use std::collections::BTreeMap;

use inspection::completion::{Sheet, check};
use inspection::findings::judge;
use inspection::options::feasibility;
use inspection::{InspectionError, RuleBook, Values};
use proptest::prelude::*;

fn book() -> &'static RuleBook {
    RuleBook::shipped().expect("the shipped book")
}

#[test]
fn the_shipped_book_is_dated_and_has_a_digest() {
    let again = RuleBook::parse(RuleBook::shipped_text()).expect("it reads");
    assert_eq!(book().digest(), again.digest());
    assert_eq!(book().digest().len(), 64);
    assert_eq!(book().country(), "england");
    assert!(book().note().contains("plate and manual"));
    // One more space is another book.
    let other = RuleBook::parse(&format!("{} ", RuleBook::shipped_text())).expect("it reads");
    assert_ne!(book().digest(), other.digest());
}

#[test]
fn every_status_is_one_of_the_known_words() {
    let known = [
        "law text read",
        "published page",
        "standard from memory",
        "common practice, no source",
        "physics",
        "own computation",
    ];
    let limits = book().limits().iter().map(|l| &l.status);
    let others = book().events().iter().map(|e| &e.status);
    let blocks = book().blocks().iter().map(|b| &b.status);
    let formulas = book().formulas().iter().map(|f| &f.status);
    for status in limits.chain(others).chain(blocks).chain(formulas) {
        assert!(known.contains(&status.as_str()), "{status}");
    }
}

#[test]
fn a_wrong_book_is_refused_in_words() {
    let text = RuleBook::shipped_text();
    for (from, to, says) in [
        ("riserward-rule-book-1", "riserward-rule-book-0", "form"),
        (
            "\"gives\": [\"power_kw\", \"rise_k\"]",
            "\"gives\": [\"power\", \"rise_k\"]",
            "formula F1 gives power",
        ),
        (
            "[\"-\", \"hot_c\", \"cold_c\"]",
            "[\"minus\", \"hot_c\", \"cold_c\"]",
            "no operation",
        ),
        (
            "\"code\": \"A1_LOW_FLOW\"",
            "\"code\": \"A1_SAD\"",
            "sentence",
        ),
        ("\"row\": \"A2\"", "\"row\": \"A1\"", "twice"),
        (
            "\"event\": \"riddor_report\"",
            "\"event\": \"eicr_remedy\"",
            "twice",
        ),
    ] {
        assert!(text.contains(from), "{from}");
        let refused = RuleBook::parse(&text.replacen(from, to, 1)).expect_err("refused");
        assert!(refused.to_string().contains(says), "{refused}");
    }
    assert!(matches!(
        RuleBook::parse("{"),
        Err(InspectionError::RuleBook(_))
    ));
}

/// Each `{name}` of each sentence is a value the limit needs, works out, or reads by name.
#[test]
fn every_sentence_speaks_of_values_its_limit_knows() {
    let text = RuleBook::shipped_text();
    for limit in book().limits() {
        for sentence in limit.say.values() {
            for slot in sentence.split('{').skip(1) {
                let slot = slot.split('}').next().unwrap_or_default();
                let name = slot.split(':').next().unwrap_or_default();
                let worked_out = limit.lets.iter().any(|l| l.0 == name);
                let read =
                    limit.needs.iter().any(|n| n == name) || text.contains(&format!("\"{name}\""));
                assert!(worked_out || read, "{}: {sentence}", limit.row);
            }
        }
    }
}

#[test]
fn every_table_adds_up_to_about_one() {
    for table in book().tables() {
        let sum: f64 = table.parts.iter().map(|p| p.prior).sum();
        assert!((sum - 1.0).abs() < 0.011, "{}: {sum}", table.kind);
    }
}

/// On the unit's page and after the work a field stands alone: its name says of what, and no two of a kind are called alike.
#[test]
fn a_field_that_stands_alone_is_named_once() {
    for (kind, code, said) in [
        ("TS", "flow_lpm", "Hot outlet: flow"),
        (
            "HIU",
            "seconds_to_45",
            "Hot water at 45 seconds: seconds to 45 °C, if slower",
        ),
        ("HIU", "turning", "Pump: it turns"),
        ("CB", "return_c", "Heating flow and return: return"),
    ] {
        let set = book().set(kind).expect("a set");
        let mut named = BTreeMap::new();
        for spec in set.readings.iter().chain(&set.tests) {
            for field in &spec.fields {
                let name = spec.name_of(field);
                assert!(name.matches(':').count() < 2, "{name}");
                let other = named.insert(name, field.code.clone());
                assert!(
                    other.is_none_or(|other| other == field.code),
                    "{kind}: {}",
                    field.code
                );
            }
        }
        assert!(
            named.get(said).is_some_and(|found| found == code),
            "{kind}: {named:?}"
        );
    }
}

#[test]
fn unknown_is_never_fits() {
    for option in ["CB", "TS", "UV", "VC", "HIU"] {
        let answer = feasibility(book(), &Values::new(), option).expect("an option");
        assert_ne!(answer.verdict.code(), "fits", "{option}");
    }
    assert!(feasibility(book(), &Values::new(), "windmill").is_err());
}

fn any_value() -> impl Strategy<Value = serde_json::Value> {
    prop_oneof![
        Just(serde_json::Value::Null),
        any::<bool>().prop_map(serde_json::Value::from),
        (-1e12_f64..1e12).prop_map(serde_json::Value::from),
        Just(serde_json::json!(0)),
        "[a-z_ ]{0,8}".prop_map(serde_json::Value::from),
        Just(serde_json::json!("2026-02-30")),
    ]
}

proptest! {
    /// No limit panics or speaks of NaN, whatever is entered for any of its values.
    #[test]
    fn no_limit_panics_on_odd_values(values in prop::collection::vec(any_value(), 8), maker in any_value()) {
        for limit in book().limits() {
            let names = limit.needs.iter().map(String::as_str).chain(limit.value.as_deref()).chain(
                ["rated_kw", "setting_c", "last_year_mohm", "static_head_bar", "maker"],
            );
            let mut known = Values::new();
            for (name, value) in names.zip(values.iter().cycle()) {
                known.set(name, inspection::Value::from(value));
            }
            let makers = Values::new().with("pass_min", inspection::Value::from(&maker));
            if let Ok(judged) = judge(book(), &limit.row, &known, Some(&makers)) {
                prop_assert!(!judged.sentence.contains("NaN") && !judged.sentence.contains("inf"));
            }
        }
    }

    /// A sheet of odd entries is either refused or judged; if complete is open, no hard block that
    /// nobody may override stands.
    #[test]
    fn no_sheet_panics(values in prop::collection::vec(any_value(), 12)) {
        let v = |i: usize| values[i].clone();
        let json = serde_json::json!({
            "on": "2026-09-14",
            "gas_work": true,
            "engineer": {"registration_number": v(0), "category_covers_unit": v(1), "valid_until": v(2)},
            "gas": {"working_pressure_ok": v(3), "gas_rate_ok": v(4), "co_ppm": v(5), "co2_percent": v(6), "analyser_calibrated_until": v(7)},
            "tmv": {"outlet": v(8), "mix_c": v(9), "cold_shut_max_c": v(10), "shut_off_fails": v(11)},
        });
        if let Ok(sheet) = serde_json::from_value::<Sheet>(json) {
            let answer = check(&sheet).expect("a sheet that reads can be judged");
            prop_assert!(answer.hard_blocks.contains(&2) || sheet.engineer.is_some());
            prop_assert!(!answer.complete_allowed || !answer.hard_blocks.iter().any(|b| [1, 2, 3, 5, 6, 7].contains(b)));
        }
    }
}
