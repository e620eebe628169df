//! One advice: the answers kept apart, the drawings, the options, what is not known, and the decision. The pack is the
//! same on two printed pages.
use actix_web::{HttpResponse, web};
use askama::Template;
use terms::{AdviceId, Pence, Role};
use usecases::advice::{self, AdvicePage};
use wording::sentences::{counted, dates, money};
use wording::{Choice, Drawing, Fact, Link, Row, Shell, Table};

use super::{drawings, sources, words};
use crate::Failure;
use crate::form::{Typed, fresh_once};
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};
use crate::when;

/// One course in its column.
struct Column {
    title: String,
    verdict: String,
    facts: Vec<Fact>,
}

/// What both forms of the page show.
#[derive(Template)]
#[template(path = "advice/show.html")]
pub(super) struct ShowPage {
    shell: Shell,
    title: String,
    heading: String,
    standing: String,
    facts: Vec<String>,
    number: String,
    answers: Vec<Row>,
    inputs: Table,
    fork: Option<Drawing>,
    kept: Option<Drawing>,
    limits: Option<Drawing>,
    limit_words: Vec<String>,
    columns: Vec<Column>,
    ruled: Vec<Row>,
    later: Vec<Row>,
    doubts: Option<Drawing>,
    doubts_words: String,
    unknowns: Vec<Row>,
    quote: Option<Table>,
    quote_words: String,
    decided: Option<String>,
    newer: Option<Link>,
    may_decide: bool,
    by_desk: bool,
    decide_note: String,
    choices: Vec<Choice>,
    hows: Vec<Choice>,
    form: Typed,
    once: String,
    href: String,
    standing_words: &'static str,
}

/// The two pages to print.
#[derive(Template)]
#[template(path = "advice/pack.html")]
struct PackPage {
    shell: Shell,
    number: String,
    place: String,
    heading: String,
    answers: Vec<Row>,
    history: Vec<Row>,
    fork: Option<Drawing>,
    limits: Option<Drawing>,
    limit_words: Vec<String>,
    columns: Vec<Column>,
    ruled: Vec<Row>,
    later: Vec<Row>,
    doubts: Option<Drawing>,
    sources: String,
    sign: Vec<Fact>,
    href: String,
    today: String,
}

/// The page of one advice.
pub(crate) async fn page_of(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let seen = load(&reader, &state, &path).await?;
    let by_desk = reader.seat.role() != Role::Landlord;
    page(&build(
        &seen,
        reader.shell(&state, "advice"),
        by_desk,
        Typed::default(),
    ))
}

/// The pack.
pub(crate) async fn pack(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let seen = load(&reader, &state, &path).await?;
    let shell = reader.shell(&state, "advice");
    let today = when::day_words(state.world.now());
    page(&pack_page(&seen, shell, today))
}

pub(super) async fn load(
    reader: &Reader,
    state: &web::Data<State>,
    path: &str,
) -> Result<AdvicePage, Failure> {
    let id: AdviceId = path
        .parse()
        .map_err(|_| Failure(usecases::Error::NotFound("advice")))?;
    let seat = reader.seat.clone();
    answer(state, move |world| advice::advice_page(world, &seat, id)).await
}

pub(super) fn build(seen: &AdvicePage, shell: Shell, by_desk: bool, form: Typed) -> ShowPage {
    let a = &seen.listed;
    let (ruled, later) = sources::not_compared(seen);
    let href = format!("/advice/{}", a.id);
    let once = match form.value("once") {
        "" => fresh_once(),
        kept => kept.to_owned(),
    };
    ShowPage {
        shell,
        title: format!(
            "Advice for {}",
            words::place(&a.unit.space_name, &a.unit.building_name)
        ),
        heading: words::heading(a),
        standing: words::standing(a),
        facts: vec![
            words::unit_there(a),
            format!("as known on {}", dates::day(seen.known_on)),
            format!("made by {}", seen.made_by),
        ],
        number: a.unit.number.clone(),
        answers: answers(seen),
        inputs: sources::table(seen),
        fork: drawings::fork(a, seen.known_on),
        kept: drawings::keep_years(a),
        limits: drawings::two_limits(a),
        limit_words: limit_words(seen),
        columns: columns(seen),
        ruled,
        later,
        doubts: drawings::doubts(a),
        doubts_words: drawings::turns_words(a),
        unknowns: sources::unknowns(seen),
        quote: quote_table(seen),
        quote_words: quote_words(seen),
        decided: a.decision.as_ref().map(words::decided),
        newer: seen.newer.map(|id| {
            Link::new(
                "A newer advice stands in this one’s place",
                format!("/advice/{id}"),
            )
        }),
        may_decide: seen.may_decide,
        by_desk,
        decide_note: decide_note(seen),
        choices: choices(seen, form.value("choice")),
        hows: hows(seen, form.value("how")),
        form,
        once,
        href,
        standing_words: words::STANDING,
    }
}

fn pack_page(seen: &AdvicePage, shell: Shell, today: String) -> PackPage {
    let a = &seen.listed;
    let (ruled, later) = sources::not_compared(seen);
    let by = a
        .decide_by()
        .map(|day| format!(" Please decide by {}.", dates::day_full(day)))
        .unwrap_or_default();
    let cost = a
        .asks_for()
        .map(|price| format!(", for {}", money::exact(price)))
        .unwrap_or_default();
    let decision = a.decision.as_ref().map(words::decided);
    PackPage {
        number: a.unit.number.clone(),
        place: words::place(&a.unit.space_name, &a.unit.building_name),
        heading: format!("{}{cost}.{by}", words::heading(a)),
        answers: answers(seen),
        history: history(seen),
        fork: drawings::fork(a, seen.known_on),
        limits: drawings::two_limits(a),
        limit_words: limit_words(seen),
        columns: columns(seen),
        ruled,
        later,
        doubts: drawings::doubts(a),
        sources: pack_sources(seen),
        sign: vec![
            Fact::new("Prepared by", format!("{}, {today}", seen.made_by)),
            Fact::new("Decision", decision.unwrap_or_else(|| "\u{a0}".to_owned())),
            Fact::new("Signed for the landlord", "\u{a0}"),
            Fact::new("Date", "\u{a0}"),
            Fact::typed("Head of the record", shorter(&seen.record_head)),
            Fact::typed("Digest of this advice", shorter(&seen.digest)),
        ],
        shell,
        href: format!("/advice/{}", a.id),
        today,
    }
}

/// The first 24 characters: enough to compare by eye.
fn shorter(text: &str) -> String {
    text.chars().take(24).collect()
}

fn answers(seen: &AdvicePage) -> Vec<Row> {
    let a = &seen.listed;
    let advice = &a.answer.advice;
    let Some(best) = advice.best_keep else {
        return vec![Row::plain("best", "No course was compared.")];
    };
    let then = match &advice.keep_then {
        Some(code) if *code == a.unit.kind => "like for like",
        Some(_) => "with another kind",
        None => "with a new one",
    };
    let repaired = if a.quote.is_some() {
        "If it is repaired, the best course is to keep it"
    } else {
        "If it is kept, the best course is to keep it"
    };
    let breaks = match advice.break_even_year {
        Some(year) => format!(
            "From the {} year on, a further year of keeping costs more than a year of a new one.",
            ordinal(year)
        ),
        None => format!(
            "Within {} no further year of keeping costs more than a year of a new one.",
            counted(u64::from(drawings::horizon(a)), "year", "years")
        ),
    };
    let mut rows = vec![
        Row::plain(
            "best",
            format!(
                "{repaired} {} and then replace it {then}. {breaks}",
                words::more_years(a)
            ),
        )
        .figure(
            wording::sentences::plural(u64::from(best), "year", "years"),
            if a.quote.is_some() {
                "best, if repaired"
            } else {
                "best"
            },
        ),
    ];
    rows.extend(advantage_row(seen));
    let last = drawings::horizon(a);
    if let Some(dearer) = drawings::dearer(a, last).filter(|_| last != best) {
        let (sum, way) = apart(dearer);
        let years = counted(u64::from(last), "more year", "more years");
        rows.push(
            Row::plain(
                "longest",
                format!(
                    "Keeping it {years} would cost {sum} {} than replacing now.",
                    way.0
                ),
            )
            .figure(sum, way.1),
        );
    }
    rows
}

/// Its size, and which way: ("more", "dearer").
fn apart(dearer: Pence) -> (String, (&'static str, &'static str)) {
    if dearer.0 >= 0 {
        (dearer.to_string(), ("more", "dearer than replacing"))
    } else {
        (
            Pence(-dearer.0).to_string(),
            ("less", "cheaper than replacing"),
        )
    }
}

fn advantage_row(seen: &AdvicePage) -> Option<Row> {
    let a = &seen.listed;
    if let (Some(quote), Some(limit), Some(advantage)) = (a.quote, a.limit, a.advantage) {
        let (sum, way) = apart(advantage);
        let words = words::sum_of(quote, limit, advantage);
        return Some(
            Row::plain(
                "advantage",
                format!(
                    "That course costs {sum} {} than replacing now. {words}",
                    way.0
                ),
            )
            .figure(sum, way.1),
        );
    }
    let limit = a.limit?;
    let words = if limit.0 > 0 {
        format!("Should it fail now, a repair up to {limit} would still be worth paying.")
    } else {
        "Should it fail now, replacing would be the cheaper course even if the repair were free."
            .to_owned()
    };
    Some(Row::plain("limit", words).figure(limit.to_string(), "repair limit"))
}

fn ordinal(n: u32) -> String {
    const WORDS: [&str; 10] = [
        "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
        "tenth",
    ];
    (n as usize)
        .checked_sub(1)
        .and_then(|i| WORDS.get(i))
        .map_or_else(|| format!("{n}th"), |w| (*w).to_owned())
}

fn limit_words(seen: &AdvicePage) -> Vec<String> {
    let a = &seen.listed;
    let Some(quote) = a.quote else {
        return Vec::new();
    };
    let mut said = Vec::new();
    match (a.limit, a.advantage) {
        (Some(limit), Some(advantage)) => {
            let side = if advantage.0 > 0 { "above" } else { "below" };
            let stands = if advantage.0 == 0 {
                "The quote is exactly at it.".to_owned()
            } else {
                format!(
                    "The quote of {quote} is {} {side} it.",
                    Pence(advantage.0.abs())
                )
            };
            said.push(format!(
                "Worth paying: the repair limit is {limit}, the highest price at which repairing and keeping it {} is still the cheaper course. {stands}",
                words::more_years(a)
            ));
        }
        _ => said.push("Worth paying: not known, as there is no price for a new one.".to_owned()),
    }
    let agent = a.answer.ladder.agent.unwrap_or_default();
    let apart = quote.0 - agent.0;
    let stands = match apart {
        0 => "The quote is exactly at it.".to_owned(),
        d if d > 0 => format!(
            "The quote is {} over it, so somebody else says yes.",
            Pence(d)
        ),
        d => format!("The quote is {} under it.", Pence(-d)),
    };
    said.push(format!(
        "May be agreed without asking: {agent} by the managing agent. {stands}"
    ));
    said.push(words::outcome(a));
    said
}

fn columns(seen: &AdvicePage) -> Vec<Column> {
    let a = &seen.listed;
    let advice = &a.answer.advice;
    let mut columns = vec![keep_column(seen)];
    for answer in &advice.options {
        let Some(option) = a.answer.options.iter().find(|o| o.code == answer.code) else {
            continue;
        };
        let Some(path) = drawings::path_of(a, &answer.code) else {
            continue;
        };
        let same = option.code == a.unit.kind;
        let verdict = if advice.replace_with.as_deref() == Some(&option.code) {
            match a.course.as_str() {
                "replace" if a.close_call => "Slightly the cheaper course".to_owned(),
                "replace" => "The advice".to_owned(),
                _ => "Dearer than keeping it".to_owned(),
            }
        } else {
            format!(
                "Possible; {} a year dearer than the cheapest",
                terms::ExpectedPounds(answer.dearer_a_year)
            )
        };
        let mut facts = vec![Fact::new(
            "Money now",
            option.price.map(|p| p.to_string()).unwrap_or_default(),
        )];
        facts.extend(path_facts(seen, &path.years));
        if let Some(fails) = a.answer.fails_new.get(&option.code) {
            facts.push(fails_fact(*fails));
        }
        let warranty = seen
            .lines
            .iter()
            .find(|l| l.code == "warranty" && l.option == option.code)
            .map_or(0.0, |l| l.value);
        let warranty = if warranty >= 1.0 {
            format!("{warranty:.0} years, reckoned")
        } else {
            "none reckoned".to_owned()
        };
        facts.push(Fact::new("Warranty", warranty));
        facts.push(Fact::new(
            "Cost a year, kept its best life",
            format!(
                "{} over {} years",
                terms::ExpectedPounds(answer.annual_cost),
                answer.n
            ),
        ));
        columns.push(Column {
            title: if same {
                "Replace, like for like".to_owned()
            } else {
                format!("Replace with {}", words::an(&option.name))
            },
            verdict,
            facts,
        });
    }
    columns
}

fn keep_column(seen: &AdvicePage) -> Column {
    let a = &seen.listed;
    let (title, now) = match a.quote {
        Some(quote) => ("Repair and keep", quote.to_string()),
        None => ("Keep", "nothing".to_owned()),
    };
    let verdict = match a.course.as_str() {
        "repair" | "keep" if a.close_call => "Slightly the cheaper course",
        "repair" | "keep" => "The advice",
        _ => "Dearer, however long it is kept",
    };
    let mut facts = vec![Fact::new("Money now", now)];
    facts.extend(path_facts(seen, &a.answer.advice.fork.keep.years));
    facts.push(fails_fact(a.answer.fails_old));
    facts.push(Fact::new("Warranty", "none reckoned"));
    Column {
        title: title.to_owned(),
        verdict: verdict.to_owned(),
        facts,
    }
}

fn path_facts(seen: &AdvicePage, years: &[advice::PathYear]) -> Vec<Fact> {
    use chrono::Datelike;
    let first = seen.known_on.year();
    let pounds = terms::ExpectedPounds;
    let mut facts = Vec::new();
    if let Some(half) = years.get(years.len() / 2).filter(|_| years.len() > 4) {
        facts.push(Fact::new(
            format!("Cost by {}", first + half.year as i32),
            pounds(half.expected).to_string(),
        ));
    }
    if let Some(last) = years.last() {
        let year = first + last.year as i32;
        facts.push(Fact::new(
            format!("Cost by {year}"),
            pounds(last.expected).to_string(),
        ));
        facts.push(Fact::new(
            "8 in 10 within",
            format!("{} to {}", pounds(last.low), pounds(last.high)),
        ));
        let still = match last.still_in {
            Some(worth) if worth >= 0.5 => pounds(worth).to_string(),
            _ => "nothing".to_owned(),
        };
        facts.push(Fact::new(format!("Still in it in {year}"), still));
    }
    facts
}

fn fails_fact((p, low, high): (f64, f64, f64)) -> Fact {
    Fact::new(
        "Fails within a year",
        wording::sentences::chances::with_range(p, low, high),
    )
}

fn quote_table(seen: &AdvicePage) -> Option<Table> {
    let quote = seen.listed.quoted.as_ref()?;
    let rows = quote
        .lines
        .iter()
        .map(|(what, net, vat)| vec![what.clone(), net.to_string(), format!("{vat} %")])
        .collect();
    let mut table = Table::new(&["What", "Without VAT", "VAT"], rows).numbers(&[1, 2]);
    table.sum = Some(vec![
        "With VAT".to_owned(),
        quote.total.to_string(),
        format!("{} of it", quote.vat),
    ]);
    Some(table)
}

fn quote_words(seen: &AdvicePage) -> String {
    let Some(quote) = &seen.listed.quoted else {
        return String::new();
    };
    let mut words = format!(
        "{} gave it on {}; it holds until {}.",
        quote.firm_name,
        dates::day(quote.given_on),
        dates::day(quote.valid_until)
    );
    if !quote.words.is_empty() {
        words.push_str(&format!(" “{}”", quote.words));
    }
    words
}

fn decide_note(seen: &AdvicePage) -> String {
    match seen.listed.decide_by() {
        Some(day) => format!("By {}; then the quote lapses", dates::weekday_day(day)),
        None => String::new(),
    }
}

fn choices(seen: &AdvicePage, typed: &str) -> Vec<Choice> {
    let a = &seen.listed;
    let mut choices = Vec::new();
    for option in a.answer.options.iter().filter(|o| o.compared) {
        let Some(price) = option.price else { continue };
        let value = format!("replace:{}", option.code);
        let how = if option.code == a.unit.kind {
            "like for like".to_owned()
        } else {
            format!("with {}", words::an(&option.name))
        };
        let chosen = typed == value;
        choices.push(
            Choice::new(value, format!("Replace it {how}, {price}"), chosen)
                .hint("A replacement job is opened and the repair stood down. Get a survey before ordering."),
        );
    }
    if let Some(quote) = a.quote {
        choices.push(
            Choice::new("repair", format!("Repair it, {quote}"), typed == "repair")
                .hint("The firm that quoted goes on with the job."),
        );
        let hint = match a.limit {
            Some(limit) if limit.0 > 0 => {
                format!("Only one up to {limit} would make repairing the cheaper course.")
            }
            Some(_) => "No price would make repairing the cheaper course.".to_owned(),
            None => String::new(),
        };
        choices.push(
            Choice::new(
                "another_quote",
                "Ask for another quote",
                typed == "another_quote",
            )
            .hint(hint),
        );
    } else {
        choices.push(
            Choice::new(
                "keep",
                format!("Keep it {}", words::more_years(a)),
                typed == "keep",
            )
            .hint("Nothing is ordered; the decision and its reason stay with the unit."),
        );
    }
    choices
}

fn hows(seen: &AdvicePage, typed: &str) -> Vec<Choice> {
    let own = match seen.authority {
        Some(limit) => format!("My own decision, up to {limit}"),
        None => "My own decision".to_owned(),
    };
    vec![
        Choice::new("page", own, matches!(typed, "" | "page")),
        Choice::new(
            "telephone",
            "The landlord said so by telephone",
            typed == "telephone",
        ),
        Choice::new(
            "letter",
            "The landlord said so by letter",
            typed == "letter",
        ),
    ]
}

/// The pack's facts about the unit.
fn history(seen: &AdvicePage) -> Vec<Row> {
    let a = &seen.listed;
    let (from, until) = match a.unit.installed {
        Some((from, until)) => (Some(from), Some(until)),
        None => (None, None),
    };
    let fitted = dates::fitted_when(from, until);
    let (failures, paid) = seen.lately;
    let times = counted(u64::from(failures), "failure", "failures");
    vec![
        Row::plain("fitted", format!("Fitted {fitted}."))
            .figure(format!("{:.0} y", a.answer.age), "age reckoned with"),
        Row::plain(
            "failed",
            wording::sentences::capital(&format!("{times} on record in 36 months.")),
        )
        .figure(money::whole(paid), "paid for them"),
        Row::plain(
            "fails",
            format!(
                "If it is kept, it fails within a year: {}.",
                wording::sentences::chances::with_range(
                    a.answer.fails_old.0,
                    a.answer.fails_old.1,
                    a.answer.fails_old.2
                )
            ),
        )
        .figure(
            wording::sentences::chances::brief(a.answer.fails_old.0),
            "within a year",
        ),
    ]
}

fn pack_sources(seen: &AdvicePage) -> String {
    let a = &seen.listed;
    let quote = a
        .quoted
        .as_ref()
        .map(|q| format!("Quote of {}, {}. ", q.firm_name, dates::day(q.given_on)))
        .unwrap_or_default();
    let faults = if a.answer.own_forecast {
        "failures from the forecast for this unit"
    } else {
        "failures from its kind’s published figures"
    };
    let rate = seen
        .lines
        .iter()
        .find(|l| l.code == "rate")
        .map_or(0.0, |l| l.value);
    format!(
        "Register as known on {}. {quote}Prices and assumptions as listed under “What went in”; real discount rate {:.1} %; {faults}; a new one’s from its kind’s published figures. {}",
        dates::day(seen.known_on),
        rate * 100.0,
        words::STANDING
    )
}
