//! The units of a flat or room over time: what each is, when it was fitted, since when it stood there, how it ended.
use terms::Fate;
use terms::unit::UnitCard;
use usecases::register::SpaceView;
use wording::sentences::dates;
use wording::{Link, Row};

/// "MM-18-1, vented cylinder, fitted in 1998, here ever since."
pub(super) fn row(view: &SpaceView, unit: &UnitCard) -> Row {
    let (first, last) = unit.installed.unzip();
    let kind = view
        .kinds
        .iter()
        .find(|k| k.code == unit.kind)
        .map_or(unit.kind.as_str(), |k| k.name.as_str());
    let here = match stays(view, unit) {
        None => String::new(),
        Some(here) => format!(", {here}"),
    };
    let end = match (unit.fate, unit.fate_on) {
        (Fate::InService, _) | (_, None) => String::new(),
        (fate, Some(on)) => format!("; {fate} on {}", dates::day(on)),
    };
    Row::about(
        format!("u-{}", unit.id),
        Link::new(&unit.number, format!("/units/{}", unit.id)),
        format!(
            ", {kind}, fitted {}{here}{end}.",
            dates::fitted_when(first, last)
        ),
    )
}

/// Since when it stands here. One that moved away and came back has stood here more than once. Of one that came new the day is
/// that of its fitting, and the last day of a doubtful fitting would only be said as if it were known; the day it ended is
/// said with how.
fn stays(view: &SpaceView, unit: &UnitCard) -> Option<String> {
    let stays: Vec<_> = view.stays.iter().filter(|s| s.unit == unit.id).collect();
    let ended = unit.fate != Fate::InService;
    let said_with_end = |until| ended && unit.fate_on == Some(until);
    let came_new = |from| unit.installed.is_some_and(|(_, last)| last == from);
    if let [only] = stays.as_slice()
        && only.from_on.is_some_and(came_new)
    {
        return match only.until_on {
            None => Some("here ever since".to_owned()),
            Some(until) if said_with_end(until) => None,
            Some(until) => Some(format!("here until {}", dates::day(until))),
        };
    }
    let said: Vec<String> = stays
        .into_iter()
        .map(|stay| match (stay.from_on, stay.until_on) {
            (Some(from), Some(until)) if !said_with_end(until) => {
                format!("here from {} to {}", dates::day(from), dates::day(until))
            }
            (Some(from), _) => format!("on record here since {}", dates::day(from)),
            (None, Some(until)) => format!("here until {}", dates::day(until)),
            (None, None) => "here since nobody knows when".to_owned(),
        })
        .collect();
    Some(match said.as_slice() {
        [] => "here once".to_owned(),
        some => some.join(", "),
    })
}
