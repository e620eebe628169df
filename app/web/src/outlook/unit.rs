//! One unit's forecast at length.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{Role, UnitId};
use usecases::forecast::{HorizonForecast, ThinData, Told, UnitOutlook, unit_outlook};
use wording::drawings::ranges::Figure;
use wording::sentences::{capital, chances, counted, dates, glue, outlook};
use wording::{Ask, Drawing, Row, Shell};

use super::{drawn, factors, reasons, rests};
use crate::Failure;
use crate::buildings::before;
use crate::form::{Typed, id_of};
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

/// The levels that may be asked about: address, chance.
const LEVELS: [(&str, f64); 4] = [
    ("quarter", 0.25),
    ("third", 1.0 / 3.0),
    ("half", 0.5),
    ("three-quarters", 0.75),
];
/// Parts drawn at most; the rest are one line.
const MOST_PARTS: usize = 6;
/// A factor this near one moves nothing.
pub(super) const NEAR: f64 = 1.05;

#[derive(Template)]
#[template(path = "outlook/unit.html")]
struct UnitPage {
    shell: Shell,
    unit_id: String,
    building_id: String,
    title: String,
    facts: Vec<String>,
    finding: String,
    standing: String,
    no_forecast: String,
    said: String,
    picture: Option<Drawing>,
    chances: Vec<Row>,
    levels: Vec<Ask>,
    until: String,
    parts: Option<Drawing>,
    caution: String,
    drivers: Vec<Row>,
    reasons: Vec<String>,
    life: Vec<Row>,
    rests: Vec<Row>,
    may_state: bool,
    kind_code: String,
    kind_plural: String,
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: UnitId = id_of(&path, "unit")?;
    let asked = query.value("level");
    let (code, level) = LEVELS
        .into_iter()
        .find(|(code, _)| *code == asked)
        .unwrap_or(("half", 0.5));
    let seat = reader.seat.clone();
    let view = answer(&state, move |world| unit_outlook(world, &seat, id, level)).await?;
    let unit = &view.unit;
    let finding = finding(&view);
    page(&UnitPage {
        shell: reader.shell(&state, "buildings"),
        unit_id: unit.id.to_string(),
        building_id: unit.building.to_string(),
        title: format!("Forecast of {}, {}", unit.number, unit.space_name),
        facts: vec![
            unit.number.clone(),
            format!("{}, {}", unit.space_name, unit.building_name),
        ],
        standing: glue(&standing(&view)),
        no_forecast: match &view.no_forecast {
            Some(why) => format!("Nothing can be said of its chances. {why}"),
            None => "Its forecast is made tonight.".to_owned(),
        },
        said: view.told.as_ref().map_or_else(String::new, |t| {
            format!("Said on {}", dates::day(t.row.made_on))
        }),
        picture: picture(&view, &finding),
        chances: rows(&view),
        levels: levels(unit.id, code),
        until: until(&view),
        parts: parts(&view),
        caution: reasons::caution(&view),
        drivers: factors::drivers(&view),
        reasons: reasons::reasons(&view),
        life: reasons::life(&view),
        rests: match &view.fit {
            Some(fit) => rests::rows(fit, (&unit.kind, plural_name(&view))),
            None => Vec::new(),
        },
        may_state: matches!(reader.seat.role(), Role::Agent | Role::Supervisor),
        kind_code: unit.kind.clone(),
        kind_plural: plural_name(&view).to_owned(),
        finding: glue(&finding),
    })
}

pub(super) fn plural_name(view: &UnitOutlook) -> &str {
    let kind = view.kind.as_ref();
    kind.map_or("units of this kind", |k| k.plural.as_str())
}

fn kind_name(view: &UnitOutlook) -> &str {
    view.kind.as_ref().map_or("unit", |k| k.name.as_str())
}

/// The stretches of time a forecast speaks of, shortest first, with their words.
fn stretches(told: &Told) -> Vec<(String, &HorizonForecast)> {
    let names = [
        (2, "within three months".to_owned()),
        (1, before(told.row.season_until)),
        (0, "within twelve months".to_owned()),
        (3, "within three years".to_owned()),
    ];
    let horizons = &told.kept.forecast.horizons;
    names
        .into_iter()
        .filter_map(|(place, name)| Some((name, horizons.get(place)?)))
        .collect()
}

fn finding(view: &UnitOutlook) -> String {
    let place = &view.unit.space_name;
    match &view.told {
        Some(told) => format!(
            "{place}: {} like this {} would fail within twelve months",
            chances::about(told.row.year.chance),
            kind_name(view),
        ),
        None => format!("{place}: no forecast of this {}", kind_name(view)),
    }
}

fn standing(view: &UnitOutlook) -> String {
    let Some(told) = &view.told else {
        return String::new();
    };
    let forecast = &told.kept.forecast;
    let seen = format!(
        "{} where {} {} usual.",
        capital(&counted(u64::from(forecast.n), "failure", "failures")),
        outlook::number(forecast.mu),
        if forecast.n == 1 { "was" } else { "were" },
    );
    let z = forecast.z_mean;
    if forecast.thin == ThinData::PublishedOnly || (1.0 / NEAR..NEAR).contains(&z) {
        return seen;
    }
    let luck = if z > 1.0 {
        "Some of that is bad luck"
    } else {
        "Some of that is good luck"
    };
    format!(
        "{seen} {luck}: we take it to fail {} as others like it ({}).",
        outlook::often(z),
        outlook::factor_range(forecast.z_10, forecast.z_90),
    )
}

fn picture(view: &UnitOutlook, finding: &str) -> Option<Drawing> {
    let told = view.told.as_ref()?;
    let figures = stretches(told)
        .into_iter()
        .map(|(name, horizon)| drawn::chance(name, horizon))
        .collect();
    let title = format!("Chances that {} fails", view.unit.number);
    Some(drawn::chances_drawn(title, finding.to_owned(), figures))
}

fn rows(view: &UnitOutlook) -> Vec<Row> {
    let Some(told) = &view.told else {
        return Vec::new();
    };
    stretches(told)
        .into_iter()
        .enumerate()
        .map(|(place, (name, horizon))| {
            let (low, high) = horizon.chance80;
            let chance = rests::over((horizon.chance, low, high), &capital(&name));
            let number = outlook::failures(horizon.expected, horizon.count80);
            let renewed = if place == 3 {
                " Parts are taken to be put in new as they fail."
            } else {
                ""
            };
            Row::plain(
                format!("stretch-{place}"),
                format!("{chance} In number, {number}.{renewed}"),
            )
            .figure(chances::brief(horizon.chance), name)
        })
        .collect()
}

fn levels(unit: UnitId, current: &str) -> Vec<Ask> {
    LEVELS
        .into_iter()
        .map(|(code, level)| Ask {
            words: chances::brief(level),
            href: format!("/units/{unit}/forecast?level={code}#until"),
            current: code == current,
        })
        .collect()
}

fn until(view: &UnitOutlook) -> String {
    let level = chances::brief(view.level);
    match view.until {
        Some(years) => format!(
            "The chance that it has failed at least once reaches {level} {}, going by what is on record today.",
            outlook::in_about(years, view.today)
        ),
        None => format!(
            "The chance that it has failed at least once does not reach {level} within 40 years."
        ),
    }
}

fn parts(view: &UnitOutlook) -> Option<Drawing> {
    let year = view.told.as_ref()?.kept.forecast.horizons.first()?;
    let mut all: Vec<Figure> = year
        .parts
        .iter()
        .map(|part| {
            let name = match &part.part {
                Some(code) => view
                    .parts
                    .get(code)
                    .cloned()
                    .unwrap_or_else(|| code.replace('_', " ")),
                None => "Something else".to_owned(),
            };
            Figure {
                name,
                value: part.chance,
                doubt: None,
                words: chances::brief(part.chance),
                range: String::new(),
            }
        })
        .collect();
    all.sort_by(|a, b| b.value.total_cmp(&a.value));
    let rest = all.split_off(all.len().min(MOST_PARTS));
    if !rest.is_empty() {
        let none: f64 = rest.iter().map(|f| 1.0 - f.value).product();
        all.push(Figure {
            name: format!("One of {} others", rest.len()),
            value: 1.0 - none,
            doubt: None,
            words: chances::brief(1.0 - none),
            range: String::new(),
        });
    }
    let first = all.first()?.name.to_lowercase();
    Some(drawn::parts_drawn(
        format!("Chance of each part of {}", view.unit.number),
        format!("Likeliest: {first}."),
        all,
    ))
}
