//! Lists brought in through the use cases: separators, encodings, what changes, what is the same, what contradicts.
use chrono::NaiveDate;
use store::Acting;
use store::audit::ChainVerdict;
use store::units::Which;
use terms::unit::UnitCard;
use terms::{BuildingId, Fate, ImportId, Pence, UnitId};
use usecases::founding::found_estate;
use usecases::import::{
    self, Code, Counts, ListKind, Order, Preview, Remedy, SettleForm, Upload, View, Wish,
};
use usecases::register::{self, DrawBuilding, Heat};
use usecases::{Error, Seat, World};

use crate::support::TestDatabase;

/// An estate with a database of its own.
pub struct Estate {
    pub database: TestDatabase,
    pub seat: Seat,
}

/// A block of `storeys` × `flats`, its flats numbered from 1, with a plant room below.
pub fn block(world: &World, seat: &Seat, name: &str, (storeys, flats): (u32, u32)) -> BuildingId {
    let form = DrawBuilding {
        name: name.to_owned(),
        code: String::new(),
        address: String::new(),
        country: terms::Country::England,
        built_year: Some(1964),
        storeys,
        flats_a_storey: flats,
        differing: Vec::new(),
        first_number: 1,
        stairs_after: Vec::new(),
        plant_below: true,
        tank_on_roof: false,
        heat: Heat::Unknown,
        hardness_mg_l: None,
        asbestos_register: "unknown".to_owned(),
    };
    register::draw_building(world, seat, form, name).unwrap()
}

impl Estate {
    /// An estate with one block of ten flats, "Alder House".
    pub fn new() -> Self {
        let estate = Self::bare();
        block(estate.world(), &estate.seat, "Alder House", (5, 2));
        estate
    }

    /// An estate without a building.
    pub fn bare() -> Self {
        let database = TestDatabase::new();
        let seat = found_estate(&database.world, "Larkmoor Estate", true).unwrap();
        Self { database, seat }
    }

    pub fn world(&self) -> &World {
        &self.database.world
    }

    /// Sends a list; the name is its idempotency key too.
    pub fn send(&self, name: &str, bytes: &[u8]) -> ImportId {
        let form = Upload {
            name: name.to_owned(),
            bytes: bytes.to_vec(),
            kind: None,
            building: None,
        };
        import::upload(
            self.world(),
            &self.seat,
            form,
            &uuid::Uuid::new_v4().to_string(),
        )
        .unwrap()
    }

    pub fn view(&self, id: ImportId) -> View {
        import::view(self.world(), &self.seat, id).unwrap()
    }

    pub fn commit(&self, id: ImportId) -> Result<Counts, Error> {
        import::commit(
            self.world(),
            &self.seat,
            id,
            &uuid::Uuid::new_v4().to_string(),
        )
    }

    /// Sends a list that must be ready and brings it in.
    pub fn bring_in(&self, name: &str, text: &str) -> Counts {
        let id = self.send(name, text.as_bytes());
        let view = self.view(id);
        assert!(view.preview.ready, "{:#?}", view.preview.problems);
        self.commit(id).unwrap()
    }

    /// What a list would do, without keeping it.
    pub fn look(&self, name: &str, bytes: &[u8]) -> Preview {
        let wish = Wish {
            name,
            ..Wish::default()
        };
        import::command(self.world(), &self.seat, bytes, wish)
            .unwrap()
            .0
    }

    pub fn settle(&self, id: ImportId, code: Code, column: &str, remedy: Option<Remedy>) {
        let form = SettleForm {
            code,
            column: column.to_owned(),
            remedy,
        };
        let once = uuid::Uuid::new_v4().to_string();
        import::settle(self.world(), &self.seat, id, form, &once).unwrap();
    }

    pub fn units(&self) -> Vec<UnitCard> {
        self.world()
            .acting(&self.seat, |tx| Ok(tx.units(Which::All)?))
            .unwrap()
    }

    pub fn unit(&self, number: &str) -> UnitCard {
        let all = self.units();
        all.into_iter().find(|u| u.number == number).expect(number)
    }

    pub fn history(&self, unit: UnitId) -> store::history::History {
        self.world()
            .acting(&self.seat, |tx| Ok(tx.history(unit)?))
            .unwrap()
    }

    /// Links in the record of who did what; panics when it is broken.
    pub fn links(&self) -> i64 {
        let acting = Acting {
            estate: self.seat.estate(),
            who: self.seat.account(),
            at: self.world().now(),
        };
        let verdict = self
            .world()
            .pool
            .acting::<_, store::Error>(acting, |tx| tx.verify_chain())
            .unwrap();
        match verdict {
            ChainVerdict::Whole { entries, .. } => entries,
            ChainVerdict::BrokenAt(n) => panic!("broken at {n}"),
        }
    }

    pub fn open_duties(&self) -> usize {
        self.world()
            .acting(&self.seat, |tx| Ok(tx.open_duties()?.len()))
            .unwrap()
    }
}

/// The problems as (row, column, code, value).
pub fn told(preview: &Preview) -> Vec<(u32, &str, &str, &str)> {
    preview
        .problems
        .iter()
        .map(|p| (p.row, p.column.as_str(), p.code.code(), p.value.as_str()))
        .collect()
}

fn on(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

const UNITS: &str = "Number,Flat,Kind,Serial,Fitted,kW,Litres,Filter,Scale reducer,Warranty,Records since,Notes\n\
    B1,1,combi,8B5S-2114,2009?,24kW,,yes,no,,2015,by the window\n\
    B2,Flat 2,HIU,H-77-1,2005-2010,,,,,,13/04/2016,\n\
    B3,3,thermal store,,about 2012,,\"1,000 litres\",,,,,\n\
    B4,4,CB,K-9912,25/11/2014,30,,n,y,31/12/2027,2010,\n\
    B5,5,combi,,unknown,,,?,,,,\n";

#[test]
fn units_come_in_with_their_doubts() {
    let estate = Estate::new();
    let counts = estate.bring_in("units.csv", UNITS);
    assert_eq!((counts.new, counts.changed, counts.same), (5, 0, 0));
    let b1 = estate.unit("B1");
    assert_eq!(b1.kind, "CB");
    assert_eq!(b1.space_name, "Flat 1");
    assert_eq!(b1.installed, Some((on("2008-01-01"), on("2010-12-31"))));
    assert_eq!(
        (b1.rated_kw, b1.filter_fitted, b1.reducer_fitted),
        (Some(24.0), Some(true), Some(false))
    );
    assert_eq!((b1.note.as_str(), b1.placed_from), ("by the window", None));
    // "2015" alone: from the last day of that year it was surely watched.
    assert_eq!(b1.watched_from, on("2015-12-31"));
    let b2 = estate.unit("B2");
    assert_eq!(b2.installed, Some((on("2005-01-01"), on("2010-12-31"))));
    assert_eq!(b2.watched_from, on("2016-04-13"));
    assert_eq!(estate.unit("B3").litres, Some(1000.0));
    assert_eq!(
        estate.unit("B3").installed,
        Some((on("2010-01-01"), on("2014-12-31")))
    );
    let b4 = estate.unit("B4");
    assert_eq!(b4.installed, Some((on("2014-11-25"), on("2014-11-25"))));
    assert_eq!(
        (b4.placed_from, b4.warranty_until),
        (Some(on("2014-11-25")), Some(on("2027-12-31")))
    );
    assert_eq!(
        b4.watched_from,
        on("2014-11-25"),
        "nobody watched it before it was there"
    );
    let b5 = estate.unit("B5");
    assert_eq!((b5.installed, b5.filter_fitted), (None, None));
    assert_eq!(
        b5.watched_from,
        on("2026-11-25"),
        "without a word, from today"
    );
    assert!(estate.open_duties() > 0, "their duties begin");
}

#[test]
fn the_same_file_again_changes_nothing_and_a_changed_one_only_what_differs() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let (units, links) = (estate.units(), estate.links());
    let again = estate.send("units.csv", UNITS.as_bytes());
    assert_eq!(
        estate.view(again).head.state,
        "done",
        "the very file leads to what it was"
    );
    assert_eq!((estate.units(), estate.links()), (units.clone(), links));
    // The same content in another dress: one more blank line, so another digest.
    let same = estate.look("units.csv", format!("{UNITS}\n").as_bytes());
    assert_eq!((same.counts.same, same.counts.coming()), (5, 0));
    let changed = UNITS
        .replace("about 2012", "Nov 2012")
        .replace("by the window", "")
        .replace("24kW", "28");
    let preview = estate.look("units2.csv", changed.as_bytes());
    assert_eq!((preview.counts.same, preview.counts.changed), (3, 2));
    let changes: Vec<(u32, &str, &str)> = preview
        .changes
        .iter()
        .map(|c| (c.row, c.unit.as_str(), c.new.as_str()))
        .collect();
    assert_eq!(
        changes,
        [(2, "B1", "28"), (4, "B3", "2012-11-01 to 2012-11-30")]
    );
    estate.bring_in("units2.csv", &changed);
    let b1 = estate.unit("B1");
    assert_eq!(
        (b1.rated_kw, b1.note.as_str()),
        (Some(28.0), "by the window"),
        "an empty cell erases nothing"
    );
    assert_eq!(estate.units().len(), 5);
}

#[test]
fn undoing_a_change_says_again_what_was_known_before() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let before = estate.units();
    let changed = estate.send("units2.csv", UNITS.replace("24kW", "28").as_bytes());
    estate.commit(changed).unwrap();
    assert_eq!(estate.unit("B1").rated_kw, Some(28.0));
    let undone = import::undo(estate.world(), &estate.seat, changed, "undo").unwrap();
    assert_eq!((undone.units, undone.restored, undone.events), (0, 1, 0));
    assert_eq!(estate.units(), before);
    let again = import::undo(estate.world(), &estate.seat, changed, "undo").unwrap();
    assert_eq!(again, undone, "the same post again does nothing twice");
    assert!(matches!(
        import::undo(estate.world(), &estate.seat, changed, "undo once more"),
        Err(Error::Conflict(_))
    ));
}

const HISTORY: &str = "Unit no;Date;What;Part;Function lost;Cost;At service;Same as;Words\n\
    B1;03/11/2019;failure;diverter valve;no hot water;;;a;stuck\n\
    B1;25/11/2019;call-out;;hot water;;;a;same again\n\
    B1;25/11/2019;part;diverter valve;;£310.00;;;new valve\n\
    B1;14/01/2020;service;;;\"£1,250.00\";;;with plate cleaned\n\
    B1;Mar 2021;failure;fan;both;;yes;;\n\
    B4;30/06/2022;no fault found;;heating;;;;timer set wrong\n\
    B1;28/02/2023;part;pump;;;;;planned\n";

#[test]
fn history_comes_in_parted_by_semicolons() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let preview = estate.look("history.csv", HISTORY.as_bytes());
    assert_eq!((preview.kind, preview.delimiter), (ListKind::History, ';'));
    assert_eq!(preview.doubts.before_watch, 0);
    assert_eq!(estate.bring_in("history.csv", HISTORY).new, 7);
    let b1 = estate.history(estate.unit("B1").id);
    let seen: Vec<(&str, Option<&str>, Option<&str>)> = b1
        .failures
        .iter()
        .map(|f| {
            (
                f.same_as.as_str(),
                f.part.as_deref(),
                f.function_lost.as_deref(),
            )
        })
        .collect();
    assert_eq!(
        seen,
        [
            ("a", Some("diverter_valve"), Some("hot_water")),
            ("a", None, Some("hot_water")),
            ("", Some("fan"), Some("heating_and_hot_water")),
        ]
    );
    let fan = &b1.failures[2];
    assert_eq!(
        (fan.happened_on, fan.happened_until),
        (on("2021-03-01"), Some(on("2021-03-31")))
    );
    assert!(fan.found_at_service && !fan.no_fault_found);
    let parts: Vec<(&str, NaiveDate, bool)> = b1
        .parts
        .iter()
        .map(|p| (p.part.as_str(), p.fitted_on, p.planned))
        .collect();
    assert_eq!(
        parts,
        [
            ("diverter_valve", on("2019-11-25"), false),
            ("pump", on("2023-02-28"), true)
        ],
        "fitted on a day of failure: not planned"
    );
    let paid: Vec<(&str, Option<Pence>)> = b1
        .services
        .iter()
        .map(|s| (s.what.as_str(), s.cost))
        .collect();
    assert_eq!(
        paid,
        [
            ("repair", Some(Pence(31_000))),
            ("service", Some(Pence(125_000)))
        ]
    );
    let b4 = estate.history(estate.unit("B4").id);
    assert!(b4.failures[0].no_fault_found);
    let same = estate.look("history.csv", format!("{HISTORY}\n").as_bytes());
    assert_eq!((same.counts.same, same.counts.coming()), (7, 0));
}

#[test]
fn units_cannot_leave_while_their_history_stands_and_both_leave_in_turn() {
    let estate = Estate::new();
    let units = estate.send("units.csv", UNITS.as_bytes());
    estate.commit(units).unwrap();
    let duties = estate.open_duties();
    let history = estate.send("history.csv", HISTORY.as_bytes());
    estate.commit(history).unwrap();
    let Err(Error::Conflict(sentence)) = import::undo(estate.world(), &estate.seat, units, "u1")
    else {
        panic!("two units have a history");
    };
    assert!(sentence.starts_with("2 of the units"), "{sentence}");
    let undone = import::undo(estate.world(), &estate.seat, history, "h").unwrap();
    assert_eq!(
        undone.events, 8,
        "four failures, two parts, two records of work and money"
    );
    let undone = import::undo(estate.world(), &estate.seat, units, "u2").unwrap();
    assert_eq!(undone.units, 5);
    assert_eq!((estate.units().len(), estate.open_duties()), (0, 0));
    let found = register::find(estate.world(), &estate.seat, "8B5S").unwrap();
    assert!(
        found.is_empty(),
        "nothing is found by the words of what left"
    );
    let again = estate.send("units.csv", UNITS.as_bytes());
    assert_ne!(again, units, "what was taken back may come again");
    estate.commit(again).unwrap();
    assert_eq!((estate.units().len(), estate.open_duties()), (5, duties));
    assert_eq!(estate.unit("B1").fate, Fate::InService);
}

#[test]
fn after_thirty_days_a_list_stays() {
    let estate = Estate::new();
    let id = estate.send("units.csv", UNITS.as_bytes());
    estate.commit(id).unwrap();
    estate.database.clock.advance(chrono::TimeDelta::days(31));
    let refused = import::undo(estate.world(), &estate.seat, id, "late");
    assert!(matches!(refused, Err(Error::Conflict(s)) if s.contains("30 days")));
    assert_eq!(estate.units().len(), 5);
}

#[test]
fn western_text_tabs_and_marks_are_read() {
    let estate = Estate::new();
    let mut bytes = Vec::new();
    // Windows-1252: 0xe9 is é, 0x96 a dash, 0xa3 the pound sign.
    bytes.extend_from_slice(
        b"Flat\tKind\tSerial\tFitted\tNotes\n1\tcombi\tA-1\t2005 \x96 2010\tcaf\xe9, \xa35 meter\n",
    );
    let preview = estate.look("tabs.csv", &bytes);
    assert_eq!(preview.delimiter, '\t');
    assert!(preview.ready, "{:?}", preview.problems);
    let id = estate.send("tabs.csv", &bytes);
    estate.commit(id).unwrap();
    let unit = estate.units().remove(0);
    assert_eq!(unit.note, "café, £5 meter");
    assert_eq!(unit.installed, Some((on("2005-01-01"), on("2010-12-31"))));
    assert_eq!(
        unit.number, "AH-1-1",
        "a unit without a number is given the next one"
    );
    let marked = [
        b"\xef\xbb\xbf".as_slice(),
        "Flat,Kind\n2,combi\n".as_bytes(),
    ]
    .concat();
    assert!(estate.look("mark.csv", &marked).ready);
}

#[test]
fn a_column_that_can_be_read_both_ways_is_asked_about() {
    let estate = Estate::new();
    let list = "Flat,Kind,Fitted\n1,combi,03/04/2016\n2,combi,05/06/2017\n";
    let id = estate.send("both.csv", list.as_bytes());
    let dates = estate.view(id).preview.columns[2].dates.clone().unwrap();
    assert!(dates.asks);
    assert_eq!(dates.example, "03/04/2016");
    let Err(Error::Invalid(wrongs)) = estate.commit(id) else {
        panic!("nothing comes in before it is said");
    };
    assert!(wrongs[0].sentence.contains("day or the month"));
    assert!(estate.units().is_empty());
    import::say_order(
        estate.world(),
        &estate.seat,
        id,
        (2, Order::MonthFirst),
        "order",
    )
    .unwrap();
    estate.commit(id).unwrap();
    assert_eq!(estate.units()[0].installed.unwrap().0, on("2016-03-04"));
    // The next list with these headings is read the same way, and not asked again.
    let next = estate.look("next.csv", b"Flat,Kind,Fitted\n3,combi,07/08/2018\n");
    assert!(next.ready && !next.columns[2].dates.as_ref().unwrap().asks);
    // One date that can only be read day first settles a column.
    let plain = estate.look(
        "plain.csv",
        b"Flat,Type,Installed\n3,combi,07/08/2018\n4,combi,25/08/2018\n",
    );
    assert!(plain.ready);
}

#[test]
fn what_contradicts_the_register_is_told_and_never_overwrites() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let list = "Number,Flat,Kind,Serial,Fitted\n\
        B1,2,combi,8B5S-2114,2009\n\
        B2,2,combi,H-77-1,2007\n\
        B4,4,combi,OTHER-1,25/11/2014\n\
        B5,5,combi,8b5s 2114,\n\
        B3,3,thermal store,,1999\n\
        N9,1,combi,NEW-1,2020\n\
        N10,6,combi,NEW-2,2020\n";
    let preview = estate.look("clash.csv", list.as_bytes());
    assert_eq!(
        told(&preview),
        [
            (2, "Flat", "contradicts_record", "2"),
            (3, "Kind", "contradicts_record", "combi"),
            (4, "Serial", "contradicts_record", "OTHER-1"),
            (5, "Serial", "serial_doubled", "8b5s 2114"),
            (6, "Fitted", "contradicts_record", "1999"),
            (7, "Number", "contradicts_record", "N9"),
        ]
    );
    assert_eq!((preview.counts.held, preview.counts.new), (6, 1));
    let history = "Number,Date,What\n\
        B4,2010,failure\n\
        ZZ,2020,failure\n\
        B1,,failure\n\
        B1,2030,service\n\
        B1,2020,painted\n";
    assert_eq!(
        told(&estate.look("clash2.csv", history.as_bytes())),
        [
            (2, "Date", "contradicts_record", "2010"),
            (3, "Number", "place_unknown", "ZZ"),
            (4, "Date", "required_missing", ""),
            (5, "Date", "date_in_future", "2030"),
            (6, "What", "kind_unknown", "painted"),
        ]
    );
}

#[test]
fn cells_of_optional_columns_may_be_taken_as_empty_and_their_words_are_kept() {
    let estate = Estate::new();
    let list = "Flat,Kind,Fitted,kW,Notes\n1,combi,pre 2010,24,left of sink\n2,combi,old,big,\n3,combi,2012,24,\n";
    let id = estate.send("old.csv", list.as_bytes());
    estate.settle(
        id,
        Code::DateUnreadable,
        "Fitted",
        Some(Remedy::TakeAsEmpty),
    );
    assert_eq!(
        estate.view(id).preview.counts.held,
        1,
        "the number is still open"
    );
    estate.settle(id, Code::NumberUnreadable, "kW", Some(Remedy::TakeAsEmpty));
    let preview = estate.view(id).preview;
    assert!(preview.ready);
    assert_eq!(
        (preview.doubts.emptied, preview.doubts.fitted_unknown),
        (3, 2)
    );
    estate.commit(id).unwrap();
    let units = estate.units();
    assert_eq!(units[0].note, "left of sink; Fitted: pre 2010");
    assert_eq!(units[1].note, "Fitted: old; Rated kW: big");
    assert_eq!((units[1].installed, units[1].rated_kw), (None, None));
    // Nothing helps a row without a flat but leaving it out.
    let bare = estate.send("bare.csv", b"Flat,Kind,Fitted\n,combi,2012\n4,combi,2012\n");
    estate.settle(
        bare,
        Code::RequiredMissing,
        "Flat",
        Some(Remedy::TakeAsEmpty),
    );
    assert!(!estate.view(bare).preview.ready);
    estate.settle(bare, Code::RequiredMissing, "Flat", Some(Remedy::LeaveOut));
    assert!(estate.view(bare).preview.ready);
    estate.settle(bare, Code::RequiredMissing, "Flat", None);
    assert!(
        !estate.view(bare).preview.ready,
        "a choice can be taken back"
    );
}

#[test]
fn a_list_that_lacks_a_column_is_held_whole() {
    let estate = Estate::new();
    let preview = estate.look("no-kind.csv", b"Flat,Serial\n1,A-1\n2,A-2\n");
    assert_eq!(
        told(&preview),
        [(1, "Kind of unit", "required_missing", "")]
    );
    assert_eq!((preview.counts.held, preview.ready), (2, false));
}

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
