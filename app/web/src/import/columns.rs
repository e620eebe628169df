//! Which column is what, and which way round the dates are.
use std::collections::BTreeMap;

use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::import::{self, Column, Field, ListKind, MatchForm, Order, View};
use wording::{Choice, Shell};

use super::words;
use crate::Failure;
use crate::form::{Typed, fresh_once, id_of};
use crate::page::{page, see, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// One column as a row of the table.
struct ColumnRow {
    name: String,
    heading: String,
    samples: String,
    fields: Vec<Choice>,
    note: &'static str,
    error: Option<String>,
}

/// The question which way round dates are.
struct OrderAsked {
    name: String,
    legend: String,
    choices: Vec<Choice>,
}

#[derive(Template)]
#[template(path = "import/columns.html")]
struct ColumnsPage {
    shell: Shell,
    file: String,
    size: String,
    finding: String,
    standing: String,
    import: String,
    once: String,
    kind_words: &'static str,
    heading_row: u32,
    rows: Vec<ColumnRow>,
    orders: Vec<OrderAsked>,
    form: Typed,
}

fn filled(desk: &Desk, state: &State, view: &View, form: Typed) -> ColumnsPage {
    let preview = &view.preview;
    let rows = preview
        .columns
        .iter()
        .enumerate()
        .map(|(place, column)| row(place, column, preview.kind, &form))
        .collect();
    ColumnsPage {
        shell: desk.shell(state, "import"),
        file: view.head.name.clone(),
        size: words::size(preview),
        finding: words::columns_finding(preview),
        standing: words::columns_standing(preview),
        import: view.head.id.to_string(),
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        kind_words: words::kind(preview.kind),
        heading_row: preview.heading_row,
        rows,
        orders: orders(&preview.columns, &form),
        form,
    }
}

fn row(place: usize, column: &Column, kind: ListKind, form: &Typed) -> ColumnRow {
    let name = format!("c{place}");
    let error = form.error(&name).map(str::to_owned);
    let chosen = match form.value(&name) {
        "" => column.field.map_or("out", Field::code).to_owned(),
        typed => typed.to_owned(),
    };
    let mut fields: Vec<Choice> = Field::of(kind)
        .iter()
        .map(|f| Choice::new(f.code(), f.label(), chosen == f.code()))
        .collect();
    fields.push(Choice::new("out", "Leave this column out", chosen == "out"));
    ColumnRow {
        name,
        heading: column.heading.clone(),
        samples: column.samples.join(" · "),
        fields,
        note: words::how(column),
        error,
    }
}

fn orders(columns: &[Column], form: &Typed) -> Vec<OrderAsked> {
    columns
        .iter()
        .enumerate()
        .filter_map(|(place, column)| {
            let dates = column.dates.as_ref()?;
            if dates.example.is_empty() {
                return None;
            }
            let name = format!("d{place}");
            let typed = form.value(&name);
            let is = |order: Order, code: &str| match typed {
                "" => !dates.asks && dates.order == order,
                typed => typed == code,
            };
            let (day, month) = words::both_ways(&dates.example);
            let choices = vec![
                Choice::new("day_first", day, is(Order::DayFirst, "day_first"))
                    .hint(words::only_so("Day first.", dates.day_first)),
                Choice::new("month_first", month, is(Order::MonthFirst, "month_first"))
                    .hint(words::only_so("Month first.", dates.month_first)),
            ];
            Some(OrderAsked {
                name,
                legend: format!("In “{}”, {} means", column.heading, dates.example),
                choices,
            })
        })
        .collect()
}

/// The page.
pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let seat = desk.seat.clone();
    let view = answer(&state, move |world| {
        let (head, _) = import::standing(world, &seat, id)?;
        if head.state != "preview" {
            return Ok(None);
        }
        import::view(world, &seat, id).map(Some)
    })
    .await?;
    let Some(view) = view else {
        return Ok(see(&format!("/import/{id}")));
    };
    page(&filled(&desk, &state, &view, Typed::default()))
}

/// Takes the columns.
pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let mut form = form.into_inner();
    let seat = desk.seat.clone();
    let view = answer(&state, move |world| import::view(world, &seat, id)).await?;
    let chosen = read(&mut form, &view);
    if form.is_wrong() {
        return wrong(&filled(&desk, &state, &view, form));
    }
    let (seat, once) = (desk.seat.clone(), form.once());
    let done = ask(&state, move |world| {
        import::match_columns(world, &seat, id, chosen, &once)
    })
    .await;
    match done {
        Ok(()) => Ok(see(&format!("/import/{id}"))),
        Err(error) => {
            form.take_wrongs(error).map_err(Failure)?;
            wrong(&filled(&desk, &state, &view, form))
        }
    }
}

fn read(form: &mut Typed, view: &View) -> MatchForm {
    let mut chosen = MatchForm {
        columns: Vec::new(),
        orders: BTreeMap::new(),
    };
    for (place, column) in view.preview.columns.iter().enumerate() {
        let name = format!("c{place}");
        let field = match form.value(&name).to_owned().as_str() {
            "" => column.field,
            "out" => None,
            code => {
                let field = Field::from_code(code);
                if field.is_none() {
                    form.complain(&name, "Choose one of the list.");
                }
                field
            }
        };
        chosen.columns.push(field);
        let name = format!("d{place}");
        match form.value(&name) {
            "day_first" => {
                chosen.orders.insert(place, Order::DayFirst);
            }
            "month_first" => {
                chosen.orders.insert(place, Order::MonthFirst);
            }
            _ => {
                // What was said before stays said.
                if let Some(order) = view.matching.orders.get(&place) {
                    chosen.orders.insert(place, *order);
                }
            }
        }
    }
    chosen
}

/// Takes the order of one column, said on the preview.
pub(super) async fn say_order(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let id = id_of(&path, "list")?;
    let form = form.into_inner();
    let nowhere = || Failure(usecases::Error::NotFound("column of dates"));
    let place: usize = form.value("place").parse().ok().ok_or_else(nowhere)?;
    let order = match form.value("order") {
        "day_first" => Order::DayFirst,
        "month_first" => Order::MonthFirst,
        _ => return Err(nowhere()),
    };
    let (seat, once) = (desk.seat.clone(), form.once());
    answer(&state, move |world| {
        import::say_order(world, &seat, id, (place, order), &once)
    })
    .await?;
    Ok(see(&format!("/import/{id}")))
}
