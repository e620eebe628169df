//! Track record: what was said, met with what happened; and the model tried on the estate's own past.
mod judged;
mod published;
mod tried;

use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::bag::{self, BagRecord};
use usecases::forecast::{MetBook, PastBook, Surprise, TrackRecord, track_file, track_record};
use wording::sentences::{capital, chances, counted, dates, number_word, plural, today as words};
use wording::{Drawing, Link, Row, Shell, Table, Why};

use crate::Failure;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(web::resource("/track-record").route(web::get().to(show)))
        .service(web::resource("/track-record/own-past").route(web::get().to(tried::show)))
        .service(web::resource("/track-record.csv").route(web::get().to(file)));
}

#[derive(Template)]
#[template(path = "track-record/track-record.html")]
struct TrackRecordPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    picture: Option<Drawing>,
    rows: Vec<Row>,
    against: Vec<Row>,
    scores: Option<Table>,
    fell: Option<(Drawing, &'static str)>,
    surprises: Vec<Row>,
    before: Vec<Row>,
    bags: Vec<Row>,
    digest: Option<String>,
    lines: usize,
}

/// The page.
async fn show(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let shell = reader.shell(&state, "track-record");
    let (record, bags) = answer(&state, move |world| {
        Ok((
            track_record(world, &reader.seat)?,
            bag::record(world, &reader.seat)?,
        ))
    })
    .await?;
    let bags = carried(&bags);
    let mut facts = vec![shell.estate_name.clone()];
    let Some(last) = &record.last else {
        let (finding, standing) = none_yet(&record);
        return page(&TrackRecordPage {
            shell,
            facts,
            finding,
            standing,
            picture: None,
            rows: Vec::new(),
            against: judged::not_judged("no forecast of ours is a year old yet"),
            scores: None,
            fell: None,
            surprises: Vec::new(),
            before: Vec::new(),
            bags,
            digest: None,
            lines: 0,
        });
    };
    let judged = &last.judgement;
    let (from, until) = last.period;
    facts.push(format!("{} to {}", dates::day(from), dates::day(until)));
    facts.push(plural(judged.forecasts as u64, "unit", "units"));
    facts.push("as known at the time".to_owned());
    let (finding, standing) = found(&record, last);
    let mut against = judged::against(judged);
    if let Some(together) = &record.together {
        against.extend(judged::together(together, record.before.len() + 1));
    }
    page(&TrackRecordPage {
        shell,
        facts,
        finding,
        standing,
        picture: judged::drawing("said", judged),
        rows: rows(&record, last),
        against,
        scores: (!judged.thin()).then(|| judged::scores(judged)),
        fell: judged::fell("fell", judged),
        surprises: last.surprises.iter().map(surprise).collect(),
        before: record.before.iter().map(past).collect(),
        bags,
        digest: Some(last.digest.clone()),
        lines: last.lines.len(),
    })
}

/// The newest book with its outcomes, as a file.
async fn file(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let text = answer(&state, move |world| track_file(world, &reader.seat)).await?;
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8")
        .insert_header((
            "Content-Disposition",
            "attachment; filename=\"forecasts-and-outcomes.csv\"",
        ))
        .body(text))
}

fn none_yet(record: &TrackRecord) -> (String, String) {
    let since = match record.first_on {
        Some(on) => format!(
            "The first book of forecasts was written on {}; it can be met with what happened twelve months later. Until then the model can be tried on the estate's own past, below.",
            dates::day(on)
        ),
        None => "No book of forecasts was written yet; the first comes in the night after a unit is entered."
            .to_owned(),
    };
    ("No forecast of ours is a year old yet".to_owned(), since)
}

/// "inside what luck does", or how far outside.
fn luck(last: &MetBook) -> &'static str {
    let judged = &last.judgement;
    if judged.inside() {
        "inside what luck does"
    } else if judged.far_outside() {
        "outside what luck does in 19 years of 20"
    } else {
        "outside what luck does in 8 years of 10"
    }
}

fn found(record: &TrackRecord, last: &MetBook) -> (String, String) {
    let judged = &last.judgement;
    let was = if judged.happened == 1 { "was" } else { "were" };
    let finding = format!(
        "Over twelve months we said about {}, and there {was} {}: {}",
        counted(judged::about(judged.expected), "failure", "failures"),
        number_word(judged.happened),
        luck(last)
    );
    let changed = if judged.far_outside() || record.leans != 0 {
        "That asks for another look at the figures this kind starts from."
    } else {
        "Nothing was changed."
    };
    let detail = if judged.thin() {
        "Fewer than 30 failures: too few to say more than the sums.".to_owned()
    } else {
        judged::by_chance(judged)
    };
    (finding, format!("{changed} {detail}"))
}

fn rows(record: &TrackRecord, last: &MetBook) -> Vec<Row> {
    let judged = &last.judgement;
    let (low, high) = judged.luck80;
    let mut sums = Row::plain(
        "sums",
        format!(
            "{} had a forecast. We said about {} failures; {} happened. If we were right, luck alone gives {low} to {high} in 8 years of 10. So {} is {}.",
            capital(&plural(judged.forecasts as u64, "unit", "units")),
            judged::about(judged.expected),
            judged.happened,
            judged.happened,
            luck(last)
        ),
    )
    .figure(
        format!("{} and {}", judged::about(judged.expected), judged.happened),
        "said, happened",
    )
    .why(Why::this(vec![
        "Expected is the sum over units of the number each was said to have in twelve months, cut to the days it stood in service. Happened counts failures as recorded when the year was over, repeat visits merged.".to_owned(),
        "The range of luck is that of the sum if every unit's law was right and units are independent of one another.".to_owned(),
        "Rule: a forecast is changed only when what happened falls outside what luck does in 19 years of 20, or leans one way three years running.".to_owned(),
    ]));
    if last.later != 0 {
        sums.more.push(format!(
            "Since it was scored on {}, the record of that year has changed by {}: shown here, never counted in.",
            when::day_words(last.scored_at),
            plural(last.later.unsigned_abs(), "failure", "failures")
        ));
    }
    let mut all = vec![sums];
    if record.leans != 0 {
        let side = if record.leans > 0 {
            "too little"
        } else {
            "too much"
        };
        all.push(Row::plain(
            "leans",
            format!("Three years running we said {side}, each time by more than luck does in 8 years of 10."),
        ));
    }
    all
}

fn surprise(one: &Surprise) -> Row {
    let place = terms::today::Place {
        building: one.card.building,
        building_name: one.card.building_name.clone(),
        space: Some(one.card.space),
        space_name: one.card.space_name.clone(),
    };
    let (came, brief) = match one.happened {
        0 => ("ran all year".to_owned(), "no failure".to_owned()),
        1 => ("failed once".to_owned(), "failed once".to_owned()),
        2 => ("failed twice".to_owned(), "failed twice".to_owned()),
        n => (format!("failed {n} times"), format!("failed {n} times")),
    };
    Row::about(
        format!("wrong-{}", one.card.id),
        Link::new(words::place(&place), format!("/units/{}", one.card.id)),
        format!(" {came}; we had said {}.", chances::about(one.said)),
    )
    .figure(chances::brief(one.said), brief)
}

fn past(book: &PastBook) -> Row {
    let verdict = if book.inside { "inside" } else { "outside" };
    Row::plain(
        format!("book-{}", dates::machine(book.period.0)),
        format!(
            "{} to {}: we said about {}; {} happened, {verdict} what luck does in 8 years of 10.",
            dates::day(book.period.0),
            dates::day(book.period.1),
            judged::about(book.expected),
            book.happened
        ),
    )
    .figure(
        format!("{} and {}", judged::about(book.expected), book.happened),
        "said, happened",
    )
}

/// Bags of the past year met with what happened; nothing where none was packed.
fn carried(record: &BagRecord) -> Vec<Row> {
    if record.visits == 0 {
        return Vec::new();
    }
    let (low, high) = record.luck;
    let happened = record.happened as f64;
    let verdict = if (low..=high).contains(&happened) {
        "inside"
    } else {
        "outside"
    };
    vec![
        Row::plain(
            "bags",
            format!(
                "{}: of {} to a fault we said about {} would be finished first time; {} {}, {verdict} what luck does in 8 years of 10.",
                capital(&counted(record.bags as u64, "bag was packed", "bags were packed")),
                plural(record.visits as u64, "visit", "visits"),
                judged::about(record.said),
                number_word(record.happened as u64),
                if record.happened == 1 { "was" } else { "were" }
            ),
        )
        .figure(
            format!("{} and {}", judged::about(record.said), record.happened),
            "said, happened",
        ),
    ]
}
