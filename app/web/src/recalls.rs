//! Makers' notices: what is called back or to be put right, which units it means, what was done about each.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{RecallId, UnitId};
use usecases::recalls::{self, Recall, RecallForm, RecallView, Recalls, UnitMeant, Unsettled};
use wording::sentences::{capital, counted, dates};
use wording::{Choice, Link, Row, Shell, Urgency, Verb};

use crate::Failure;
use crate::advice::before::open_words;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see_told, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Units of a notice said one by one, those still open first.
const SAID: usize = 200;

/// Its addresses.
pub(crate) fn routes(config: &mut web::ServiceConfig) {
    config
        .service(
            web::resource("/recalls")
                .route(web::get().to(show))
                .route(web::post().to(take)),
        )
        .service(web::resource("/recalls/{id}/back").route(web::post().to(take_back)))
        .service(web::resource("/recalls/{id}/units/{unit}").route(web::post().to(settle)));
}

#[derive(Template)]
#[template(path = "recalls/list.html")]
struct RecallsPage {
    shell: Shell,
    heading: String,
    notices: Vec<NoticePart>,
    kinds: Vec<Choice>,
    form: Typed,
    once: String,
}

/// One notice with its units.
struct NoticePart {
    id: String,
    section: String,
    name: String,
    small: String,
    said: Vec<String>,
    rows: Vec<Row>,
    once: String,
}

async fn load(desk: &Desk, state: &web::Data<State>) -> Result<Recalls, Failure> {
    let seat = desk.seat.clone();
    answer(state, move |world| recalls::recalls(world, &seat)).await
}

fn recalls_page(shell: Shell, found: &Recalls, form: Typed) -> RecallsPage {
    let open = found.all.iter().flat_map(|view| &view.units);
    let open = open.filter(|unit| unit.answer.is_none()).count() as u64;
    let typed = form.value("kind").to_owned();
    let mut kinds = vec![Choice::new("", "Choose a kind", typed.is_empty())];
    kinds.extend(
        found
            .kinds
            .iter()
            .map(|(code, name)| Choice::new(code.clone(), capital(name), typed == *code)),
    );
    RecallsPage {
        heading: match (found.all.len(), open) {
            (0, _) => "No maker’s notice is entered".to_owned(),
            (_, 0) => "No maker’s notice is open on any unit".to_owned(),
            (_, n) => format!(
                "{} to be settled upon makers’ notices",
                capital(&counted(n, "unit is", "units are"))
            ),
        },
        notices: found.all.iter().map(|view| notice(view, found)).collect(),
        kinds,
        once: form.once(),
        shell,
        form,
    }
}

fn notice(view: &RecallView, found: &Recalls) -> NoticePart {
    let recall = &view.recall;
    let kind = found.kinds.iter().find(|(code, _)| *code == recall.kind);
    let open = view.units.iter().filter(|u| u.answer.is_none()).count();
    let mut units: Vec<&UnitMeant> = view.units.iter().collect();
    units.sort_by_key(|u| u.answer.is_some());
    let mut rows: Vec<Row> = units
        .iter()
        .take(SAID)
        .map(|unit| row(recall, unit))
        .collect();
    if units.len() > SAID {
        rows.push(Row::plain(
            format!("more-{}", recall.id),
            format!(
                "{} more; those still open stand first.",
                capital(&counted((units.len() - SAID) as u64, "unit", "units"))
            ),
        ));
    }
    let mut said = vec![whom(recall, kind.map_or("unit", |(_, name)| name.as_str()))];
    if recall.do_not_use {
        said.push("Not to be used until it is done.".to_owned());
    }
    if !recall.about.is_empty() {
        said.push(format!("“{}”", recall.about.trim_end_matches('.')));
    }
    NoticePart {
        id: recall.id.to_string(),
        section: format!("notice-{}", recall.id),
        name: recall.title.clone(),
        small: format!(
            "{}; {open} of {} open",
            dates::day(recall.on),
            view.units.len()
        ),
        said,
        rows,
        once: fresh_once(),
    }
}

/// "It means every combi gas boiler of the family “the order of 2014”, serial numbers from C14-1, fitted from 1 May 2014."
fn whom(recall: &Recall, kind: &str) -> String {
    let family = match recall.family.as_str() {
        "" => String::new(),
        word => format!(" of the family “{word}”"),
    };
    let ends = |from: Option<String>, until: Option<String>| match (from, until) {
        (Some(from), Some(until)) => Some(format!("from {from} to {until}")),
        (Some(from), None) => Some(format!("from {from} on")),
        (None, Some(until)) => Some(format!("up to {until}")),
        (None, None) => None,
    };
    let some = |text: &String| (!text.is_empty()).then(|| text.clone());
    let serials = ends(some(&recall.serials.0), some(&recall.serials.1))
        .map_or_else(String::new, |ends| format!(", serial numbers {ends}"));
    let (from, until) = recall.fitted;
    let fitted = ends(from.map(dates::day), until.map(dates::day))
        .map_or_else(String::new, |ends| format!(", fitted {ends}"));
    format!("It means every {kind}{family}{serials}{fitted}.")
}

fn row(recall: &Recall, meant: &UnitMeant) -> Row {
    let unit = &meant.unit;
    let state = match (&meant.answer, meant.unsure.is_empty()) {
        (Some(answer), _) if answer.done => format!("done, said on {}", dates::day(answer.on)),
        (Some(answer), _) => format!(
            "not meant, its maker says; kept on {}",
            dates::day(answer.on)
        ),
        (None, true) => "to be done".to_owned(),
        (None, false) => "may be meant".to_owned(),
    };
    let mut row = Row::about(
        format!("u-{}-{}", recall.id, unit.id),
        Link::new(
            format!("{}, {}", unit.space_name, unit.building_name),
            format!("/units/{}", unit.id),
        ),
        format!(": {}, {state}.", unit.number),
    );
    let to = |done: &str| {
        vec![
            ("once".to_owned(), fresh_once()),
            ("done".to_owned(), done.to_owned()),
        ]
    };
    let href = format!("/recalls/{}/units/{}", recall.id, unit.id);
    if meant.answer.is_some() {
        return row.verb(Verb::post("Open it again", href, to("")));
    }
    let open = open_words(&meant.unsure);
    if !open.is_empty() {
        row.more.push(open.trim_start().to_owned());
    }
    row.urgency(urgency_of(recall))
        .verb(Verb::post("It is done", href.clone(), to("yes")))
        .verb(Verb::post("Its maker does not mean it", href, to("no")))
}

fn urgency_of(recall: &Recall) -> Urgency {
    if recall.do_not_use {
        Urgency::Late
    } else {
        Urgency::Soon
    }
}

/// What waits on Today: a row for each notice that is not settled, then what waits besides.
pub(crate) fn waiting(all: &[Unsettled], besides: Vec<Row>) -> Vec<Row> {
    let row = |open: &Unsettled| {
        let recall = &open.recall;
        let units = |n: usize| counted(n as u64, "unit", "units");
        let which = match (open.meant, open.unsure) {
            (meant, 0) => format!("means {}", units(meant)),
            (0, unsure) => format!("may mean {}", units(unsure)),
            (meant, unsure) => format!("means {} and may mean {}", units(meant), units(unsure)),
        };
        let stop = if recall.do_not_use {
            " Such units are not to be used until it is done."
        } else {
            ""
        };
        let said = format!(
            "A maker’s notice of {} {which}: “{}”.{stop}",
            dates::day(recall.on),
            recall.title
        );
        Row::plain(format!("recall-{}", recall.id), said)
            .urgency(urgency_of(recall))
            .figure((open.meant + open.unsure).to_string(), "to settle")
            .verb(Verb::link("Settle them", "/recalls"))
    };
    all.iter().map(row).chain(besides).collect()
}

async fn show(desk: Desk, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let found = load(&desk, &state).await?;
    let form = Typed::starting_with([("once", fresh_once()), ("on", dates::machine(found.today))]);
    page(&recalls_page(desk.shell(&state, "recalls"), &found, form))
}

async fn take(
    desk: Desk,
    state: web::Data<State>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (on, from, until) = (
        form.date("on"),
        form.date("fitted_from"),
        form.date("fitted_until"),
    );
    if on.is_none() && form.error("on").is_none() {
        form.complain("on", "Say of which day the notice is.");
    }
    if let (Some(on), false) = (on, form.is_wrong()) {
        let text = |name: &str| form.value(name).to_owned();
        let asked = RecallForm {
            kind: text("kind"),
            family: text("family"),
            serials: (text("serial_from"), text("serial_until")),
            fitted: (from, until),
            title: text("title"),
            about: text("about"),
            do_not_use: form.ticked("do_not_use"),
            on,
        };
        let (seat, once) = (desk.seat.clone(), form.once());
        let done = ask(&state, move |world| {
            recalls::enter_recall(world, &seat, asked, &once)
        });
        match done.await {
            Ok(_) => return Ok(see_told("/recalls", "The notice is entered.")),
            Err(error) => form.take_wrongs(error)?,
        }
    }
    let found = load(&desk, &state).await?;
    wrong(&recalls_page(desk.shell(&state, "recalls"), &found, form))
}

async fn settle(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let (recall, unit) = path.into_inner();
    let recall: RecallId = id_of(&recall, "notice")?;
    let unit: UnitId = id_of(&unit, "unit")?;
    let form = form.into_inner();
    let done = match form.value("done") {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    answer(&state, move |world| {
        recalls::settle_recall(world, &seat, (recall, unit, done), &once)
    })
    .await?;
    let said = match done {
        Some(true) => "It is kept as done.",
        Some(false) => "It is kept as not meant.",
        None => "It is open again.",
    };
    Ok(see_told("/recalls", said))
}

async fn take_back(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id: RecallId = id_of(&path, "notice")?;
    let (seat, once) = (desk.seat.clone(), form.into_inner().once());
    answer(&state, move |world| {
        recalls::take_back_recall(world, &seat, id, &once)
    })
    .await?;
    Ok(see_told(
        "/recalls",
        "The notice is taken back; it stays on record.",
    ))
}
