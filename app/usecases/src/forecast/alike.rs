//! What units are alike in beside their card, over time: the family they are of, how their heating circuit is kept full, how
//! many people live with them. Covariates hold inside a window, so that windows are cut where one of these changes
//! (FORECAST §1, §7).
//!
//! What was stated first is taken to have held before its day too; where nothing was stated the unit is as the middle of
//! what may be: no family of its own, a sealed circuit, two people.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use dependability::{UnitHistory, Window};
use serde::Serialize;
use store::Tx;
use store::unit_likes::LikeRow;
use terms::unit::UnitCard;
use terms::{HeatingSystem, LikeIn, SpaceId, UnitId};

use super::season::axis;

/// The fact of a home's site that says how many people live there.
pub(crate) const PEOPLE_FACT: &str = "people";

/// What was stated of one thing: from each day on, until the next; `None`: not known any more. The earliest first.
pub(crate) type Over<T> = Vec<(NaiveDate, Option<T>)>;

/// What is stated of one unit.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub(crate) struct Alike {
    /// The word of its family, as [`key`] makes it.
    pub family: Over<String>,
    /// How its heating circuit is kept full.
    pub system: Over<HeatingSystem>,
    /// How many people live where it stands.
    pub people: Over<f64>,
}

/// What is stated of many units.
#[derive(Debug, Default)]
pub(crate) struct AllAlike {
    units: BTreeMap<UnitId, Vec<LikeRow>>,
    homes: BTreeMap<SpaceId, Over<f64>>,
}

/// A family's word as it is compared: lower case, single spaces.
pub(crate) fn key(said: &str) -> String {
    let lower = said.to_lowercase();
    lower.split_whitespace().collect::<Vec<_>>().join(" ")
}

impl AllAlike {
    /// What was stated as known at a moment: of these units and the homes they stand in, or of all.
    pub fn load(
        tx: &mut Tx<'_>,
        cards: Option<&[UnitCard]>,
        at: DateTime<Utc>,
    ) -> Result<Self, store::Error> {
        let ids: Option<Vec<UnitId>> = cards.map(|all| all.iter().map(|c| c.id).collect());
        let spaces: Option<Vec<SpaceId>> = cards.map(|all| all.iter().map(|c| c.space).collect());
        let stated = tx.site_fact_over_time(PEOPLE_FACT, spaces.as_deref(), at)?;
        Ok(Self {
            units: tx.likes(ids.as_deref(), at)?,
            homes: stated
                .into_iter()
                .map(|(space, said)| {
                    let numbers = said.iter().map(|(on, value)| (*on, value.as_f64()));
                    (space, in_order(numbers))
                })
                .collect(),
        })
    }

    /// What is stated of one unit.
    pub fn of(&self, card: &UnitCard) -> Alike {
        let rows = self.units.get(&card.id).map_or(&[][..], Vec::as_slice);
        let of = |what: LikeIn| rows.iter().filter(move |row| row.what == what);
        Alike {
            family: of(LikeIn::Family)
                .map(|row| (row.from_on, Some(key(&row.said)).filter(|k| !k.is_empty())))
                .collect(),
            system: of(LikeIn::System)
                .map(|row| (row.from_on, row.said.parse().ok()))
                .collect(),
            people: self.homes.get(&card.space).cloned().unwrap_or_default(),
        }
    }
}

/// Statements in the order they were written down as what held from each day on: one of an earlier day takes the place of
/// those after it, and what was said already is not said anew.
fn in_order(stated: impl Iterator<Item = (NaiveDate, Option<f64>)>) -> Over<f64> {
    let mut held: Over<f64> = Vec::new();
    for (on, value) in stated {
        if held.last().and_then(|last| last.1) == value {
            continue;
        }
        held.retain(|(from, _)| *from < on);
        held.push((on, value));
    }
    held
}

/// What holds last; `None` where nothing is known.
pub(crate) fn now<T: Clone>(over: &Over<T>) -> Option<T> {
    over.last().and_then(|(_, said)| said.clone())
}

/// The history with its windows cut where a statement begins, each piece bearing `value` of what held, nought where nothing
/// is known; what holds from now on is what was stated last, by `today`.
pub(super) fn along<T>(
    history: &UnitHistory,
    (over, today): (&Over<T>, NaiveDate),
    place: usize,
    value: impl Fn(&T) -> f64,
) -> UnitHistory {
    let steps: Vec<(f64, f64)> = over
        .iter()
        .filter(|(from, _)| *from <= today)
        // Before anything was known there is nothing to hold.
        .skip_while(|(_, said)| said.is_none())
        .map(|(from, said)| (axis(*from), said.as_ref().map_or(0.0, &value)))
        .collect();
    let mut cut = history.clone();
    let Some((_, first)) = steps.first().copied() else {
        return cut;
    };
    let held = |at: f64| {
        let before = steps.iter().rfind(|(from, _)| *from <= at);
        before.map_or(first, |step| step.1)
    };
    cut.windows = history
        .windows
        .iter()
        .flat_map(|window| pieces(window, &steps, place, &held))
        .collect();
    if let (Some(x), Some((_, last))) = (cut.present.get_mut(place), steps.last()) {
        *x = *last;
    }
    cut
}

fn pieces(
    window: &Window,
    steps: &[(f64, f64)],
    place: usize,
    held: &impl Fn(f64) -> f64,
) -> Vec<Window> {
    let mut edges = vec![window.from];
    // The first statement holds before its day too, so that nothing changes there.
    let changes = steps.iter().skip(1).map(|step| step.0);
    edges.extend(changes.filter(|at| *at > window.from && *at < window.until));
    edges.push(window.until);
    edges
        .windows(2)
        .map(|ends| {
            let mut x = window.x.clone();
            if let Some(x) = x.get_mut(place) {
                *x = held(f64::midpoint(ends[0], ends[1]));
            }
            Window {
                from: ends[0],
                until: ends[1],
                x,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use dependability::Installed;

    use super::*;

    fn on(year: i32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, 6, 1).unwrap()
    }

    fn history(windows: &[(i32, i32)]) -> UnitHistory {
        UnitHistory {
            installed: Installed {
                earliest: axis(on(2008)),
                latest: axis(on(2008)),
            },
            windows: windows
                .iter()
                .map(|(from, until)| Window {
                    from: axis(on(*from)),
                    until: axis(on(*until)),
                    x: vec![1.0, 0.0],
                })
                .collect(),
            renewals: Vec::new(),
            failures: Vec::new(),
            present: vec![1.0, 0.0],
            merged: 0,
            written_off: false,
        }
    }

    fn told(cut: &UnitHistory) -> Vec<(f64, f64, f64)> {
        let windows = cut.windows.iter();
        windows.map(|w| (w.from, w.until, w.x[1])).collect()
    }

    #[test]
    fn windows_are_cut_where_it_changes_and_the_first_statement_holds_before_its_day() {
        let over = vec![
            (on(2015), Some(2.0)),
            (on(2018), Some(5.0)),
            (on(2020), None),
        ];
        let plain = history(&[(2010, 2019), (2021, 2024)]);
        let cut = along(&plain, (&over, on(2024)), 1, |v| *v);
        let at = |year| axis(on(year));
        assert_eq!(
            told(&cut),
            [
                (at(2010), at(2018), 2.0),
                (at(2018), at(2019), 5.0),
                (at(2021), at(2024), 0.0)
            ]
        );
        assert!(cut.windows.iter().all(|w| w.x[0] == 1.0));
        assert!((cut.watched() - plain.watched()).abs() < 1e-12);
        assert_eq!(cut.present, [1.0, 0.0]);
        assert_eq!(cut.check(2), Ok(()));
        // What was stated for a day to come is not so yet, and of what nothing was said nothing is changed.
        let early = along(&plain, (&over, on(2016)), 1, |v| *v);
        assert_eq!(early.present, [1.0, 2.0]);
        assert_eq!(
            along(&plain, (&Over::<f64>::new(), on(2024)), 1, |v| *v),
            plain
        );
        assert_eq!(
            along(&plain, (&vec![(on(2012), None::<f64>)], on(2024)), 1, |v| {
                *v
            }),
            plain
        );
    }

    #[test]
    fn a_statement_of_an_earlier_day_takes_the_place_of_those_after_it() {
        let written = [
            (on(2010), None),
            (on(2015), Some(2.0)),
            (on(2016), Some(2.0)),
            (on(2019), Some(4.0)),
        ];
        let held = in_order(written.into_iter());
        let said = [
            (on(2010), None),
            (on(2015), Some(2.0)),
            (on(2019), Some(4.0)),
        ];
        // The first stands for "not known yet".
        assert_eq!(held, said[1..]);
        let corrected = written.into_iter().chain([(on(2014), Some(1.0))]);
        assert_eq!(in_order(corrected), [(on(2014), Some(1.0))]);
        // A list taken back: what stood before it is said anew, as of its own day.
        let back = written.into_iter().chain([(on(2015), Some(2.0))]);
        assert_eq!(in_order(back), [(on(2015), Some(2.0))]);
    }

    #[test]
    fn words_of_a_family_are_compared_as_people_mean_them() {
        assert_eq!(key("  The 2014  ORDER "), "the 2014 order");
        assert_ne!(key("series a"), key("series b"));
    }
}
