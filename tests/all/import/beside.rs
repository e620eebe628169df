//! Two histories of the same units: what may be one event told twice stands side by side until a person says.
use usecases::Error;
use usecases::import::{self, Code, Remedy};

use super::estate::{Estate, UNITS};

const FIRST: &str = "Unit no;Date;What;Part;Cost;Words\n\
    B1;03/11/2019;failure;diverter valve;£310.00;stuck\n\
    B1;14/01/2020;service;;£95.00;yearly\n\
    B4;20/06/2022;part;pump;;\n";

/// The contractor's own list: the failure a day later and dearer, the service as it was, the pump two days on, a fan
/// that nobody else has, and a failure of another part.
const SECOND: &str = "Unit no;Date;What;Part;Cost;Words\n\
    B1;04/11/2019;failure;diverter valve;£330.00;valve seized\n\
    B1;14/01/2020;service;;£95.00;yearly\n\
    B4;22/06/2022;part;pump;;\n\
    B1;25/03/2021;failure;fan;;\n\
    B1;05/11/2019;failure;fan;;\n";

#[test]
fn two_histories_stand_side_by_side_and_nothing_is_merged_by_a_guess() {
    let estate = Estate::new();
    estate.bring_in("units.csv", UNITS);
    estate.bring_in("agent.csv", FIRST);
    let id = estate.send("contractor.csv", SECOND.as_bytes());
    let view = estate.view(id);
    let counts = view.preview.counts;
    assert_eq!((counts.same, counts.new, counts.held), (1, 2, 2));
    let pairs: Vec<(u32, &str, &str, &str)> = view
        .preview
        .beside
        .iter()
        .map(|b| (b.row, b.unit.as_str(), b.list.as_str(), b.register.as_str()))
        .collect();
    assert_eq!(
        pairs,
        [
            (
                2,
                "B1",
                "failure on 4 Nov 2019, diverter valve, £330.00, “valve seized”",
                "failure on 3 Nov 2019, diverter valve, £310.00, “stuck”"
            ),
            (
                4,
                "B4",
                "pump fitted on 22 Jun 2022",
                "pump fitted on 20 Jun 2022"
            ),
        ]
    );
    let Err(Error::Invalid(wrongs)) = estate.commit(id) else {
        panic!("nothing comes in before a person has said")
    };
    assert!(wrongs[0].sentence.contains("2 of 5 rows"));
    let cause = &view.preview.causes(&view.matching)[0];
    assert_eq!(
        (cause.code, cause.can_both_be, cause.can_be_empty),
        (Code::ContradictsRecord, true, false)
    );
    let (code, column) = (cause.code, cause.column.clone());
    estate.settle(id, code, &column, Some(Remedy::LeaveOut));
    assert_eq!(estate.view(id).preview.counts.left_out, 2);
    estate.settle(id, code, &column, Some(Remedy::KeepBoth));
    assert_eq!(estate.commit(id).unwrap().new, 4);
    let b1 = estate.history(estate.unit("B1").id);
    assert_eq!(b1.failures.len(), 4, "both tellings stand");
}

#[test]
fn what_stands_on_a_list_is_named_when_it_is_to_leave() {
    let estate = Estate::new();
    let units = estate.send("units.csv", UNITS.as_bytes());
    estate.commit(units).unwrap();
    estate.bring_in("agent.csv", FIRST);
    let would = estate.view(units).undo.unwrap();
    assert_eq!((would.units, would.events), (5, 0));
    let Err(Error::Conflict(sentence)) = import::undo(estate.world(), &estate.seat, units, "u")
    else {
        panic!("two units have a history")
    };
    assert!(
        sentence.starts_with("2 of the units")
            && sentence.contains(
                "B1 (a check on its duty's record, a failure, a service, check or repair)"
            )
            && sentence.contains("B4 (a part fitted)"),
        "{sentence}"
    );
    assert_eq!(estate.units().len(), 5);
}
