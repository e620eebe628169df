//! Which unit took the place of which, as the page of either says it.
use terms::{Fate, UnitId};
use usecases::register::{Swap, UnitView};
use wording::sentences::{capital, dates};
use wording::{Link, Row};

use super::happened::Happened;

/// What happened, in words; of a swap with the other unit at their end.
pub(super) enum Said {
    Words(String),
    Unit(String, Link),
}

impl Said {
    /// As a row of what happened.
    pub(super) fn row(self, id: String) -> Row {
        match self {
            Self::Words(sentence) => Row::plain(id, sentence),
            Self::Unit(before, unit) => Row {
                before,
                ..Row::about(id, unit, ".")
            },
        }
    }
}

/// What took its place, when something did.
pub(super) fn successor(view: &UnitView) -> Option<&Swap> {
    view.swaps.iter().find(|swap| swap.old.0 == view.unit.id)
}

/// How it came in the place of another, and how it ended, with the one that took its place.
pub(super) fn swapped(view: &UnitView) -> Vec<Happened> {
    let link = |(id, number): &(UnitId, String)| Link::new(number, format!("/units/{id}"));
    let came = view.swaps.iter().filter(|swap| swap.new.0 == view.unit.id);
    let mut found: Vec<Happened> = came
        .map(|swap| {
            let words = format!("On {}. It took the place of ", dates::day(swap.on));
            (swap.on, Said::Unit(words, link(&swap.old)), None, "")
        })
        .collect();
    let end = view
        .unit
        .fate_on
        .filter(|_| view.unit.fate != Fate::InService);
    let how = capital(view.unit.fate.words());
    found.extend(end.map(|on| {
        let words = format!("On {}. {how}", dates::day(on));
        let said = match successor(view) {
            Some(swap) => Said::Unit(format!("{words}, replaced by "), link(&swap.new)),
            None => Said::Words(format!("{words}.")),
        };
        (on, said, None, "")
    }));
    found
}

/// How another unit of the same place is tied to this one; empty where it is not.
pub(super) fn tie(view: &UnitView, other: UnitId) -> &'static str {
    let this = view.unit.id;
    let tied = |old: UnitId, new: UnitId| {
        let mut swaps = view.swaps.iter();
        swaps.any(|swap| swap.old.0 == old && swap.new.0 == new)
    };
    if tied(this, other) {
        "; it took the place of this one"
    } else if tied(other, this) {
        "; this one took its place"
    } else {
        ""
    }
}
