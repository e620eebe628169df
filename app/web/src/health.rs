//! For whoever watches the program: is it alive?
use actix_web::{HttpResponse, web};

use crate::Failure;
use crate::state::{State, answer};

/// "alive" when the database answers.
pub(crate) async fn alive(state: web::Data<State>) -> Result<HttpResponse, Failure> {
    answer(&state, |world| usecases::door::demo_people(world).map(drop)).await?;
    Ok(HttpResponse::Ok()
        .content_type("text/plain")
        .body("alive\n"))
}
