//! How cells are read: marks and separators, dates that can be read both ways, cells taken as empty.
use usecases::Error;
use usecases::import::{self, Code, Order, Remedy};

use super::estate::{Estate, on, told};

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
