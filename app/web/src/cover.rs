//! Who comes at night and at weekends, by building; the gaps.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::{BuildingId, FactId, FirmId, Role};
use usecases::cover::{self, BuildingCover, CoverFact, CoverForm, CoverView, DAYS_AHEAD};
use usecases::work::Names;
use wording::sentences::today::stretches;
use wording::sentences::{capital, counted, dates};
use wording::{Choice, Link, Row, Shell, Urgency, Verb};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/cover")
                .route(web::get().to(show))
                .route(web::post().to(take)),
        )
        .service(web::resource("/cover/{id}/end").route(web::post().to(end)));
}

#[derive(Template)]
#[template(path = "cover/cover.html")]
struct CoverPage {
    shell: Shell,
    heading: String,
    standing: String,
    rows: Vec<Row>,
    buildings: Vec<Choice>,
    firms: Vec<Choice>,
    hours: Vec<Choice>,
    may_write: bool,
    form: Typed,
    once: String,
}

async fn load(desk: &Desk, state: &web::Data<State>) -> Result<CoverView, Failure> {
    let (seat, day) = (desk.seat.clone(), when::local_day(state.world.now()));
    answer(state, move |world| cover::cover_view(world, &seat, day)).await
}

fn cover_page(shell: Shell, view: &CoverView, form: Typed, may_write: bool) -> CoverPage {
    let open = view.buildings.iter().filter(|b| !b.gaps.is_empty()).count();
    let choice = |value: String, label: &str, field: &str| {
        let chosen = form.value(field) == value;
        Choice::new(value, label, chosen)
    };
    let hours = [
        (
            "both",
            "Nights and weekends",
            "Every night, and from the evening before days off to the morning after them.",
        ),
        (
            "nights",
            "Nights",
            "Every night, also at weekends; not the daytime of days off.",
        ),
        (
            "weekends",
            "Weekends and bank holidays",
            "From the evening before days off to the morning after them.",
        ),
    ]
    .map(|(code, label, hint)| choice(code.to_owned(), label, "hours").hint(hint));
    CoverPage {
        heading: match open {
            0 => format!("Somebody comes to every building for the next {DAYS_AHEAD} days"),
            n => capital(&format!(
                "{} without anybody at times",
                counted(n as u64, "building is", "buildings are")
            )),
        },
        standing: "Who is rung when it is night, a weekend or a bank holiday. Gaps of the next days off are told on Today, on the working day before.".to_owned(),
        rows: view.buildings.iter().map(|b| row(view, b, may_write)).collect(),
        buildings: view
            .buildings
            .iter()
            .map(|b| choice(b.building.id.to_string(), &b.building.name, "building"))
            .collect(),
        firms: view
            .names
            .firms
            .iter()
            .map(|f| choice(f.id.to_string(), &f.name, "firm"))
            .collect(),
        hours: hours.to_vec(),
        may_write,
        once: form.once(),
        shell,
        form,
    }
}

fn row(view: &CoverView, of: &BuildingCover, may_write: bool) -> Row {
    let id = of.building.id;
    let sentence = if of.cover.is_empty() {
        ": nobody is named for nights or weekends.".to_owned()
    } else {
        let said: Vec<String> = of.cover.iter().map(|c| stated(&view.names, c)).collect();
        format!(": {}.", said.join("; "))
    };
    let mut row = Row::about(
        format!("b-{id}"),
        Link::new(of.building.name.clone(), format!("/buildings/{id}")),
        sentence,
    );
    let words: Vec<&CoverFact> = of.cover.iter().filter(|c| !c.words.is_empty()).collect();
    row.more.extend(
        words
            .into_iter()
            .map(|c| format!("{}: {}", view.names.firm(c.firm), c.words)),
    );
    if let Some(first) = of.gaps.first() {
        let week: Vec<(NaiveDate, bool)> = of
            .gaps
            .iter()
            .filter(|g| (g.on - view.today).num_days() < 7)
            .map(|g| (g.on, g.night))
            .collect();
        if !week.is_empty() {
            row.more.push(format!(
                "Nobody in the next seven days: {}.",
                stretches(&week)
            ));
        }
        row = row
            .urgency(Urgency::Soon)
            .figure(dates::day_brief(first.on), "the first gap");
    }
    if may_write {
        for cover in of.cover.iter().filter(|c| c.until_on.is_none()) {
            row.others.push(Verb::post(
                format!("End it today: {}", view.names.firm(cover.firm)),
                format!("/cover/{}/end", cover.id),
                vec![("once".to_owned(), fresh_once())],
            ));
        }
    }
    row
}

/// "Beck Heating by night, until 31 March"
fn stated(names: &Names, cover: &CoverFact) -> String {
    let hours = match cover.hours.as_str() {
        "nights" => "by night",
        "weekends" => "at weekends and on bank holidays",
        _ => "by night and at weekends",
    };
    let until = match cover.until_on {
        Some(last) => format!(" until {}", dates::day(last)),
        None => String::new(),
    };
    format!(
        "{} {hours} since {}{until}",
        names.firm(cover.firm),
        dates::day(cover.from_on)
    )
}

fn may_write(desk: &Desk) -> bool {
    matches!(desk.seat.role(), Role::Agent | Role::Supervisor)
}

async fn show(
    desk: Desk,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let view = load(&desk, &state).await?;
    let today = when::local_day(state.world.now());
    let form = Typed::starting_with([
        ("once", fresh_once()),
        ("building", query.value("building").to_owned()),
        ("hours", "both".to_owned()),
        ("from", dates::machine(today)),
    ]);
    page(&cover_page(
        desk.shell(&state, "cover"),
        &view,
        form,
        may_write(&desk),
    ))
}

async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let view = load(&desk, &state).await?;
    let building: Option<BuildingId> = form.code("building", "Say which building.");
    let firm: Option<FirmId> = form.code("firm", "Say who comes.");
    let today = when::local_day(state.world.now());
    let from_on = form.date("from").unwrap_or(today);
    let until_on = form.date("until");
    if let (Some(building), Some(firm), false) = (building, firm, form.is_wrong()) {
        let asked = CoverForm {
            building,
            firm,
            hours: form.value("hours").to_owned(),
            from_on,
            until_on,
            words: form.value("words").to_owned(),
        };
        let (seat, once) = (desk.seat.clone(), form.once());
        match ask(&state, move |world| {
            cover::state_cover(world, &seat, asked, &once)
        })
        .await
        {
            Ok(()) => return Ok(see_told("/cover", "It is kept.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&cover_page(
        desk.shell(&state, "cover"),
        &view,
        form,
        may_write(&desk),
    ))
}

async fn end(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: FactId = id_of(&path, "cover")?;
    let (seat, once) = (desk.seat.clone(), form.into_inner().once());
    let today = when::local_day(state.world.now());
    answer(&state, move |world| {
        cover::end_cover(world, &seat, (id, today), &once)
    })
    .await?;
    Ok(see_told(
        "/cover",
        "It ends today; that it was stays on record.",
    ))
}
