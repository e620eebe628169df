//! What is not known of this very unit, or only guessed, the weightiest first.
use usecases::advice::{AdvicePage, InputLine, Param, Standing, Unknown};
use wording::sentences::{counted, dates, plural};
use wording::{Row, Verb};

use super::{asking, before, drawings, out, sources, staying, words};
use crate::form::fresh_once;

/// One thing not known.
pub(super) struct NotKnown {
    id: &'static str,
    /// In full, for its own row.
    pub words: String,
    /// What it is, in a clause without a code or a source, for the rows in short.
    pub short: String,
    figure: Option<(String, &'static str)>,
}

fn one(id: &'static str, short: impl Into<String>, words: impl Into<String>) -> NotKnown {
    NotKnown {
        id,
        words: words.into(),
        short: short.into(),
        figure: None,
    }
}

/// A row for each.
pub(super) fn rows(page: &AdvicePage) -> Vec<Row> {
    all(page)
        .into_iter()
        .map(|known| {
            let row = Row::plain(format!("unknown-{}", known.id), known.words);
            let row = match known.figure {
                Some((figure, small)) => row.figure(figure, small),
                None => row,
            };
            if known.id == "price" {
                with_a_quote(page, row)
            } else {
                row
            }
        })
        .collect()
}

/// A way to have the new unit quoted, or the survey at which it can be.
fn with_a_quote(page: &AdvicePage, mut row: Row) -> Row {
    if let Some((_, number)) = &page.new_quote.survey {
        row.more.push(format!(
            "A survey of it is open, job {number}: the new one can be quoted there. Once its price is stated under Prices, an advice made anew reckons with it."
        ));
    }
    if page.new_quote.may_ask {
        row.more.push(
            "A quote opens a survey for a firm; once its price is stated under Prices, an advice made anew reckons with it."
                .to_owned(),
        );
        return row.verb(Verb::post(
            "Ask for a quote of the new one",
            format!("/advice/{}/quote-new", page.listed.id),
            vec![("once".to_owned(), fresh_once())],
        ));
    }
    row
}

/// All of it: what is missing of this unit, then of its price and its successor, then what is reckoned for everybody alike.
pub(super) fn all(page: &AdvicePage) -> Vec<NotKnown> {
    let mut said = Vec::new();
    // Money is asked for, and the maker may have to pay it: nothing matters more.
    let asked_first = page.listed.quote.is_some() && before::may_be_under(page).is_some();
    if asked_first {
        said.push(warranty(page));
    }
    said.extend(age(page));
    if !page.listed.answer.own_forecast {
        said.push(one("forecast", "how often this one will fail itself, for there is no forecast of it yet", "There is no forecast of this unit yet: its kind’s published figures stand in for its own history."));
    }
    said.extend(asked(page, true));
    said.extend(price(page));
    said.extend(new_one(page));
    said.extend(staying::share_not_known(page).map(|words| {
        let short = "how many of its failures a new one would not stop";
        one("stays", short, words)
    }));
    said.extend(asked(page, false));
    if !asked_first {
        said.push(warranty(page));
    }
    said.push(so_far(page));
    said.push(energy(page));
    said.push(one(
        "parts",
        "whether parts for it are still supplied",
        "Whether parts for it are still supplied is not on record.",
    ));
    said.extend(like_for_like(page));
    said.extend(guesses(page));
    said
}

fn age(page: &AdvicePage) -> Option<NotKnown> {
    let a = &page.listed;
    let reckoned = format!("reckoned as {:.0}\u{a0}years old", a.answer.age);
    let said = match a.unit.installed {
        None => format!("When it was fitted is not known; it is {reckoned}."),
        Some((from, until)) if from != until => format!(
            "When it was fitted is known to a range only, {}; it is {reckoned}.",
            dates::fitted_when(Some(from), Some(until))
        ),
        Some(_) => return None,
    };
    let short = format!("how old it is, which is {reckoned}");
    let asked = page.ask.iter().find(|ask| ask.what == Unknown::Age);
    let may_be = asked.and_then(|ask| asking::may_be(ask.ages.as_ref()?));
    Some(match (asked, may_be) {
        (Some(ask), Some(may_be)) => NotKnown {
            figure: Some((ask.gain.to_string(), "gained by knowing, at most")),
            ..one(
                "age",
                short.clone(),
                format!(
                    "{said} It may be {may_be}; knowing it would be worth at most {}.",
                    ask.gain
                ),
            )
        },
        _ => one("age", short, said),
    })
}

/// What could be found out, each with the most that knowing it is worth: what pays, or what does not.
fn asked(page: &AdvicePage, pays: bool) -> Vec<NotKnown> {
    page.ask
        .iter()
        .filter(|ask| ask.pays() == pays)
        .filter_map(|ask| {
            let beside = if pays {
                String::new()
            } else {
                format!(
                    " {} It is not worth finding out for this decision alone.",
                    asking::cost(ask)
                )
            };
            Some(NotKnown {
                id: ask.what.code(),
                short: asking::clause(ask.what).to_owned(),
                words: format!(
                    "{} Knowing it would be worth at most {}.{beside}",
                    asking::missing(ask.what)?,
                    ask.gain
                ),
                figure: Some((ask.gain.to_string(), "gained by knowing, at most")),
            })
        })
        .collect()
}

fn line<'a>(page: &'a AdvicePage, code: &str, option: &str) -> Option<&'a InputLine> {
    let mut lines = page.lines.iter();
    lines.find(|l| l.code == code && l.option == option)
}

/// That nobody quoted for the new one.
fn price(page: &AdvicePage) -> Option<NotKnown> {
    let (code, name, price) = page.listed.instead()?;
    let line = line(page, "capex", code)?;
    Some(if line.source.starts_with("agreed") {
        one(
            "price",
            format!(
                "whether the {price} agreed for a new {name} holds in this home, which nobody has surveyed for it"
            ),
            format!(
                "The new {name} at {price} is a price {}; nobody has surveyed this home for it.",
                line.source
            ),
        )
    } else {
        one(
            "price",
            format!(
                "what a new {name} would really cost in this home, for {price} is a list price and nobody has quoted it"
            ),
            format!(
                "The new {name} at {price} is a {} ({}): nobody has quoted it for this home.",
                line.source.replacen("price list,", "list price of", 1),
                line.status
            ),
        )
    })
}

fn new_one(page: &AdvicePage) -> Option<NotKnown> {
    let (code, name, _) = page.listed.instead()?;
    let line = line(page, "failures_new", code)?;
    Some(one(
        "new",
        format!(
            "how often a new {name} would fail here, for {} once it is ten years old is reckoned from others of its kind",
            words::how_often(line.value)
        ),
        format!(
            "How often a new {name} fails here is not known: {:.2} times a year at ten years of age comes from {} ({}).",
            line.value, line.source, line.status
        ),
    ))
}

fn warranty(page: &AdvicePage) -> NotKnown {
    let unit = &page.listed.unit;
    let new = page
        .listed
        .instead()
        .and_then(|(code, _, _)| line(page, "warranty", code))
        .filter(|line| line.value >= 1.0);
    let offer = match new {
        Some(line) => format!(
            "A new one is reckoned with {}; the offer decides.",
            plural(line.value.round() as u64, "year", "years")
        ),
        None => "A new one is reckoned with none; the offer decides.".to_owned(),
    };
    let old = match unit.warranty_until {
        Some(until) if until >= page.known_on => format!(
            "Its warranty is on record until {}; whether its conditions were kept is for its maker to say.",
            dates::day(until)
        ),
        Some(until) => format!("Its warranty ended on {}.", dates::day(until)),
        None => "Whether a warranty still runs on it is not on record.".to_owned(),
    };
    let Some(why) = before::may_be_under(page) else {
        return one(
            "warranty",
            "what a warranty would pay",
            format!("{old} {offer}"),
        );
    };
    one(
        "warranty",
        format!("whether it is still under warranty, for it is {why}: ask the maker before paying"),
        format!("{old} It is {why}: ask the maker before paying. {offer}"),
    )
}

/// How right the forecasts were so far.
fn so_far(page: &AdvicePage) -> NotKnown {
    let Some(so_far) = page.so_far else {
        return one(
            "track",
            "how right our forecasts are",
            "How right our forecasts are here is not known yet: no year of them is over.",
        );
    };
    let happened = counted(so_far.happened, "failure", "failures");
    NotKnown {
        id: "track",
        short: "how right our forecasts are".to_owned(),
        words: format!(
            "Our forecasts may be wrong. In the year to {} they said {} in these buildings, and {happened} happened.{}",
            dates::day(so_far.period.1),
            plural(so_far.said.round() as u64, "failure", "failures"),
            out::beside_the_turn(page, so_far.happened as f64 / so_far.said.round())
        ),
        figure: Some((
            format!("{} for {:.0}", so_far.happened, so_far.said),
            "happened, for said",
        )),
    }
}

fn energy(page: &AdvicePage) -> NotKnown {
    if page.lines.iter().any(|l| l.code == "energy_first") {
        one(
            "energy",
            "what energy this home uses",
            "Energy is counted at the heat of a usual home, not at what this one uses.",
        )
    } else {
        one(
            "energy",
            "what energy this home uses and who pays it",
            "Energy is not counted on either side: who pays it, and what each unit uses here, is not known.",
        )
    }
}

fn like_for_like(page: &AdvicePage) -> Option<NotKnown> {
    let mut options = page.listed.answer.options.iter();
    let same = options.find(|o| o.standing == Standing::LikeForLike)?;
    (!same.reasons.is_empty()).then(|| {
        one(
            "same",
            "whether a new one of the same kind still suits here",
            format!(
                "Before a new one of the same kind is ordered: {}",
                same.reasons.join(" ")
            ),
        )
    })
}

fn guesses(page: &AdvicePage) -> Option<NotKnown> {
    let bare: Vec<&InputLine> = page
        .lines
        .iter()
        .filter(|l| sources::unsourced(l))
        .collect();
    if bare.is_empty() {
        return None;
    }
    let guesses = bare.iter().filter(|l| l.status.contains("guess")).count();
    let weigh: Vec<String> = page
        .listed
        .answer
        .advice
        .tornado
        .iter()
        .filter(|row| bare.iter().any(|line| line.code == code_of(row.param)))
        .map(|row| drawings::short_name(row.param).to_owned())
        .take(3)
        .collect();
    let weightiest = if weigh.is_empty() {
        String::new()
    } else {
        format!(
            " The weightiest of them: {}.",
            wording::sentences::list(&weigh)
        )
    };
    Some(one(
        "guesses",
        "how near our guesses are",
        format!(
            "{} of the {} figures have no published source: {guesses} are guesses of ours, {} what is usual in the trade.{weightiest} “What went in” on the advice’s page lists all and marks them.",
            bare.len(),
            page.lines.len(),
            bare.len() - guesses
        ),
    ))
}

/// The figure that a doubt is about.
fn code_of(param: Param) -> &'static str {
    match param {
        Param::Rate => "rate",
        Param::Quote => "quote",
        Param::FaultsOld => "failures_first",
        Param::FaultsNew => "failures_new",
        Param::Capex => "capex",
        Param::Energy => "energy_first",
        Param::ServiceOld => "service",
        Param::RepairPrice => "repair",
        Param::Disruption => "disruption_failure",
        Param::EmergencyPremium => "emergency_premium",
        Param::WriteOff => "write_off_share",
    }
}

/// Where a new unit's failures come from, for the same.
pub(super) fn failures_in_one_line(page: &AdvicePage) -> String {
    let line = page
        .listed
        .instead()
        .and_then(|(code, _, _)| line(page, "failures_new", code));
    line.map_or_else(String::new, |line| {
        format!("a new one’s from {}", line.source)
    })
}

/// Where the prices come from, for one line of the pack.
pub(super) fn prices_in_one_line(page: &AdvicePage) -> String {
    let Some((code, _, price)) = page.listed.instead() else {
        return "No price for a new one".to_owned();
    };
    match line(page, "capex", code) {
        Some(line) => format!("{price} for a new one by {}", line.source),
        None => format!("{price} for a new one"),
    }
}
