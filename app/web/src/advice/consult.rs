//! Whether leaseholders are to be consulted, in sentences.
use usecases::advice::{AdvicePage, Consultation, Steps};
use wording::Row;
use wording::sentences::dates;

/// Reminder that stands with every date drafted here.
pub(super) const REMINDER: &str =
    "Reminder, not legal advice; check the lease and the current text.";

/// The test in one sentence; nothing where the course costs nothing now.
pub(super) fn test(seen: &AdvicePage) -> Option<String> {
    let c = seen.consultation.as_ref()?;
    let share = if c.stated {
        format!("the largest share, {}\u{a0}%", c.share)
    } else {
        "an equal share, as no largest share is stated".to_owned()
    };
    Some(match c.steps {
        None => format!(
            "Consultation: {} falls on {share} of {}; none is over {}.",
            c.largest, c.cost, c.above
        ),
        Some(_) => format!(
            "Consultation: {} falls on {share} of {}; that is over {}, so leaseholders are consulted before it is ordered, unless they do not pay for it under the lease.",
            c.largest, c.cost, c.above
        ),
    })
}

/// The same with the drafted dates, for one paragraph of the pack.
pub(super) fn in_one_line(seen: &AdvicePage) -> String {
    let Some(test) = test(seen) else {
        return String::new();
    };
    match seen.consultation.as_ref().and_then(|c| c.steps) {
        None => format!(" {test} {REMINDER}"),
        Some(s) => format!(
            " {test} Drafted: notice {}, observations until {}, estimates {}, observations until {}, decision from {}. {REMINDER}",
            dates::day(s.notice),
            dates::day(s.observations_until),
            dates::day(s.estimates),
            dates::day(s.second_until),
            dates::day(s.decide_from)
        ),
    }
}

/// The drafted dates, one row each.
pub(super) fn steps(seen: &AdvicePage) -> Vec<Row> {
    let steps = seen
        .consultation
        .as_ref()
        .and_then(|c: &Consultation| c.steps);
    steps.map_or_else(Vec::new, |s| rows(&s))
}

fn rows(s: &Steps) -> Vec<Row> {
    [
        ("notice", s.notice, "First notice to every leaseholder and recognised association, with what is to be done and why; they may name firms."),
        ("observations", s.observations_until, "Observations and names until then; they are had regard to, and at least two estimates asked for, one of a firm wholly unconnected."),
        ("estimates", s.estimates, "Statement of estimates, with a summary of the observations."),
        ("second", s.second_until, "Observations on the estimates until then."),
        ("decide", s.decide_from, "First day on which it can be decided and contracted."),
        ("reasons", s.reasons_until, "Reasons by then, if it went neither to the lowest nor to a firm they named."),
    ]
    .into_iter()
    .map(|(id, day, words)| Row::plain(format!("consult-{id}"), words).figure(dates::day(day), "drafted"))
    .collect()
}
