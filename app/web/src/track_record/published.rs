//! What the model came to on published repair histories, in words.
use usecases::forecast::PublishedHistory;
use wording::sentences::{capital, counted, dates, list, minus, plural};
use wording::{Row, Why};

use super::judged::{WAYS, about, verdict};

/// One history: the sums, the verdict against each plainer way, and why where it does not win.
pub(super) fn of_history(found: &PublishedHistory) -> Row {
    let inside = (found.luck80.0..=found.luck80.1).contains(&found.happened);
    let sums = format!(
        "{}: said about {}; {} happened, {} what luck does.",
        capital(&found.words),
        counted(about(found.expected), "failure", "failures"),
        found.happened,
        if inside { "inside" } else { "outside" }
    );
    let mut said = vec![sums, verdicts(found)];
    if !found.why.is_empty() {
        said.push(found.why.clone());
    }
    Row::plain(format!("published-{}", found.name), said.join(" "))
        .figure(
            format!("{} and {}", about(found.expected), found.happened),
            "said, happened",
        )
        .why(Why::this(facts(found)))
}

fn verdicts(found: &PublishedHistory) -> String {
    if found.thin() {
        let ways: Vec<String> = WAYS.iter().map(|(_, way)| (*way).to_owned()).collect();
        return format!(
            "Against {}: not judged, as fewer than 30 failures are too few to say more than the sums.",
            list(&ways)
        );
    }
    let all: Vec<String> = WAYS
        .iter()
        .zip(&found.against)
        .map(|((_, way), one)| format!("{} {way}", verdict(one)))
        .collect();
    format!("The forecast is {}.", list(&all))
}

fn facts(found: &PublishedHistory) -> Vec<String> {
    let mut facts = vec![format!(
        "{} at seven moments of its past, each fitted anew on what had happened by then; every machine is a group.",
        capital(&plural(found.forecasts, "forecast", "forecasts"))
    )];
    facts.extend(WAYS.iter().zip(&found.against).map(|((_, way), one)| {
        minus(&format!(
            "Log score of the number that happened, ours less that of {way}, a hundred forecasts: {:+.1}; 95 in 100 such differences lie from {:+.1} to {:+.1}, and from {:+.1} to {:+.1} when the machines are drawn again and again.",
            100.0 * one.mean,
            100.0 * one.ci95.0,
            100.0 * one.ci95.1,
            100.0 * one.bootstrap95.0,
            100.0 * one.bootstrap95.1
        ))
    }));
    facts.push(
        "“Better” is claimed only when both lie above nought. The published figure here is a bare guess, one failure a machine over the longest time watched, as none is published for it."
            .to_owned(),
    );
    facts.push(format!("Source: {}.", found.source));
    facts.push(format!(
        "Figures made on {} by {}.",
        dates::day(found.as_at),
        found.command
    ));
    facts
}
