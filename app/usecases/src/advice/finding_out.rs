//! What is worth finding out before deciding: for each unknown, what the advice would gain if it were known.
//!
//! Each unknown turns out in a few ways; the chances are those of the doubt already carried, or said to be ours. The gain
//! is the expected value of perfect information, see `costing::worth_knowing`. An option that nothing but works or a survey
//! keeps out is taken to fit if the one unknown turns out well, so the gain is the most that knowing can bring.
use chrono::{Datelike, NaiveDate};
use costing::{DecisionCase, Way, Yearly, worth_knowing};
use serde_json::json;
use store::Tx;
use terms::unit::UnitCard;
use terms::{ExpectedPounds, JobId, Pence, QuoteId, Role, UnitId};

use super::ages::{Ages, ages_of};
use super::book::Book;
use super::case::{Subject, weighable};
use super::options::{OptionSeen, Standing, options_for, site_of};
use crate::register::{state_corrected, state_site};
use crate::work::must_reach_job;
use crate::{Error, Seat, World};

/// Below this a question is not worth the minute it takes (pounds; ours, no source).
const WORTH: f64 = 3.0;
/// The readings that say how warm the tap gets: after a minute, and after 45 seconds where the network warms it.
const HOT_AT_THE_TAP: [&str; 2] = ["hot_c", "hot_c_45s"];
/// At most so many questions are put to a visit.
const MOST: usize = 3;
/// Hard water without a scale reducer multiplies faults by this (trade notes, adjusters: common practice, no source).
const HARD_TIMES: f64 = 1.5;
/// A scaled plate fails so many times as often as others (our guess, no source); one in four is taken to be scaled.
const SCALED_TIMES: f64 = 3.0;
/// See [`SCALED_TIMES`].
const SCALED_SHARE: f64 = 0.25;

/// Something not known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    /// When it was fitted.
    Age,
    /// How hard the water is.
    Hardness,
    /// Whether a discharge pipe has somewhere to run.
    DischargeRoute,
    /// How warm it makes the hot tap at a measured flow.
    Rise,
    /// How much electric supply is spare.
    SupplySize,
}

impl Unknown {
    /// Every one.
    pub const ALL: [Self; 5] = [
        Self::Age,
        Self::Hardness,
        Self::DischargeRoute,
        Self::Rise,
        Self::SupplySize,
    ];

    /// As a form sends it.
    pub fn code(self) -> &'static str {
        match self {
            Self::Age => "age",
            Self::Hardness => "hardness",
            Self::DischargeRoute => "discharge_route",
            Self::Rise => "rise",
            Self::SupplySize => "supply_size",
        }
    }

    /// What finding it out costs, by the list of works and surveys; `None` where any visit reads it off.
    fn costs(self, book: &Book) -> Option<(Pence, Pence, Pence)> {
        let reason = match self {
            Self::Age | Self::Rise => return None,
            Self::Hardness => "TEST_HARDNESS",
            Self::DischargeRoute => "SURVEY_DISCHARGE",
            Self::SupplySize => "MEASURE_SUPPLY",
        };
        book.works.iter().find(|row| row.reason == reason)?.price
    }
}

/// A question with what its answer is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct WorthAsking {
    /// What is not known.
    pub what: Unknown,
    /// Expected gain in advice if it were known.
    pub gain: ExpectedPounds,
    /// Chance that knowing leads to another course.
    pub turns: f64,
    /// What finding out costs, least, likely and most; `None` where any visit reads it off.
    pub costs: Option<(Pence, Pence, Pence)>,
    /// Of an unknown age: the ages it was weighed with.
    pub ages: Option<Ages>,
}

impl WorthAsking {
    /// Whether finding out is worth it: it can cost nothing on a visit that is made anyway, or gains more than it likely
    /// costs.
    pub fn pays(&self) -> bool {
        self.costs
            .is_none_or(|(least, likely, _)| least.0 == 0 || self.gain.0 > likely.to_pounds())
    }
}

/// What a question about a unit would gain: the few that pay, the dearest first, then those that do not.
pub(crate) fn worth_asking(
    tx: &mut Tx<'_>,
    unit: UnitId,
    quote: Option<QuoteId>,
) -> Result<Vec<WorthAsking>, Error> {
    let book = Book::load(tx)?;
    let card = tx.unit(unit)?;
    if book.kind(&card.kind).is_err() {
        return Ok(Vec::new());
    }
    let quote = quote.map(|id| tx.quote(id)).transpose()?;
    let (space, building) = (tx.space(card.space)?, tx.building(card.building)?);
    let firm = quote.as_ref().map(|q| q.body.firm);
    let told = tx.told_failures(Some(unit))?.pop();
    let history = tx.history(unit)?;
    let measured = tx
        .readings_of(unit)?
        .iter()
        .any(|(_, reading)| HOT_AT_THE_TAP.contains(&reading.code.as_str()));
    let ages = ages_of(tx, &book, &card)?;
    let subject = Subject {
        card: &card,
        options: options_for(&book, &card.kind, &site_of(&card, &space, &building), firm)?,
        told: told.as_ref(),
        failures: &history.failures,
        fitted: &history.parts,
        quote: quote.as_ref(),
        today: tx.today(),
        age: ages.as_ref().and_then(Ages::middle),
    };
    let hardness = card.hardness_mg_l.or(building.hardness_mg_l);
    let mut found = Vec::new();
    for what in Unknown::ALL {
        let ways = match what {
            Unknown::Age => by_age(&book, &subject, ages.as_ref())?,
            Unknown::Hardness if hardness.is_none() && card.reducer_fitted != Some(true) => {
                by_faults(&book, &subject, (0.5, HARD_TIMES))?
            }
            Unknown::Rise if !measured => match plate_share(&book, &card) {
                Some(share) => {
                    let times = 1.0 + 0.9 * share * (SCALED_TIMES - 1.0);
                    by_faults(&book, &subject, (SCALED_SHARE, times))?
                }
                None => Vec::new(),
            },
            Unknown::DischargeRoute if space.site.get("discharge_route").is_none() => {
                by_option(&book, &subject, "UV")?
            }
            Unknown::SupplySize if space.site.get("electric_kw_spare").is_none() => {
                by_option(&book, &subject, "EB")?
            }
            _ => Vec::new(),
        };
        found.extend(weighed(&book, what, &ways)?);
    }
    for asked in &mut found {
        if asked.what == Unknown::Age {
            asked.ages.clone_from(&ages);
        }
    }
    found.sort_by(|a, b| b.gain.0.total_cmp(&a.gain.0));
    let (mut pay, rest): (Vec<_>, Vec<_>) = found.into_iter().partition(WorthAsking::pays);
    pay.truncate(MOST);
    pay.extend(rest);
    Ok(pay)
}

fn weighed(
    book: &Book,
    what: Unknown,
    ways: &[(f64, DecisionCase)],
) -> Result<Option<WorthAsking>, Error> {
    let mut checked = Vec::new();
    for (chance, case) in ways {
        let case = case.clone().checked();
        checked.push((*chance, case.map_err(|e| Error::Internal(e.to_string()))?));
    }
    let ways: Vec<Way<'_>> = checked
        .iter()
        .map(|(chance, case)| Way {
            chance: *chance,
            case,
        })
        .collect();
    Ok(worth_knowing(&ways)
        .filter(|worth| worth.pounds >= WORTH)
        .map(|worth| WorthAsking {
            what,
            gain: ExpectedPounds(worth.pounds),
            turns: worth.turns,
            costs: what.costs(book),
            ages: None,
        }))
}

fn case_of(
    book: &Book,
    subject: &Subject<'_>,
    card: &UnitCard,
    options: Vec<OptionSeen>,
) -> Result<DecisionCase, Error> {
    let other = Subject {
        card,
        options,
        told: subject.told,
        failures: subject.failures,
        fitted: subject.fitted,
        quote: subject.quote,
        today: subject.today,
        age: subject.age,
    };
    Ok(weighable(book, &other)?.case)
}

/// One way for each age it may have, alike likely. Nothing where it is known to the year.
fn by_age(
    book: &Book,
    subject: &Subject<'_>,
    ages: Option<&Ages>,
) -> Result<Vec<(f64, DecisionCase)>, Error> {
    let mut ways = Vec::new();
    for day in ages.iter().flat_map(|ages| &ages.fitted) {
        let card = UnitCard {
            installed: Some((*day, *day)),
            ..subject.card.clone()
        };
        ways.push((1.0, case_of(book, subject, &card, subject.options.clone())?));
    }
    Ok(ways)
}

/// Two ways: faults multiplied by `times` over the mean, with this chance, or fewer; the mean stays what is forecast.
fn by_faults(
    book: &Book,
    subject: &Subject<'_>,
    (chance, times): (f64, f64),
) -> Result<Vec<(f64, DecisionCase)>, Error> {
    let case = case_of(book, subject, subject.card, subject.options.clone())?;
    let mean = chance * times + (1.0 - chance);
    let scaled = |by: f64| {
        let mut case = case.clone();
        if let Yearly::Each(list) = &mut case.old.faults {
            for m in list.iter_mut() {
                *m *= by / mean;
            }
        }
        case
    };
    Ok(vec![(chance, scaled(times)), (1.0 - chance, scaled(1.0))])
}

/// Share of the kind's faults that its hot-water plate has.
fn plate_share(book: &Book, card: &UnitCard) -> Option<f64> {
    let shares = book.shares(&card.kind);
    shares
        .iter()
        .find(|s| s.code == "dhw_plate")
        .map(|s| s.share)
}

/// Two ways, alike likely (ours, no source): an option that works or a survey keep out can be had, or cannot.
fn by_option(
    book: &Book,
    subject: &Subject<'_>,
    code: &str,
) -> Result<Vec<(f64, DecisionCase)>, Error> {
    let open = subject.options.iter().position(|o| {
        o.code == code
            && !o.compared
            && o.price.is_some()
            && matches!(o.standing, Standing::AfterWorks | Standing::Survey)
    });
    let (Some(open), Ok(_)) = (open, book.kind(code)) else {
        return Ok(Vec::new());
    };
    let mut with = subject.options.clone();
    if let Some(option) = with.get_mut(open) {
        option.compared = true;
    }
    Ok(vec![
        (0.5, case_of(book, subject, subject.card, with)?),
        (
            0.5,
            case_of(book, subject, subject.card, subject.options.clone())?,
        ),
    ])
}

/// The questions for the next visit of a job; none for a job without a unit, or once it is closed.
///
/// # Errors
/// [`Error::NotFound`] for a job this seat does not reach.
pub fn questions_for(world: &World, seat: &Seat, job: JobId) -> Result<Vec<WorthAsking>, Error> {
    world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_reach_job(tx, seat, &job)?;
        let Some(unit) = job.unit.filter(|_| !job.state.is_closed()) else {
            return Ok(Vec::new());
        };
        let quote = tx.quote_of_job(job.id)?.map(|(id, _, _)| id);
        let mut questions = worth_asking(tx, unit, quote)?;
        questions.retain(WorthAsking::pays);
        Ok(questions)
    })
}

/// Keeps what somebody found out on site; what stood before stays readable.
///
/// # Errors
/// [`Error::Invalid`] at the unknown's code for an answer that cannot be; [`Error::NotFound`] for a job this seat does not
/// reach.
pub fn found_out(
    world: &World,
    seat: &Seat,
    (job, what, answer): (JobId, Unknown, &str),
    once: &str,
) -> Result<(), Error> {
    seat.must_be(&[
        Role::Contractor,
        Role::Office,
        Role::Agent,
        Role::Supervisor,
    ])?;
    world.acting(seat, |tx| {
        let job = tx.job(job)?;
        must_reach_job(tx, seat, &job)?;
        let unit = job.unit.ok_or(Error::NotFound("unit"))?;
        tx.once(once, &("found out", job.id, what.code(), answer), |tx| {
            keep(tx, unit, what, answer.trim())?;
            let body = json!({ "what": what.code(), "answer": answer.trim(), "job": job.id });
            tx.note("found out on site", &format!("unit {unit}"), &body);
            Ok(())
        })
    })
}

fn keep(tx: &mut Tx<'_>, unit: UnitId, what: Unknown, answer: &str) -> Result<(), Error> {
    let card = tx.unit(unit)?;
    let number = |low: f64, high: f64, sentence: &str| {
        answer
            .parse::<f64>()
            .ok()
            .filter(|n| (low..=high).contains(n))
            .ok_or_else(|| Error::field(what.code(), sentence))
    };
    match what {
        Unknown::Age => {
            let wrong = "Say the year on the plate, such as 2014.";
            let year = number(1950.0, f64::from(tx.today().year()), wrong)? as i32;
            let day = |month, day| NaiveDate::from_ymd_opt(year, month, day);
            let (Some(from), Some(until)) = (day(1, 1), day(12, 31)) else {
                return Err(Error::field(what.code(), wrong));
            };
            let known = UnitCard {
                installed: Some((from, until.min(tx.today()))),
                ..card.clone()
            };
            state_corrected(tx, &card, known, None)?;
            crate::forecast::renew_unit(tx, unit)?;
        }
        Unknown::Hardness => {
            let hardness = number(0.0, 1_000.0, "Say the hardness in mg/l, such as 286.")?;
            let mut building = tx.building(card.building)?;
            building.hardness_mg_l = Some(hardness);
            tx.state_building(card.building, &building)?;
        }
        Unknown::DischargeRoute => {
            if !["yes", "no"].contains(&answer) {
                return Err(Error::field(
                    what.code(),
                    "Say whether there is one: yes or no.",
                ));
            }
            site(tx, &card, "discharge_route", json!(answer))?;
        }
        Unknown::SupplySize => {
            let kw = number(0.0, 100.0, "Say the spare supply in kW, such as 9.")?;
            site(tx, &card, "electric_kw_spare", json!(kw))?;
        }
        Unknown::Rise => {
            return Err(Error::field(
                what.code(),
                "Take it as a reading on the sheet: it is kept with its flow and instrument.",
            ));
        }
    }
    Ok(())
}

fn site(
    tx: &mut Tx<'_>,
    card: &UnitCard,
    key: &str,
    value: serde_json::Value,
) -> Result<(), Error> {
    let (said, today) = ([(key.to_owned(), value)].into_iter().collect(), tx.today());
    state_site(tx, card.space, &said, today).map(drop)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_question_pays_where_it_gains_more_than_it_costs_or_costs_nothing_on_the_way() {
        let asking = |gain, costs: Option<(i64, i64, i64)>| WorthAsking {
            what: Unknown::SupplySize,
            gain: ExpectedPounds(gain),
            turns: 0.5,
            costs: costs.map(|(a, b, c)| (Pence(a), Pence(b), Pence(c))),
            ages: None,
        };
        // The trial of 29 November 2026: worth £51 at most, about £120 to find out (WORKS.csv, MEASURE_SUPPLY).
        assert!(!asking(51.0, Some((6_000, 12_000, 20_000))).pays());
        assert!(asking(121.0, Some((6_000, 12_000, 20_000))).pays());
        assert!(asking(4.0, Some((0, 1_500, 4_000))).pays());
        assert!(asking(4.0, None).pays());
    }
}
