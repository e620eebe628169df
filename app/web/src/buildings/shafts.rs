//! The pipes of a section: one shaft a riser or zone, the stretch an outage speaks of, what each flat hangs on.
use terms::{SpaceId, UsedAs};
use usecases::register::{BranchCard, BuildingView};
use wording::drawings::elevation::Riser;
use wording::sentences::list;

use super::section::lived_in;

/// Each riser or zone left of the column most of its flats stand in.
pub(super) fn risers(view: &BuildingView) -> Vec<Riser> {
    let column_of = |id: SpaceId| {
        view.section.iter().find_map(|level| {
            level
                .spaces
                .iter()
                .filter(|s| s.used_as != UsedAs::Stair)
                .position(|s| s.id == Some(id))
        })
    };
    let mut found: Vec<Riser> = view
        .branches
        .iter()
        .filter(|b| b.kind != "header")
        .filter_map(|branch| {
            let mut columns: Vec<usize> =
                branch.spaces.iter().filter_map(|s| column_of(*s)).collect();
            columns.sort_unstable();
            let column = *columns.get(columns.len() / 2)?;
            Some(Riser {
                name: branch.name.to_lowercase(),
                column,
                trouble: trouble_on(view, branch),
            })
        })
        .collect();
    found.sort_by_key(|r| r.column);
    // Two pipes in one shaft are drawn as one line with both names.
    let mut shafts: Vec<Riser> = Vec::new();
    for riser in found {
        match shafts.last_mut() {
            Some(last) if last.column == riser.column => {
                last.name = format!("{}, {}", last.name, riser.name);
                last.trouble = last.trouble.or(riser.trouble);
            }
            _ => shafts.push(riser),
        }
    }
    shafts
}

/// The pipes a flat hangs on, in short: "4", "zone 2 and 4".
pub(super) fn pipes_to(view: &BuildingView, space: SpaceId) -> String {
    let short = |branch: &&BranchCard| {
        let name = branch.name.to_lowercase();
        name.strip_prefix("riser ").unwrap_or(&name).to_owned()
    };
    let names: Vec<String> = view
        .branches
        .iter()
        .filter(|branch| branch.spaces.contains(&space))
        .map(|branch| short(&branch))
        .collect();
    list(&names)
}

/// The stretch of a riser an open outage speaks of: from the lowest to the highest home that called.
fn trouble_on(view: &BuildingView, branch: &BranchCard) -> Option<(usize, usize)> {
    let levels = lived_in(&view.section);
    let above: Vec<_> = std::iter::once(branch.id)
        .chain(branch.fed_by_branches.iter().copied())
        .collect();
    let storeys: Vec<usize> = view
        .outages
        .iter()
        .filter(|outage| outage.branch.is_some_and(|b| above.contains(&b)))
        .flat_map(|outage| &outage.homes)
        .filter(|home| branch.spaces.contains(&home.space))
        .filter_map(|home| {
            levels
                .iter()
                .position(|level| level.spaces.iter().any(|s| s.id == Some(home.space)))
        })
        .collect();
    Some((*storeys.iter().min()?, *storeys.iter().max()?))
}
