//! A list of 500 rows with 60 seeded faults: each is told by row, column, code and value; nothing comes in until
//! they are settled or left out by choice; in, back, and in again.
use chrono::NaiveDate;
use terms::SpaceId;
use usecases::import::{self, Code, Remedy};
use usecases::register::{self, NewUnit, UnitFacts};
use usecases::{Error, FieldError};

use super::estate::{Estate, block, told};

const HEADINGS: [&str; 11] = [
    "Building",
    "Flat",
    "Kind",
    "Serial",
    "Fitted",
    "kW",
    "Litres",
    "Filter",
    "Scale reducer",
    "Warranty until",
    "Notes",
];
const ROWS: u32 = 500;

/// Row, column, code, and what stands in the cell. Rows are counted as in the file: the headings are row 1.
/// `=ABOVE` copies what stands a row higher; `=ROW` copies the whole row.
const FAULTS: [(u32, &str, &str, &str); 60] = [
    (5, "Serial", "contradicts_record", "S-00003X"),
    (9, "Flat", "required_missing", ""),
    (14, "Fitted", "date_unreadable", "pre 2010"),
    (17, "Fitted", "date_impossible", "31/02/2015"),
    (23, "Kind", "kind_unknown", "boiler"),
    (28, "Flat", "row_doubled", "=ROW"),
    (31, "kW", "number_unreadable", "24,5"),
    (36, "Building", "place_unknown", "Elm House"),
    (40, "Fitted", "date_in_future", "2031"),
    (44, "Warranty until", "date_order", "31/12/1999"),
    (52, "Flat", "place_unknown", "999"),
    (58, "Serial", "serial_doubled", "=ABOVE"),
    (63, "column 12", "too_many_columns", "250.00"),
    (67, "Notes", "text_undecodable", "caf\u{fffd}"),
    (70, "Fitted", "date_unreadable", "old"),
    (77, "Flat", "place_unknown", "22A"),
    (85, "Kind", "required_missing", ""),
    (91, "Fitted", "date_impossible", "2015-13-01"),
    (96, "Litres", "number_unreadable", "lots"),
    (102, "Serial", "contradicts_record", "S-00100X"),
    (110, "Filter", "kind_unknown", "perhaps"),
    (115, "Fitted", "date_order", "2015-2010"),
    (123, "Flat", "row_doubled", "=ROW"),
    (130, "Flat", "required_missing", ""),
    (138, "Fitted", "date_unreadable", "??/2011"),
    (144, "Fitted", "date_in_future", "01/06/2027"),
    (150, "Building", "place_unknown", "Elm House"),
    (161, "Serial", "serial_doubled", "=ABOVE"),
    (170, "kW", "number_unreadable", "big"),
    (178, "Kind", "kind_unknown", "cylinder"),
    (186, "Warranty until", "date_unreadable", "ask maker"),
    (195, "Fitted", "date_impossible", "29/02/2013"),
    (203, "column 12", "too_many_columns", "spare | cell"),
    (211, "Flat", "place_unknown", "Shop"),
    (220, "Flat", "row_doubled", "=ROW"),
    (229, "Fitted", "date_unreadable", "41946"),
    (237, "Scale reducer", "kind_unknown", "some"),
    (245, "Warranty until", "date_order", "2001"),
    (254, "Building", "required_missing", ""),
    (262, "Fitted", "date_in_future", "Nov 2030"),
    (270, "Notes", "text_undecodable", "caf\u{fffd}"),
    (279, "Flat", "place_unknown", "Office"),
    (288, "Serial", "serial_doubled", "=ABOVE"),
    (297, "kW", "number_unreadable", "-3"),
    (305, "Fitted", "date_unreadable", "11/12"),
    (314, "Kind", "kind_unknown", "toaster"),
    (322, "Fitted", "date_impossible", "1066"),
    (331, "Flat", "row_doubled", "=ROW"),
    (340, "Building", "place_unknown", "Elm House"),
    (352, "Serial", "contradicts_record", "S-00350X"),
    (361, "Fitted", "date_unreadable", "before the war"),
    (373, "Warranty until", "date_order", "Mar 1998"),
    (384, "column 12", "too_many_columns", "x"),
    (396, "Litres", "number_unreadable", "0"),
    (408, "Serial", "serial_doubled", "=ABOVE"),
    (421, "Fitted", "date_in_future", "2028-01-01"),
    (437, "Serial", "text_undecodable", "S-\u{fffd}"),
    (455, "Flat", "row_doubled", "=ROW"),
    (480, "Fitted", "date_impossible", "45/10/2012"),
    (501, "Kind", "kind_unknown", "gas thing"),
];

/// A clean row: 250 flats of two blocks, kinds and dates by turns.
fn clean(row: u32) -> Vec<String> {
    let n = row - 2;
    let kind = ["combi", "HIU", "Thermal store", "CB", "unvented"][n as usize % 5];
    let fitted = match n % 6 {
        0 => format!("{}/11/2014", 13 + n % 15),
        1 => "about 2012".to_owned(),
        2 => "2005-2010".to_owned(),
        3 => "2009?".to_owned(),
        4 => "unknown".to_owned(),
        _ => format!("2016-03-{:02}", 1 + n % 28),
    };
    let building = if n < 250 {
        "Alder House"
    } else {
        "Osier Tower"
    };
    vec![
        building.to_owned(),
        (n % 250 + 1).to_string(),
        kind.to_owned(),
        format!("S-{n:05}X"),
        fitted,
        (18 + n % 12).to_string(),
        if n % 5 == 2 {
            "120 l".to_owned()
        } else {
            String::new()
        },
        ["yes", "no", ""][n as usize % 3].to_owned(),
        ["", "yes", "no"][n as usize % 3].to_owned(),
        if n.is_multiple_of(4) {
            "2028".to_owned()
        } else {
            String::new()
        },
        if n.is_multiple_of(7) {
            "café side".to_owned()
        } else {
            String::new()
        },
    ]
}

/// The rows with their faults, row 2 first; with each fault's value as it then stands there.
fn seeded() -> (
    Vec<Vec<String>>,
    Vec<(u32, &'static str, &'static str, String)>,
) {
    let mut rows: Vec<Vec<String>> = (2..=ROWS + 1).map(clean).collect();
    let mut expected = Vec::new();
    for (row, column, code, value) in FAULTS {
        let at = row as usize - 2;
        let place = HEADINGS.iter().position(|h| *h == column);
        let mut stands = value.to_owned();
        match (value, place) {
            ("=ROW", Some(place)) => {
                let above = rows[at - 1].clone();
                stands.clone_from(&above[place]);
                rows[at] = above;
            }
            ("=ABOVE", Some(place)) => {
                stands.clone_from(&rows[at - 1][place]);
                rows[at][place].clone_from(&stands);
            }
            (_, Some(place)) => value.clone_into(&mut rows[at][place]),
            (_, None) => rows[at].extend(value.split(" | ").map(str::to_owned)),
        }
        // The warranty that ends too early needs a day it is early against.
        if code == "date_order" && column == "Warranty until" {
            "2010".clone_into(&mut rows[at][4]);
        }
        expected.push((row, column, code, stands));
    }
    (rows, expected)
}

/// As a spreadsheet program of the West saves it: Windows-1252, where 0x81 is no character.
fn western(rows: &[Vec<String>]) -> Vec<u8> {
    let mut text = HEADINGS.join(",");
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .map(|c| {
                if c.contains(',') {
                    format!("\"{c}\"")
                } else {
                    c.clone()
                }
            })
            .collect();
        text.push_str("\r\n");
        text.push_str(&cells.join(","));
    }
    text.push_str("\r\n");
    text.chars()
        .map(|c| match c {
            '\u{fffd}' => 0x81,
            'é' => 0xe9,
            c => u8::try_from(c).expect("a western character"),
        })
        .collect()
}

fn estate() -> Estate {
    let estate = Estate::bare();
    let alder = block(estate.world(), &estate.seat, "Alder House", (25, 10));
    let osier = block(estate.world(), &estate.seat, "Osier Tower", (25, 10));
    // What the register says of three homes, before any list.
    for (building, flat, kind) in [
        (alder, "Flat 4", "CB"),
        (alder, "Flat 101", "CB"),
        (osier, "Flat 101", "CB"),
    ] {
        let space = space(&estate, building, flat);
        let form = NewUnit {
            space,
            facts: UnitFacts {
                kind: kind.to_owned(),
                serial: format!("REC-{space}"),
                installed: None,
                rated_kw: None,
                litres: None,
                filter_fitted: None,
                reducer_fitted: None,
                warranty_until: None,
                note: String::new(),
            },
            placed_from: None,
            watched_from: None,
        };
        register::add_unit(estate.world(), &estate.seat, form, &space.to_string()).unwrap();
    }
    estate
}

fn space(estate: &Estate, building: terms::BuildingId, name: &str) -> SpaceId {
    let spaces = estate
        .world()
        .acting(&estate.seat, |tx| Ok(tx.spaces(Some(building))?))
        .unwrap();
    spaces.into_iter().find(|s| s.name == name).expect(name).id
}

#[test]
fn sixty_faults_in_500_rows_are_each_told_settled_brought_in_taken_back_and_brought_in_again() {
    let estate = estate();
    let (rows, expected) = seeded();
    let bytes = western(&rows);
    let id = estate.send("500 rows.csv", &bytes);
    let view = estate.view(id);
    let expected: Vec<(u32, &str, &str, &str)> = expected
        .iter()
        .map(|(row, column, code, value)| (*row, *column, *code, value.as_str()))
        .collect();
    assert_eq!(told(&view.preview), expected);
    assert_eq!(view.preview.rows, ROWS);
    assert_eq!(
        (view.preview.counts.held, view.preview.counts.new),
        (60, 440)
    );

    // Nothing comes in until they are settled, one cause after the other.
    let (units, duties) = (estate.units(), estate.open_duties());
    let refused = |left: u32| match estate.commit(id) {
        Err(Error::Invalid(wrongs)) => {
            let FieldError { field, sentence } = &wrongs[0];
            assert_eq!(field, "rows");
            assert!(
                sentence.starts_with(&format!("Nothing came in: {left} of 500 rows")),
                "{sentence}"
            );
        }
        other => panic!("{other:?}"),
    };
    refused(60);
    let causes = view.preview.causes(&view.matching);
    let mut left = 60;
    for cause in &causes {
        if left < 60 {
            refused(left);
        }
        assert_eq!(estate.units(), units, "not one row came in");
        estate.settle(id, cause.code, &cause.column, Some(Remedy::LeaveOut));
        left -= cause.rows;
    }
    assert_eq!(left, 0, "every cause was met");

    // All or nothing, one link.
    let links = estate.links();
    let counts = estate.commit(id).unwrap();
    assert_eq!((counts.new, counts.left_out, counts.held), (440, 60, 0));
    assert_eq!(estate.units().len(), units.len() + 440);
    let brought_in = estate.links() - links;
    let (_, bad) = import::bad_rows(estate.world(), &estate.seat, id).unwrap();
    let bad = String::from_utf8(bad).unwrap();
    assert_eq!(bad.lines().count(), 61);
    assert!(bad.contains("date_unreadable"));

    // The same content again changes nothing; the left-out rows are told as before.
    let again = estate.look("again.csv", &[bytes.as_slice(), b"\r\n"].concat());
    assert_eq!(
        (again.counts.same, again.counts.coming(), again.counts.held),
        (440, 0, 60)
    );

    // Back, and in again.
    let undone = import::undo(estate.world(), &estate.seat, id, "undo").unwrap();
    assert_eq!((undone.units, undone.restored), (440, 0));
    assert_eq!(estate.units(), units);
    assert_eq!(estate.open_duties(), duties, "their duties ended");
    let second = estate.send("500 rows.csv", &bytes);
    assert_ne!(second, id);
    import::leave_rest_out(estate.world(), &estate.seat, second, "rest").unwrap();
    assert_eq!(estate.commit(second).unwrap().new, 440);
    assert_eq!(estate.units().len(), units.len() + 440);
    assert_eq!(brought_in, 1, "an import is one link");
}

#[test]
fn a_history_with_faults_in_its_money_is_told_by_cell() {
    let estate = Estate::new();
    estate.bring_in("units.csv", "Number,Flat,Kind\nB1,1,combi\nB2,2,combi\n");
    let list = "Number,Date,What,Cost,Words\n\
        B1,2020-01-01,repair,\"£1,250.00\",clear\n\
        B1,2020-01-02,repair,\"1.250,00\",two ways\n\
        B1,2020-01-03,repair,-50,credit\n\
        B1,2020-01-04,repair,(120.00),credit in brackets\n\
        B1,2020-01-05,repair,ten pounds,words\n\
        B1,2020-01-06,repair,£1,250.00,unquoted\n\
        B1,2020-01-07,repair,nil,\n\
        B1,2020-01-07,repair,nil,\n\
        B1,2020-01-08,part,,no part said\n\
        B1,2020-01-09,failure,,good\n\
        B2,2020-02-30,failure,,\n";
    let preview = estate.look("money.csv", list.as_bytes());
    assert_eq!(
        told(&preview),
        [
            (3, "Cost", "money_unreadable", "1.250,00"),
            (4, "Cost", "money_negative", "-50"),
            (5, "Cost", "money_negative", "(120.00)"),
            (6, "Cost", "money_unreadable", "ten pounds"),
            (7, "column 6", "too_many_columns", "unquoted"),
            (9, "Date", "row_doubled", "2020-01-07"),
            (10, "Part", "required_missing", ""),
            (12, "Date", "date_impossible", "2020-02-30"),
        ]
    );
    let id = estate.send("money.csv", list.as_bytes());
    estate.settle(id, Code::MoneyUnreadable, "Cost", Some(Remedy::TakeAsEmpty));
    import::leave_rest_out(estate.world(), &estate.seat, id, "rest").unwrap();
    let counts = estate.commit(id).unwrap();
    assert_eq!((counts.new, counts.left_out), (5, 6));
    let words: Vec<String> = estate
        .history(estate.unit("B1").id)
        .services
        .into_iter()
        .map(|s| s.words)
        .collect();
    assert_eq!(
        words,
        [
            "clear",
            "two ways; Cost: 1.250,00",
            "words; Cost: ten pounds",
            ""
        ]
    );
    let day: NaiveDate = "2020-01-09".parse().unwrap();
    assert_eq!(
        estate.history(estate.unit("B1").id).failures[0].happened_on,
        day
    );
}
