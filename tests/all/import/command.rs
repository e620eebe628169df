//! The same from the command line, columns matched by a file.
use usecases::Error;
use usecases::import::{self, Wish};

use super::estate::{Estate, block, on};

#[test]
fn by_command_a_file_is_looked_at_or_brought_in() {
    let estate = Estate::new();
    block(estate.world(), &estate.seat, "Osier Tower", (3, 2));
    let list = b"Apt,What it is,Inst.,Wohin\n1,combi,07/08/2018,x\n2,combi,old,y\n";
    let mapping = r#"{"What it is": "kind", "Wohin": null, "dates": "day_first", "leave_out": ["date_unreadable"]}"#;
    let wish = Wish {
        name: "by/command.csv",
        building: Some("osier tower"),
        mapping: Some(mapping),
        ..Wish::default()
    };
    let (preview, came) = import::command(estate.world(), &estate.seat, list, wish).unwrap();
    assert!(preview.ready && !came, "{:?}", preview.problems);
    assert!(
        import::lists(estate.world(), &estate.seat)
            .unwrap()
            .is_empty(),
        "a look keeps nothing"
    );
    let json = serde_json::to_value(&preview).unwrap();
    assert_eq!(json["problems"][0]["row"], 3);
    assert_eq!(json["problems"][0]["column"], "Inst.");
    assert_eq!(json["problems"][0]["code"], "date_unreadable");
    assert_eq!(json["problems"][0]["value"], "old");
    let wish = Wish {
        bring_in: true,
        ..wish
    };
    let (_, came) = import::command(estate.world(), &estate.seat, list, wish).unwrap();
    assert!(came);
    let unit = estate.units().remove(0);
    assert_eq!(
        (unit.building_name.as_str(), unit.installed.unwrap().0),
        ("Osier Tower", on("2018-08-07"))
    );
    let (_, came) = import::command(estate.world(), &estate.seat, list, wish).unwrap();
    assert!(!came, "the same file again changes nothing");
    let held = Wish {
        mapping: Some(r#"{"What it is": "kind", "Wohin": null, "dates": "day_first"}"#),
        ..wish
    };
    let list = b"Apt,What it is,Inst.,Wohin\n3,combi,old,y\n";
    assert!(matches!(
        import::command(estate.world(), &estate.seat, list, held),
        Err(Error::Invalid(w)) if w[0].sentence.contains("1 of 1 rows")
    ));
    for mapping in [
        "[",
        "{\"Nope\": \"kind\"}",
        "{\"Apt\": \"nope\"}",
        "{\"dates\": \"mdy\"}",
    ] {
        let wish = Wish {
            mapping: Some(mapping),
            ..wish
        };
        let refused = import::command(estate.world(), &estate.seat, list, wish);
        assert!(
            matches!(refused, Err(Error::Invalid(w)) if w[0].field == "mapping"),
            "{mapping}"
        );
    }
}
