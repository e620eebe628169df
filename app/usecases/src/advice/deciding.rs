//! A person decides; the advice as it stood stays, the job moves on.
use serde::{Deserialize, Serialize};
use store::Tx;
use store::advices::Advice;
use terms::unit::UnitCard;
use terms::{AdviceId, Choice, DecisionId, JobId, JobState, Pence, Role};

use super::before_money::{Before, before_money};
use super::carrying_out::carry_out;
use super::making::Answer;
use crate::second_device::{Proof, USED};
use crate::{Error, FieldError, Seat, World};

/// What somebody decides, as typed.
#[derive(Clone, Debug, Serialize)]
pub struct DecideForm {
    /// Upon which advice.
    pub advice: AdviceId,
    /// What.
    pub choice: Choice,
    /// With which option, when it is replaced.
    pub option: Option<String>,
    /// Why; never empty.
    pub reason: String,
    /// "page", "telephone" or "letter".
    pub how: String,
    /// Whose yes the agent records; empty for one's own.
    pub on_behalf_of: String,
}

/// What became of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Decided {
    /// The decision.
    pub decision: DecisionId,
    /// The unit's lasting number.
    pub unit_number: String,
    /// The job that goes on, or was opened: id, number, where it stands.
    pub job: Option<(JobId, String, JobState)>,
}

/// Records a decision: the landlord's by page, the agent's own inside his authority, or the agent writing down the
/// landlord's yes by telephone or letter.
///
/// # Errors
/// [`Error::Invalid`] at `reason`, `choice`, `option`, `how` or `on_behalf_of`; [`Error::Conflict`] when it was decided
/// before or a newer advice stands.
pub fn decide(world: &World, seat: &Seat, form: &DecideForm, once: &str) -> Result<Decided, Error> {
    decide_with(world, seat, form, &Beside::default(), once)
}

/// What stands beside a decision on its form, and is not kept.
#[derive(Clone, Default)]
pub struct Beside {
    /// The decider's own password, given again.
    pub password: String,
    /// The digits of the decider's second device, where one is set.
    pub digits: String,
    /// The maker was asked about the warranty first.
    pub asked_maker: bool,
    /// Whether the same again is free was settled with the firm first.
    pub asked_firm: bool,
}

/// The same with the decider's password given again, and the digits of his second device where one is set, as a sum above
/// the one the landlord stated asks for.
///
/// # Errors
/// As [`decide`]; [`Error::Invalid`] at `password` or `digits` where they are asked for and do not fit, and at `asked_maker` for a repair
/// inside a warranty that nobody asked the maker about, at `asked_firm` for the same again that nobody asked the firm about.
pub fn decide_with(
    world: &World,
    seat: &Seat,
    form: &DecideForm,
    beside: &Beside,
    once: &str,
) -> Result<Decided, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    // Argon2 takes its time on purpose: not inside a transaction.
    let given = if beside.password.is_empty() || seat.is_program() {
        seat.is_program()
    } else {
        crate::door::gave_own_password(world, seat.account(), &beside.password)?
    };
    let proof = if seat.is_program() {
        Proof::NotAsked
    } else {
        crate::second_device::proof(world, seat.account(), &beside.digits)?
    };
    world.acting(seat, |tx| {
        let unit_seen = reached(tx, seat, form.advice)?;
        tx.once(once, form, |tx| {
            let (advice, unit) = open_advice(world, tx, form.advice)?;
            debug_assert_eq!(unit.id, unit_seen.id);
            let answer = answer_of(&advice)?;
            let mut wrongs = wrongs_of(tx, seat, form, (&advice, &answer))?;
            let amount = amount_of(form, &advice, &answer).ok().flatten();
            let large = large(tx, amount)?;
            if !given {
                wrongs.extend(large.clone().map(|said| FieldError::at("password", said)));
            }
            if let (Proof::Wrong(why), true) = (proof, large.is_some()) {
                wrongs.push(FieldError::at("digits", why));
            }
            if form.choice == Choice::Repair && !beside.asked_maker {
                wrongs.extend(warranty_first(tx, &advice, &unit)?);
            }
            if form.choice == Choice::Repair && !beside.asked_firm {
                wrongs.extend(repeat_first(tx, &advice, &unit)?);
            }
            Error::unless_empty(wrongs)?;
            if let (Proof::Step(step), true) = (proof, large.is_some())
                && !tx.use_second_device(seat.account(), step)?
            {
                return Err(Error::field("digits", USED));
            }
            carry_out(tx, form, &advice, &unit)
        })
    })
}

/// The engineer's firm goes ahead with its own quote: only inside both limits, told to the agent afterwards.
///
/// # Errors
/// [`Error::Conflict`] over either limit, inside a warranty, for the same again within 30 days, or when it was decided before;
/// nothing there for another firm.
pub fn go_ahead(
    world: &World,
    seat: &Seat,
    advice: AdviceId,
    once: &str,
) -> Result<Decided, Error> {
    seat.must_be(&[Role::Contractor, Role::Office])?;
    let firm = seat.firm()?;
    world.acting(seat, |tx| {
        let quoted = tx.advice(advice)?.quote.ok_or(Error::NotFound("advice"))?;
        if tx.quote(quoted)?.body.firm != firm {
            return Err(Error::NotFound("advice"));
        }
        tx.once(once, &("go ahead", advice), |tx| {
            let (held, unit) = open_advice(world, tx, advice)?;
            let inside = answer_of(&held)?.ladder.on_site == Some(costing::QuoteOutcome::InsideBoth);
            if !inside {
                return Err(Error::Conflict(
                    "This quote is over a limit, so somebody else decides. Make it safe and give temporary heat meanwhile: neither waits."
                        .to_owned(),
                ));
            }
            let form = DecideForm {
                advice,
                choice: Choice::Repair,
                option: None,
                reason: "Inside both limits: gone ahead on site, told afterwards.".to_owned(),
                how: "page".to_owned(),
                on_behalf_of: String::new(),
            };
            lapsed(tx, &held)?.map_or(Ok(()), |wrong| Err(Error::Invalid(vec![wrong])))?;
            if let Some(wrong) = warranty_first(tx, &held, &unit)? {
                return Err(Error::Conflict(format!(
                    "{} The office asks its maker; make it safe and give temporary heat meanwhile.",
                    wrong.sentence
                )));
            }
            if let Some(wrong) = repeat_first(tx, &held, &unit)? {
                return Err(Error::Conflict(format!(
                    "{} The office settles that first; make it safe and give temporary heat meanwhile.",
                    wrong.sentence
                )));
            }
            carry_out(tx, &form, &held, &unit)
        })
    })
}

/// The unit of an advice, when the seat reaches it.
fn reached(tx: &mut Tx<'_>, seat: &Seat, advice: AdviceId) -> Result<UnitCard, Error> {
    let advice = tx.advice(advice)?;
    let unit = tx.unit(advice.unit)?;
    match seat.must_reach(unit.building) {
        Ok(()) => Ok(unit),
        Err(_) => Err(Error::NotFound("advice")),
    }
}

/// The advice, its row held, not decided and in force.
fn open_advice(world: &World, tx: &mut Tx<'_>, id: AdviceId) -> Result<(Advice, UnitCard), Error> {
    let advice = tx.hold_advice(id)?;
    if let Some(made) = tx.decisions(Some(&[id]))?.pop() {
        let names = crate::door::names(world, &[made.decided_by])?;
        let who = names
            .first()
            .map_or_else(|| "somebody".to_owned(), |(_, name)| name.clone());
        let at = made.recorded_at.with_timezone(&chrono_tz::Europe::London);
        return Err(Error::Conflict(format!(
            "{who} decided this on {}: {}. Nothing was changed by you.",
            at.format("%-d %B %Y at %H:%M"),
            made.choice.words()
        )));
    }
    if advice.superseded_at.is_some() {
        return Err(Error::Conflict(
            "A newer advice stands in this one’s place: open it and decide upon that. Nothing was changed by you."
                .to_owned(),
        ));
    }
    let unit = tx.unit(advice.unit)?;
    Ok((advice, unit))
}

pub(crate) fn answer_of(advice: &Advice) -> Result<Answer, Error> {
    serde_json::from_value(advice.result.clone()).map_err(|e| Error::Internal(e.to_string()))
}

fn wrongs_of(
    tx: &mut Tx<'_>,
    seat: &Seat,
    form: &DecideForm,
    (advice, answer): (&Advice, &Answer),
) -> Result<Vec<FieldError>, Error> {
    let mut wrongs = Vec::new();
    if form.reason.trim().is_empty() {
        wrongs.push(FieldError::at(
            "reason",
            "Say why in one line: it stays with the unit and is printed in the pack.",
        ));
    }
    let by_landlord = seat.role() == Role::Landlord;
    if by_landlord && (form.how != "page" || !form.on_behalf_of.trim().is_empty()) {
        wrongs.push(FieldError::at(
            "how",
            "A landlord decides for himself, on this page.",
        ));
    }
    if !["page", "telephone", "letter"].contains(&form.how.as_str()) {
        wrongs.push(FieldError::at(
            "how",
            "Say how the yes came: on this page, by telephone or by letter.",
        ));
    }
    let amount = match amount_of(form, advice, answer) {
        Ok(amount) => amount,
        Err(wrong) => {
            wrongs.push(wrong);
            return Ok(wrongs);
        }
    };
    if form.choice == Choice::Repair {
        wrongs.extend(lapsed(tx, advice)?);
    }
    if let Some(amount) = amount {
        wrongs.extend(over_authority(tx, seat, form, amount)?);
    }
    Ok(wrongs)
}

/// Whether the unit is in warranty, or called back: then its maker is asked before anybody pays.
fn warranty_first(
    tx: &mut Tx<'_>,
    advice: &Advice,
    unit: &UnitCard,
) -> Result<Option<FieldError>, Error> {
    let found = before_money(tx, unit, advice.job, None)?;
    Ok(found.into_iter().find_map(|before| match before {
        Before::InWarranty { until } => Some(FieldError::at(
            "asked_maker",
            format!(
                "It is in warranty until {}: ask its maker before anybody pays, then say so.",
                until.format("%-d %B %Y")
            ),
        )),
        recalled @ Before::Recalled { .. } => Some(FieldError::at(
            "asked_maker",
            format!(
                "{}. Ask the maker before anybody pays, then say so.",
                recalled.in_short()
            ),
        )),
        _ => None,
    }))
}

/// Whether the same was put right a short while ago: then the firm is asked before anybody pays twice.
fn repeat_first(
    tx: &mut Tx<'_>,
    advice: &Advice,
    unit: &UnitCard,
) -> Result<Option<FieldError>, Error> {
    let found = before_money(tx, unit, advice.job, None)?;
    Ok(found.into_iter().find_map(|before| match before {
        Before::Repeat { number, closed_on } => Some(FieldError::at(
            "asked_firm",
            format!(
                "The same was put right on {} ({number}): ask the firm first, it is free under most contracts (common practice, no source); then say so.",
                closed_on.format("%-d %B %Y")
            ),
        )),
        _ => None,
    }))
}

/// Why a sum is so large that the decider proves himself again; `None` where it is not.
fn large(tx: &mut Tx<'_>, amount: Option<Pence>) -> Result<Option<String>, Error> {
    let above = crate::authority::confirm_above(tx)?;
    Ok(match (amount, above) {
        (Some(amount), Some(above)) if amount > above => Some(format!(
            "{amount} is more than {above}: give your own password again, as the landlord asked."
        )),
        _ => None,
    })
}

/// What the choice costs now, including VAT; `None` when it costs nothing yet.
fn amount_of(
    form: &DecideForm,
    advice: &Advice,
    answer: &Answer,
) -> Result<Option<Pence>, FieldError> {
    match form.choice {
        Choice::Repair => match advice.quote_pence {
            Some(quote) => Ok(Some(quote)),
            None => Err(FieldError::at(
                "choice",
                "There is no quote to repair by: nothing is broken, or nobody was asked.",
            )),
        },
        Choice::AnotherQuote if advice.quote.is_none() => Err(FieldError::at(
            "choice",
            "There is no quote yet, so there is no other one to ask for.",
        )),
        Choice::Keep if advice.quote.is_some() => Err(FieldError::at(
            "choice",
            "There is a fault in hand: repair it, replace the unit, or ask for another quote.",
        )),
        Choice::AnotherQuote | Choice::Keep => Ok(None),
        Choice::Replace => {
            let chosen = form.option.as_deref().unwrap_or_default();
            let option = answer
                .options
                .iter()
                .find(|o| o.compared && o.code == chosen);
            match option.and_then(|o| o.price) {
                Some(price) => Ok(Some(price)),
                None => Err(FieldError::at(
                    "choice",
                    "That option was not compared here: choose one of those shown, or ask for a survey first.",
                )),
            }
        }
    }
}

fn lapsed(tx: &mut Tx<'_>, advice: &Advice) -> Result<Option<FieldError>, Error> {
    let Some(quote) = advice.quote else {
        return Ok(None);
    };
    let last = tx.quote(quote)?.body.valid_until;
    Ok((last < tx.today()).then(|| {
        FieldError::at(
            "choice",
            format!(
                "The quote lapsed on {}: ask for another one first.",
                last.format("%-d %B %Y")
            ),
        )
    }))
}

fn over_authority(
    tx: &mut Tx<'_>,
    seat: &Seat,
    form: &DecideForm,
    amount: Pence,
) -> Result<Option<FieldError>, Error> {
    let (today, account) = (tx.today(), seat.account());
    if seat.role() == Role::Landlord {
        let own = tx.authority_of(Role::Landlord, account, today)?;
        return Ok(own.filter(|a| amount > a.limit).map(|a| {
            FieldError::at(
                "choice",
                format!(
                    "{amount} is over the {} you may agree alone: the other directors must agree too.",
                    a.limit
                ),
            )
        }));
    }
    let own = tx
        .authority_of(Role::Agent, account, today)?
        .map_or(Pence(0), |a| a.limit);
    if amount <= own {
        return Ok(None);
    }
    let recorded = ["telephone", "letter"].contains(&form.how.as_str());
    if !recorded {
        return Ok(Some(FieldError::at(
            "how",
            format!(
                "{amount} is over your authority of {own}: record the landlord’s yes by telephone or letter, or let the landlord decide."
            ),
        )));
    }
    if form.on_behalf_of.trim().is_empty() {
        return Ok(Some(FieldError::at(
            "on_behalf_of",
            "Say who said yes: the name is kept with the decision.",
        )));
    }
    Ok(None)
}
