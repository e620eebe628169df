//! What options need to know of a flat or room: gas, flue, drains, electricity, the cold main, the floor, who lives there.
use actix_web::{HttpResponse, web};
use askama::Template;
use serde_json::{Map, Value, json};
use terms::SpaceId;
use usecases::register::{self, SiteSaid, SpaceForm, SpaceView};
use wording::sentences::{capital, counted, dates};
use wording::{Choice, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Yes, no or not known; some allow "after works".
struct Told {
    key: &'static str,
    label: &'static str,
    works: bool,
}

const TOLD: [Told; 12] = [
    told("gas_supply", "Gas reaches it"),
    told("gas_allowed", "Gas is allowed in the building"),
    Told {
        works: true,
        ..told("flue_route", "A route for a flue")
    },
    told("condensate_route", "A drain for condensate"),
    told(
        "discharge_route",
        "A route for the discharge pipes D1 and D2",
    ),
    told("heat_network", "A heat network reaches it"),
    told("isolation_valve", "An isolation valve on the cold main"),
    told("reducer_fitted", "A scale reducer on the cold main"),
    told(
        "supply_upgrade_possible",
        "The electric supply can be made larger",
    ),
    told("space_for_vessel", "Space for a store or cylinder"),
    told("floor_carries", "The floor carries it, full of water"),
    told("cistern_space", "Space for a cistern above"),
];

const fn told(key: &'static str, label: &'static str) -> Told {
    Told {
        key,
        label,
        works: false,
    }
}

/// A number.
struct Measured {
    key: &'static str,
    label: &'static str,
    hint: &'static str,
}

const fn measured(key: &'static str, label: &'static str, hint: &'static str) -> Measured {
    Measured { key, label, hint }
}

const MEASURED: [Measured; 13] = [
    measured("static_bar", "Cold main, nothing running", "bar"),
    measured("dynamic_bar_at_12", "Cold main at 12 l/min", "bar"),
    measured("max_flow_lpm", "The most the cold main gives", "l/min"),
    measured("cold_pipe_mm", "Cold pipe", "mm: 15, 22 or 28"),
    measured(
        "gas_drop_mbar",
        "Pressure lost in the gas pipe",
        "mbar, at full rate",
    ),
    measured(
        "network_dp_kpa",
        "Network: differential pressure",
        "kPa, at the flat",
    ),
    measured(
        "network_flow_c",
        "Network: flow temperature",
        "°C, at the flat",
    ),
    measured("electric_kw_spare", "Electric supply to spare", "kW"),
    measured(
        "electric_kw_needed",
        "What the new unit would draw",
        "kW; empty: the usual for its kind",
    ),
    measured(
        "space_litres",
        "The largest store or cylinder there is space for",
        "l; asked where the usual size is too small",
    ),
    measured("cistern_head_m", "Cistern over the highest outlet", "m"),
    measured(
        "people",
        "People who live there",
        "A number only, for sizes and forecasts",
    ),
    measured("baths", "Baths", ""),
];

/// One question of yes and no with its choices.
struct Question {
    key: &'static str,
    label: &'static str,
    /// Since when, who said it, and what stood before.
    said: String,
    choices: Vec<Choice>,
}

/// One number asked for.
struct Number {
    key: &'static str,
    label: &'static str,
    /// Its unit; then since when, who said it, and what stood before.
    hint: String,
}

#[derive(Template)]
#[template(path = "buildings/site.html")]
struct SitePage {
    shell: Shell,
    space_id: String,
    space_name: String,
    building_name: String,
    standing: String,
    questions: Vec<Question>,
    numbers: Vec<Number>,
    form: Typed,
    once: String,
}

fn typed_from(view: &SpaceView) -> Typed {
    let mut pairs = vec![("once".to_owned(), fresh_once())];
    for (key, value) in view.space.site.as_object().into_iter().flatten() {
        let text = match value {
            Value::String(text) => text.clone(),
            Value::Bool(true) => "yes".to_owned(),
            Value::Bool(false) => "no".to_owned(),
            Value::Number(number) => number.as_f64().unwrap_or_default().to_string(),
            _ => continue,
        };
        pairs.push((key.clone(), text));
    }
    Typed::from(pairs)
}

/// "Since 25 November 2026, by Joss Tarrow; 15 before."
fn said_words(said: &[SiteSaid], key: &str) -> String {
    let Some(fact) = said.iter().find(|fact| fact.key == key) else {
        return String::new();
    };
    let before = match &fact.before {
        Some(Value::Number(number)) => number.as_f64().map(|n| format!("; {n} before")),
        Some(Value::String(word)) => Some(format!("; {word} before")),
        _ => None,
    };
    let before = before.unwrap_or_default();
    format!("Since {}, by {}{before}.", dates::day(fact.on), fact.by)
}

fn site_page(shell: Shell, (view, said): (&SpaceView, &[SiteSaid]), form: Typed) -> SitePage {
    let questions: Vec<Question> = TOLD
        .iter()
        .map(|asked| {
            let mut answers = vec![("yes", "Yes"), ("no", "No")];
            if asked.works {
                answers.push(("works", "After works"));
            }
            answers.push(("", "Not known"));
            let now = match form.value(asked.key) {
                "unknown" => "",
                other => other,
            };
            Question {
                key: asked.key,
                label: asked.label,
                said: said_words(said, asked.key),
                choices: answers
                    .into_iter()
                    .map(|(value, label)| Choice::new(value, label, now == value))
                    .collect(),
            }
        })
        .collect();
    let blank = |key: &&str| matches!(form.value(key), "" | "unknown");
    let keys = TOLD
        .iter()
        .map(|t| t.key)
        .chain(MEASURED.iter().map(|m| m.key));
    SitePage {
        standing: match keys.filter(blank).count() as u64 {
            0 => "Everything an option asks for is known.".to_owned(),
            unknown => format!(
                "{} not known. What is not known is never “fits”: it asks for a survey or a reading.",
                capital(&counted(unknown, "answer is", "answers are"))
            ),
        },
        space_id: view.space.id.to_string(),
        space_name: view.space.name.clone(),
        building_name: view.space.building_name.clone(),
        questions,
        numbers: MEASURED
            .iter()
            .map(|m| Number {
                key: m.key,
                label: m.label,
                hint: match (m.hint, said_words(said, m.key)) {
                    (hint, said) if hint.is_empty() || said.is_empty() => format!("{hint}{said}"),
                    (hint, said) => format!("{hint}. {said}"),
                },
            })
            .collect(),
        once: form.once(),
        shell,
        form,
    }
}

/// The form.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id: SpaceId = id_of(&path, "space")?;
    let (view, said) = load(&desk, &state, id).await?;
    let form = typed_from(&view);
    let about = (&view, said.as_slice());
    page(&site_page(desk.shell(&state, "buildings"), about, form))
}

async fn load(
    desk: &Desk,
    state: &web::Data<State>,
    id: SpaceId,
) -> Result<(SpaceView, Vec<SiteSaid>), Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| {
        let view = register::space_view(world, &seat, id)?;
        Ok((view, register::site_said(world, &seat, id)?))
    })
    .await
}

/// Takes it. What is left empty is forgotten: unknown is never "fits".
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: SpaceId = id_of(&path, "space")?;
    let mut form = form.into_inner();
    let (view, said) = load(&desk, &state, id).await?;
    let about = (&view, said.as_slice());
    let site = read(&mut form);
    if form.is_wrong() {
        return wrong(&site_page(desk.shell(&state, "buildings"), about, form));
    }
    let asked = SpaceForm {
        name: view.space.name.clone(),
        let_short: view.space.let_short,
        stair: view.space.stair.clone(),
        site,
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::correct_space(world, &seat, id, asked, &once)
    });
    match done.await {
        Ok(()) => Ok(see_told(
            &format!("/spaces/{id}"),
            "It is kept. The next advice here reckons with it.",
        )),
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&site_page(desk.shell(&state, "buildings"), about, form))
        }
    }
}

fn read(form: &mut Typed) -> Map<String, Value> {
    let mut site = Map::new();
    for asked in &TOLD {
        let value = match form.value(asked.key) {
            answer @ ("yes" | "no") => json!(answer),
            "works" if asked.works => json!("works"),
            _ => Value::Null,
        };
        site.insert(asked.key.to_owned(), value);
    }
    for asked in &MEASURED {
        let most = register::MEASURED.iter().find(|m| m.0 == asked.key);
        let number = form.number(asked.key, 0.0, most.map_or(0.0, |m| m.1));
        site.insert(
            asked.key.to_owned(),
            number.map_or(Value::Null, |n| json!(n)),
        );
    }
    site
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_fact_an_option_asks_for_has_its_question_here() {
        let told: Vec<(&str, bool)> = TOLD.iter().map(|t| (t.key, t.works)).collect();
        assert_eq!(told, register::TOLD);
        let asked: Vec<&str> = MEASURED.iter().map(|m| m.key).collect();
        let known: Vec<&str> = register::MEASURED.iter().map(|m| m.0).collect();
        assert_eq!(asked, known);
    }
}
