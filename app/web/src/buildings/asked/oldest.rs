//! What is oldest?
use usecases::register::BuildingView;
use wording::sentences::{capital, counted, dates, number_word, plural};

use super::{Answered, MOST_ROWS, reasons, row_of};

/// The answer in words.
pub(super) fn oldest(view: &BuildingView) -> Answered {
    let name = &view.building.name;
    let mut aged: Vec<_> = view
        .flats
        .iter()
        .filter_map(|f| {
            f.oldest
                .as_ref()
                .and_then(|u| u.installed.map(|i| (f, u, i)))
        })
        .collect();
    aged.sort_by_key(|(_, _, installed)| *installed);
    let unknown = view
        .flats
        .iter()
        .filter(|f| f.units.iter().any(|u| u.installed.is_none()))
        .count();
    let heading = match aged.first() {
        None => format!("When the units in {name} were fitted is not known"),
        Some((flat, _, (first, last))) => format!(
            "The oldest unit in the flats of {name} stands in {}, fitted {}",
            flat.space.name.to_lowercase(),
            dates::fitted_when(Some(*first), Some(*last))
        ),
    };
    let past = aged
        .iter()
        .filter(|(_, u, (first, _))| {
            view.kinds.iter().any(|k| {
                k.code == u.kind
                    && f64::from(dates::whole_years(*first, view.today)) > k.life_median_years
            })
        })
        .count();
    let dated = plural(aged.len() as u64, "dated flat", "dated flats");
    let past = match past {
        0 => format!("None of {dated} is"),
        1 => format!("One of {dated} is"),
        n => format!("{} of {dated} are", capital(&number_word(n as u64))),
    };
    let mut standing = vec![format!(
        "{past} past the age at which half of their kind have been replaced. Age alone never orders a replacement."
    )];
    if unknown > 0 {
        let flats = counted(unknown as u64, "flat", "flats");
        standing.push(format!("In {flats} a fitting date is unknown."));
    }
    let rows = aged
        .iter()
        .take(MOST_ROWS)
        .map(|(flat, _, (first, _))| {
            row_of(
                flat,
                format!(": {}.", reasons(view, flat, flat.oldest.as_ref())),
            )
            .figure(dates::age_brief(*first, view.today), "at most")
        })
        .collect();
    Answered {
        heading,
        standing: standing.join(" "),
        rows_heading: "Oldest first",
        rows_note: String::new(),
        rows,
    }
}
