//! Notices of its maker that are open on a unit.
use usecases::recalls::OpenRecall;
use usecases::register::UnitView;
use wording::sentences::dates;
use wording::{Row, Urgency, Verb};

use crate::advice::before::open_words;

/// One row for each; the desk's lead to where they are settled.
pub(super) fn rows(view: &UnitView) -> Vec<Row> {
    let row = |open: &OpenRecall| {
        let recall = &open.recall;
        let means = if open.unsure.is_empty() {
            "means"
        } else {
            "may mean"
        };
        let stop = if recall.do_not_use {
            " It says that such units are not to be used until it is done."
        } else {
            ""
        };
        let mut row = Row::plain(
            format!("recall-{}", recall.id),
            format!(
                "A notice of its maker of {} {means} it: “{}”.{stop}{}",
                dates::day(recall.on),
                recall.title,
                open_words(&open.unsure)
            ),
        )
        .urgency(if recall.do_not_use {
            Urgency::Late
        } else {
            Urgency::Soon
        });
        if !recall.about.is_empty() {
            row.more.push(format!("“{}”", recall.about));
        }
        if view.may_correct {
            row = row.verb(Verb::link("Settle it", "/recalls"));
        }
        row
    };
    view.recalls.iter().map(row).collect()
}
