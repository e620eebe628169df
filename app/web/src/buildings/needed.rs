//! n needed of N fitted in a space, kind by kind: said, and stated anew.
use actix_web::{HttpResponse, web};
use chrono::NaiveDate;
use terms::SpaceId;
use usecases::Error;
use usecases::register::{self, Needed, NeededForm, SpaceView};
use wording::sentences::{capital, counted, dates, number_word};
use wording::{Choice, Link, Row};

use super::space::{again, back};
use crate::Failure;
use crate::form::{Typed, id_of};
use crate::seats::Desk;
use crate::state::{State, ask};
use crate::when;

/// "needs one of two circulating pumps fitted on the coldest day, since 3 November 2026; one may be out at a time."
fn needs(of: &Needed, (needed, since): (i32, NaiveDate)) -> String {
    let units = counted(of.fitted as u64, &of.names.0, &of.names.1);
    let (wanted, working) = (needed.max(0) as usize, of.fitted - of.out);
    let so = format!(
        "needs {} of {units} fitted on the coldest day, since {}",
        number_word(wanted as u64),
        dates::day(since)
    );
    if working < wanted {
        let left = number_word(working as u64);
        return format!("{so}; {left} can be used now: too few.");
    }
    let out = match of.out {
        0 => String::new(),
        out => format!("{} out now, ", counted(out as u64, "is", "are")),
    };
    let spare = number_word((working - wanted) as u64);
    format!("{so}; {out}{spare} may be out at a time.")
}

fn said(of: &Needed) -> String {
    match of.needed {
        Some(needed) => format!("It {}", needs(of, needed)),
        None => format!(
            "{} stand here; how many of them it needs is not known.",
            capital(&counted(of.fitted as u64, &of.names.0, &of.names.1))
        ),
    }
}

fn before(of: &Needed) -> Vec<String> {
    let earlier = of.before.iter();
    earlier
        .map(|(n, since)| format!("Said before: {n} since {}.", dates::day(*since)))
        .collect()
}

/// What a space's page shows.
pub(super) fn rows(view: &SpaceView) -> Vec<Row> {
    view.needed
        .iter()
        .map(|of| {
            let mut row = Row::plain(format!("n-{}", of.kind), said(of));
            row.more = before(of);
            row
        })
        .collect()
}

/// What a building's page shows beside its plant.
pub(super) fn rows_of_building(needed: &[Needed]) -> Vec<Row> {
    let known = needed.iter().filter_map(|of| Some((of, of.needed?)));
    known
        .map(|(of, said)| {
            let place = Link::new(of.space_name.clone(), format!("/spaces/{}", of.space));
            let id = format!("n-{}-{}", of.space, of.kind);
            Row::about(id, place, format!(" {}", needs(of, said)))
        })
        .collect()
}

/// The kinds of which something can be said: those that stand there, and those of which something was said.
pub(super) fn kinds(view: &SpaceView, form: &Typed) -> Vec<Choice> {
    let here = view
        .units
        .iter()
        .filter(|u| u.fate == terms::Fate::InService && u.space == view.space.id)
        .map(|u| u.kind.as_str());
    let mut codes: Vec<&str> = here
        .chain(view.needed.iter().map(|n| n.kind.as_str()))
        .collect();
    codes.sort_unstable();
    codes.dedup();
    codes
        .into_iter()
        .map(|code| {
            let kind = view.kinds.iter().find(|k| k.code == code);
            let name = kind.map_or(code, |k| k.plural.as_str());
            Choice::new(code, capital(name), form.value("of_kind") == code)
        })
        .collect()
}

/// Takes it.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: SpaceId = id_of(&path, "space")?;
    let mut form = form.into_inner();
    let needed = form.number("needed", 0.0, 50.0);
    if needed.is_some_and(|n| n.fract() != 0.0) {
        form.complain("needed", "A whole number is needed.");
    }
    let from_on = form.date("needed_from");
    if form.is_wrong() {
        return again(&desk, &state, id, form, Error::Invalid(Vec::new())).await;
    }
    let asked = NeededForm {
        kind: form.value("of_kind").to_owned(),
        needed: needed.map(|n| n as i32),
        from_on: from_on.unwrap_or_else(|| when::local_day(state.world.now())),
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        register::state_needed(world, &seat, (id, asked), &once)
    });
    match done.await {
        Ok(()) => Ok(back(
            id,
            "It is kept; what stood before stays in the history.",
        )),
        Err(error) => again(&desk, &state, id, form, error).await,
    }
}
