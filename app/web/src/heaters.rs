//! Heaters to lend: what there is, where it is, what it draws; lending one and taking it back.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{HeaterId, Role, SpaceId};
use usecases::heaters::{self, HeaterLine, HeatersView, LendForm, LendTo, MOST_WATTS, NewHeater};
use wording::sentences::{capital, counted, dates, number_word};
use wording::{Choice, Link, Row, Shell, Urgency, Verb};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Visitor;
use crate::state::{State, answer, ask};
use crate::when;

/// Who may open the page.
const SEATS: [Role; 4] = [Role::Agent, Role::Supervisor, Role::OutOfHours, Role::Site];

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/heaters")
                .route(web::get().to(show))
                .route(web::post().to(take_new)),
        )
        .service(web::resource("/heaters/lend").route(web::post().to(take_loan)))
        .service(web::resource("/heaters/{id}/back").route(web::post().to(take_back)));
}

#[derive(Template)]
#[template(path = "heaters/heaters.html")]
struct HeatersPage {
    shell: Shell,
    heading: String,
    standing: String,
    rows: Vec<Row>,
    lend: Option<Lend>,
    may_enter: bool,
    form: Typed,
    once: String,
}

/// The form for lending to one home.
struct Lend {
    space: String,
    name: String,
    said: String,
    choices: Vec<Choice>,
}

async fn load(
    visitor: &Visitor,
    state: &web::Data<State>,
    space: Option<SpaceId>,
) -> Result<(usecases::Seat, HeatersView), Failure> {
    let seats = visitor.seats(&SEATS);
    let Some(seat) = seats.into_iter().next() else {
        return Err(Failure(usecases::Error::NotFound("page")));
    };
    let asks = seat.clone();
    let view = answer(state, move |world| {
        heaters::heaters_view(world, &asks, space)
    })
    .await?;
    Ok((seat, view))
}

fn heaters_page(shell: Shell, view: &HeatersView, form: Typed, role: Role) -> HeatersPage {
    let stock = view.heaters.iter().filter(|l| l.heater.ended_on.is_none());
    let (lent, kept): (Vec<_>, Vec<_>) = stock.partition(|l| l.heater.lent.is_some());
    let late = lent.iter().filter(|l| is_over(l)).count();
    HeatersPage {
        heading: match (lent.len(), kept.len()) {
            (0, 0) => "There is no heater to lend yet".to_owned(),
            (out, left) => capital(&format!(
                "{} lent, {} at hand",
                counted(out as u64, "heater is", "heaters are"),
                number_word(left as u64)
            )),
        },
        standing: match late {
            0 => "Temporary heat waits for no decision. Lend one from the job of the home that is cold."
                .to_owned(),
            1 => "One is still lent although its job is done: fetch it back.".to_owned(),
            n => format!(
                "{} are still lent although their jobs are done: fetch them back.",
                capital(&number_word(n as u64))
            ),
        },
        rows: view.heaters.iter().map(row).collect(),
        lend: view.to.as_ref().map(|to| lend(view, to, &form)),
        may_enter: matches!(role, Role::Agent | Role::Supervisor),
        once: form.once(),
        shell,
        form,
    }
}

/// Its job is finished and it is still lent.
fn is_over(line: &HeaterLine) -> bool {
    line.job.as_ref().is_some_and(|job| job.state.is_closed())
}

fn row(line: &HeaterLine) -> Row {
    let heater = &line.heater;
    let where_to = match (&heater.lent, heater.ended_on) {
        (_, Some(on)) => format!("thrown away on {}", dates::day(on)),
        (Some(loan), None) => format!(
            "lent to {}, {}, since {}",
            loan.space_name,
            loan.building_name,
            dates::day(loan.lent_on)
        ),
        (None, None) => format!("kept at {}", heater.kept_at),
    };
    let mut row = Row::about(
        format!("h-{}", heater.id),
        Link::new(heater.number.clone(), ""),
        format!(", {}: {where_to}.", heater.what),
    )
    .figure(format!("{} W", heater.watts), "at its highest");
    if let Some(loan) = &heater.lent {
        if !loan.words.is_empty() {
            row.more.push(format!("“{}”", loan.words));
        }
        row = row.verb(Verb::post(
            "It is back",
            format!("/heaters/{}/back", heater.id),
            vec![("once".to_owned(), fresh_once())],
        ));
        if is_over(line) {
            row.more.push("The job it was lent for is done.".to_owned());
            row = row.urgency(Urgency::Soon);
        }
    }
    row
}

fn lend(view: &HeatersView, to: &LendTo, form: &Typed) -> Lend {
    let supply = match to.spare {
        Some(watts) => format!("Its supply has {watts} W to spare"),
        None => "What its supply has to spare is not known".to_owned(),
    };
    let drawn = match to.drawn {
        0 => "no heater stands there yet".to_owned(),
        watts => format!("those there draw {watts} W"),
    };
    let job = to.job.as_ref().map_or_else(
        || "No job is open there.".to_owned(),
        |job| format!("It is lent for {}.", job.number),
    );
    Lend {
        space: to.space.id.to_string(),
        name: format!("{}, {}", to.space.name, to.space.building_name),
        said: format!("{supply}; {drawn}. One socket carries {MOST_WATTS} W. {job}"),
        choices: view
            .heaters
            .iter()
            .filter(|l| l.heater.lent.is_none() && l.heater.ended_on.is_none())
            .map(|l| {
                let id = l.heater.id.to_string();
                let chosen = form.value("heater") == id;
                let label = format!(
                    "{}, {}, {} W, at {}",
                    l.heater.number, l.heater.what, l.heater.watts, l.heater.kept_at
                );
                Choice::new(id, label, chosen)
            })
            .collect(),
    }
}

async fn show(
    visitor: Visitor,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let space: Option<SpaceId> = query.value("space").parse().ok();
    let (seat, view) = load(&visitor, &state, space).await?;
    let today = when::local_day(state.world.now());
    let form = Typed::starting_with([("once", fresh_once()), ("on", dates::machine(today))]);
    let shell = visitor.shell_as(&state, &seat, "heaters");
    page(&heaters_page(shell, &view, form, seat.role()))
}

async fn take_new(
    visitor: Visitor,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (seat, view) = load(&visitor, &state, None).await?;
    let watts = form.number("watts", 0.0, 100_000.0).unwrap_or_default() as i32;
    if !form.is_wrong() {
        let asked = NewHeater {
            what: form.value("what").to_owned(),
            watts,
            kept_at: form.value("kept_at").to_owned(),
        };
        let (who, once) = (seat.clone(), form.once());
        match ask(&state, move |world| {
            heaters::add_heater(world, &who, asked, &once)
        })
        .await
        {
            Ok(_) => return Ok(see_told("/heaters", "It is entered.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let shell = visitor.shell_as(&state, &seat, "heaters");
    wrong(&heaters_page(shell, &view, form, seat.role()))
}

async fn take_loan(
    visitor: Visitor,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let space: SpaceId = id_of(form.value("space"), "space")?;
    let (seat, view) = load(&visitor, &state, Some(space)).await?;
    let heater: Option<HeaterId> = form.code("heater", "Choose a heater that is at hand.");
    let today = when::local_day(state.world.now());
    let on = form.date("on").unwrap_or(today);
    if let (Some(heater), false) = (heater, form.is_wrong()) {
        let asked = LendForm {
            heater,
            space,
            on,
            words: form.value("words").to_owned(),
        };
        let (who, once) = (seat.clone(), form.once());
        match ask(&state, move |world| {
            heaters::lend_heater(world, &who, asked, &once)
        })
        .await
        {
            Ok(()) => {
                return Ok(see_told(
                    "/heaters",
                    "It is lent. Tell them how to use it safely.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let shell = visitor.shell_as(&state, &seat, "heaters");
    wrong(&heaters_page(shell, &view, form, seat.role()))
}

async fn take_back(
    visitor: Visitor,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: HeaterId = id_of(&path, "heater")?;
    let (seat, _) = load(&visitor, &state, None).await?;
    let once = form.into_inner().once();
    let today = when::local_day(state.world.now());
    answer(&state, move |world| {
        heaters::take_back_heater(world, &seat, (id, today), &once)
    })
    .await?;
    Ok(see_told("/heaters", "It is back."))
}
