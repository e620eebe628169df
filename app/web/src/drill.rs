//! The cold-night drill: what would be cold on one night, once in how many winters, and what makes it rarer.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{BuildingId, Pence, Role};
use usecases::drill::{self, AskedPart, Change, DrillAsk, DrillView, KeptDrill, Rarity, Step};
use wording::drawings::cold_night::ColdNight;
use wording::sentences::{counted, list, money, plural};
use wording::{Ask, Drawing, Row, Shell, Why};

use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::{Desk, LogReader};
use crate::state::{State, answer, ask};
use crate::when;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config.service(
        web::resource("/drill")
            .route(web::get().to(show))
            .route(web::post().to(take)),
    );
}

#[derive(Template)]
#[template(path = "drill/drill.html")]
struct DrillPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    asks: Vec<Ask>,
    picture: Option<Drawing>,
    levels: Vec<Row>,
    changes: Vec<Row>,
    form: Typed,
    parts: Vec<(usize, AskedPart)>,
    building: String,
    may_run: bool,
    once: String,
}

async fn show(
    reader: LogReader,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let of = building_of(query.value("building"))?;
    let seat = reader.seat.clone();
    let may_run = matches!(seat.role(), Role::Agent | Role::Supervisor);
    let view = answer(&state, move |world| drill::view(world, &seat, of)).await?;
    let shell = Shell {
        here: "drill",
        ..reader.shell(&state)
    };
    page(&page_of(shell, view, &Typed::default(), may_run))
}

async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let of = building_of(form.value("building"))?;
    let seat = desk.seat.clone();
    let view = answer(&state, move |world| drill::view(world, &seat, of)).await?;
    let asked = read(&mut form, &view);
    if let Some(asked) = asked.filter(|_| !form.is_wrong()) {
        let (seat, once) = (desk.seat.clone(), form.once());
        match ask(&state, move |world| drill::run(world, &seat, asked, &once)).await {
            Ok(()) => {
                let back = of.map_or_else(
                    || "/drill".to_owned(),
                    |building| format!("/drill?building={building}"),
                );
                return Ok(see_told(
                    &back,
                    "The drill was run; it stands below with what was asked.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(desk.shell(&state, "drill"), view, &form, true))
}

fn building_of(text: &str) -> Result<Option<BuildingId>, Failure> {
    match text {
        "" => Ok(None),
        text => id_of(text, "building").map(Some),
    }
}

/// A number that must be there.
fn number(form: &mut Typed, field: &str, low: f64, high: f64) -> Option<f64> {
    let read = form.number(field, low, high);
    if read.is_none() && form.error(field).is_none() {
        form.complain(field, "A number is needed here.");
    }
    read
}

fn whole(form: &mut Typed, field: &str, most: f64) -> Option<u32> {
    number(form, field, 0.0, most).map(|n| n.round() as u32)
}

fn pounds(form: &mut Typed, field: &str) -> Option<Pence> {
    let read = form.pounds(field);
    if read.is_none() && form.error(field).is_none() {
        form.complain(field, "An amount is needed here, such as 45.00.");
    }
    read
}

/// What was typed, over what the form started with; `None` with a sentence at the field that cannot be.
fn read(form: &mut Typed, view: &DrillView) -> Option<DrillAsk> {
    let mut asked = view.ask.clone();
    let cover = &mut asked.cover;
    cover.engineers = whole(form, "engineers", 1000.0)?;
    cover.weekend_engineers = whole(form, "weekend_engineers", 1000.0)?;
    cover.visits_each = whole(form, "visits_each", 50.0)?;
    cover.heaters = whole(form, "heaters", 100_000.0)?;
    cover.heaters_a_home = whole(form, "heaters_a_home", 10.0)?;
    cover.spell_nights = whole(form, "spell_nights", 90.0)?;
    cover.spells = number(form, "spells", 0.0, 20.0)?;
    cover.spell_factor = number(form, "spell_factor", 1.0, 20.0)?;
    asked.of_ten = number(form, "of_ten", 0.0, 10.0)?;
    asked.heater_price = pounds(form, "heater_price")?;
    asked.engineer_price = pounds(form, "engineer_price")?;
    for (place, part) in asked.parts.iter_mut().enumerate() {
        part.lead_days = whole(form, &format!("lead-{place}"), 365.0)?;
        part.price = pounds(form, &format!("price-{place}"))?;
        part.on_van = form.ticked(&format!("van-{place}"));
    }
    Some(asked)
}

/// What the form starts with.
fn starting(asked: &DrillAsk) -> Vec<(String, String)> {
    let cover = &asked.cover;
    let pounds = |p: Pence| format!("{:.2}", p.to_pounds());
    let mut all: Vec<(String, String)> = [
        ("engineers", cover.engineers.to_string()),
        ("weekend_engineers", cover.weekend_engineers.to_string()),
        ("visits_each", cover.visits_each.to_string()),
        ("heaters", cover.heaters.to_string()),
        ("heaters_a_home", cover.heaters_a_home.to_string()),
        ("spells", cover.spells.to_string()),
        ("spell_nights", cover.spell_nights.to_string()),
        ("spell_factor", cover.spell_factor.to_string()),
        ("of_ten", asked.of_ten.to_string()),
        ("heater_price", pounds(asked.heater_price)),
        ("engineer_price", pounds(asked.engineer_price)),
    ]
    .map(|(name, value)| (name.to_owned(), value))
    .to_vec();
    for (place, part) in asked.parts.iter().enumerate() {
        all.push((format!("lead-{place}"), part.lead_days.to_string()));
        all.push((format!("price-{place}"), pounds(part.price)));
        if part.on_van {
            all.push((format!("van-{place}"), "yes".to_owned()));
        }
    }
    all
}

fn page_of(shell: Shell, view: DrillView, typed: &Typed, may_run: bool) -> DrillPage {
    let mut form = Typed::from(starting(&view.ask));
    form.lay_over(typed);
    let name = view
        .building
        .as_ref()
        .map_or_else(|| "all buildings together".to_owned(), |b| b.name.clone());
    let mut facts = vec![name.clone(), plural(view.homes as u64, "home", "homes")];
    if let Some(last) = &view.last {
        facts.push(format!("drilled {}", when::day_words(last.made_at)));
    }
    let (finding, standing) = match &view.last {
        None => (
            format!("How cold could one night get in {name}?"),
            "State who and what stands ready, and thousands of winters are tried on what the forecasts say.".to_owned(),
        ),
        Some(last) => found(last),
    };
    DrillPage {
        shell,
        facts,
        finding,
        standing,
        asks: asks(&view),
        picture: view.last.as_ref().map(picture),
        levels: view.last.as_ref().map(levels).unwrap_or_default(),
        changes: view.last.as_ref().map(changes).unwrap_or_default(),
        form,
        building: view.building.map_or_else(String::new, |b| b.id.to_string()),
        parts: view.ask.parts.into_iter().enumerate().collect(),
        may_run,
        once: match typed.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
    }
}

fn asks(view: &DrillView) -> Vec<Ask> {
    let mut all = vec![Ask {
        words: "All buildings together".to_owned(),
        href: "/drill".to_owned(),
        current: view.building.is_none(),
    }];
    all.extend(view.buildings.iter().map(|b| Ask {
        words: b.name.clone(),
        href: format!("/drill?building={}", b.id),
        current: view.building.as_ref().is_some_and(|own| own.id == b.id),
    }));
    all
}

/// "about once in 12 winters", "in most winters", "in none of 4,000 winters tried".
fn once_in(rarity: &Rarity) -> String {
    match rarity.once_in() {
        None => format!(
            "in none of {} tried",
            plural(rarity.of as u64, "winter", "winters")
        ),
        Some(winters) if winters < 1.5 => "in most winters".to_owned(),
        Some(winters) => format!(
            "about once in {}",
            plural(winters.round() as u64, "winter", "winters")
        ),
    }
}

/// "1 in 9 to 1 in 14 winters", the doubt of a finite number of winters.
fn doubt(rarity: &Rarity) -> String {
    match rarity.once_in_ci95() {
        (near, Some(far)) => format!("once in {near:.1} to once in {far:.1} winters"),
        (near, None) => format!("rarer than once in {near:.0} winters"),
    }
}

fn found(last: &KeptDrill) -> (String, String) {
    let found = &last.answer.drill;
    let warmed = last.ask.cover.warmed();
    let finding = format!(
        "On some night a home has neither heating nor a heater {}",
        once_in(&found.short)
    );
    let standing = format!(
        "{} reach {}; about {} a winter leave somebody without heating, {} in all.",
        plural(u64::from(last.ask.cover.heaters), "heater", "heaters"),
        counted(u64::from(warmed), "home", "homes"),
        plural(found.faults.round() as u64, "fault", "faults"),
        plural(
            found.cold_nights.round() as u64,
            "cold night",
            "cold nights"
        ),
    );
    (finding, standing)
}

fn picture(last: &KeptDrill) -> Drawing {
    ColdNight {
        id: "worst".to_owned(),
        worst: last.answer.drill.worst.clone(),
        warmed: last.ask.cover.warmed(),
    }
    .draw()
}

fn levels(last: &KeptDrill) -> Vec<Row> {
    let answer = &last.answer;
    let mut rows: Vec<Row> = answer
        .drill
        .levels
        .iter()
        .map(|level| {
            let range = if level.ci95.0 == level.ci95.1 {
                String::new()
            } else {
                format!(
                    " ({} to {} with the doubt of the winters tried)",
                    level.ci95.0, level.ci95.1
                )
            };
            Row::plain(
                format!("level-{}", level.once_in),
                format!(
                    "Once in {} winters at least {} without heating on one night{range}.",
                    level.once_in,
                    match level.homes {
                        1 => "one home is".to_owned(),
                        n => format!("{} are", counted(u64::from(n), "home", "homes")),
                    }
                ),
            )
            .figure(
                level.homes.to_string(),
                format!("homes, 1 winter in {}", level.once_in),
            )
        })
        .collect();
    if let Some(first) = rows.first_mut() {
        first.why = Some(Why::this(vec![
            format!(
                "{} of {} were tried, each from everything working on 1 October to 31 March: {} with a forecast, each with a rate of its own drawn from what its forecast leaves open.",
                plural(answer.drill.winters as u64, "winter", "winters"),
                plural(answer.homes as u64, "home", "homes"),
                plural(answer.units as u64, "unit", "units")
            ),
            "The oldest fault is seen first; one after noon waits a night; one that needs a part not carried waits for it and is visited twice.".to_owned(),
            format!(
                "Not in it: {} without a forecast, a fault that shuts a whole street, and who lets nobody in.",
                plural(answer.without as u64, "unit", "units")
            ),
        ]));
    }
    rows
}

fn words(change: &Change, parts: &[AskedPart]) -> String {
    let mut said = Vec::new();
    if change.heaters > 0 {
        said.push(counted(
            u64::from(change.heaters),
            "heater more",
            "heaters more",
        ));
    }
    if change.engineers > 0 {
        said.push(counted(
            u64::from(change.engineers),
            "engineer more on cover",
            "engineers more on cover",
        ));
    }
    let carried = change.parts.iter().filter_map(|p| parts.get(*p));
    said.extend(carried.map(|p| format!("on the van: {}", p.name)));
    list(&said)
}

fn changes(last: &KeptDrill) -> Vec<Row> {
    let (found, parts) = (&last.answer.changes, &last.ask.parts);
    let mut rows = vec![cheapest(last)];
    rows.extend(found.single.iter().enumerate().map(|(place, step)| {
        let said = wording::sentences::capital(&words(&step.change, parts));
        Row::plain(
            format!("change-{place}"),
            format!(
                "{said}: then {} ({}).",
                once_in(&step.short),
                doubt(&step.short)
            ),
        )
        .figure(money::whole(Pence(step.price)), "for this winter")
    }));
    rows
}

fn cheapest(last: &KeptDrill) -> Row {
    let found = &last.answer.changes;
    let why = Why::this(vec![
        format!("As it stands: {} ({}).", once_in(&found.now), doubt(&found.now)),
        "Tried: every set of up to two engineers more and the three parts that help most, each with as many heaters as it then takes. All on the same winters, so that a difference is the change's own.".to_owned(),
    ]);
    match &found.cheapest {
        Some(Step {
            change,
            price,
            short,
        }) if *price > 0 => Row::plain(
            "cheapest",
            format!(
                "The cheapest that makes it ten times rarer: {}. Then {}.",
                words(change, &last.ask.parts),
                once_in(short)
            ),
        )
        .figure(money::whole(Pence(*price)), "ten times rarer")
        .why(why),
        _ if found.too_rare => Row::plain(
            "cheapest",
            "It is too rare already for these winters to tell what would make it ten times rarer.",
        )
        .why(why),
        _ => Row::plain("cheapest", "Nothing tried makes it ten times rarer.").why(why),
    }
}
