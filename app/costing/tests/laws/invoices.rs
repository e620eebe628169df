//! An invoice beside its quote.
use costing::invoice::{BillLine, Difference, differences};
use proptest::prelude::*;
use terms::Pence;

fn line(what: &str, net: i64) -> BillLine {
    BillLine {
        what: what.to_owned(),
        net: Pence(net),
        vat_percent: 20.0,
    }
}

#[test]
fn the_difference_is_found_line_by_line() {
    let quoted = [
        line("Hot-water plate", 18_600),
        line("Labour, 2 h", 11_600),
        line("Waste", 1_500),
        line("Access", 2_000),
    ];
    let mut billed = vec![
        line("labour 3 h", 17_400),
        line("HOT WATER PLATE", 18_600),
        line("Scaffold tower", 2_000),
        line("Parking", 1_366),
    ];
    let found = differences(&quoted, &billed);
    assert_eq!(
        found,
        [
            Difference::Sum {
                what: "Labour, 2 h".to_owned(),
                quoted: Pence(11_600),
                billed: Pence(17_400),
            },
            Difference::NotBilled {
                what: "Waste".to_owned(),
                quoted: Pence(1_500),
            },
            // "Access" went with "Scaffold tower": the same sum under other words.
            Difference::NotQuoted {
                what: "Parking".to_owned(),
                billed: Pence(1_366),
            },
        ]
    );
    billed[1].vat_percent = 5.0;
    let vat = differences(&quoted, &billed);
    assert!(vat.contains(&Difference::Vat {
        what: "Hot-water plate".to_owned(),
        quoted: 20.0,
        billed: 5.0,
    }));
    assert_eq!(differences(&quoted, &quoted), []);
}

fn lines() -> impl Strategy<Value = Vec<BillLine>> {
    prop::collection::vec(("[a-e]{0,2}( [a-c]{2})?", 0i64..5_000), 0..7).prop_map(|all| {
        all.into_iter()
            .map(|(what, net)| line(&what, net))
            .collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_differences_add_up(quoted in lines(), billed in lines()) {
        let sum = |all: &[BillLine]| all.iter().map(|l| l.net.0).sum::<i64>();
        let found: i64 = differences(&quoted, &billed).iter().map(|d| d.net().0).sum();
        prop_assert_eq!(found, sum(&billed) - sum(&quoted));
        prop_assert_eq!(differences(&quoted, &quoted), []);
    }
}
