use chrono::NaiveDate;
use terms::{Fate, RecallId, SpaceId, UnitId};

use super::*;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn notice() -> Recall {
    Recall {
        id: RecallId(uuid::Uuid::nil()),
        kind: "CB".to_owned(),
        family: String::new(),
        serials: (String::new(), String::new()),
        fitted: (None, None),
        title: "Fan".to_owned(),
        about: String::new(),
        do_not_use: false,
        on: day("2026-03-03"),
    }
}

fn unit() -> UnitCard {
    UnitCard {
        id: UnitId(uuid::Uuid::nil()),
        number: "SH-1-1".to_owned(),
        kind: "CB".to_owned(),
        serial: "C14-420".to_owned(),
        installed: Some((day("2014-01-01"), day("2014-12-31"))),
        rated_kw: None,
        litres: None,
        filter_fitted: None,
        reducer_fitted: None,
        warranty_until: None,
        fate: Fate::InService,
        fate_on: None,
        note: String::new(),
        space: SpaceId(uuid::Uuid::nil()),
        space_name: "Flat 1".to_owned(),
        building: terms::BuildingId(uuid::Uuid::nil()),
        building_name: "House".to_owned(),
        placed_from: None,
        watched_from: day("2020-01-01"),
        hardness_mg_l: None,
    }
}

#[test]
fn serial_numbers_are_ordered_as_people_order_them() {
    for (one, other) in [
        ("C14-99", "C14-420"),
        ("C14-420", "c14 421"),
        ("C9-1", "C14-1"),
        ("B14-999", "C1-1"),
        ("C14", "C14-1"),
    ] {
        assert_eq!(in_order(one, other), Ordering::Less, "{one} {other}");
        assert_eq!(in_order(other, one), Ordering::Greater, "{one} {other}");
    }
    assert_eq!(in_order("C14-00420", "c14/420"), Ordering::Equal);
    let long = "9".repeat(60);
    assert_eq!(in_order(&long, &format!("{long}0")), Ordering::Less);
}

#[test]
fn what_is_named_and_on_record_decides_and_what_is_not_on_record_leaves_it_open() {
    assert_eq!(meant(&notice(), &unit(), ""), Meant::Yes, "the whole kind");
    let other = Recall {
        kind: "HIU".to_owned(),
        ..notice()
    };
    assert_eq!(meant(&other, &unit(), ""), Meant::No);
    let family = Recall {
        family: "The Order of 2014".to_owned(),
        ..notice()
    };
    assert_eq!(meant(&family, &unit(), "the order  of 2014"), Meant::Yes);
    assert_eq!(meant(&family, &unit(), "another"), Meant::No);
    assert_eq!(
        meant(&family, &unit(), ""),
        Meant::Unsure(vec!["its family"])
    );
    let serial = |from: &str, until: &str| Recall {
        serials: (from.to_owned(), until.to_owned()),
        ..notice()
    };
    assert_eq!(
        meant(&serial("C14-100", "C14-420"), &unit(), ""),
        Meant::Yes
    );
    assert_eq!(meant(&serial("C14-421", ""), &unit(), ""), Meant::No);
    assert_eq!(meant(&serial("", "C14-419"), &unit(), ""), Meant::No);
    let unread = UnitCard {
        serial: " ".to_owned(),
        ..unit()
    };
    assert_eq!(
        meant(&serial("C14-421", ""), &unread, ""),
        Meant::Unsure(vec!["its serial number"])
    );
}

#[test]
fn a_doubtful_day_of_fitting_means_a_unit_only_where_all_of_it_lies_inside() {
    let fitted = |from: Option<&str>, until: Option<&str>| Recall {
        fitted: (from.map(day), until.map(day)),
        ..notice()
    };
    let asked = |from, until| meant(&fitted(from, until), &unit(), "");
    assert_eq!(asked(Some("2013-06-01"), Some("2015-01-01")), Meant::Yes);
    assert_eq!(
        asked(Some("2014-06-01"), None),
        Meant::Unsure(vec!["the day it was fitted"])
    );
    assert_eq!(asked(Some("2015-01-01"), None), Meant::No);
    assert_eq!(asked(None, Some("2013-12-31")), Meant::No);
    let unknown = UnitCard {
        installed: None,
        ..unit()
    };
    assert_eq!(
        meant(&fitted(None, Some("2013-12-31")), &unknown, ""),
        Meant::Unsure(vec!["the day it was fitted"])
    );
    // One thing against it is enough, whatever else is not known.
    let both = Recall {
        family: "x".to_owned(),
        ..fitted(None, Some("2013-12-31"))
    };
    assert_eq!(meant(&both, &unit(), ""), Meant::No);
}
