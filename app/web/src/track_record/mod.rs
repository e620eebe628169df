//! Track record: what was said a year ago, met with what happened. Small and plain.
use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::forecast::{TrackRecord, track_record};
use wording::sentences::{capital, chances, counted, dates, plural, today as words};
use wording::{Link, Row, Shell, Table, Why};

use crate::Failure;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(web::resource("/track-record").route(web::get().to(show)));
}

#[derive(Template)]
#[template(path = "track-record/track-record.html")]
struct TrackRecordPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    rows: Vec<Row>,
    bands: Option<Table>,
    surprises: Vec<Row>,
}

/// The page.
async fn show(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let shell = reader.shell(&state, "track-record");
    let record = answer(&state, move |world| track_record(world, &reader.seat)).await?;
    let (finding, standing) = found(&record);
    let mut facts = vec![shell.estate_name.clone()];
    if let Some((from, until)) = record.period {
        let said = format!("{} to {}", dates::day(from), dates::day(until));
        facts.push(said);
        facts.push(plural(u64::from(record.units), "unit", "units"));
        facts.push("as known at the time".to_owned());
    }
    page(&TrackRecordPage {
        shell,
        facts,
        finding,
        standing,
        rows: rows(&record),
        bands: bands(&record),
        surprises: surprises(&record),
    })
}

fn about(expected: f64) -> u64 {
    expected.round().max(0.0) as u64
}

fn found(record: &TrackRecord) -> (String, String) {
    if record.units == 0 {
        let since = match record.first_at {
            Some(at) => format!(
                "The first forecast is of {}; it can be met with what happened twelve months later.",
                when::day_words(at)
            ),
            None => {
                "No forecast was made yet; the first comes in the night after a unit is entered."
                    .to_owned()
            }
        };
        return ("No forecast of ours is a year old yet".to_owned(), since);
    }
    let happened = f64::from(record.happened);
    let inside = record.luck.0 <= happened && happened <= record.luck.1;
    let verdict = if inside {
        "inside what luck does"
    } else {
        "outside what luck does in 8 years of 10"
    };
    let said = counted(about(record.expected), "failure", "failures");
    let was = if record.happened == 1 { "was" } else { "were" };
    let finding = format!(
        "A year ago we said about {said}, and there {was} {}: {verdict}",
        wording::sentences::number_word(u64::from(record.happened))
    );
    let standing = if record.bands.is_empty() {
        "Fewer than 30 failures: too few to say more than the sums.".to_owned()
    } else {
        "Chance by chance, what we said stands below beside what happened.".to_owned()
    };
    (finding, standing)
}

fn rows(record: &TrackRecord) -> Vec<Row> {
    if record.units == 0 {
        return Vec::new();
    }
    let (low, high) = (about(record.luck.0), about(record.luck.1));
    let units = capital(&plural(u64::from(record.units), "unit", "units"));
    vec![
        Row::plain(
            "sums",
            format!(
                "{units} had a forecast. We said about {} failures; {} happened. If we were right, luck alone gives {low} to {high} in 8 years of 10.",
                about(record.expected),
                record.happened
            ),
        )
        .figure(
            format!("{} and {}", about(record.expected), record.happened),
            "said, happened",
        )
        .why(Why::this(vec![
            "Expected is the sum over units of the number each was said to have in twelve months, cut to the days it stood in service. Happened counts failures as recorded by today, repeat visits merged.".to_owned(),
            "The range is the sum give or take 1.28 times its standard deviation, units of a kind being unlike one another as fitted then.".to_owned(),
        ])),
    ]
}

fn bands(record: &TrackRecord) -> Option<Table> {
    let rows: Vec<Vec<String>> = record
        .bands
        .iter()
        .map(|band| {
            vec![
                chances::about(band.said),
                band.units.to_string(),
                format!("{:.1}", band.expected),
                band.failed.to_string(),
            ]
        })
        .collect();
    (!rows.is_empty()).then(|| {
        Table::new(
            &[
                "We said",
                "Units",
                "Units expected to fail",
                "Units that failed",
            ],
            rows,
        )
        .numbers(&[1, 2, 3])
    })
}

fn surprises(record: &TrackRecord) -> Vec<Row> {
    record
        .surprises
        .iter()
        .map(|(card, said, times)| {
            let place = terms::today::Place {
                building: card.building,
                building_name: card.building_name.clone(),
                space: Some(card.space),
                space_name: card.space_name.clone(),
            };
            let failed = match times {
                1 => "failed once".to_owned(),
                2 => "failed twice".to_owned(),
                n => format!("failed {n} times"),
            };
            Row::about(
                format!("wrong-{}", card.id),
                Link::new(words::place(&place), format!("/units/{}", card.id)),
                format!(" {failed}; we had said {}.", chances::about(*said)),
            )
            .figure(chances::brief(*said), failed.clone())
        })
        .collect()
}
