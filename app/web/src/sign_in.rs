//! Signing in and out.
use actix_web::cookie::time::Duration;
use actix_web::cookie::{Cookie, SameSite};
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use usecases::door::{self, DEMO_PASSWORD, SignIn};

use crate::Failure;
use crate::form::Typed;
use crate::page::{page, see, wrong};
use crate::seats::{Visitor, cookie_name};
use crate::state::{State, answer, ask};

#[derive(Template)]
#[template(path = "door/sign-in.html")]
struct SignInPage {
    form: Typed,
    to: String,
    demo: Vec<DemoPerson>,
}

struct DemoPerson {
    email: String,
    name: String,
    password: &'static str,
}

/// The form; on loopback, with the demo estate, the demo people one press away.
pub(crate) async fn show(
    request: HttpRequest,
    state: web::Data<State>,
    query: web::Query<Typed>,
) -> Result<HttpResponse, Failure> {
    let to = query.value("to").to_owned();
    page(&SignInPage {
        form: Typed::default(),
        to,
        demo: demo(&request, &state).await?,
    })
}

async fn demo(request: &HttpRequest, state: &web::Data<State>) -> Result<Vec<DemoPerson>, Failure> {
    if !state.is_from_loopback(request) {
        return Ok(Vec::new());
    }
    let people = answer(state, door::demo_people).await?;
    Ok(people
        .into_iter()
        .map(|(email, name)| DemoPerson {
            email,
            name,
            password: DEMO_PASSWORD,
        })
        .collect())
}

/// Takes the form.
pub(crate) async fn take(
    request: HttpRequest,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let to = form.value("to").to_owned();
    let device = request
        .headers()
        .get("user-agent")
        .and_then(|v| v.to_str().ok());
    let sign_in = SignIn {
        email: form.value("email").trim().to_owned(),
        password: form.value("password").to_owned(),
        address: state.caller(&request),
        device: device.unwrap_or("unknown").chars().take(200).collect(),
        loopback: state.is_from_loopback(&request),
    };
    match ask(&state, move |world| door::sign_in(world, &sign_in)).await {
        Ok((token, person)) => {
            let cookie = Cookie::build(cookie_name(state.secure), token.0)
                .path("/")
                .http_only(true)
                .secure(state.secure)
                .same_site(SameSite::Lax)
                .max_age(Duration::days(30))
                .finish();
            let own = crate::home::first_page(person.grants.iter().map(|g| g.role));
            let inside = to.starts_with('/') && !to.starts_with("//") && !to.contains('\\');
            let href = if inside && to != "/" {
                to.as_str()
            } else {
                own
            };
            Ok(HttpResponse::SeeOther()
                .insert_header(("Location", href))
                .cookie(cookie)
                .finish())
        }
        Err(error) => {
            form.take_wrongs(error)?;
            wrong(&SignInPage {
                form,
                to,
                demo: demo(&request, &state).await?,
            })
        }
    }
}

/// What a phone keeps of open sheets goes when somebody signs out.
pub(crate) fn and_off_the_phone(mut answer: HttpResponse) -> HttpResponse {
    let storage = HeaderValue::from_static("\"storage\"");
    let clear = HeaderName::from_static("clear-site-data");
    answer.headers_mut().insert(clear, storage);
    answer
}

/// Ends the session.
pub(crate) async fn leave(
    visitor: Visitor,
    state: web::Data<State>,
) -> Result<HttpResponse, Failure> {
    answer(&state, move |world| door::sign_out(world, &visitor.token)).await?;
    Ok(and_off_the_phone(see("/sign-in")))
}
