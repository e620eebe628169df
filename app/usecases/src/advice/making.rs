//! The advice itself: weighed, rounded for a page, frozen with its digest.
use std::collections::BTreeMap;

use chrono::NaiveDate;
use costing::{Advice, DecisionCase, QuoteOutcome, ShownAdvice};
use serde::{Deserialize, Serialize};
use serde_json::json;
use sha2::{Digest, Sha256};
use store::Tx;
use terms::{AdviceId, JobId, Pence, QuoteId, Role, UnitId, hex};

use super::ages::ages_of;
use super::book::{Book, InputLine};
use super::case::{Subject, Weighable, weighable};
use super::options::{OptionSeen, options_for, site_of};
use crate::{Error, Seat, World};

/// What each person may agree, when the advice was made; in pence, `None` where nothing was stated.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Ladder {
    /// The engineer on site.
    pub contractor: Option<Pence>,
    /// The managing agent.
    pub agent: Option<Pence>,
    /// The landlord.
    pub landlord: Option<Pence>,
    /// The agent's, to make safe or out of hours.
    pub agent_emergency: Option<Pence>,
    /// The quote against the engineer's authority and the repair limit.
    pub on_site: Option<QuoteOutcome>,
    /// The quote against the agent's authority and the repair limit.
    pub at_the_desk: Option<QuoteOutcome>,
}

impl Ladder {
    /// The lowest step that may agree `amount`; the landlord when nobody lower may.
    pub fn who_may(&self, amount: Pence) -> Role {
        if self.contractor.is_some_and(|limit| amount <= limit) {
            Role::Contractor
        } else if self.agent.is_some_and(|limit| amount <= limit) {
            Role::Agent
        } else {
            Role::Landlord
        }
    }
}

/// Everything an advice answered, as stored.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// The comparison.
    pub advice: Advice,
    /// In whole pence beside the quote; `None` when nothing was compared or there is no quote.
    pub shown: Option<ShownAdvice>,
    /// Highest repair price still worth paying; `None` when nothing was compared.
    pub limit: Option<Pence>,
    /// Every option, compared or not.
    pub options: Vec<OptionSeen>,
    /// What each may agree.
    pub ladder: Ladder,
    /// Chance that the unit fails within a year, with its 80 % interval.
    pub fails_old: (f64, f64, f64),
    /// The same for each option compared, new.
    pub fails_new: BTreeMap<String, (f64, f64, f64)>,
    /// Whether a forecast of this unit was used, not its kind's figures alone.
    pub own_forecast: bool,
    /// Age reckoned with, years.
    pub age: f64,
    /// Whether the fitting date is unknown.
    pub age_unknown: bool,
}

/// What went in, as stored.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Inputs {
    /// The case as weighed.
    pub case: DecisionCase,
    /// Each figure with its source.
    pub lines: Vec<InputLine>,
    /// The day it was all known.
    pub known_on: NaiveDate,
}

/// Makes an advice for a unit, upon a quote or without one, and keeps it; an earlier open one is superseded. For the job
/// sheet's own transaction: the caller has checked who may ask.
///
/// # Errors
/// No such unit, job or quote in this estate; a unit that stands nowhere any more.
pub fn advise(
    tx: &mut Tx<'_>,
    unit: UnitId,
    job: Option<JobId>,
    quote: Option<QuoteId>,
) -> Result<AdviceId, Error> {
    let book = Book::load(tx)?;
    let card = tx.unit(unit)?;
    let quote = quote.map(|id| tx.quote(id)).transpose()?;
    if quote.as_ref().is_some_and(|q| q.body.unit != unit) {
        return Err(Error::NotFound("quote"));
    }
    let firm = quote.as_ref().map(|q| q.body.firm);
    let (space, building) = (tx.space(card.space)?, tx.building(card.building)?);
    let options = options_for(&book, &card.kind, &site_of(&card, &space, &building), firm)?;
    let told = tx.told_failures(Some(unit))?.pop();
    let history = tx.history(unit)?;
    let ages = ages_of(tx, &book, &card)?;
    let subject = Subject {
        card: &card,
        options,
        told: told.as_ref(),
        failures: &history.failures,
        fitted: &history.parts,
        quote: quote.as_ref(),
        today: tx.today(),
        age: ages.and_then(|ages| ages.middle()),
    };
    let weighable = weighable(&book, &subject)?;
    let ladder = ladder_of(tx)?;
    keep(tx, &subject, weighable, ladder, job)
}

/// Makes an advice without a quote: the agent asks what to do with a unit.
pub fn make_advice(
    world: &World,
    seat: &Seat,
    unit: UnitId,
    once: &str,
) -> Result<AdviceId, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    world.acting(seat, |tx| {
        let card = tx.unit(unit)?;
        seat.must_reach(card.building)?;
        tx.once(once, &("advice", unit), |tx| advise(tx, unit, None, None))
    })
}

fn ladder_of(tx: &mut Tx<'_>) -> Result<Ladder, Error> {
    let today = tx.today();
    let mut ladder = Ladder::default();
    for authority in tx.authorities(today)? {
        if authority.account.is_none() {
            match authority.role {
                Role::Contractor => ladder.contractor = Some(authority.limit),
                Role::Agent => {
                    ladder.agent = Some(authority.limit);
                    ladder.agent_emergency = Some(authority.emergency);
                }
                Role::Landlord => ladder.landlord = Some(authority.limit),
                _ => {}
            }
        }
    }
    Ok(ladder)
}

fn keep(
    tx: &mut Tx<'_>,
    subject: &Subject<'_>,
    weighable: Weighable,
    mut ladder: Ladder,
    job: Option<JobId>,
) -> Result<AdviceId, Error> {
    let checked = weighable
        .case
        .clone()
        .checked()
        .map_err(|e| Error::Internal(format!("{}: {e}", subject.card.number)))?;
    let advice = costing::advise(&checked);
    let asked = subject.quote.map(|q| q.body.total);
    let shown = costing::shown(asked.unwrap_or_default(), &advice);
    let limit = shown.map(|s| s.limit);
    let beside = shown.filter(|_| asked.is_some());
    if let Some(quote) = asked {
        let against = |authority: Option<Pence>| {
            Some(costing::two_limits(
                quote,
                authority.unwrap_or_default(),
                limit,
            ))
        };
        ladder.on_site = against(ladder.contractor);
        ladder.at_the_desk = against(ladder.agent);
    }
    let decision = beside.map_or(advice.decision, |s| s.decision);
    let row = store::advices::Advice {
        id: AdviceId(uuid::Uuid::nil()),
        unit: subject.card.id,
        job,
        quote: subject.quote.map(|q| q.id),
        forecast: subject.told.map(|t| t.id),
        made_at: tx.at(),
        made_by: tx.who(),
        course: course(decision).to_owned(),
        close_call: advice.standing == costing::Standing::Close,
        best_keep: advice.best_keep.map_or(0, |k| k as i32),
        quote_pence: asked,
        limit,
        advantage: beside.map(|s| s.advantage),
        inputs: as_json(&Inputs {
            case: weighable.case,
            lines: weighable.lines,
            known_on: subject.today,
        })?,
        result: as_json(&Answer {
            advice,
            shown: beside,
            limit,
            options: subject.options.clone(),
            ladder,
            fails_old: weighable.fails_old,
            fails_new: weighable.fails_new,
            own_forecast: subject.told.is_some(),
            age: weighable.age,
            age_unknown: subject.card.installed.is_none(),
        })?,
        digest: String::new(),
        superseded_at: None,
    };
    let digest = digest_of(&row.inputs, &row.result);
    let row = store::advices::Advice { digest, ..row };
    let id = tx.add_advice(&row)?;
    let body = json!({
        "advice": id, "course": row.course, "quote_pence": row.quote_pence, "limit_pence": row.limit,
        "advantage_pence": row.advantage, "digest": row.digest,
    });
    tx.note("advice made", &subject.card.id.to_string(), &body);
    Ok(id)
}

fn course(decision: costing::Decision) -> &'static str {
    match decision {
        costing::Decision::Keep => "keep",
        costing::Decision::Repair => "repair",
        costing::Decision::Replace => "replace",
    }
}

fn as_json<T: Serialize>(value: &T) -> Result<serde_json::Value, Error> {
    serde_json::to_value(value).map_err(|e| Error::Internal(e.to_string()))
}

fn digest_of(inputs: &serde_json::Value, result: &serde_json::Value) -> String {
    let mut hash = Sha256::new();
    hash.update(inputs.to_string());
    hash.update(result.to_string());
    hex(&hash.finalize())
}
