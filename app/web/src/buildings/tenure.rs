//! Who holds a home, from which day on: what is known, and stating it anew.
use actix_web::{HttpResponse, web};
use terms::{SpaceId, Tenure, UsedAs};
use usecases::register::{self, SpaceView, TenureForm};
use wording::sentences::{capital, dates};
use wording::{Choice, Row};

use super::space::{again, back};
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::seats::Desk;
use crate::state::{State, ask};

/// What is known of who holds it, the latest first. That nobody knows is said.
pub(super) fn rows(view: &SpaceView) -> Vec<Row> {
    if view.space.used_as != UsedAs::Flat {
        return Vec::new();
    }
    if view.tenures.is_empty() {
        return vec![Row::plain(
            "tenure",
            "Who holds it is not known. The right to repair and the hazard clocks turn on it.",
        )];
    }
    let rows = view.tenures.iter().enumerate().rev();
    let mut rows: Vec<Row> = rows
        .map(|(n, row)| {
            Row::plain(
                format!("tenure-{n}"),
                format!(
                    "{} from {}.",
                    capital(row.tenure.words()),
                    dates::day(row.from_on)
                ),
            )
        })
        .collect();
    let long = view
        .tenures
        .last()
        .map(|row| row.tenure == Tenure::LongLease);
    let let_short = view.space.let_short;
    if matches!(
        (long, let_short),
        (Some(true), Some(true)) | (Some(false), Some(false))
    ) && view
        .tenures
        .last()
        .is_some_and(|row| row.tenure != Tenure::Unknown)
    {
        rows.push(Row::plain(
            "tenure-parts",
            "How it is held, above, says otherwise: one of the two is wrong.",
        ));
    }
    rows
}

/// The choices of the form.
pub(super) fn choices(form: &Typed) -> Vec<Choice> {
    let typed = form.value("tenure");
    Tenure::ALL
        .iter()
        .map(|tenure| {
            let hint = match tenure {
                Tenure::CouncilSecure => "The right to repair caps the times of a repair.",
                Tenure::Social => "The hazard clocks run here too.",
                Tenure::Unknown => "Said as it is; nothing is guessed.",
                Tenure::Private | Tenure::LongLease => "",
            };
            let words = capital(tenure.words());
            Choice::new(tenure.code(), words, typed == tenure.code()).hint(hint)
        })
        .collect()
}

/// States it.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: SpaceId = id_of(&path, "space")?;
    let mut form = form.into_inner();
    let tenure: Option<Tenure> = form.code("tenure", "Choose who holds it, or that nobody knows.");
    let from_on = form.date("tenure_from");
    if from_on.is_none() && form.error("tenure_from").is_none() {
        form.complain("tenure_from", "Say from which day on.");
    }
    let (Some(tenure), Some(from_on), false) = (tenure, from_on, form.is_wrong()) else {
        return again(
            &desk,
            &state,
            id,
            form,
            usecases::Error::Invalid(Vec::new()),
        )
        .await;
    };
    let asked = TenureForm {
        space: id,
        tenure,
        from_on,
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::state_tenure(world, &seat, asked, &once)
    });
    match done.await {
        Ok(()) => Ok(back(
            id,
            "It is kept from that day on; what stood before stays readable.",
        )),
        Err(error) => again(&desk, &state, id, form, error).await,
    }
}
