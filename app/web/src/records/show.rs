//! A record on one page, to be printed.
use actix_web::{HttpResponse, web};
use askama::Template;
use chrono::NaiveDate;
use terms::RecordKind;
use usecases::Seat;
use usecases::records::{self, Content, RecordView};
use wording::sentences::{capital, counted, dates};
use wording::{Choice, Fact, Shell, Table};

use super::{named, seat_of, words};
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::page;
use crate::seats::Visitor;
use crate::state::{State, answer};
use crate::when;

/// One answer that may still be given.
pub(super) struct Later {
    pub name: String,
    pub label: String,
    pub hint: String,
    /// Yes and no, or none and found; empty for a line of text.
    pub choices: Vec<Choice>,
}

#[derive(Template)]
#[template(path = "records/record.html")]
pub(super) struct RecordPage {
    shell: Shell,
    title: String,
    heading: String,
    standing: String,
    draft: bool,
    gaps: Vec<String>,
    people: Vec<Fact>,
    items: Option<Table>,
    defects: Option<Table>,
    no_defects: &'static str,
    examined: &'static str,
    readings: Option<Table>,
    not_taken: Vec<String>,
    work: Vec<Fact>,
    findings: Vec<String>,
    signed: Vec<Fact>,
    since: Vec<String>,
    basis: &'static str,
    kind: RecordKind,
    address: String,
    later: Vec<Later>,
    may_issue: bool,
    copy: bool,
    desk: bool,
    form: Typed,
    once: String,
}

/// The page.
pub(super) async fn show(
    visitor: Visitor,
    state: web::Data<State>,
    path: web::Path<(String, String)>,
) -> Result<HttpResponse, Failure> {
    let named = named(&path)?;
    let seat = seat_of(&visitor, &state, named.0).await?;
    let view = load(&state, &seat, named).await?;
    let shell = visitor.shell_as(&state, &seat, "records");
    page(&record_page(shell, &seat, &view, Typed::default()))
}

pub(super) async fn load(
    state: &web::Data<State>,
    seat: &Seat,
    named: (terms::JobId, RecordKind),
) -> Result<RecordView, Failure> {
    let seat = seat.clone();
    answer(state, move |world| records::record(world, &seat, named)).await
}

pub(super) fn record_page(shell: Shell, seat: &Seat, view: &RecordView, form: Typed) -> RecordPage {
    let c = &view.content;
    let draft = view.issued.is_none();
    let name = capital(view.kind.words());
    let heading = match (&view.issued, view.gaps.len()) {
        (Some(_), _) => name.clone(),
        (None, 0) => format!("{name}: a draft, not issued yet"),
        (None, n) => format!(
            "Draft, not a {}: {} missing",
            view.kind.words(),
            counted(n as u64, "item is", "items are")
        ),
    };
    RecordPage {
        shell,
        title: format!("{name}, {}", c.place),
        heading,
        standing: format!(
            "{}, {} {} on {}.",
            c.place,
            c.unit_kind,
            words::verb(view.kind),
            dates::day_full(c.on)
        ),
        draft,
        gaps: view.gaps.iter().map(|gap| words::gap(gap, c)).collect(),
        people: people(c),
        items: items(c),
        defects: defects(c),
        no_defects: match &c.defects {
            Some(_) => "None found.",
            None => "Not answered.",
        },
        examined: if c.examined_26_9 {
            "Examined as regulation 26(9) asks: flue, combustion air, operating pressure or heat input, safe working."
        } else {
            "Not confirmed."
        },
        readings: readings(c),
        not_taken: c
            .not_taken
            .iter()
            .map(|(label, why)| format!("{label}, not taken: {why}"))
            .collect(),
        work: work(c),
        findings: c.findings.clone(),
        signed: signed(view),
        since: since(view),
        basis: words::basis(view.kind),
        kind: view.kind,
        address: format!("/records/{}/{}", view.job, view.kind.code()),
        later: if view.may_add {
            later(view)
        } else {
            Vec::new()
        },
        may_issue: view.may_issue,
        copy: draft && c.source != "phone",
        desk: matches!(seat.role(), terms::Role::Agent | terms::Role::Supervisor),
        once: match form.value("once") {
            "" => fresh_once(),
            key => key.to_owned(),
        },
        form,
    }
}

fn or_missing(text: &str) -> String {
    if text.is_empty() {
        "missing".to_owned()
    } else {
        text.to_owned()
    }
}

fn people(c: &Content) -> Vec<Fact> {
    let unit = format!("{} {}", capital(&c.unit_kind), c.unit_number);
    let left = c
        .left_at
        .map(|at| format!(" to {}", when::local(at).format("%H:%M")));
    vec![
        Fact::new("Premises", or_missing(&c.premises())),
        Fact::new("Landlord or agent", or_missing(&c.sender.name)),
        Fact::new("Their address", or_missing(&c.sender.address)),
        Fact::new(
            "Visit",
            format!(
                "{}{}",
                dates::moment(when::local(c.arrived_at)),
                left.unwrap_or_default()
            ),
        ),
        Fact::new("Engineer", or_missing(&c.engineer)),
        Fact::typed("Registration number", or_missing(&c.registration)),
        Fact::new("Firm", or_missing(&c.firm)),
        Fact::new("Unit", unit),
        Fact::typed("Job", c.job_number.clone()),
    ]
}

fn items(c: &Content) -> Option<Table> {
    let rows: Vec<Vec<String>> = c
        .items
        .iter()
        .map(|item| {
            vec![
                or_missing(&item.description),
                or_missing(&item.location),
                or_missing(&item.result),
            ]
        })
        .collect();
    (!rows.is_empty()).then(|| Table::new(&["Appliance or flue", "Where", "Result"], rows))
}

fn defects(c: &Content) -> Option<Table> {
    let rows: Vec<Vec<String>> = c
        .defects
        .iter()
        .flatten()
        .map(|d| vec![or_missing(&d.text), or_missing(&d.action)])
        .collect();
    (!rows.is_empty()).then(|| Table::new(&["Safety defect", "What was done"], rows))
}

fn readings(c: &Content) -> Option<Table> {
    let rows: Vec<Vec<String>> = c
        .readings
        .iter()
        .map(|line| {
            let until = line.calibrated_until.map(|day| {
                let on = dates::day_brief(day);
                format!("{on}\u{a0}{}", chrono::Datelike::year(&day))
            });
            vec![
                line.label.clone(),
                line.before.clone(),
                line.after.clone(),
                line.instrument.clone(),
                until.unwrap_or_default(),
            ]
        })
        .collect();
    let heads = [
        "Reading",
        "As found",
        "As left",
        "Measured with",
        "Calibrated to",
    ];
    (!rows.is_empty()).then(|| Table::new(&heads, rows))
}

fn work(c: &Content) -> Vec<Fact> {
    let mut facts = vec![Fact::new("What was done", or_missing(&c.work))];
    if !c.fitted.is_empty() {
        facts.push(Fact::new("Part fitted", c.fitted.clone()));
    }
    facts.push(Fact::new("How it was left", capital(c.left.words())));
    let told = match (c.told, c.not_told_why.as_str()) {
        (Some(true), _) => "told what comes next".to_owned(),
        (Some(false) | None, "") => "missing".to_owned(),
        (_, why) => format!("not told: {why}"),
    };
    facts.push(Fact::new("Resident", told));
    if !c.next_words.is_empty() {
        facts.push(Fact::new("What comes next", c.next_words.clone()));
    }
    for duty in &c.duties {
        let said = match (duty.done_on, duty.whole) {
            (None, _) => "not done at this visit".to_owned(),
            (Some(_), false) => "not the whole of it: the date stays".to_owned(),
            (Some(_), true) => next(duty.next),
        };
        facts.push(Fact::new(duty.name.clone(), said));
    }
    facts
}

fn next(day: Option<NaiveDate>) -> String {
    match day {
        Some(day) => format!("every item; next by {}", dates::day(day)),
        None => "every item".to_owned(),
    }
}

fn signed(view: &RecordView) -> Vec<Fact> {
    let c = &view.content;
    let mut facts = match &view.issued {
        Some(issued) => vec![
            Fact::typed("Number", issued.number.clone()),
            Fact::new("Signed, as typed", issued.signature.clone()),
            Fact::new("Issued", dates::moment(when::local(issued.at))),
            Fact::typed("Digest of this record", shorter(&issued.digest)),
        ],
        None => vec![Fact::new("Signed", "not yet")],
    };
    facts.push(Fact::typed("Rule book", shorter(&c.rule_book)));
    facts
}

/// The first 24 characters: enough to compare by eye.
fn shorter(text: &str) -> String {
    text.chars().take(24).collect()
}

fn since(view: &RecordView) -> Vec<String> {
    let or_none = |text: &str| {
        if text.is_empty() {
            "nothing".to_owned()
        } else {
            format!("“{text}”")
        }
    };
    view.since
        .iter()
        .map(|change| {
            format!(
                "{}: this record says {}; on record now is {}.",
                change.what,
                or_none(&change.then),
                or_none(&change.now)
            )
        })
        .collect()
}

/// The answers that fill what is missing.
fn later(view: &RecordView) -> Vec<Later> {
    let text = |name: String, label: String| Later {
        name,
        label,
        hint: String::new(),
        choices: Vec::new(),
    };
    let mut asked = Vec::new();
    for path in &view.gaps {
        let item = words::numbered(path, "items")
            .filter(|(_, what)| *what == "location")
            .and_then(|(i, _)| view.content.items.get(i));
        if let Some(item) = item {
            let label = format!("Where it stands: {}", item.description);
            asked.push(text(format!("gc.{}.where", item.n), label));
        }
        let defect = words::numbered(path, "defects").and_then(|(i, what)| {
            let n = view.content.defects.as_ref()?.get(i)?.n?;
            Some((n, what))
        });
        match defect {
            Some((n, "text")) => asked.push(text(
                format!("gc_d.{n}.words"),
                format!("What defect {n} is"),
            )),
            Some((n, _)) => asked.push(text(
                format!("gc_d.{n}.action"),
                format!("What was done about defect {n}"),
            )),
            None => {}
        }
        match path.as_str() {
            "examination_26_9_confirmed" => asked.push(Later {
                name: "gc_26_9".to_owned(),
                label: "Examined as regulation 26(9) asks?".to_owned(),
                hint: "Flue, combustion air, operating pressure or heat input, safe working."
                    .to_owned(),
                choices: vec![Choice::new("yes", "Yes, each of them", false)],
            }),
            "defects" => asked.push(Later {
                name: "gc_defects".to_owned(),
                label: "Safety defects".to_owned(),
                hint: String::new(),
                choices: vec![
                    Choice::new("none", "None found", false),
                    Choice::new("found", "Found", false),
                ],
            }),
            _ => {}
        }
    }
    asked
}
