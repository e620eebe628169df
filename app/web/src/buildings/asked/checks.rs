//! Whose check is next?
use usecases::register::BuildingView;
use wording::Urgency;
use wording::sentences::{capital, counted, dates, spans};

use super::{Answered, MOST_ROWS, row_of};

/// The answer in words.
pub(super) fn checks(view: &BuildingView) -> Answered {
    let name = &view.building.name;
    let mut dated: Vec<_> = view
        .flats
        .iter()
        .filter_map(|f| f.next_check.as_ref().map(|c| (f, c)))
        .collect();
    dated.sort_by_key(|(f, c)| (c.deadline, f.space.ordinal, f.space.place));
    let late = dated
        .iter()
        .filter(|(_, c)| c.deadline < view.today)
        .count();
    let undated = view.flats.iter().filter(|f| f.undated > 0).count();
    let heading = match (late, dated.first()) {
        (0, None) => format!("No check in {name} has a date yet"),
        (0, Some((flat, check))) => format!(
            "The next check in {name} is due by {}, in {}",
            dates::day(check.deadline),
            flat.space.name.to_lowercase()
        ),
        (1, _) => format!("One flat in {name} is past its date"),
        (n, _) => format!(
            "{} in {name} are past their date",
            capital(&counted(n as u64, "flat", "flats"))
        ),
    };
    let soon = dated
        .iter()
        .filter(|(_, c)| (0..=30).contains(&(c.deadline - view.today).num_days()))
        .count();
    let soon = match soon {
        0 => "No flat comes due".to_owned(),
        1 => "One flat comes due".to_owned(),
        n => format!("{} come due", capital(&counted(n as u64, "flat", "flats"))),
    };
    let mut standing = vec![format!("{soon} within the next 30\u{a0}days.")];
    if undated > 0 {
        let flats = counted(undated as u64, "flat", "flats");
        standing.push(format!(
            "In {flats} a duty has no date until its papers come."
        ));
    }
    let rows = dated
        .iter()
        .take(MOST_ROWS)
        .map(|(flat, check)| {
            let row = row_of(
                flat,
                format!(
                    ": {} by {}.",
                    check.name.to_lowercase(),
                    dates::day(check.deadline)
                ),
            );
            let row = row.figure(spans::due(view.today, check.deadline), check.rule.clone());
            if check.deadline < view.today {
                row.urgency(Urgency::Late)
            } else {
                row
            }
        })
        .collect();
    Answered {
        heading,
        standing: standing.join(" "),
        rows_heading: "Soonest first",
        rows_note: "Reminder, not legal advice".to_owned(),
        rows,
    }
}
