//! The model tried on the estate's own past.
use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::forecast::{Tried, TriedKind, published, tried};
use wording::sentences::{capital, counted, dates, minus, number_word, plural};
use wording::{Drawing, Row, Shell, Table};

use super::judged;
use super::published::of_history;
use crate::Failure;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

#[derive(Template)]
#[template(path = "track-record/own-past.html")]
struct OwnPastPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    picture: Option<Drawing>,
    against: Vec<Row>,
    kinds: Vec<Row>,
    published: Vec<Row>,
    scores: Option<Table>,
    fell: Option<(Drawing, &'static str)>,
}

/// The page.
pub(super) async fn show(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let shell = reader.shell(&state, "track-record");
    let (found, histories) = answer(&state, move |world| {
        Ok((tried(world, &reader.seat)?, published()?))
    })
    .await?;
    let mut facts = vec![shell.estate_name.clone()];
    facts.extend(found.origins.iter().map(|day| dates::day(*day)));
    let (finding, standing) = said(&found);
    let judged = found.judgement.as_ref();
    page(&OwnPastPage {
        shell,
        facts,
        finding,
        standing,
        picture: judged.and_then(|j| judged::drawing("past", j)),
        against: judged.map_or_else(
            || judged::not_judged("nothing was watched a year ago"),
            judged::against,
        ),
        kinds: found.kinds.iter().map(kind).collect(),
        published: histories.iter().map(of_history).collect(),
        scores: judged.filter(|j| !j.thin()).map(judged::scores),
        fell: judged.and_then(|j| judged::fell("past-fell", j)),
    })
}

fn said(found: &Tried) -> (String, String) {
    let Some(judged) = &found.judgement else {
        return (
            "Nothing was watched a year ago, so there is no past to try it on".to_owned(),
            "Bring in the repair history of past years, and it is tried at once.".to_owned(),
        );
    };
    let finding = format!(
        "Tried on the estate's own past, it would have said about {}; there were {}",
        counted(judged::about(judged.expected), "failure", "failures"),
        number_word(judged.happened)
    );
    let standing = format!(
        "{} over {}. Luck alone gives {} to {} in 8 of 10.",
        capital(&plural(judged.forecasts as u64, "forecast", "forecasts")),
        plural(found.origins.len() as u64, "year", "years"),
        judged.luck80.0,
        judged.luck80.1
    );
    (finding, standing)
}

fn kind(tried: &TriedKind) -> Row {
    let (plural_name, judged) = (&tried.plural, &tried.judgement);
    let verdict = if judged.inside() { "inside" } else { "outside" };
    let beaten = match &judged.against {
        Some([average, age, _]) if !judged.thin() && average.better() && age.better() => {
            " It beats the kind's average and age alone by more than luck.".to_owned()
        }
        Some(all) if !judged.thin() => judged::WAYS
            .iter()
            .zip(all)
            .zip(judged::theirs(judged))
            .take(2)
            .filter(|((_, one), _)| !one.better())
            .map(|(((_, way), one), scores)| {
                let why = judged::reason(one, scores, judged);
                format!(" It is {} {way}.{why}", judged::verdict(one))
            })
            .collect::<Vec<String>>()
            .concat(),
        _ => " Fewer than 30 failures: too few to say more than the sums.".to_owned(),
    };
    Row::plain(
        format!("kind-{}", plural_name.replace(' ', "-")),
        format!(
            "{}: said about {}, happened {}, {verdict} what luck does.{beaten}{}",
            capital(plural_name),
            judged::about(judged.expected),
            judged.happened,
            ageing(tried)
        ),
    )
    .figure(
        format!("{} and {}", judged::about(judged.expected), judged.happened),
        "said, happened",
    )
}

/// How parts age is the trade's; whether a single clock, whose ageing is fitted, would have done better is said.
fn ageing(tried: &TriedKind) -> String {
    let Some(one) = &tried.parts else {
        return String::new();
    };
    let (verdict, worse) = (judged::verdict(one), one.worse());
    let keeps = if worse {
        "The part clocks are kept all the same, as only they say which part; read its chances with that in mind."
    } else {
        "The part clocks are kept."
    };
    minus(&format!(
        " Ageing is taken from the trade, part by part: {verdict} one clock a unit with its ageing learned here ({:+.1} in log score, 100 forecasts; 95 in 100 from {:+.1} to {:+.1}). {keeps}",
        100.0 * one.mean,
        100.0 * one.ci95.0,
        100.0 * one.ci95.1
    ))
}
