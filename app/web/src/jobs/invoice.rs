//! A job's invoice beside its quote, and entering one.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::Pence;
use usecases::cost_demands;
use usecases::invoices::{self, Invoices, LineDifference, Matched, NewInvoice};
use wording::sentences::{counted, dates, money};
use wording::{Choice, Row, Shell, Table, Urgency, Why};

use super::job_id;
use super::words::place;
use crate::Failure;
use crate::advice::before;
use crate::duties::NOT_ADVICE;
use crate::form::{Typed, fresh_once};
use crate::page::{page, told_unless_wrong, wrong};
use crate::seats::Desk;
use crate::state::{State, answer, ask};

/// Lines on the form, at least.
const LINES: usize = 6;

/// One invoice as shown.
struct Billed {
    id: String,
    heading: String,
    dated: String,
    finding: String,
    rows: Vec<Row>,
    lines: Table,
    /// By when those who pay towards it are asked.
    asked_by: Row,
}

#[derive(Template)]
#[template(path = "jobs/invoice.html")]
pub(super) struct InvoicePage {
    shell: Shell,
    job: String,
    number: String,
    heading: String,
    standing: String,
    before: Vec<Row>,
    billed: Vec<Billed>,
    /// The invoices whose cost may be demanded; none where no rules are held.
    serve_of: Vec<Choice>,
    /// Demand or notice.
    may_serve: Vec<Choice>,
    quote: Option<Table>,
    /// Number, words, sum of each line of the form.
    ask: Vec<(usize, String, String)>,
    form: Typed,
    once: String,
}

/// Lines with their VAT, and the sum.
fn table_of(lines: &[(String, Pence, f64)], (vat, total): (Pence, Pence)) -> Table {
    let rows = lines
        .iter()
        .map(|(what, net, percent)| vec![what.clone(), net.to_string(), format!("{percent} %")])
        .collect();
    let mut table = Table::new(&["What", "Without VAT", "VAT"], rows).numbers(&[1, 2]);
    table.sum = Some(vec![
        "With VAT".to_owned(),
        total.to_string(),
        format!("{vat} of it"),
    ]);
    table
}

pub(super) async fn page_of(
    desk: &Desk,
    state: &web::Data<State>,
    id: &str,
    typed: &Typed,
) -> Result<InvoicePage, Failure> {
    let (seat, job) = (desk.seat.clone(), job_id(id)?);
    let seen = answer(state, move |world| invoices::invoices(world, &seat, job)).await?;
    let mut form = Typed::starting_with([
        ("vat", "20".to_owned()),
        ("dated", dates::machine(seen.today)),
        ("served_on", dates::machine(seen.today)),
    ]);
    form.lay_over(typed);
    let quote = seen.quote.as_ref();
    Ok(InvoicePage {
        shell: desk.shell(state, "jobs"),
        job: seen.job.id.to_string(),
        number: seen.job.number.clone(),
        heading: heading(&seen),
        standing: format!(
            "{}. Agreeing it is the next step, on the job’s own page.",
            place(&seen.job)
        ),
        before: before::rows(&seen.before),
        billed: seen.billed.iter().map(billed).collect(),
        serve_of: serve_of(&seen, &form),
        may_serve: may_serve(&form),
        quote: quote.map(|q| {
            let lines: Vec<(String, Pence, f64)> = q
                .body
                .lines
                .iter()
                .map(|l| (l.what.clone(), l.net, l.vat_percent))
                .collect();
            table_of(&lines, (q.body.vat, q.body.total))
        }),
        ask: lines_asked(&seen, &form),
        once: match typed.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    })
}

/// The form's lines: as typed, else named as the quote names them.
fn lines_asked(seen: &Invoices, form: &Typed) -> Vec<(usize, String, String)> {
    let quoted: Vec<&str> = seen
        .quote
        .iter()
        .flat_map(|q| q.body.lines.iter().map(|l| l.what.as_str()))
        .collect();
    (1..=LINES.max(quoted.len() + 2))
        .map(|n| {
            let typed = form.value(&format!("what.{n}"));
            let named = quoted.get(n - 1).copied().unwrap_or_default();
            let what = if typed.is_empty() && form.value("number").is_empty() {
                named
            } else {
                typed
            };
            (
                n,
                what.to_owned(),
                form.value(&format!("net.{n}")).to_owned(),
            )
        })
        .collect()
}

fn heading(seen: &Invoices) -> String {
    match (seen.billed.last(), &seen.quote) {
        (None, Some(q)) => format!("Nothing is billed yet; {} was quoted", q.body.total),
        (None, None) => "Nothing is billed yet, and nothing was quoted".to_owned(),
        (Some(m), _) => match m.over {
            None => format!("{} is billed; nothing was quoted", m.invoice.total),
            Some(Pence(0)) => format!("{} is billed, as quoted", m.invoice.total),
            Some(over) if over.0 > 0 => {
                format!("{} is billed, {over} over the quote", m.invoice.total)
            }
            Some(over) => format!(
                "{} is billed, {} under the quote",
                m.invoice.total,
                Pence(-over.0)
            ),
        },
    }
}

fn billed(m: &Matched) -> Billed {
    let invoice = &m.invoice;
    let mut rows: Vec<Row> = (1..)
        .zip(&m.differences)
        .map(|(n, d)| difference(&format!("{}-{n}", invoice.id), d))
        .collect();
    if !m.also_on.is_empty() {
        rows.push(Row::plain(
            format!("{}-twice", invoice.id),
            format!(
                "The same firm’s invoice of this number is on record for {} too: it may be billed twice.",
                wording::sentences::list(&m.also_on)
            ),
        ));
    }
    let count = m.differences.len() as u64;
    let finding = match (m.over, count) {
        (None, _) => "There is no quote to match it with.".to_owned(),
        (Some(_), 0) => "Every line is as quoted.".to_owned(),
        (Some(over), _) => {
            let many = counted(count, "line parts", "lines part");
            let sum = match over.0 {
                0 => "together they come to the same sum, VAT in it".to_owned(),
                n if n > 0 => format!("together {over} more than quoted, VAT in it"),
                n => format!("together {} less than quoted, VAT in it", Pence(-n)),
            };
            wording::sentences::capital(&format!("{many} from the quote; {sum}."))
        }
    };
    let lines: Vec<(String, Pence, f64)> = invoice
        .lines
        .iter()
        .map(|l| (l.what.clone(), l.net, l.vat_percent))
        .collect();
    Billed {
        id: format!("invoice-{}", invoice.id),
        heading: format!("Invoice {}", invoice.number),
        dated: dates::day(invoice.dated),
        finding,
        rows,
        lines: table_of(&lines, (invoice.vat, invoice.total)),
        asked_by: asked_by(m),
    }
}

/// The eighteen months, in one line with its reason.
fn asked_by(m: &Matched) -> Row {
    let recovery = &m.recovery;
    let row = Row::plain(format!("served-{}", m.invoice.id), recovery.sentence()).why(Why::this(vec![
        "A demand is made not more than 18 months after the cost, or notice of it is given within 18 months beginning with \
         its day; the earlier of the two is said."
            .to_owned(),
        format!("Basis: law. How the rule is known: {}.", cost_demands::STATUS),
        NOT_ADVICE.to_owned(),
    ]));
    match recovery.clock {
        Some(clock) if clock.in_time == Some(false) => row.urgency(Urgency::Late),
        _ => row,
    }
}

/// The invoices for which rules are held, by their own numbers; the one asked about last is chosen.
fn serve_of(seen: &Invoices, form: &Typed) -> Vec<Choice> {
    let typed = form.value("of");
    seen.billed
        .iter()
        .filter(|m| m.recovery.clock.is_some())
        .map(|m| {
            let number = m.invoice.number.clone();
            let label = format!("{number} of {}", dates::day(m.invoice.dated));
            let is = number == typed;
            Choice::new(number, label, is)
        })
        .collect()
}

fn may_serve(form: &Typed) -> Vec<Choice> {
    let typed = form.value("served");
    [
        ("demand", "Demanded on that day"),
        ("notice", "Notice of it given on that day"),
    ]
    .map(|(code, words)| Choice::new(code, words, code == typed))
    .to_vec()
}

fn difference(id: &str, d: &LineDifference) -> Row {
    let net = d.net();
    let more = |net: Pence| {
        if net.0 > 0 {
            format!("{net} more")
        } else {
            format!("{} less", Pence(-net.0))
        }
    };
    let (words, small) = match d {
        LineDifference::Sum {
            what,
            quoted,
            billed,
        } => (
            format!(
                "{what}: {} was quoted and {} is billed.",
                money::exact(*quoted),
                money::exact(*billed)
            ),
            "without VAT",
        ),
        LineDifference::NotQuoted { what, billed } => (
            format!(
                "{what}: {} is billed and was not quoted.",
                money::exact(*billed)
            ),
            "without VAT",
        ),
        LineDifference::NotBilled { what, quoted } => (
            format!(
                "{what}: {} was quoted and is not billed.",
                money::exact(*quoted)
            ),
            "without VAT",
        ),
        LineDifference::Vat {
            what,
            quoted,
            billed,
        } => {
            let words = format!("{what}: VAT at {quoted} % was quoted, {billed} % is billed.");
            return Row::plain(id, words);
        }
    };
    Row::plain(id, words).figure(more(net), small)
}

pub(super) async fn show(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    page(&page_of(&desk, &state, &path, &Typed::default()).await?)
}

fn read(form: &mut Typed, job: terms::JobId) -> Option<NewInvoice> {
    let vat = form.number("vat", 0.0, 30.0);
    let (dated, total) = (form.date("dated"), form.pounds("total"));
    let mut lines = Vec::new();
    let mut n = 1;
    while n <= LINES || !form.value(&format!("what.{n}")).is_empty() {
        let sum = form.value(&format!("net.{n}")).trim().to_owned();
        let what = form.value(&format!("what.{n}")).trim().to_owned();
        if !sum.is_empty() {
            match Pence::parse_pounds(&sum) {
                Some(net) => lines.push((what, net, vat.unwrap_or(20.0))),
                None => form.complain(
                    "lines",
                    format!("Line {n}: “{sum}” is not an amount such as 412.00."),
                ),
            }
        }
        n += 1;
    }
    if dated.is_none() && form.error("dated").is_none() {
        form.complain("dated", "Say the date on the invoice.");
    }
    if vat.is_none() && form.error("vat").is_none() {
        form.complain("vat", "Say the rate of VAT.");
    }
    let (dated, false) = (dated?, form.is_wrong()) else {
        return None;
    };
    Some(NewInvoice {
        job,
        number: form.value("number").to_owned(),
        dated,
        lines,
        total,
        words: form.value("words").to_owned(),
    })
}

pub(super) async fn take(
    desk: Desk,
    state: web::Data<State>,
    path: web::Path<String>,
    form: web::Form<Typed>,
) -> Result<HttpResponse, Failure> {
    let mut form = form.into_inner();
    let (job, once) = (job_id(&path)?, form.once());
    if let Some(new) = read(&mut form, job) {
        let seat = desk.seat.clone();
        let done = ask(&state, move |world| {
            invoices::enter_invoice(world, &seat, &new, &once)
        });
        let here = format!("/jobs/{job}/invoice");
        let there = (here.as_str(), "The invoice is entered and matched.");
        if let Some(told) = told_unless_wrong(done.await, &mut form, there)? {
            return Ok(told);
        }
    }
    wrong(&page_of(&desk, &state, &path, &form).await?)
}
