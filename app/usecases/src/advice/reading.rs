//! What the pages about advice show: the list, one advice as it stood, and what stands upon a job's quote.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use store::Tx;
use store::advices::WhichAdvice;
use terms::unit::UnitCard;
use terms::{
    AccountId, AdviceId, Choice, ExpectedPounds, Fate, FirmId, JobId, JobState, Pence, Role, UnitId,
};

use super::before_money::{AtRisk, Before, before_money, cover_at_risk};
use super::book::InputLine;
use super::candidates::{Candidate, programme_candidates};
use super::carrying_out::following;
use super::consultation::{Consultation, consultation};
use super::deciding::answer_of;
use super::finding_out::{WorthAsking, worth_asking};
use super::known::{Moment, UnitFacts, shares, unit_facts};
use super::listing::listed;
use super::making::{Answer, Inputs};
use super::new_quote::{NewUnitQuote, stands};
use crate::forecast::SoFar;
use crate::{Error, Seat, World};

/// A unit that nobody asked about is shown when replacing it is cheaper by this much (pounds; ours, no source).
const WORTH: f64 = 50.0;
/// Decisions stay on the list for so many days.
const LATELY: i64 = 60;

/// One advice in a list.
#[derive(Clone, Debug)]
pub struct Listed {
    /// Its id.
    pub id: AdviceId,
    /// The unit.
    pub unit: UnitCard,
    /// "combi gas boiler"
    pub kind_name: String,
    /// "repair", "replace" or "keep".
    pub course: String,
    /// The page must not sound sure.
    pub close_call: bool,
    /// Further years to keep it, if repaired or kept.
    pub best_keep: i32,
    /// The quote, VAT in it.
    pub quote: Option<Pence>,
    /// The repair limit.
    pub limit: Option<Pence>,
    /// quote − limit.
    pub advantage: Option<Pence>,
    /// The quote itself.
    pub quoted: Option<QuoteSeen>,
    /// What came out.
    pub answer: Answer,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// What was decided.
    pub decision: Option<DecidedAs>,
    /// Since when the unit is isolated as unsafe.
    pub isolated_since: Option<DateTime<Utc>>,
}

impl Listed {
    /// The option that replacing means: its code, name and price.
    pub fn instead(&self) -> Option<(&str, &str, Pence)> {
        let code = self.answer.advice.replace_with.as_deref()?;
        let option = self.answer.options.iter().find(|o| o.code == code)?;
        Some((code, option.name.as_str(), option.price?))
    }

    /// What the advised course costs now.
    pub fn asks_for(&self) -> Option<Pence> {
        match self.course.as_str() {
            "replace" => self.instead().map(|(_, _, price)| price),
            _ => self.quote,
        }
    }

    /// Last day the quote holds.
    pub fn decide_by(&self) -> Option<NaiveDate> {
        self.quoted.as_ref().map(|q| q.valid_until)
    }

    /// Whether somebody has to decide: a quote waits, and nothing was decided.
    pub fn waits(&self) -> bool {
        self.quote.is_some() && self.decision.is_none()
    }

    /// Whether the decision is the landlord's: the quote or what is advised is over the agent's authority.
    pub fn needs_landlord(&self) -> bool {
        let agent = self.answer.ladder.agent.unwrap_or_default();
        self.waits()
            && [self.quote, self.asks_for()]
                .into_iter()
                .flatten()
                .any(|amount| amount > agent)
    }
}

/// A quote as a page shows it.
#[derive(Clone, Debug)]
pub struct QuoteSeen {
    /// Who gave it.
    pub firm: FirmId,
    /// Their name.
    pub firm_name: String,
    /// The part it is about, in words.
    pub part_name: Option<String>,
    /// What, without VAT, VAT per cent.
    pub lines: Vec<(String, Pence, f64)>,
    /// The VAT.
    pub vat: Pence,
    /// With it.
    pub total: Pence,
    /// When it was given.
    pub given_on: NaiveDate,
    /// Last day it holds.
    pub valid_until: NaiveDate,
    /// Free words.
    pub words: String,
}

/// A decision as a page shows it.
#[derive(Clone, Debug)]
pub struct DecidedAs {
    /// What.
    pub choice: Choice,
    /// With which option, in words.
    pub option_name: Option<String>,
    /// Why.
    pub reason: String,
    /// "page", "telephone" or "letter".
    pub how: String,
    /// Who entered it.
    pub who: String,
    /// Whose yes it was; empty for their own.
    pub on_behalf_of: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// A unit nobody asked about, where replacing looks the cheaper course.
#[derive(Clone, Debug)]
pub struct Worth {
    /// The unit.
    pub unit: UnitCard,
    /// "combi gas boiler"
    pub kind_name: String,
    /// With what, in words.
    pub option_name: String,
    /// Fitted, VAT in it.
    pub capex: Pence,
    /// Cheaper than keeping it by so much.
    pub advantage: ExpectedPounds,
    /// Whether a forecast of its own stands behind it.
    pub own_forecast: bool,
    /// Expected failures over 12 months.
    pub expected_12m: f64,
}

/// The agent's list.
#[derive(Clone, Debug, Default)]
pub struct Overview {
    /// In force and not decided; those with a quote first, by the day it lapses.
    pub open: Vec<Listed>,
    /// Decided in the last 60 days, latest first.
    pub decided: Vec<Listed>,
    /// At most five.
    pub worth: Vec<Worth>,
}

/// One advice with all that stands behind it.
#[derive(Clone, Debug)]
pub struct AdvicePage {
    /// The advice.
    pub listed: Listed,
    /// Every figure with its source.
    pub lines: Vec<InputLine>,
    /// The day it was all known.
    pub known_on: NaiveDate,
    /// Digest of inputs and answer.
    pub digest: String,
    /// The job whose quote asked: id, number, where it stands.
    pub job: Option<(JobId, String, JobState)>,
    /// The job that follows from the decision: its number, where it stands.
    pub follows: Option<(String, JobState)>,
    /// Who made it.
    pub made_by: String,
    /// The advice that stands in its place now.
    pub newer: Option<AdviceId>,
    /// Failures and pence paid for them in the 36 months before it.
    pub lately: (u32, Pence),
    /// The unit's own facts beside the comparison.
    pub facts: UnitFacts,
    /// What came of the newest forecasts whose year is over; `None` while there are none.
    pub so_far: Option<SoFar>,
    /// What replacing with each option would put on the leaseholders, by its code.
    pub shares: BTreeMap<String, Consultation>,
    /// The date the unit's warranty hangs on.
    pub at_risk: Option<AtRisk>,
    /// Whether the reader may decide here.
    pub may_decide: bool,
    /// What the reader may agree alone, when that was stated.
    pub authority: Option<Pence>,
    /// What could be found out first, as it stands today, with what that gains and costs; kept after a decision, which does
    /// not make it known.
    pub ask: Vec<WorthAsking>,
    /// Whether what is advised has to be consulted about; `None` where it costs nothing now.
    pub consultation: Option<Consultation>,
    /// What speaks against paying for a repair as asked.
    pub before: Vec<Before>,
    /// A decision above this asks for the password again.
    pub confirm_above: Option<Pence>,
    /// The reader has a second device, so such a decision asks for its digits too.
    pub second_device: bool,
    /// Whose yes is the landlord's: those who hold that role and reach the building, by name.
    pub landlords: Vec<String>,
    /// What stays when the unit is replaced was counted on both sides; in advice made before that was done it was not.
    pub stays_counted: bool,
    /// The part quoted for stays beside what would be fitted: its repair is paid for either way.
    pub leaves_fault: bool,
    /// How a quote of the new unit stands.
    pub new_quote: NewUnitQuote,
    /// The head of the record, printed on the pack: entries and link.
    pub record_head: String,
}

/// What stands upon a job's quote; for the engineer's sheet.
#[derive(Clone, Debug)]
pub struct Upon {
    /// The advice.
    pub id: AdviceId,
    /// The quote.
    pub quote: Pence,
    /// The repair limit.
    pub limit: Option<Pence>,
    /// quote − limit.
    pub advantage: Option<Pence>,
    /// What the engineer on site may agree alone.
    pub may_agree: Option<Pence>,
    /// Against the engineer's own authority and the repair limit.
    pub on_site: Option<costing::QuoteOutcome>,
    /// Who may agree the quote.
    pub who_may: Role,
    /// What was decided upon it, and why.
    pub decided: Option<(Choice, String)>,
}

/// The list of advice: the agent's, and a landlord's own buildings of it.
pub fn overview(world: &World, seat: &Seat) -> Result<Overview, Error> {
    seat.must_be(&[
        Role::Agent,
        Role::Supervisor,
        Role::OutOfHours,
        Role::Landlord,
    ])?;
    world.acting(seat, |tx| {
        let rows = tx.advices(WhichAdvice::InForce)?;
        let all = listed(world, tx, seat, rows)?;
        let since = tx.at() - TimeDelta::days(LATELY);
        let (mut decided, mut open): (Vec<Listed>, Vec<Listed>) =
            all.into_iter().partition(|a| a.decision.is_some());
        decided.retain(|a| a.decision.as_ref().is_some_and(|d| d.at >= since));
        decided.sort_by_key(|a| std::cmp::Reverse(a.decision.as_ref().map(|d| d.at)));
        open.sort_by_key(|a| {
            (
                a.decide_by().is_none(),
                a.decide_by(),
                a.unit.number.clone(),
            )
        });
        let asked: Vec<UnitId> = open.iter().chain(&decided).map(|a| a.unit.id).collect();
        let worth = worth(tx, seat, &asked)?;
        Ok(Overview {
            open,
            decided,
            worth,
        })
    })
}

fn worth(tx: &mut Tx<'_>, seat: &Seat, asked: &[UnitId]) -> Result<Vec<Worth>, Error> {
    let mut found: Vec<Candidate> = programme_candidates(tx)?
        .into_iter()
        .filter(|c| c.advantage.0 > WORTH && !asked.contains(&c.unit))
        .filter(|c| seat.grant().reaches(c.building))
        .collect();
    found.sort_by(|a, b| b.advantage.0.total_cmp(&a.advantage.0));
    found.truncate(5);
    let kinds = tx.kinds()?;
    let name = |code: &str| {
        let kind = kinds.iter().find(|k| k.code == code);
        kind.map_or_else(|| code.to_owned(), |k| k.name.clone())
    };
    found
        .into_iter()
        .map(|c| {
            Ok(Worth {
                kind_name: name(&c.kind),
                option_name: name(&c.option),
                unit: tx.unit(c.unit)?,
                capex: c.capex,
                advantage: c.advantage,
                own_forecast: c.own_forecast,
                expected_12m: c.expected_12m,
            })
        })
        .collect()
}

/// One advice: for the agent, and for the landlord of its building.
pub fn advice_page(world: &World, seat: &Seat, id: AdviceId) -> Result<AdvicePage, Error> {
    seat.must_be(&[
        Role::Agent,
        Role::Supervisor,
        Role::OutOfHours,
        Role::Landlord,
    ])?;
    let second_device = crate::second_device::is_set(world, seat.account())?;
    world.acting(seat, |tx| {
        let row = tx.advice(id)?;
        let inputs: Inputs = serde_json::from_value(row.inputs.clone())
            .map_err(|e| Error::Internal(e.to_string()))?;
        let job = row.job.map(|job| tx.job(job)).transpose()?;
        let newer = match row.superseded_at {
            None => None,
            Some(_) => in_force(tx, row.unit)?,
        };
        let (made_by, digest) = (row.made_by, row.digest.clone());
        let old = row.superseded_at.is_some();
        let listed = listed(world, tx, seat, vec![row])?
            .pop()
            .ok_or(Error::NotFound("advice"))?;
        let may_decide = !old && open_to(seat, &listed);
        let authority = own_limit(tx, seat)?;
        let ask = asked_of(tx, &listed, old)?;
        let consultation = match listed.asks_for() {
            Some(cost) => consultation(tx, listed.unit.building, cost)?,
            None => None,
        };
        let part = quoted_part(tx, &listed)?;
        let asked = job.as_ref().map(|j| j.id);
        let before = before_money(tx, &listed.unit, asked, part.as_deref())?;
        let new_quote = stands(tx, seat, &listed, old)?;
        let follows = following(tx, &listed, job.as_ref())?;
        let building = listed.unit.building;
        let then = Moment::new(listed.made_at, inputs.known_on);
        let beside = listed.answer.advice.replace_with.clone();
        let facts = unit_facts(tx, &listed.unit, then, beside.as_deref())?;
        let mut options = inputs.case.options.iter();
        let option = options.find(|o| Some(&o.code) == beside.as_ref());
        let alike = inputs.case.old.stays != costing::Yearly::default();
        Ok(AdvicePage {
            lately: facts.lately(),
            facts,
            so_far: crate::forecast::said_so_far(tx, seat)?,
            shares: shares(tx, &listed)?,
            at_risk: cover_at_risk(tx, &listed.unit)?,
            listed,
            lines: inputs.lines,
            known_on: inputs.known_on,
            digest,
            job: job.map(|j| (j.id, j.number, j.state)),
            follows,
            made_by: name_of(world, made_by)?,
            newer,
            may_decide,
            authority,
            consultation,
            ask,
            before,
            confirm_above: crate::authority::confirm_above(tx)?,
            second_device,
            landlords: crate::door::landlords_of(world, seat, building)?,
            stays_counted: alike || option.is_some_and(|o| o.stays > 0.0),
            leaves_fault: option.is_some_and(|o| o.leaves_fault),
            new_quote,
            record_head: tx.chain_head_text()?,
        })
    })
}

/// Whether this person may decide it, as long as nobody did.
fn open_to(seat: &Seat, listed: &Listed) -> bool {
    let roles = [Role::Agent, Role::Supervisor, Role::Landlord];
    listed.decision.is_none() && seat.must_be(&roles).is_ok()
}

/// What is worth finding out of a unit in service, while the advice is in force.
fn asked_of(tx: &mut Tx<'_>, listed: &Listed, old: bool) -> Result<Vec<WorthAsking>, Error> {
    if old || listed.unit.fate != Fate::InService {
        return Ok(Vec::new());
    }
    let quote = tx.advice(listed.id)?.quote;
    worth_asking(tx, listed.unit.id, quote)
}

/// What the reader may agree alone, when that was stated.
fn own_limit(tx: &mut Tx<'_>, seat: &Seat) -> Result<Option<Pence>, Error> {
    let role = if seat.role() == Role::Landlord {
        Role::Landlord
    } else {
        Role::Agent
    };
    let (today, account) = (tx.today(), seat.account());
    Ok(tx.authority_of(role, account, today)?.map(|a| a.limit))
}

/// The advice that stands for a unit now.
fn in_force(tx: &mut Tx<'_>, unit: UnitId) -> Result<Option<AdviceId>, Error> {
    let mut all = tx.advices(WhichAdvice::InForce)?.into_iter();
    Ok(all.find(|a| a.unit == unit).map(|a| a.id))
}

/// The part the job's quote is about.
fn quoted_part(tx: &mut Tx<'_>, listed: &Listed) -> Result<Option<String>, Error> {
    let advice = tx.advice(listed.id)?;
    let quote = advice.quote.map(|id| tx.quote(id)).transpose()?;
    Ok(quote.and_then(|q| q.body.part))
}

fn name_of(world: &World, account: AccountId) -> Result<String, Error> {
    let names = crate::door::names(world, &[account])?;
    Ok(names
        .into_iter()
        .next()
        .map_or_else(|| "the program".to_owned(), |(_, name)| name))
}

/// What stands upon the quote of a job.
pub fn advice_upon(tx: &mut Tx<'_>, job: JobId) -> Result<Option<Upon>, Error> {
    let Some(row) = tx.advices(WhichAdvice::OfJob(job))?.pop() else {
        return Ok(None);
    };
    let Some(quote) = row.quote_pence else {
        return Ok(None);
    };
    let answer = answer_of(&row)?;
    let decided = tx
        .decisions(Some(&[row.id]))?
        .pop()
        .map(|d| (d.choice, d.reason));
    Ok(Some(Upon {
        id: row.id,
        quote,
        limit: row.limit,
        advantage: row.advantage,
        may_agree: answer.ladder.contractor,
        on_site: answer.ladder.on_site,
        who_may: answer.ladder.who_may(quote),
        decided,
    }))
}
