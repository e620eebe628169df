//! Which pipe feeds whom?
use usecases::register::BuildingView;
use wording::sentences::{capital, counted, list};
use wording::{Link, Row, Urgency, Verb};

use super::super::section::number;
use super::Answered;

/// What is wrong on the pipes first, then how many hang on them.
fn standing(view: &BuildingView, (hung, only_flats): (usize, bool)) -> String {
    let mut said: Vec<String> = view
        .outages
        .iter()
        .map(|outage| {
            let pipe = outage
                .branch_name
                .as_deref()
                .unwrap_or("the whole building");
            let homes = counted(outage.homes.len() as u64, "home", "homes");
            format!("An outage on {pipe}: {homes} called.")
        })
        .collect();
    said.push(format!(
        "{} on its pipes.",
        capital(&if only_flats {
            counted(hung as u64, "flat hangs", "flats hang")
        } else {
            counted(hung as u64, "space hangs", "spaces hang")
        })
    ));
    said.join(" ")
}

/// "; two units feed it, 1 needed on the coldest day"
fn fed_by(units: usize, needed: Option<i32>) -> String {
    match (units, needed) {
        (0, _) => String::new(),
        (n, Some(needed)) => format!(
            "; {} it, {needed} needed on the coldest day",
            counted(n as u64, "unit feeds", "units feed")
        ),
        (n, None) => format!("; fed by {}", counted(n as u64, "unit", "units")),
    }
}

/// The answer in words.
pub(super) fn pipes(view: &BuildingView) -> Answered {
    let risers = view.branches.iter().filter(|b| b.kind == "riser").count();
    let hung: Vec<_> = view.branches.iter().flat_map(|b| &b.spaces).collect();
    let only_flats = hung
        .iter()
        .all(|space| view.flats.iter().any(|flat| flat.space.id == **space));
    let rows = view
        .branches
        .iter()
        .map(|branch| {
            let names: Vec<&str> = view
                .flats
                .iter()
                .filter(|f| branch.spaces.contains(&f.space.id))
                .map(|f| number(&f.space.name))
                .collect();
            let feeds = if names.is_empty() {
                " feeds the risers".to_owned()
            } else {
                format!(
                    " feeds {} {}",
                    if names.len() == 1 { "flat" } else { "flats" },
                    list(&names)
                )
            };
            let fed = fed_by(branch.fed_by.len(), branch.needed);
            let mut row = Row::about(
                format!("p-{}", branch.id),
                Link::new(&branch.name, format!("/branches/{}", branch.id)),
                format!("{feeds}{fed}."),
            );
            if let Some(outage) = view.outages.iter().find(|o| o.branch == Some(branch.id)) {
                row = row.urgency(Urgency::Late).verb(Verb::link(
                    "See its outage",
                    format!("/outages/{}", outage.id),
                ));
                row.more.push(format!(
                    "Now: an outage, {} called.",
                    counted(outage.homes.len() as u64, "home", "homes")
                ));
            }
            match branch.spaces.len() {
                0 => row,
                n => row.figure(
                    n.to_string(),
                    match (n == names.len(), n) {
                        (true, 1) => "flat",
                        (true, _) => "flats",
                        (false, 1) => "space",
                        (false, _) => "spaces",
                    },
                ),
            }
        })
        .collect();
    Answered {
        heading: format!(
            "{} is fed by {}",
            view.building.name,
            counted(risers as u64, "riser", "risers")
        ),
        standing: standing(view, (hung.len(), only_flats)),
        rows_heading: "The pipes",
        rows_note: String::new(),
        rows,
    }
}
