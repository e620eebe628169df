//! Drawings of money.
use wording::drawings::fork::Fork;
use wording::drawings::keep_years::KeepYears;

use super::{all_there, samples};

#[test]
fn labels_of_money_are_all_there() {
    let fork = samples::money::fork().draw();
    let words = [
        "repair, £412",
        "new boiler fitted, £2,750",
        "Keep, solid",
        "Replace now, dashed",
        "less £908 still in",
    ];
    all_there(&[&fork.wide_svg, &fork.narrow_svg], &words);
    assert!(fork.caption.contains("do not cross"));
    let purse = samples::money::purse().draw();
    let words = [
        "£19,500 over",
        "opens with £41,000",
        "floor £15,000",
        "lowest, end of 2035: £9,000",
    ];
    all_there(&[&purse.wide_svg], &words);
    let outlook = samples::outlooks::ranges().draw();
    let words = ["within three months", "1 in 6"];
    all_there(&[&outlook.wide_svg, &outlook.narrow_svg], &words);
    assert_eq!(outlook.table.headers.len(), 3);
    assert_eq!(samples::outlooks::few().draw().table.headers.len(), 2);
    let doubts = samples::money::tornado().draw();
    let words = [
        "Faults of this boiler, 40 % fewer to 60 % more",
        "at 0.54 a year",
        "−£209",
        "£462",
    ];
    all_there(&[&doubts.wide_svg, &doubts.narrow_svg], &words);
}

#[test]
fn where_no_fault_is_in_hand_nothing_is_called_repaired() {
    let fork = Fork {
        repaired: false,
        ..samples::money::fork()
    }
    .draw();
    let kept = KeepYears {
        repaired: false,
        ..samples::money::keep_years()
    }
    .draw();
    assert!(
        fork.caption
            .starts_with("Solid: keep. Dashed: replace now.")
    );
    assert!(fork.wide_svg.contains(">if kept, best<"));
    assert!(!fork.wide_svg.contains("if repaired"));
    assert!(kept.caption.starts_with("Kept so many further years"));
    assert!(!kept.caption.contains("repair"));
}

#[test]
fn the_paths_of_a_fork_cross_where_the_money_is_equal() {
    let mut fork = samples::money::fork();
    assert_eq!(fork.crossing(), None);
    fork.years.truncate(2);
    fork.years[0].keep.mid = 0.0;
    fork.years[0].replace.mid = 100.0;
    fork.years[1].keep.mid = 300.0;
    fork.years[1].replace.mid = 200.0;
    assert_eq!(fork.crossing(), Some((2026.5, 150.0)));
    assert!(fork.draw().caption.contains("equal in 2026"));
}
