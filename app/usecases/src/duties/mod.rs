//! Duties: what must be done when, and what a completion does to the next deadline.
//!
//! A duty's record is a chain of rows, each applied to the deadline left by the one before. A row that
//! comes late or is corrected makes the rows after it be reckoned anew; those that change are superseded.
mod bearers;
mod brought_in;
mod by_hand;
pub mod dates;
mod desk;
mod due;
mod events;
mod export;
mod lining_up;
mod mixing;
mod places;
mod proof;
mod proving;
mod reckoned;
mod reports;
mod reviews;
mod rules;
mod shipped_rules;
mod unsafe_units;

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use inspection::duties::g3;
use store::Tx;
use store::duties::{Completion, DutyCard};
use store::units::Which;
use terms::place::SpaceCard;
use terms::trade::DutyRule;
use terms::unit::UnitCard;
use terms::{AccountId, DutyId, Fate, JobId, SpaceId, UnitId};
use uuid::Uuid;

use crate::{Error, Seat, World};

pub(crate) use brought_in::{
    Brought, bring_in, can_be_stated, gas_check, next_after, one_before, service, taken_back,
};
pub use by_hand::{OpenByHand, may_open, open_by_hand};
pub(crate) use by_hand::{hand_on, opened_on};
pub(crate) use dates::{is_care_valve, later_windows};
pub use desk::{
    Correction, GAS_ITEMS, GasPaper, Record, Start, correct, is_wiring, record, state_start,
};
pub use due::{DutyLine, Standing, due};
pub(crate) use events::happened;
pub use events::{
    EnterEvent, EventDone, EventLine, HAPPENINGS, Happening, TakeBackEvent, enter_event,
    event_done, event_lines, take_back_event,
};
pub use export::{export, harmless};
pub use lining_up::{Alignment, alignments, line_up};
pub use mixing::{MixingTest, record_mixing_test, start_mixing_tests};
pub use places::{DutyAt, OpenAt, PlaceDuties, close_at, open_at, place_duties};
pub use proof::{Proved, UnitDuties, proof};
pub use proving::{Doer, Known, Of, ProofLetter, ProvedLine, prove};
pub use reports::{WiringFound, WiringPaper, network_is_out};
pub(crate) use reports::{network_is_back, network_report};
pub use reviews::{Trigger, trigger_review};
pub use rules::{RULE_BASES, RuleLine, StateRule, rule_lines, state_rule, windows_of};
pub use shipped_rules::{AsShipped, state_as_shipped, take_in, take_in_shipped};
pub use unsafe_units::{UnsafeUnit, unsafe_units};

pub(crate) use due::lines;

/// A duty done, or found not to be a whole check.
#[derive(Clone, Debug)]
pub struct Done {
    /// The day.
    pub on: NaiveDate,
    /// Every item the check asks for was examined.
    pub check_complete: bool,
    /// The job it was done in.
    pub job: Option<JobId>,
    /// What proves it.
    pub evidence: String,
}

/// Opens the duties the rules give this unit and ends those that no longer hold. A duty has no date until
/// evidence comes, except for a unit fitted so lately that its first check is still ahead.
pub fn ensure_for_unit(tx: &mut Tx<'_>, unit: &UnitCard) -> Result<(), Error> {
    let open: Vec<DutyCard> = tx
        .duties_of_units(&[unit.id])?
        .into_iter()
        .filter(|d| d.ended_on.is_none())
        .collect();
    let wanted = rules_for(tx, unit)?;
    let ends = unit.fate_on.unwrap_or_else(|| tx.today());
    let by_hand: Vec<String> = tx
        .duty_rules()?
        .iter()
        .filter(|rule| opened_by_hand(rule))
        .map(|rule| rule.code.clone())
        .collect();
    for duty in &open {
        let stays = unit.fate == Fate::InService && by_hand.contains(&duty.rule);
        if !stays && !wanted.iter().any(|rule| rule.code == duty.rule) {
            tx.end_duty(duty.id, ends)?;
        }
    }
    for rule in wanted {
        if open.iter().any(|duty| duty.rule == rule.code) {
            continue;
        }
        let duty = open_duty(tx, unit, &rule.code, None)?;
        if !bearers::take_over(tx, unit, &rule, duty)? {
            start_from_fitting(tx, unit, &rule, duty)?;
        }
    }
    Ok(())
}

/// A rule no kind of unit has by itself: the desk opens its duty where it holds.
fn opened_by_hand(rule: &DutyRule) -> bool {
    rule.kinds.is_empty()
}

/// The rules that are ours to meet for this unit. The gas check of a home is the duty of whoever lets it:
/// it holds where the letting is under seven years or nobody knows.
pub fn rules_for(tx: &mut Tx<'_>, unit: &UnitCard) -> Result<Vec<DutyRule>, Error> {
    let space = tx.space(unit.space)?;
    let rules = tx.duty_rules()?;
    let mut found: Vec<DutyRule> = ours(&rules, unit, &space).into_iter().cloned().collect();
    if found.iter().any(crate::founding::once_a_building) {
        let bearers = bearers::of_building(tx, &rules, unit.building)?;
        found.retain(|rule| bearers::bears(&bearers, rule, unit));
    }
    Ok(found)
}

fn ours<'a>(rules: &'a [DutyRule], unit: &UnitCard, space: &SpaceCard) -> Vec<&'a DutyRule> {
    if unit.fate != Fate::InService {
        return Vec::new();
    }
    rules
        .iter()
        .filter(|rule| crate::founding::applies(rule, &unit.kind, space.used_as))
        .filter(|rule| !is_gas_check(rule) || space.let_short != Some(false))
        .collect()
}

/// Whether a rule is the landlord's gas safety check, whose duty follows the letting.
pub fn is_gas_check(rule: &DutyRule) -> bool {
    rule.window_rule == "W1" && rule.covers == "gas"
}

fn open_duty(
    tx: &mut Tx<'_>,
    unit: &UnitCard,
    rule: &str,
    ended_on: Option<NaiveDate>,
) -> Result<DutyId, Error> {
    Ok(tx.add_duty(&duty_card(unit, rule, ended_on))?)
}

/// A duty of a unit, about to be opened.
fn duty_card(unit: &UnitCard, rule: &str, ended_on: Option<NaiveDate>) -> DutyCard {
    DutyCard {
        id: DutyId(Uuid::nil()),
        rule: rule.to_owned(),
        unit: Some(unit.id),
        space: Some(unit.space),
        building: unit.building,
        ended_on,
    }
}

/// A unit fitted on a known day has its first date one interval later, when that is still ahead: the law
/// says so of a gas appliance; elsewhere it is custom.
fn start_from_fitting(
    tx: &mut Tx<'_>,
    unit: &UnitCard,
    rule: &DutyRule,
    duty: DutyId,
) -> Result<(), Error> {
    let Some((first, last)) = unit.installed else {
        return Ok(());
    };
    if first != last || dates::first_after(rule, first) < tx.today() {
        return Ok(());
    }
    let (deadline, reason) = if is_gas_check(rule) {
        // Lining up with the flat's other date is offered to the desk, never done unasked.
        let outcome = g3(first, None, false, None);
        (outcome.first_check_by, outcome.sentence())
    } else {
        let due = dates::first_after(rule, first);
        let reason = format!(
            "Fitted on {}: first due by {}.",
            inspection::calendar::date_words(first),
            inspection::calendar::date_words(due)
        );
        (due, reason)
    };
    add_start(tx, duty, (deadline, first), &reason)?;
    Ok(())
}

/// Records that the duty `rule_code` of a unit was done, with the next deadline by its window rule.
pub fn complete(tx: &mut Tx<'_>, unit: UnitId, rule_code: &str, done: &Done) -> Result<(), Error> {
    if done.on > crate::work::wall::day(tx.at()) {
        return Err(Error::field(
            "on",
            "A check cannot be recorded before its day.",
        ));
    }
    let (duty, rule) = duty_of(tx, unit, rule_code)?;
    complete_duty(tx, duty, &rule, done)
}

/// The same for a duty that stands on no unit: a home's, a plant room's, the building's.
pub(crate) fn complete_at(tx: &mut Tx<'_>, duty: DutyId, done: &Done) -> Result<(), Error> {
    let code = tx.duty(duty)?.rule;
    let rule = tx
        .duty_rules()?
        .into_iter()
        .find(|rule| rule.code == code)
        .ok_or(Error::NotFound("duty rule"))?;
    complete_duty(tx, duty, &rule, done)
}

/// States the deadline of a unit's duty without a check: from an import, a former agent's list, a decision.
pub fn state_deadline(
    tx: &mut Tx<'_>,
    unit: UnitId,
    rule_code: &str,
    deadline: NaiveDate,
    reason: &str,
) -> Result<(), Error> {
    let (duty, rule) = duty_of(tx, unit, rule_code)?;
    let today = tx.today();
    let same = tx
        .completions_of(&[duty], false)?
        .iter()
        .any(|row| row.done_on.is_none() && row.next_deadline == Some(deadline));
    if same {
        return Ok(());
    }
    // It stands where a check one interval before it would: checks known from before that do not move it,
    // later ones do.
    let holds_from = dates::one_before(&rule, deadline).min(today);
    add_start(tx, duty, (deadline, holds_from), reason)?;
    reckon(tx, duty, &rule)
}

fn add_start(
    tx: &mut Tx<'_>,
    duty: DutyId,
    dates: (NaiveDate, NaiveDate),
    reason: &str,
) -> Result<(), Error> {
    add_row(tx, duty, dates, ("start", reason))
}

/// States a deadline without a check, in place of the one stated before.
fn add_row(
    tx: &mut Tx<'_>,
    duty: DutyId,
    (deadline, happened_on): (NaiveDate, NaiveDate),
    (result, reason): (&str, &str),
) -> Result<(), Error> {
    let former: Vec<Uuid> = tx
        .completions_of(&[duty], false)?
        .into_iter()
        .filter(|row| row.done_on.is_none())
        .map(|row| row.id)
        .collect();
    tx.supersede_completions(&former)?;
    let row = Completion {
        result: result.to_owned(),
        next_deadline: Some(deadline),
        reason: reason.to_owned(),
        ..blank(duty, happened_on)
    };
    tx.add_completions(std::slice::from_ref(&row))?;
    Ok(())
}

fn blank(duty: DutyId, happened_on: NaiveDate) -> Completion {
    Completion {
        id: Uuid::nil(),
        duty,
        done_on: None,
        check_complete: false,
        result: "start".to_owned(),
        treated_as: None,
        days_late: 0,
        next_deadline: None,
        reason: String::new(),
        job: None,
        evidence: String::new(),
        happened_on,
        recorded_at: chrono::DateTime::UNIX_EPOCH,
        recorded_by: AccountId(Uuid::nil()),
        superseded_at: None,
        import: None,
        measured_k: None,
    }
}

/// The duty of a unit by its rule: the open one, else the last ended, else a new one. A check on record is
/// worth keeping even where the duty is not ours.
fn duty_of(tx: &mut Tx<'_>, unit: UnitId, rule_code: &str) -> Result<(DutyId, DutyRule), Error> {
    let rule = tx
        .duty_rules()?
        .into_iter()
        .find(|rule| rule.code == rule_code)
        .ok_or(Error::NotFound("duty rule"))?;
    let known = tx.duties_of_units(&[unit])?;
    let mut of_rule = known.iter().filter(|d| d.rule == rule_code);
    let found = of_rule
        .clone()
        .find(|d| d.ended_on.is_none())
        .or_else(|| of_rule.next_back());
    if let Some(duty) = found {
        return Ok((duty.id, rule));
    }
    let card = tx.unit(unit)?;
    let holds = rules_for(tx, &card)?.iter().any(|r| r.code == rule_code);
    let ended = match card.fate {
        Fate::InService if holds => None,
        Fate::InService => Some(tx.today()),
        _ => Some(card.fate_on.unwrap_or_else(|| tx.today())),
    };
    Ok((open_duty(tx, &card, rule_code, ended)?, rule))
}

/// Adds a completion to a duty's record and reckons the rows after it anew.
pub(crate) fn complete_duty(
    tx: &mut Tx<'_>,
    duty: DutyId,
    rule: &DutyRule,
    done: &Done,
) -> Result<(), Error> {
    complete_measured(tx, duty, (rule, done), None)
}

/// The same, with what a test of a mixing valve measured.
fn complete_measured(
    tx: &mut Tx<'_>,
    duty: DutyId,
    (rule, done): (&DutyRule, &Done),
    measured_k: Option<f64>,
) -> Result<(), Error> {
    let same = tx
        .completions_of(&[duty], false)?
        .iter()
        .any(|row| row.done_on == Some(done.on) && row.check_complete == done.check_complete);
    if same {
        return Ok(());
    }
    let row = Completion {
        done_on: Some(done.on),
        check_complete: done.check_complete,
        result: "to_reckon".to_owned(),
        job: done.job,
        evidence: done.evidence.clone(),
        measured_k,
        ..blank(duty, done.on)
    };
    reckon_with(tx, duty, rule, Some(row))
}

/// Reckons a duty's rows anew and supersedes those whose outcome changed.
pub(crate) fn reckon(tx: &mut Tx<'_>, duty: DutyId, rule: &DutyRule) -> Result<(), Error> {
    reckon_with(tx, duty, rule, None)
}

fn reckon_with(
    tx: &mut Tx<'_>,
    duty: DutyId,
    rule: &DutyRule,
    fresh: Option<Completion>,
) -> Result<(), Error> {
    let mut rows = tx.completions_of(&[duty], false)?;
    rows.extend(fresh);
    let versions: Vec<DutyRule> = tx
        .duty_rule_versions(Some(&rule.code))?
        .into_iter()
        .map(|version| version.rule)
        .collect();
    let (gone, changed) = reckoned::reckoned((rule, &versions), rows)?;
    tx.supersede_completions(&gone)?;
    tx.add_completions(&changed)?;
    Ok(())
}

/// Brings the duties of every unit in line with the rules: a task of the clock. Answers the units looked at.
pub fn refresh(world: &World, seat: &Seat) -> Result<usize, Error> {
    seat.must_be(&[terms::Role::Agent, terms::Role::Supervisor])?;
    world.acting(seat, |tx| {
        let units = tx.units(Which::All)?;
        let rules = tx.duty_rules()?;
        let spaces: BTreeMap<SpaceId, SpaceCard> =
            tx.spaces(None)?.into_iter().map(|s| (s.id, s)).collect();
        let mut open: BTreeSet<(UnitId, String)> = BTreeSet::new();
        let by_hand: BTreeSet<&str> = rules
            .iter()
            .filter(|rule| opened_by_hand(rule))
            .map(|rule| rule.code.as_str())
            .collect();
        for duty in tx.open_duties()? {
            if !by_hand.contains(duty.rule.as_str()) {
                open.extend(duty.unit.map(|unit| (unit, duty.rule)));
            }
        }
        let bearers = bearers::among(&rules, &units, &spaces);
        for unit in &units {
            let wanted: BTreeSet<(UnitId, String)> = spaces
                .get(&unit.space)
                .map(|space| ours(&rules, unit, space))
                .unwrap_or_default()
                .into_iter()
                .filter(|rule| bearers::bears(&bearers, rule, unit))
                .map(|rule| (unit.id, rule.code.clone()))
                .collect();
            let from = (unit.id, String::new());
            let has = open.range(from..).take_while(|(id, _)| *id == unit.id);
            if !has.eq(wanted.iter()) {
                ensure_for_unit(tx, unit)?;
            }
        }
        Ok(units.len())
    })
}
