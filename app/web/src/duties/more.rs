//! Loose ends of a unit's duties: a review asked for, a test of a care valve, a first check lined up.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{DutyId, UnitId};
use usecases::Error;
use usecases::duties::{self, Alignment, DutyAt, MixingTest, Trigger, UnitDuties};
use wording::sentences::dates;
use wording::{Link, Row, Shell, Verb, Why};

use super::write::{Held, load};
use super::{NOT_ADVICE, rows};
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// A new unit's first check that can line up, as a sentence with its verb.
pub(super) fn aligned(found: &Alignment) -> Row {
    let unit = &found.unit;
    Row::about(
        format!("line-up-{}", found.duty),
        Link::new(
            format!("{}, {}", unit.space_name, unit.building_name),
            format!("/duties/{}", unit.id),
        ),
        format!(
            ": the first {} of the new {} is due by {}. It can line up once with {}, the date of the flat’s other gas unit.",
            rows::inside(&found.rule.name),
            unit.number,
            dates::day(found.own),
            dates::day(found.with)
        ),
    )
    .figure(dates::day_brief(found.with), "instead")
    .verb(Verb::post(
        format!("Line it up with {}", dates::day_of_year(found.with)),
        format!("/duties/{}/line-up", unit.id),
        vec![
            ("once".to_owned(), fresh_once()),
            ("duty".to_owned(), found.duty.to_string()),
        ],
    ))
    .why(Why::this(vec![
        format!(
            "A first check is due twelve months after fitting. The law lets it move once, by up to two months, to line up \
             with the other gas units of the home: here to {} at the latest.",
            dates::day(found.latest)
        ),
        format!(
            "Basis: law; the text was read, rule set of England. Moved once, the move is used up. {NOT_ADVICE}"
        ),
    ]))
}

/// What is offered on one unit's page.
pub(super) fn offers(found: &UnitDuties, alignments: &[Alignment]) -> Vec<Row> {
    let mut offers: Vec<Row> = alignments
        .iter()
        .filter(|a| a.unit.id == found.unit.id)
        .map(aligned)
        .collect();
    let tested = found
        .duties
        .iter()
        .any(|d| d.line.rule.code == "V1" && d.card.ended_on.is_none());
    if found.unit.kind == "TMV" && !tested {
        offers.push(
            Row::plain(
                "care-valve",
                "If it serves somebody in care, it is tested 6 to 8 and 12 to 15 weeks after it was fitted, and then by \
                 what was found.",
            )
            .verb(Verb::post(
                "It serves somebody in care",
                format!("/duties/{}/care", found.unit.id),
                vec![("once".to_owned(), fresh_once())],
            )),
        );
    }
    offers
}

/// Which of the two forms.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Act {
    Review,
    Test,
}

#[derive(Template)]
#[template(path = "duties/more.html")]
struct MorePage {
    shell: Shell,
    review: bool,
    heading: String,
    standing: String,
    home: String,
    duty: DutyId,
    form: Typed,
    once: String,
    not_advice: &'static str,
}

fn page_of(
    desk: &Desk,
    state: &State,
    (found, act): (&Held, Act),
    form: Typed,
) -> Result<MorePage, Failure> {
    let duty: DutyId = id_of(form.value("duty"), "duty")?;
    let proved = found
        .duties
        .iter()
        .find(|d| d.line.duty == duty)
        .ok_or(Failure(Error::NotFound("duty")))?;
    let fits = match act {
        Act::Review => proved.line.rule.window_rule == "W6",
        Act::Test => proved.line.rule.code == "V1",
    };
    if !fits {
        return Err(Failure(Error::NotFound("page")));
    }
    let place = &found.place;
    let reason = proved
        .line
        .latest
        .as_ref()
        .map_or_else(String::new, |row| row.reason.clone());
    Ok(MorePage {
        shell: desk.shell(state, "duties"),
        review: act == Act::Review,
        heading: match act {
            Act::Review => format!(
                "Something changed: {}, {place}",
                rows::inside(&proved.line.rule.name)
            ),
            Act::Test => format!("A test of the mixing valve, {place}"),
        },
        standing: reason,
        home: rows::home_of(found.at),
        duty,
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
        not_advice: NOT_ADVICE,
    })
}

/// The form for a change that asks for a review.
pub(super) async fn show_review(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let at = DutyAt::Unit(id_of(&path, "unit")?);
    show(&desk, &state, (at, Act::Review), query.into_inner()).await
}

/// The form for a test of a care valve.
pub(super) async fn show_test(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let at = DutyAt::Unit(id_of(&path, "unit")?);
    show(&desk, &state, (at, Act::Test), query.into_inner()).await
}

/// The form for a change that asks for a review of what a place has.
pub(super) async fn show_review_at(
    desk: &Desk,
    state: &web::Data<State>,
    at: DutyAt,
    form: Typed,
) -> Result<HttpResponse, Failure> {
    show(desk, state, (at, Act::Review), form).await
}

async fn show(
    desk: &Desk,
    state: &web::Data<State>,
    (at, act): (DutyAt, Act),
    form: Typed,
) -> Result<HttpResponse, Failure> {
    let found = load(desk, state, at).await?;
    page(&page_of(desk, state, (&found, act), form)?)
}

/// A change that asks for a review.
pub(super) async fn take_review(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let at = DutyAt::Unit(id_of(&path, "unit")?);
    take_review_at(&desk, &state, at, form.into_inner()).await
}

/// The same of what a place has.
pub(super) async fn take_review_at(
    desk: &Desk,
    state: &web::Data<State>,
    at: DutyAt,
    mut form: Typed,
) -> Result<HttpResponse, Failure> {
    let (once, seat) = (form.once(), desk.seat.clone());
    let duty: DutyId = id_of(form.value("duty"), "duty")?;
    let on = day(&mut form, "Say on which day it changed.");
    let words = form.value("words").to_owned();
    if let Some(on) = on {
        let trigger = Trigger { duty, on, words };
        let asked = ask(state, move |world| {
            duties::trigger_review(world, &seat, trigger, &once)
        })
        .await;
        match asked {
            Ok(at) => {
                return Ok(see_told(
                    &rows::home_of(at),
                    "The review is due; what changed is on record.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let found = load(desk, state, at).await?;
    wrong(&page_of(desk, state, (&found, Act::Review), form)?)
}

/// A test of a care valve.
pub(super) async fn take_test(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let unit: UnitId = id_of(&path, "unit")?;
    let mut form = form.into_inner();
    let (once, seat) = (form.once(), desk.seat.clone());
    let duty: DutyId = id_of(form.value("duty"), "duty")?;
    let on = day(&mut form, "Say on which day it was tested.");
    let moved: Option<f64> = form
        .value("moved_k")
        .trim()
        .replace('−', "-")
        .replace(',', ".")
        .parse()
        .ok();
    if moved.is_none() {
        form.complain(
            "moved_k",
            "Say by how many kelvin the mixed water had moved, such as 0.8 or −1.5.",
        );
    }
    let evidence = form.value("evidence").to_owned();
    if let (Some(on), Some(moved_k)) = (on, moved) {
        let test = MixingTest {
            duty,
            on,
            moved_k,
            evidence,
        };
        let asked = ask(&state, move |world| {
            duties::record_mixing_test(world, &seat, test, &once)
        })
        .await;
        match asked {
            Ok(unit) => {
                return Ok(see_told(
                    &format!("/duties/{unit}#V1"),
                    "The test is on record; the next follows from it.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let found = load(&desk, &state, DutyAt::Unit(unit)).await?;
    wrong(&page_of(&desk, &state, (&found, Act::Test), form)?)
}

fn day(form: &mut Typed, missing: &str) -> Option<chrono::NaiveDate> {
    let on = form.date("on");
    if on.is_none() && form.error("on").is_none() {
        form.complain("on", missing);
    }
    on
}

/// Lines a first check up with the flat's date.
pub(super) async fn line_up(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let unit: UnitId = id_of(&path, "unit")?;
    let duty: DutyId = id_of(form.value("duty"), "duty")?;
    let once = form.once();
    let with = answer(&state, move |world| {
        duties::line_up(world, &desk.seat, duty, &once)
    })
    .await?;
    let told = format!(
        "The first check is lined up with {}. Its one move is used.",
        dates::day(with)
    );
    Ok(see_told(&format!("/duties/{unit}"), &told))
}

/// Opens the tests of a care valve.
pub(super) async fn care(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let unit: UnitId = id_of(&path, "unit")?;
    let once = form.once();
    answer(&state, move |world| {
        duties::start_mixing_tests(world, &desk.seat, unit, &once)
    })
    .await?;
    Ok(see_told(
        &format!("/duties/{unit}#V1"),
        "Its tests are open; the first is due eight weeks after it was fitted.",
    ))
}
