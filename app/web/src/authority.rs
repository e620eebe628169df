//! Who may agree what without asking, as the landlord states it.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::Role;
use terms::trade::Authority;
use usecases::authority::{self, Stated};
use wording::sentences::{capital, dates, money};
use wording::{Choice, Row, Shell};

use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::{page, see_told, wrong};
use crate::seats::Reader;
use crate::state::{State, answer, ask};

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/authority")
                .route(web::get().to(show))
                .route(web::post().to(take)),
        )
        .service(web::resource("/authority/confirm").route(web::post().to(take_confirm)));
}

#[derive(Template)]
#[template(path = "authority/authority.html")]
struct AuthorityPage {
    shell: Shell,
    today: String,
    stated: Vec<Row>,
    may_state: bool,
    confirm_words: String,
    roles: Vec<Choice>,
    form: Typed,
    once: String,
}

/// Whose authority may be stated.
const ROLES: [(Role, &str, &str); 3] = [
    (
        Role::Contractor,
        "The engineer on site",
        "A repair inside it and inside the repair limit goes ahead at once, told afterwards.",
    ),
    (
        Role::Agent,
        "The managing agent",
        "Over it the agent asks the landlord.",
    ),
    (
        Role::Landlord,
        "One landlord or director alone",
        "Over it the others must agree too.",
    ),
];

async fn page_of(
    reader: &Reader,
    state: &web::Data<State>,
    typed: &Typed,
) -> Result<AuthorityPage, Failure> {
    let seat = reader.seat.clone();
    let stated = answer(state, move |world| authority::stated(world, &seat)).await?;
    let mut form = Typed::starting_with([
        ("role", Role::Agent.code().to_owned()),
        ("from", dates::machine(stated.today)),
        (
            "confirm",
            stated
                .confirm_above
                .map_or_else(String::new, |sum| format!("{:.2}", sum.to_pounds())),
        ),
    ]);
    form.lay_over(typed);
    Ok(AuthorityPage {
        shell: reader.shell(state, "authority"),
        today: dates::day(stated.today),
        stated: stated
            .authorities
            .iter()
            .zip(&stated.names)
            .enumerate()
            .map(|(n, (a, name))| row(n, a, name))
            .collect(),
        may_state: stated.may_state,
        confirm_words: confirm_words(&stated),
        roles: ROLES
            .iter()
            .map(|(role, label, hint)| {
                Choice::new(role.code(), *label, form.value("role") == role.code()).hint(*hint)
            })
            .collect(),
        once: match typed.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    })
}

fn row(n: usize, a: &Authority, name: &str) -> Row {
    let who = match (name, ROLES.iter().find(|(role, _, _)| *role == a.role)) {
        ("", Some((_, label, _))) => (*label).to_owned(),
        ("", None) => capital(a.role.words()),
        (name, _) => name.to_owned(),
    };
    let until = a
        .until_on
        .map_or_else(String::new, |day| format!(" until {}", dates::day(day)));
    Row::plain(
        format!("a-{n}"),
        format!(
            "{who} may agree up to {} without asking, and {} in an emergency; so since {}{until}.",
            money::exact(a.limit),
            money::exact(a.emergency),
            dates::day(a.from_on)
        ),
    )
    .figure(money::exact(a.limit), "without asking")
}

fn confirm_words(stated: &Stated) -> String {
    match stated.confirm_above {
        Some(sum) => format!(
            "A decision over {} asks for the decider’s own password again.",
            money::exact(sum)
        ),
        None => "No decision asks for the decider’s password again.".to_owned(),
    }
}

async fn show(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    page(&page_of(&reader, &state, &Typed::default()).await?)
}

fn read(form: &mut Typed) -> Option<Authority> {
    let role: Option<Role> = form.code("role", "Say for whom.");
    let (limit, emergency) = (form.pounds("limit"), form.pounds("emergency"));
    let from_on = form.date("from");
    for (field, missing) in [
        ("limit", limit.is_none()),
        ("emergency", emergency.is_none()),
    ] {
        if missing && form.error(field).is_none() {
            form.complain(field, "Say how much, in pounds.");
        }
    }
    if from_on.is_none() && form.error("from").is_none() {
        form.complain("from", "Say from which day.");
    }
    let role = role.filter(|role| ROLES.iter().any(|(known, _, _)| known == role));
    if role.is_none() && form.error("role").is_none() {
        form.complain("role", "Say for whom.");
    }
    Some(Authority {
        role: role?,
        account: None,
        limit: limit?,
        emergency: emergency?,
        from_on: from_on?,
        until_on: None,
    })
}

async fn take(
    reader: Reader,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let once = form.once();
    if let Some(stated) = read(&mut form) {
        let seat = reader.seat.clone();
        let asked = ask(&state, move |world| {
            authority::state_authority(world, &seat, stated, &once)
        });
        match asked.await {
            Ok(()) => {
                return Ok(see_told(
                    "/authority",
                    "It is stated; what stood before stays on record.",
                ));
            }
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&reader, &state, &form).await?)
}

async fn take_confirm(
    reader: Reader,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (once, above) = (form.once(), form.pounds("confirm"));
    if !form.is_wrong() {
        let seat = reader.seat.clone();
        let asked = ask(&state, move |world| {
            authority::state_confirmation(world, &seat, above, &once)
        });
        match asked.await {
            Ok(()) => return Ok(see_told("/authority", "It is stated.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    wrong(&page_of(&reader, &state, &form).await?)
}
