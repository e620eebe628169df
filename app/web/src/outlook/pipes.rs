//! How likely a building's pipes lose what feeds them, in rows.
use terms::BuildingId;
use usecases::forecast::{BranchOutlook, BuildingOutlook, COMMON_SHARE, REPAIR_DAYS};
use wording::sentences::{capital, chances, counted, glue};
use wording::{Ask, Row, Verb, Why};

use crate::buildings::before;

/// Shares of common causes that may be asked about.
pub(super) const SHARES: [(&str, f64); 4] = [
    ("none", 0.0),
    ("twentieth", 0.05),
    ("tenth", COMMON_SHARE),
    ("fifth", 0.2),
];

/// Before a chance that is a bound from above.
const MOST: &str = "at most ";

pub(super) fn spares(view: &BuildingOutlook) -> String {
    let chance = view.any_branch.map_or_else(
        || "Nothing can be said of any pipe yet.".to_owned(),
        |any| {
            format!(
                "That at least one pipe loses what feeds it {}: {}{}.",
                before(view.season.until),
                if any.at_most { MOST } else { "" },
                chances::about(any.value)
            )
        },
    );
    format!(
        "{chance} A failed unit is taken to stand still for {} days (common practice, no source). Of failures of plant, this share is taken to strike all its like units at once, as a flood or a lost supply does (common practice, no source). A unit that feeds several pipes is counted once:",
        REPAIR_DAYS.round()
    )
}

pub(super) fn shares(building: BuildingId, current: &str) -> Vec<Ask> {
    SHARES
        .into_iter()
        .map(|(code, share)| Ask {
            words: if share > 0.0 {
                chances::brief(share)
            } else {
                "none".to_owned()
            },
            href: format!("/buildings/{building}/forecast?common={code}#heat"),
            current: code == current,
        })
        .collect()
}

fn figure_words(at_most: bool) -> &'static str {
    if at_most {
        "without what feeds it, at most"
    } else {
        "without what feeds it"
    }
}

pub(super) fn branch_row(one: &BranchOutlook) -> Row {
    let branch = &one.branch;
    let homes = counted(
        branch.spaces.len() as u64,
        "flat or room hangs",
        "flats and rooms hang",
    );
    let mut said = vec![format!("{}: {homes} on it.", branch.name)];
    let fitted = branch.fed_by.len();
    if fitted > 0 {
        let needed = match branch.needed {
            Some(_) => format!("it needs {}", one.needed),
            None => "how many it needs is not stated, so all are taken to be needed".to_owned(),
        };
        said.push(format!(
            "{} it; {needed}.",
            capital(&counted(fitted as u64, "unit feeds", "units feed"))
        ));
    }
    if one.needed > fitted && fitted > 0 {
        said.push("That is more than feed it: as stated it is short even when all run.".to_owned());
    }
    if !one.hangs_on.is_empty() {
        said.push(format!(
            "It hangs on {}.",
            wording::sentences::list(&one.hangs_on)
        ));
    }
    if let Some(loss) = one.loss {
        let (low, high) = loss.chance80;
        said.push(format!(
            "Too few of its feeders left at some time in the season: {}.",
            chances::with_range(loss.chance, low, high)
        ));
    }
    let row_id = format!("branch-{}", branch.id);
    let Some(chance) = one.chance else {
        said.push(
            "Nothing can be said of its chance: no unit that feeds it has a forecast.".to_owned(),
        );
        return Row::plain(row_id, glue(&said.join(" ")));
    };
    let mut why = vec![
        "Each unit’s own chance of failing, from its forecast; how many may stand still at once, from how long a repair takes; and the share that strikes all at once.".to_owned(),
    ];
    if let Some(loss) = one.loss {
        why.push(format!(
            "Of its losses, {} come of a common cause.",
            chances::in_ten(loss.by_common)
        ));
    }
    if !one.hangs_on.is_empty() {
        why.push("The figure at the right holds losses of the pipes it hangs on too; a unit that feeds several of them is counted once.".to_owned());
    }
    if one.at_most {
        why.push("These pipes share too many units in too many ways to go through: the figure is what it is at most.".to_owned());
    }
    let mut row = Row::plain(row_id, glue(&said.join(" ")))
        .figure(chances::brief(chance), figure_words(one.at_most))
        .why(Why::this(why));
    if let Some(first) = one.feeders.first() {
        let href = format!("/units/{}", first.id);
        row = row.verb(Verb::link("See what feeds it", href));
    }
    row
}
