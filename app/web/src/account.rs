//! One's own account: where one is signed in, and signing out everywhere.
use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::door;
use wording::{Row, Shell, Voice};

use crate::Failure;
use crate::page::{page, see};
use crate::seats::Visitor;
use crate::sign_in::and_off_the_phone;
use crate::state::{State, answer};
use crate::when;

pub(crate) mod second_device;

#[derive(Template)]
#[template(path = "door/account.html")]
struct AccountPage {
    shell: Shell,
    email: String,
    second_device: &'static str,
    sessions: Vec<Row>,
    grants: Vec<Row>,
}

/// Sessions and grants.
pub(crate) async fn show(
    visitor: Visitor,
    state: web::Data<State>,
) -> Result<HttpResponse, Failure> {
    let person = visitor.person.clone();
    let (cards, standing) = answer(&state, move |world| {
        Ok((
            door::sessions(world, &person)?,
            usecases::second_device::standing(world, &person)?,
        ))
    })
    .await?;
    let sessions = cards
        .iter()
        .enumerate()
        .map(|(n, card)| {
            let seen = wording::sentences::dates::moment(when::local(card.seen_at));
            Row::plain(
                format!("session-{n}"),
                format!("{}, last used {seen}.", card.device),
            )
        })
        .collect();
    let grants = visitor
        .person
        .grants
        .iter()
        .enumerate()
        .map(|(n, g)| {
            let reach = match &g.buildings {
                None => "every building".to_owned(),
                Some(list) => {
                    wording::sentences::plural(list.len() as u64, "building", "buildings")
                }
            };
            Row::plain(
                format!("grant-{n}"),
                format!("{}: {}, {reach}.", g.estate_name, g.role),
            )
        })
        .collect();
    page(&AccountPage {
        shell: shell_of(&visitor, &state, "account"),
        second_device: second_device::in_a_sentence(&standing),
        email: visitor.person.email.clone(),
        sessions,
        grants,
    })
}

/// The frame of the pages about oneself, in the voice of one's first seat.
fn shell_of(visitor: &Visitor, state: &State, here: &'static str) -> Shell {
    let voice = match crate::home::first_page(visitor.person.grants.iter().map(|g| g.role)) {
        "/my-day" => Voice::Contractor,
        "/letter" => Voice::Landlord,
        "/temperatures" => Voice::Site,
        _ => Voice::Agent,
    };
    let estate = visitor
        .person
        .grants
        .first()
        .map_or("", |g| g.estate_name.as_str());
    let mut shell = visitor.shell(voice, here, estate);
    shell.today_words = when::now_words(state.world.now());
    shell
}

/// Ends every session of the account, this one too.
pub(crate) async fn leave_everywhere(
    visitor: Visitor,
    state: web::Data<State>,
) -> Result<HttpResponse, Failure> {
    answer(&state, move |world| {
        door::sign_out_everywhere(world, &visitor.person)
    })
    .await?;
    Ok(and_off_the_phone(see("/sign-in")))
}
