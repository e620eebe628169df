//! One unit's forecast at length.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::UnitId;
use usecases::forecast::{
    Driver, HorizonForecast, InstalledFrom, ThinData, Told, UnitOutlook, unit_outlook,
};
use wording::drawings::ranges::Figure;
use wording::sentences::{capital, chances, counted, dates, glue, outlook};
use wording::{Ask, Drawing, Row, Shell};

use super::{drawn, rests};
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
const NEAR: f64 = 1.05;

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
        caution: caution(&view),
        drivers: drivers(&view),
        reasons: reasons(&view),
        life: life(&view),
        rests: match &view.fit {
            Some(fit) => rests::rows(fit, (&unit.kind, plural_name(&view))),
            None => Vec::new(),
        },
        finding: glue(&finding),
    })
}

fn plural_name(view: &UnitOutlook) -> &str {
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

fn caution(view: &UnitOutlook) -> String {
    let gas = view.kind.as_ref().is_some_and(|k| k.gas);
    let general =
        "What may fail is for planning only; it is no diagnosis and no reason to open a case.";
    if gas {
        format!(
            "{general} Gas work only by an engineer on the official gas safety register, with the right category for this unit; local codes and the unit’s own manual come first."
        )
    } else {
        format!(
            "{general} Work only by those licensed for it; local codes and the unit’s own manual come first."
        )
    }
}

/// What moves the chance of the year away from its kind's.
fn drivers(view: &UnitOutlook) -> Vec<Row> {
    let year = view
        .told
        .as_ref()
        .and_then(|t| t.kept.forecast.horizons.first());
    let all = year.map_or(&[][..], |h| h.drivers.as_slice());
    let thin = view.told.as_ref().map(|t| t.kept.forecast.thin);
    let little = matches!(thin, Some(ThinData::PublishedOnly | ThinData::Few));
    let mut rows = Vec::new();
    for (place, driver) in all.iter().enumerate() {
        let (sentence, factor) = match driver {
            Driver::OwnHistory(f) => ("Its own record, luck allowed for".to_owned(), *f),
            // FORECAST §11: below fifteen failures nothing is said of ageing.
            Driver::Age(_) if little => continue,
            Driver::Age(f) => (
                "Its age, against the mean age of its kind here".to_owned(),
                *f,
            ),
            Driver::RenewedParts(f) => ("Parts put in new".to_owned(), *f),
            Driver::Covariate(code, f) => (covariate(code), *f),
            Driver::Season(f) => ("The time of year".to_owned(), *f),
            Driver::Building(f) => (
                format!(
                    "What the units of {} share: water, who put them in, how they are run",
                    view.unit.building_name
                ),
                *f,
            ),
        };
        if (1.0 / NEAR..NEAR).contains(&factor) {
            continue;
        }
        let direction = if factor > 1.0 { "raises" } else { "lowers" };
        rows.push(
            Row::plain(
                format!("driver-{place}"),
                format!("{sentence}: {direction} it."),
            )
            .figure(outlook::factor(factor), "against its kind"),
        );
    }
    if rows.is_empty() && view.told.is_some() {
        rows.push(Row::plain(
            "driver-none",
            "Nothing on record sets it apart from others of its kind.",
        ));
    }
    rows
}

fn covariate(code: &str) -> String {
    match code {
        usecases::forecast::HARD_WATER => "Hard water and no scale reducer known; goes along with more failures, which is no proof of a cause",
        usecases::forecast::NO_FILTER => "No filter on the system; goes along with more failures, which is no proof of a cause",
        other => other,
    }
    .to_owned()
}

fn reasons(view: &UnitOutlook) -> Vec<String> {
    let (Some(told), Some(fit)) = (&view.told, &view.fit) else {
        return Vec::new();
    };
    let basis = &told.kept.basis;
    let mut said = vec![rests::thin(fit, plural_name(view))];
    let fitted = dates::fitted_when(Some(basis.installed_from), Some(basis.installed_until));
    let by = match basis.installed_by {
        InstalledFrom::Stated => "as stated",
        InstalledFrom::Range => "the doubt is carried along",
        InstalledFrom::BuiltYear => {
            "taken from the year of the building; the doubt is carried along"
        }
        InstalledFrom::Assumed => "assumed from the kind’s usual life; the doubt is carried along",
    };
    said.push(format!(
        "Used: fitted {fitted}, {by}; failures on record since {}.",
        dates::day(basis.watched_from)
    ));
    let aside = [
        (
            basis.merged,
            "repeat visit counted with the failure before",
            "repeat visits counted with the failures before",
        ),
        (
            basis.found_at_service,
            "found at a service",
            "found at services",
        ),
        (
            basis.no_fault_found,
            "call without a fault",
            "calls without a fault",
        ),
        (
            basis.before_watch,
            "failure older than the register",
            "failures older than the register",
        ),
    ];
    let set_aside: Vec<String> = aside
        .into_iter()
        .filter(|(count, _, _)| *count > 0)
        .map(|(count, one, many)| counted(u64::from(count), one, many))
        .collect();
    if !set_aside.is_empty() {
        said.push(format!(
            "Set aside: {}.",
            wording::sentences::list(&set_aside)
        ));
    }
    said.push(if basis.renewed.is_empty() {
        "No part is on record as renewed: each is taken for the first one, which may make the chance a little low.".to_owned()
    } else {
        "Parts without a date on record are taken for the first ones.".to_owned()
    });
    said.push("Method: each part ages on its own clock; how this unit differs from others is learned from its own record, once; how its building differs, from all units there. The ranges hold 8 cases in 10, the doubt of the fit in them.".to_owned());
    said
}

fn life(view: &UnitOutlook) -> Vec<Row> {
    let Some((kind, year, three)) = &view.life else {
        return Vec::new();
    };
    let rests = if kind.written_off == 0 {
        format!(
            "None of {} was written off while watched: this is the usual life of the kind, common practice, no source.",
            counted(kind.units as u64, "unit", "units")
        )
    } else {
        format!(
            "{} written off while watched. {}",
            capital(&counted(
                kind.written_off as u64,
                "unit of the kind was",
                "units of the kind were"
            )),
            outlook::rests(kind.data_weight)
        )
    };
    let sooner = match kind.bad_go_sooner {
        None => {
            "Whether units that fail more are written off sooner cannot be told yet; it is reckoned as if not."
        }
        Some(false) => {
            "Units that fail more are not written off sooner than others, as far as can be told."
        }
        Some(true) => {
            "Units that fail more are written off sooner: for one that fails often the chance is higher than this."
        }
    };
    vec![
        Row::plain(
            "life-year",
            format!(
                "{} {}",
                rests::over(year.chance, "Written off within twelve months"),
                rests::over(three.chance, "Within three years"),
            ),
        )
        .figure(chances::brief(year.chance.0), "within a year"),
        Row::plain(
            "life-median",
            format!(
                "Half of such units of its age are written off within {}. {rests} {sooner} Removal for other reasons is not counted as written off.",
                outlook::years(year.median_years)
            ),
        ),
    ]
}
