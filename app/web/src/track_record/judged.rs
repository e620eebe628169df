//! A judgement in words: against plainer ways, chance by chance, with its scores.
use usecases::forecast::{Against, Judgement, Scores};
use wording::drawings::pit::WhereItFell;
use wording::drawings::said_happened::{SaidGroup, SaidHappened};
use wording::sentences::{chances, counted, minus, plural};
use wording::{Drawing, Row, Table, Why};

/// A sum, to the nearest whole.
pub(super) fn about(expected: f64) -> u64 {
    expected.round().max(0.0) as u64
}

/// Said and happened as a drawing; none where there is too little to say more than the sums.
pub(super) fn drawing(id: &str, judged: &Judgement) -> Option<Drawing> {
    let groups = judged.groups.iter().map(|g| SaidGroup {
        said: g.said,
        units: g.units,
        expected: g.expected,
        failed: g.failed,
        luck: g.luck,
    });
    let drawn = SaidHappened {
        id: id.to_owned(),
        groups: groups.collect(),
    };
    (!judged.thin()).then(|| drawn.draw())
}

/// Where in what was said the numbers fell; none where there is too little to say more than the sums.
pub(super) fn fell(id: &str, judged: &Judgement) -> Option<(Drawing, &'static str)> {
    let drawn = WhereItFell {
        id: id.to_owned(),
        shares: judged.pit.clone(),
        forecasts: judged.forecasts,
    };
    (!judged.thin() && !judged.pit.is_empty()).then(|| (drawn.draw(), drawn.reading()))
}

/// "When we said about 1 in 4, it happened 31 times in 100; …": the least and the most said.
pub(super) fn by_chance(judged: &Judgement) -> String {
    let told = |group: &usecases::forecast::Group| {
        format!(
            "when we said {}, it happened {:.0} times in 100",
            chances::about(group.said),
            100.0 * group.failed as f64 / group.units.max(1) as f64
        )
    };
    match (judged.groups.first(), judged.groups.last()) {
        (Some(least), Some(most)) if judged.groups.len() > 1 => {
            format!(
                "{}; {}.",
                wording::sentences::capital(&told(most)),
                told(least)
            )
        }
        (Some(one), _) => format!("{}.", wording::sentences::capital(&told(one))),
        _ => String::new(),
    }
}

pub(super) const WAYS: [(&str, &str); 3] = [
    ("average", "the kind's average rate"),
    ("age", "the unit's age alone"),
    ("prior", "the published figures alone"),
];

/// Each plainer way in a sentence: which is better, or that the difference lies inside luck, and why that may be.
pub(super) fn against(judged: &Judgement) -> Vec<Row> {
    let (Some(all), false) = (&judged.against, judged.thin()) else {
        return not_judged(&why_not(judged));
    };
    let mut rows = vec![named(judged)];
    rows.extend(
        WAYS.iter()
            .zip(all)
            .zip(theirs(judged))
            .map(|(((id, way), one), scores)| {
                compared(&format!("against-{id}"), way, (one, scores), judged)
            }),
    );
    rows
}

/// Scores of the plainer ways, in their order.
pub(super) fn theirs(judged: &Judgement) -> [&Scores; 3] {
    let s = &judged.scores;
    [&s.average, &s.age, &s.prior]
}

/// Units are called unlike beyond chance from here: 95 % of alike ones stay below (standard normal, one side).
const UNLIKE: f64 = 1.645;

/// Why a way is not beaten, from the figures of this judgement; empty where it is.
pub(super) fn reason(one: &Against, scores: &Scores, judged: &Judgement) -> String {
    if one.better() {
        return String::new();
    }
    let ours = &judged.scores.ours;
    if one.worse() {
        let off = |s: &Scores| (s.expected - judged.happened as f64).abs();
        if off(ours) > off(scores) {
            return format!(
                " Why: of {} it had said {:.1}, that way {:.1}; its level was further off.",
                counted(judged.happened, "failure", "failures"),
                ours.expected,
                scores.expected
            );
        }
        let order = |s: &Scores| {
            s.concordance
                .map_or_else(|| "not known".to_owned(), |c| format!("{c:.2}"))
        };
        return format!(
            " Why: its level was no further off ({:.1} said of {}, that way {:.1}), so it told units apart wrongly or too boldly: concordance {}, that way {}.",
            ours.expected,
            counted(judged.happened, "failure", "failures"),
            scores.expected,
            order(ours),
            order(scores)
        );
    }
    let (low, high) = (
        one.ci95.0.min(one.bootstrap95.0),
        one.ci95.1.max(one.bootstrap95.1),
    );
    let mut said = vec![minus(&format!(
        "with {} the difference may be anything from {:+.1} to {:+.1}, nought among it",
        counted(judged.happened, "failure", "failures"),
        100.0 * low,
        100.0 * high
    ))];
    if judged.unlike <= 0.0 {
        said.push(minus(&format!(
            "units failed no more unlike than chance makes alike ones (spread {:+.1}, nought or below is alike), so a unit’s own record has nothing to add",
            judged.unlike
        )));
    } else if judged.unlike < UNLIKE {
        said.push(format!(
            "units failed hardly more unlike than chance makes alike ones (spread {:+.1}, below {UNLIKE:.1} may be chance), so a unit’s own record has little to add",
            judged.unlike
        ));
    }
    if judged.by_unit {
        said.push(format!(
            "{} too few groups to tell luck from skill",
            counted(judged.buildings as u64, "building is", "buildings are")
        ));
    }
    format!(" Why: {}.", said.join("; "))
}

/// Why a set of forecasts is not held against plainer ways.
pub(super) fn why_not(judged: &Judgement) -> String {
    if judged.thin() {
        format!(
            "{} happened, and fewer than 30 are too few to say more than the sums",
            counted(judged.happened, "failure", "failures")
        )
    } else {
        "all of it stood in one place, so nothing tells luck from skill".to_owned()
    }
}

/// Each plainer way by name, with the verdict that it was not judged.
pub(super) fn not_judged(why: &str) -> Vec<Row> {
    WAYS.iter()
        .map(|(id, way)| {
            Row::plain(
                format!("against-{id}"),
                format!("Against {way}: not judged, as {why}."),
            )
            .figure("not judged", "log score")
        })
        .collect()
}

/// All books together, against the plainer ways.
pub(super) fn together(judged: &Judgement, books: usize) -> Vec<Row> {
    let Some(all) = judged.against.as_ref().filter(|_| !judged.thin()) else {
        return Vec::new();
    };
    let said: Vec<String> = WAYS
        .iter()
        .zip(all)
        .map(|((_, way), one)| format!("{} {way}", verdict(one)))
        .collect();
    vec![
        Row::plain(
            "together",
            format!(
                "All {} together: this forecast is {}.",
                plural(books as u64, "book", "books"),
                wording::sentences::list(&said)
            ),
        )
        .figure(
            format!("{} and {}", about(judged.expected), judged.happened),
            "said, happened",
        ),
    ]
}

fn named(judged: &Judgement) -> Row {
    let s = &judged.scores;
    let lot = judged.failed as f64 * judged.fifth as f64 / judged.forecasts.max(1) as f64;
    Row::plain(
        "named",
        format!(
            "Of {} that failed, this forecast had named {} among the fifth it called most likely; age alone {}, the kind's average {}, choosing by lot about {}.",
            counted(judged.failed as u64, "unit", "units"),
            about(s.ours.named),
            about(s.age.named),
            about(s.average.named),
            about(lot)
        ),
    )
    .figure(format!("{} of {}", about(s.ours.named), judged.failed), "named beforehand")
}

pub(super) fn verdict(one: &Against) -> &'static str {
    if one.better() {
        "better than"
    } else if one.worse() {
        "worse than"
    } else {
        "not told apart from"
    }
}

fn compared(id: &str, way: &str, (one, scores): (&Against, &Scores), judged: &Judgement) -> Row {
    let why = reason(one, scores, judged);
    let said = match verdict(one) {
        "better than" => format!("This forecast did better than {way}, by more than luck."),
        "worse than" => format!("This forecast did worse than {way}, by more than luck.{why}"),
        _ => format!(
            "This forecast and {way} cannot be told apart yet: the difference lies inside what luck does with {} failures.{why}",
            judged.happened
        ),
    };
    let group = if judged.by_unit {
        "All in one unit is taken as dependent; with fewer than eight buildings the unit is the group."
    } else {
        "All in one building is taken as dependent, over all dates."
    };
    Row::plain(id, said)
        .figure(minus(&format!("{:+.1}", 100.0 * one.mean)), "log score, 100 forecasts")
        .why(Why::this(vec![
            minus(&format!(
                "Log score of the number that happened, ours less theirs, a hundred forecasts: {:+.1}; 95 in 100 such differences lie from {:+.1} to {:+.1}, and from {:+.1} to {:+.1} when the groups are drawn again and again.",
                100.0 * one.mean,
                100.0 * one.ci95.0,
                100.0 * one.ci95.1,
                100.0 * one.bootstrap95.0,
                100.0 * one.bootstrap95.1
            )),
            format!("“Better” is claimed only when both lie above nought. {group}"),
            "The plainer way was fitted on the same record with the same priors and its own spread; it was frozen in the same book.".to_owned(),
        ]))
}

/// The scores of every way, for the statistical reader.
pub(super) fn scores(judged: &Judgement) -> Table {
    let row = |name: &str, s: &Scores| {
        vec![
            name.to_owned(),
            format!("{:.3}", s.ln_count),
            format!("{:.3}", s.ln_event),
            format!("{:.4}", s.brier),
            format!("{:.3}", s.crps),
            s.concordance
                .map_or_else(|| "not known".to_owned(), |c| format!("{c:.3}")),
            format!("{:.1}", s.expected),
        ]
    };
    let s = &judged.scores;
    let mut table = Table::new(
        &[
            "",
            "Log score, number",
            "Log score, at least one",
            "Brier",
            "CRPS, failures",
            "Concordance",
            "Failures said",
        ],
        vec![
            row("this forecast", &s.ours),
            row("the kind's average", &s.average),
            row("age alone", &s.age),
            row("published figures alone", &s.prior),
        ],
    )
    .numbers(&[1, 2, 3, 4, 5, 6]);
    table.caption = match judged.calibration {
        Some((intercept, slope)) => format!(
            "Means over {} forecasts. Log scores: nearer to nought is better; Brier and CRPS (continuous ranked probability score): smaller is better. Calibration: intercept {intercept:+.2}, slope {slope:.2} (0 and 1 are perfect).",
            judged.forecasts
        ),
        None => format!("Means over {} forecasts.", judged.forecasts),
    };
    table
}
