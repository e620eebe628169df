//! Units of a list against the register: new, the same, changed, contradicting.
use super::estate::{Estate, UNITS, on, told};

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
