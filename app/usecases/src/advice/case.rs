//! From a unit as it is known today to a case, with the source of every figure.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use costing::{DecisionCase, FaultCost, FaultInHand, OldUnit, Yearly};
use store::advices::ToldFailures;
use store::quotes::Quote;
use terms::FirmId;
use terms::unit::{FailureRecord, PartFitted, UnitCard};

use super::book::{Book, InputLine, Measure};
use super::energy::{energy_of, is_counted};
use super::failures::{OldFailures, chance_of, of_old_unit};
use super::options::OptionSeen;
use super::outlook::Clocks;
use super::staying::Staying;
use super::successor::replacement;
use super::write_offs::beyond_repair;
use crate::Error;

/// A year in days, as everywhere.
const YEAR: f64 = 365.25;
/// Reckoned with when nobody knows when a unit was fitted, unless it was watched for longer (years).
const AGE_UNKNOWN: f64 = 10.0;
/// Assumptions every case is made with, in the order they are listed.
const SAID: [&str; 6] = [
    "emergency_share",
    "emergency_premium",
    "disruption_failure",
    "disruption_fitting",
    "write_off_premium",
    "removal",
];

/// A unit with all that its case is made from.
pub(crate) struct Subject<'a> {
    pub card: &'a UnitCard,
    pub options: Vec<OptionSeen>,
    pub told: Option<&'a ToldFailures>,
    /// Its failures on record, and the parts fitted since it was.
    pub failures: &'a [FailureRecord],
    pub fitted: &'a [PartFitted],
    pub quote: Option<&'a Quote>,
    pub today: NaiveDate,
    /// Age to reckon with where nobody knows when it was fitted, years; `None`: as long as it was watched, at least ten.
    pub age: Option<f64>,
}

/// The same as a case with its sources.
pub(crate) struct Weighable {
    pub case: DecisionCase,
    pub lines: Vec<InputLine>,
    pub fails_old: (f64, f64, f64),
    pub fails_new: BTreeMap<String, (f64, f64, f64)>,
    pub age: f64,
    /// What of its failures stays in the home when it is replaced.
    pub staying: Staying,
}

/// The case of a unit with the source of every figure.
pub(crate) fn weighable(book: &Book, subject: &Subject<'_>) -> Result<Weighable, Error> {
    let card = subject.card;
    let clocks = clocks_of(subject);
    let horizon = book.assumed("horizon").round().clamp(1.0, 40.0) as u32;
    let mut lines = Lines::default();
    lines.take(Some(rate_line(book)));
    lines.take(next_rate(book));
    let hand = subject.quote.map(|quote| in_hand(book, quote, &mut lines));
    let told = of_old_unit(book, subject, (&clocks, horizon), &mut lines)?;
    let (level, variance) = (told.level, told.variance);
    let lost = beyond_repair(book, subject, level, &mut lines);
    let cover = own_cover(book, subject, &mut lines);
    let firm = subject.quote.map(|q| q.body.firm);
    let (counted, energy) = energy_now(book, subject, (&clocks, horizon), &mut lines)?;
    let old = OldUnit {
        faults: Yearly::Each(told.by_year.clone()),
        service: Yearly::Same(service_of(book, &card.kind, firm, "", &mut lines)),
        energy,
        other: Yearly::default(),
        frailty_var: variance.clamp(0.0, 100.0),
        fault_cost: fault_cost(book, &card.kind, firm, "", &mut lines),
        write_off_share: lost.0,
        write_off_range: lost.1,
        write_off_premium: book.assumed("write_off_premium"),
        warranty_years: cover,
        warranty_excess: 0.0,
        stays: stays_beside_all(subject, &told),
    };
    for key in SAID {
        lines.take(book.assumed_line(key));
    }
    let mut fails_new = BTreeMap::new();
    let mut options = Vec::new();
    for seen in subject.options.iter().filter(|o| o.compared) {
        let (mut option, fails) = replacement(book, (subject, &told), seen, &mut lines)?;
        if counted {
            let new = (book.kind(&seen.code)?, seen.code.as_str());
            let (energy, said) = energy_of(book, new, 0.0, option.life_max);
            lines.0.extend(said);
            option.energy = energy;
        }
        fails_new.insert(seen.code.clone(), fails);
        options.push(option);
    }
    let fails_old = subject.told.map_or_else(
        || chance_of(level, variance.ln_1p().sqrt()),
        |t| t.chance_12m,
    );
    let case = DecisionCase {
        rate: book.rate.rate,
        later: book.rate.later.clone(),
        horizon,
        old,
        options,
        fault_in_hand: hand,
    };
    Ok(Weighable {
        case,
        lines: lines.0,
        fails_old,
        fails_new,
        age: clocks.unit,
        staying: told.staying,
    })
}

/// Of its failures, year by year, those in parts that stay whatever is fitted of what is compared.
fn stays_beside_all(subject: &Subject<'_>, told: &OldFailures) -> Yearly {
    match told.staying.beside_all(&compared(subject)) {
        shares if shares.iter().all(|share| *share == 0.0) => Yearly::default(),
        shares => Yearly::Each(shares),
    }
}

/// The options that are compared.
pub(super) fn compared<'a>(subject: &'a Subject<'_>) -> Vec<&'a str> {
    let options = subject.options.iter().filter(|o| o.compared);
    options.map(|o| o.code.as_str()).collect()
}

/// Whether energy is counted here, and then what the old unit's costs from now on.
fn energy_now(
    book: &Book,
    subject: &Subject<'_>,
    (clocks, horizon): (&Clocks, u32),
    lines: &mut Lines,
) -> Result<(bool, Yearly), Error> {
    let kind = book.kind(&subject.card.kind)?;
    let compared = subject.options.iter().filter(|o| o.compared);
    let kinds = compared
        .map(|o| o.code.as_str())
        .chain([kind.code.as_str()]);
    if !is_counted(book, kinds) {
        return Ok((false, Yearly::default()));
    }
    for key in ["energy_share", "heat_kwh", "efficiency_lost"] {
        lines.take(book.assumed_line(key));
    }
    let (energy, said) = energy_of(book, (kind, ""), clocks.unit, horizon);
    lines.0.extend(said);
    Ok((true, energy))
}

fn years_since(from: NaiveDate, to: NaiveDate) -> f64 {
    ((to - from).num_days() as f64 / YEAR).max(0.0)
}

/// Age reckoned with, years: the middle of the range on record; where there is none, as long as it was watched, and at
/// least [`AGE_UNKNOWN`].
pub(crate) fn age_of(card: &UnitCard, today: NaiveDate) -> f64 {
    match card.installed {
        Some((from, until)) => f64::midpoint(years_since(from, today), years_since(until, today)),
        None => years_since(card.watched_from, today).max(AGE_UNKNOWN),
    }
}

fn clocks_of(subject: &Subject<'_>) -> Clocks {
    let known = subject.card.installed.is_some();
    let unit = subject
        .age
        .filter(|_| !known)
        .unwrap_or_else(|| age_of(subject.card, subject.today));
    let mut parts: BTreeMap<String, f64> = BTreeMap::new();
    for fitted in subject.fitted {
        let age = years_since(fitted.fitted_on, subject.today);
        let known = parts.entry(fitted.part.clone()).or_insert(age);
        *known = known.min(age);
    }
    Clocks { unit, parts }
}

fn rate_line(book: &Book) -> InputLine {
    let rate = &book.rate;
    InputLine {
        code: "rate".to_owned(),
        option: String::new(),
        value: rate.rate,
        measure: Measure::Rate,
        source: format!(
            "{}, as at {}",
            crate::prices::rates_in_words(rate),
            rate.as_at.format("%-d %B %Y")
        ),
        status: rate.status.clone(),
    }
}

/// The first step of the rates of later years.
fn next_rate(book: &Book) -> Option<InputLine> {
    let step = book.rate.later.first()?;
    Some(InputLine {
        code: "rate_later".to_owned(),
        value: step.rate,
        source: format!(
            "from year {} on, counted from the day of the advice",
            step.after + 1
        ),
        ..rate_line(book)
    })
}

fn in_hand(book: &Book, quote: &Quote, lines: &mut Lines) -> FaultInHand {
    let source = format!("given on {}", quote.given_on.format("%-d %B %Y"));
    lines.add(
        "quote",
        (quote.body.total.to_pounds(), Measure::Pounds),
        (&source, "quoted, VAT in it"),
    );
    for key in ["waiting_a_day", "waiting_repair", "waiting_replace"] {
        lines.take(book.assumed_line(key));
    }
    let a_day = book.assumed("waiting_a_day");
    FaultInHand::new(
        quote.body.total,
        a_day * book.assumed("waiting_repair"),
        a_day * book.assumed("waiting_replace"),
    )
}

pub(super) fn service_of(
    book: &Book,
    kind: &str,
    firm: Option<FirmId>,
    option: &str,
    lines: &mut Lines,
) -> f64 {
    let price = book.price(kind, "service", firm);
    let (value, source, status) = match price {
        Some(p) => (p.likely.to_pounds(), price_source(p), p.status.as_str()),
        None => (
            0.0,
            "no price known: reckoned as nothing".to_owned(),
            "not known",
        ),
    };
    lines.about(
        "service",
        option,
        (value, Measure::PoundsAYear),
        (&source, status),
    );
    value
}

/// The mean repair of a kind; its spread is that of the triangle low, likely, high.
pub(super) fn fault_cost(
    book: &Book,
    kind: &str,
    firm: Option<FirmId>,
    option: &str,
    lines: &mut Lines,
) -> FaultCost {
    let price = book.price(kind, "repair", firm);
    let (mean, spread, source, status) = match price {
        Some(p) => {
            let (a, c, b) = (p.low.to_pounds(), p.likely.to_pounds(), p.high.to_pounds());
            let variance = (a * a + b * b + c * c - a * b - a * c - b * c) / 18.0;
            let spread = if c > 0.0 {
                variance.max(0.0).sqrt() / c
            } else {
                0.0
            };
            (c, spread.min(20.0), price_source(p), p.status.as_str())
        }
        None => (
            0.0,
            0.0,
            "no price known: reckoned as nothing".to_owned(),
            "not known",
        ),
    };
    lines.about("repair", option, (mean, Measure::Pounds), (&source, status));
    lines.about(
        "repair_spread",
        option,
        (spread, Measure::Spread),
        (&source, status),
    );
    FaultCost {
        repair_mean: mean,
        repair_cv: spread,
        emergency_share: book.assumed("emergency_share").min(1.0),
        emergency_premium: book.assumed("emergency_premium"),
        disruption: book.assumed("disruption_failure"),
    }
}

pub(super) fn price_source(price: &terms::trade::Price) -> String {
    let agreed = if price.firm.is_some() {
        "agreed with the firm"
    } else {
        "price list"
    };
    format!("{agreed}, {}", price.as_at.format("%-d %B %Y"))
}

/// Years the unit's own warranty is reckoned with.
fn own_cover(book: &Book, subject: &Subject<'_>, lines: &mut Lines) -> f64 {
    let Some((years, until, overdue)) = book.cover_left(subject.card, subject.today) else {
        return 0.0;
    };
    let until = until.format("%-d %B %Y");
    let source = match overdue {
        None => format!("in warranty until {until}, nothing its maker asks for is overdue"),
        Some(duty) => format!(
            "in warranty until {until}, but {duty} is overdue, which its maker asks for: not reckoned with"
        ),
    };
    lines.add(
        "warranty_left",
        (years, Measure::Years),
        (&source, "on record"),
    );
    years
}

/// The input lines as they gather.
#[derive(Default)]
pub(super) struct Lines(Vec<InputLine>);

impl Lines {
    pub(super) fn take(&mut self, line: Option<InputLine>) {
        self.0.extend(line);
    }

    /// A figure of the case itself: (value, measure), (source, status).
    pub(super) fn add(&mut self, code: &str, figure: (f64, Measure), known: (&str, &str)) {
        self.about(code, "", figure, known);
    }

    /// A figure of an option.
    pub(super) fn about(
        &mut self,
        code: &str,
        option: &str,
        (value, measure): (f64, Measure),
        (source, status): (&str, &str),
    ) {
        self.0.push(InputLine {
            code: code.to_owned(),
            option: option.to_owned(),
            value,
            measure,
            source: source.to_owned(),
            status: status.to_owned(),
        });
    }
}
