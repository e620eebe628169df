//! Times in which failures were written down, and failures counted in them, by list.
use store::record_windows::RecordWindow;
use terms::{Pence, UnitId};
use usecases::forecast;
use usecases::import::{self, Code, ListKind, Remedy};

use super::estate::{Estate, UNITS, on, told};

const TIMES: &str = "Unit no,Records from,Records until,Failures,Notes\n\
    B1,2011,2013,3,the ledger\n\
    B2,01/01/2010,31/12/2012,,\n\
    B5,2024,,,\n";

fn windows(estate: &Estate, unit: UnitId) -> Vec<RecordWindow> {
    let all = estate.world().acting(&estate.seat, |tx| {
        let at = tx.at();
        Ok::<_, usecases::Error>(tx.record_windows(at)?)
    });
    let building = estate.unit("B1").building;
    all.unwrap()
        .remove(&(building, Some(unit)))
        .unwrap_or_default()
}

#[test]
fn times_are_added_to_what_is_watched_with_the_failures_counted_in_them() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    forecast::refit(estate.world(), &estate.seat).unwrap();
    let of = |unit: UnitId| {
        let told = estate
            .world()
            .acting(&estate.seat, |tx| forecast::of_unit(tx, unit));
        told.unwrap().expect("a forecast")
    };
    let unit = estate.unit("B1").id;
    let before = of(unit);
    let list = estate.send("times.csv", TIMES.as_bytes());
    let preview = estate.view(list).preview;
    assert_eq!((preview.kind, preview.ready), (ListKind::Records, true));
    assert_eq!((preview.counts.new, preview.doubts.counted), (3, 3));
    // B1 and B2 were watched since a day after these times, and still are; B5 from 2024 on in place of today.
    assert_eq!(preview.doubts.goes_on, 2);
    assert_eq!(estate.commit(list).unwrap().new, 3);

    let stated: Vec<_> = windows(&estate, unit)
        .iter()
        .map(|w| (w.from_on, w.until_on))
        .collect();
    let since = before.kept.basis.watched_from;
    assert_eq!(
        stated,
        [(on("2011-01-01"), Some(on("2013-12-31"))), (since, None)]
    );
    let counted = estate.history(unit).failures;
    assert_eq!(counted.len(), 3);
    for failure in &counted {
        assert_eq!(
            (failure.happened_on, failure.happened_until),
            (on("2011-01-01"), Some(on("2013-12-31")))
        );
    }
    // Told anew at once: three failures of no known day, in three years more.
    let now = of(unit);
    assert_eq!((before.kept.forecast.n, now.kept.forecast.n), (0, 3));
    assert_eq!(now.kept.basis.watched.len(), 2);
    assert!(now.kept.forecast.watched > before.kept.forecast.watched + 2.9);
    assert!(now.row.year.chance > before.row.year.chance);

    let same = estate.look("times.csv", format!("{TIMES}\n").as_bytes());
    assert_eq!((same.counts.same, same.counts.coming()), (3, 0));

    let view = estate.view(list);
    let would = view.undo.expect("it can be taken back");
    assert_eq!((would.events, would.statements), (3, 5));
    let undone = import::undo(estate.world(), &estate.seat, list, "back").unwrap();
    assert_eq!((undone.events, undone.statements), (3, 5));
    assert!(windows(&estate, unit).is_empty());
    assert!(estate.history(unit).failures.is_empty());
    forecast::refit(estate.world(), &estate.seat).unwrap();
    assert_eq!(of(unit).kept.basis, before.kept.basis);
    estate.links();
}

#[test]
fn what_cannot_be_is_held_with_its_row_and_column() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let list = "Building,Unit no,From,To,Count,Notes\n\
        ,B1,2016,2018,,\n\
        ,B2,2010,2012,2,\n\
        ,B2,2012,2013,,\n\
        ,B4,2010,2012,,\n\
        ,B3,01/03/2020,20/03/2020,2,\n\
        ,B3,2021,,4,\n\
        Alder House,,2012,2015,,\n\
        Alder House,,2016,,2,\n\
        ,B9,2012,2015,,\n\
        ,B5,2015,2012,,\n\
        ,B5,,2012,,\n\
        ,B5,2013,soon,,\n\
        ,B5,2018,2019,many,\n";
    let preview = estate.look("times.csv", list.as_bytes());
    assert_eq!(
        told(&preview),
        [
            // Watched since the end of 2015: two times that cannot both be.
            (2, "To", "required_missing", "2018"),
            (4, "From", "date_order", "2012"),
            (5, "To", "contradicts_record", "2012"),
            // Within a month failures are repeat visits of one.
            (6, "Count", "number_unreadable", "2"),
            (7, "To", "required_missing", ""),
            // With the row below held these would leave the building's units unwatched.
            (8, "To", "required_missing", "2015"),
            // Failures are counted of a unit.
            (9, "Count", "required_missing", "2"),
            (10, "Unit no", "place_unknown", "B9"),
            (11, "To", "date_order", "2012"),
            (12, "From", "required_missing", ""),
            (13, "To", "date_unreadable", "soon"),
            (14, "Count", "number_unreadable", "many"),
        ]
    );
    assert!(!preview.ready);
    // A building's times that have ended would leave its units unwatched.
    let alone = "Building,From,To\nAlder House,2012,2015\n";
    let preview = estate.look("alone.csv", alone.as_bytes());
    assert_eq!(told(&preview), [(2, "To", "required_missing", "2015")]);
    let both = format!("{alone}Alder House,2018,\n");
    assert_eq!(estate.bring_in("both.csv", &both).new, 2);
    let across = estate.look("across.csv", b"Building,From,To\nAlder House,2014,2017\n");
    assert_eq!(told(&across), [(2, "From", "contradicts_record", "2014")]);
}

/// "Between two dates there were three": each a failure of no known day, the cost shared among them to the penny.
#[test]
fn a_history_counts_failures_between_two_dates() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let list =
        "Unit no,Date,What,How many,Cost\nB1,2019,failure,3,£100.00\nB4,2020-2021,failure,2,\n";
    assert_eq!(estate.bring_in("history.csv", list).new, 2);
    let costs: Vec<_> = estate
        .history(estate.unit("B1").id)
        .failures
        .iter()
        .map(|f| (f.happened_until, f.cost.unwrap()))
        .collect();
    let until = Some(on("2019-12-31"));
    let mut sorted = costs.clone();
    sorted.sort_by_key(|c| std::cmp::Reverse(c.1));
    assert_eq!(
        sorted,
        [
            (until, Pence(3_334)),
            (until, Pence(3_333)),
            (until, Pence(3_333))
        ]
    );
    let same = estate.look("history.csv", format!("{list}\n").as_bytes());
    assert_eq!((same.counts.same, same.counts.coming()), (2, 0));
    // One more than the register holds of that time is one more.
    let more = list.replace("failure,2,", "failure,3,");
    let more = estate.look("more.csv", more.as_bytes());
    assert_eq!((more.counts.same, more.counts.new), (1, 1));
    for (row, why) in [
        ("B1,03/11/2019,failure,2,", "number_unreadable"),
        ("B1,2019,service,2,", "number_unreadable"),
        ("B1,2019,failure,0,", "number_unreadable"),
    ] {
        let list = format!("Unit no,Date,What,How many,Cost\n{row}\n");
        let preview = estate.look("wrong.csv", list.as_bytes());
        let codes: Vec<&str> = told(&preview).iter().map(|p| p.2).collect();
        assert_eq!(codes, [why], "{row}");
    }
}

/// The register holds a dated failure of that time: whether it is among those counted somebody has to say.
#[test]
fn failures_counted_beside_some_on_record_are_asked_about() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let dated = "Unit no,Date,What\nB4,2016-05-03,failure\n";
    estate.bring_in("dated.csv", dated);
    let times = "Unit no,From,To,Failures\nB4,2015,2018,2\nB4,2019,,\n";
    let list = estate.send("times.csv", times.as_bytes());
    let preview = estate.view(list).preview;
    assert_eq!(told(&preview), [(2, "Failures", "contradicts_record", "2")]);
    assert_eq!(preview.beside.len(), 1);
    let both = Some(Remedy::KeepBoth);
    estate.settle(list, Code::ContradictsRecord, "Failures", both);
    assert_eq!(estate.commit(list).unwrap().new, 2);
    assert_eq!(estate.history(estate.unit("B4").id).failures.len(), 3);
}

#[test]
fn a_list_of_units_says_what_they_are_alike_in_and_who_lives_there_in_number() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    let people = |flat: &str| {
        let all = estate.world().acting(&estate.seat, |tx| {
            Ok::<_, usecases::Error>(tx.spaces(None)?)
        });
        let space = all.unwrap().into_iter().find(|s| s.name == flat);
        space.unwrap().site.get("people").cloned()
    };
    let alike = |number: &str| {
        let unit = estate.unit(number).id;
        let view = usecases::register::alike_of(estate.world(), &estate.seat, unit);
        view.unwrap().now
    };
    let text = "Number,Flat,Kind,Family,Sealed or open,People\n\
        B1,1,combi,The 2014  order,sealed,3\n\
        B4,4,combi,the 2014 order,open vented,\n\
        ,6,combi,second series,,1\n";
    let list = estate.send("alike.csv", text.as_bytes());
    let preview = estate.view(list).preview;
    assert!(preview.ready, "{:?}", preview.problems);
    assert_eq!((preview.counts.new, preview.counts.changed), (1, 2));
    estate.commit(list).unwrap();
    assert_eq!(alike("B1").family, "The 2014 order");
    assert_eq!(
        (alike("B1").system, alike("B4").system),
        (
            Some(terms::HeatingSystem::Sealed),
            Some(terms::HeatingSystem::Open)
        )
    );
    let new = estate
        .units()
        .into_iter()
        .find(|u| u.space_name == "Flat 6");
    assert_eq!(alike(&new.unwrap().number).family, "second series");
    assert_eq!(people("Flat 1"), Some(serde_json::json!(3.0)));
    assert_eq!(
        (people("Flat 4"), people("Flat 6")),
        (None, Some(serde_json::json!(1.0)))
    );
    let same = estate.look("alike.csv", format!("{text}\n").as_bytes());
    assert_eq!((same.counts.same, same.counts.coming()), (3, 0));

    let undone = import::undo(estate.world(), &estate.seat, list, "back").unwrap();
    // Two units' families and circuits, the new one's family, two homes.
    assert_eq!((undone.units, undone.statements), (1, 7));
    assert_eq!(
        (alike("B1").family.as_str(), alike("B4").system),
        ("", None)
    );
    assert_eq!((people("Flat 1"), people("Flat 6")), (None, None));
    let wrong = "Flat,Kind,Sealed or open,People\n1,combi,perhaps,two\nPlant room,pump,,4\n";
    let preview = estate.look("wrong.csv", wrong.as_bytes());
    let codes: Vec<(u32, &str)> = told(&preview).iter().map(|p| (p.0, p.2)).collect();
    assert!(codes.contains(&(2, "kind_unknown")) && codes.contains(&(2, "number_unreadable")));
    assert!(codes.contains(&(3, "number_unreadable")), "{codes:?}");
}
