//! What the rounds assume of the ways between buildings, and the form that states another.
use actix_web::{HttpResponse, web};
use terms::BuildingId;
use usecases::Error;
use usecases::plan::{self, Rounds, WayForm};
use wording::sentences::plural;
use wording::{Choice, Row, Verb};

use super::asks::rounds_again;
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::see_told;
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Where one comes back to.
const HERE: &str = "/rounds#ways";

fn minutes(n: u32) -> String {
    plural(u64::from(n), "minute", "minutes")
}

fn name(rounds: &Rounds, id: BuildingId) -> &str {
    let card = rounds.buildings.iter().find(|(other, _)| *other == id);
    card.map_or("a building", |(_, name)| name.as_str())
}

/// What is assumed, in a sentence.
pub(super) fn assumed(rounds: &Rounds) -> String {
    let ways = &rounds.ways;
    let source = if ways.usual_stated {
        "as stated"
    } else {
        "common practice, no source"
    };
    let stated = match ways.stated.len() as u64 {
        0 => "none is stated for two of them alone".to_owned(),
        n => format!("{} stated apart", plural(n, "way is", "ways are")),
    };
    format!(
        "From one visit to the next in a building go {}; from one building to another {} ({source}), whichever two they are: \
         where a building lies is not known, and {stated}.",
        minutes(ways.inside),
        minutes(ways.usual)
    )
}

/// What is assumed, and every way that was stated; nothing where there is one building.
pub(super) fn rows(rounds: &Rounds) -> Vec<Row> {
    if rounds.buildings.len() < 2 {
        return Vec::new();
    }
    let mut usual = Row::plain("way-usual", assumed(rounds));
    if rounds.ways.usual_stated {
        usual = usual.verb(back(None));
    }
    let stated = rounds.ways.stated.iter().map(|way| {
        let (a, b) = way.between;
        let over = if way.planned < way.stated {
            format!(
                " By way of another building it takes {}, so it is planned with that.",
                minutes(way.planned)
            )
        } else {
            String::new()
        };
        let sentence = format!(
            "Between {} and {} it takes {}.{over}",
            name(rounds, a),
            name(rounds, b),
            minutes(way.stated)
        );
        Row::plain(format!("way-{a}-{b}"), sentence).verb(back(Some(way.between)))
    });
    std::iter::once(usual).chain(stated).collect()
}

fn back(between: Option<(BuildingId, BuildingId)>) -> Verb {
    let mut fields = vec![("once".to_owned(), fresh_once())];
    if let Some((a, b)) = between {
        fields.push(("way_from".to_owned(), a.to_string()));
        fields.push(("way_to".to_owned(), b.to_string()));
    }
    Verb::post("Take it back", "/rounds/ways/back", fields)
}

/// The buildings to choose from, at either end; `None` where there is one.
pub(super) fn choices(rounds: &Rounds, form: &Typed) -> Option<(Vec<Choice>, Vec<Choice>)> {
    let of = |field: &str, any: &str| {
        let chosen = form.value(field).to_owned();
        let first = Choice::new("", any, chosen.is_empty());
        let all = rounds.buildings.iter().map(|(id, name)| {
            let id = id.to_string();
            let is_chosen = id == chosen;
            Choice::new(id, name.clone(), is_chosen)
        });
        std::iter::once(first).chain(all).collect()
    };
    let several = rounds.buildings.len() > 1;
    several.then(|| (of("way_from", "any building"), of("way_to", "any other")))
}

/// Both ends as typed: two buildings, or neither.
fn ends(form: &mut Typed) -> Option<(BuildingId, BuildingId)> {
    let mut end = |field: &str| -> Option<BuildingId> {
        form.text_or_none(field)?;
        form.code(field, "Choose one of the buildings.")
    };
    match (end("way_from"), end("way_to")) {
        (Some(a), Some(b)) => Some((a, b)),
        (None, None) => None,
        _ => {
            let sentence = "Choose both buildings, or neither for the way between any two.";
            form.complain("way_to", sentence);
            None
        }
    }
}

/// States how long a way takes.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let between = ends(&mut form);
    let minutes = form.number("way_minutes", 1.0, 1_000.0);
    if minutes.is_none() && form.error("way_minutes").is_none() {
        form.complain("way_minutes", "Say how many minutes.");
    }
    if let (Some(minutes), false) = (minutes, form.is_wrong()) {
        let wish = WayForm {
            between,
            minutes: Some(minutes as u32),
        };
        let (seat, key) = (desk.seat.clone(), once.clone());
        let taken = ask(&state, move |world| {
            plan::state_way(world, &seat, wish, &key)
        });
        match taken.await {
            Ok(()) => {
                let told = "It is stated. Place the visits again, and they are planned with it.";
                return Ok(see_told(HERE, told));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    rounds_again(&desk, &state, (form, once)).await
}

/// Takes a stated way back.
pub(super) async fn back_again(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    let between = ends(&mut form);
    if form.is_wrong() {
        return Err(Failure(Error::NotFound("way")));
    }
    answer(&state, move |world| {
        let wish = WayForm {
            between,
            minutes: None,
        };
        plan::state_way(world, &desk.seat, wish, &once)
    })
    .await?;
    let told = "It is taken back. Place the visits again, and they are planned without it.";
    Ok(see_told(HERE, told))
}
