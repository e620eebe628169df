//! What the programme may replace: every unit in service, no fault in hand.
use std::collections::BTreeMap;

use costing::case::CheckedCase;
use costing::weigh::{Levers, by_option, weigh};
use store::Tx;
use store::advices::ToldFailures;
use store::history::History;
use store::units::Which;
use terms::place::{BuildingCard, SpaceCard};
use terms::{BuildingId, ExpectedPounds, Fate, Pence, SpaceId, UnitId, UsedAs};

use super::ages::middles;
use super::book::Book;
use super::case::{Subject, weighable};
use super::options::{options_for, site_of};
use crate::Error;

/// A unit that could be replaced in some year, and what each year costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The unit.
    pub unit: UnitId,
    /// Its lasting number.
    pub number: String,
    /// Its kind.
    pub kind: String,
    /// Its building.
    pub building: BuildingId,
    /// Its space.
    pub space: SpaceId,
    /// The space's name.
    pub space_name: String,
    /// The stair or riser that reaches it; empty = none is known.
    pub stair: String,
    /// Without it one home has no heating: it stands in a flat and gives heat.
    pub heats_home: bool,
    /// With what.
    pub option: String,
    /// Fitted, including VAT.
    pub capex: Pence,
    /// Best number of further years to keep it.
    pub best_keep: u32,
    /// W[k], k = 0 … horizon: expected pounds of keeping it k more years and then replacing it, relative to an endless
    /// chain of new ones; `None` where that cannot be.
    pub keep: Vec<Option<f64>>,
    /// W[best keep] − W[0]: positive when replacing now is the cheaper course.
    pub advantage: ExpectedPounds,
    /// Expected failures over the next 12 months.
    pub expected_12m: f64,
    /// Expected failures in year 1, 2, … of keeping it.
    pub faults_old: Vec<f64>,
    /// Expected failures of what would take its place, by its age, and of what stays.
    pub faults_new: Vec<f64>,
    /// Everything it can be replaced with, the option above first.
    pub options: Vec<CandidateOption>,
    /// Age reckoned with, years.
    pub age: f64,
    /// Whether a forecast of its own stands behind it.
    pub own_forecast: bool,
}

/// One thing a unit can be replaced with.
#[derive(Clone, Debug, PartialEq)]
pub struct CandidateOption {
    /// Its code.
    pub code: String,
    /// Fitted, including VAT.
    pub capex: Pence,
    /// W[k] with this option, k = 0 … horizon.
    pub keep: Vec<Option<f64>>,
    /// Expected failures of it, by its age, and of what stays beside it.
    pub faults_new: Vec<f64>,
}

/// Every unit in service with a price for replacing it, by number. Reads the estate in bulk and draws nothing, so that
/// hundreds of units take no longer than a page may.
pub fn programme_candidates(tx: &mut Tx<'_>) -> Result<Vec<Candidate>, Error> {
    candidates_under(tx, &Levers::default(), 0)
}

/// The same under `levers`: what would be if a price or the rate were another. Each course reaches at least `years` ahead.
pub(crate) fn candidates_under(
    tx: &mut Tx<'_>,
    levers: &Levers,
    years: u32,
) -> Result<Vec<Candidate>, Error> {
    let mut book = Book::load(tx)?;
    book.look_ahead(years);
    let cards: Vec<_> = tx
        .units(Which::All)?
        .into_iter()
        .filter(|card| card.fate == Fate::InService)
        .collect();
    let spaces: BTreeMap<SpaceId, SpaceCard> =
        tx.spaces(None)?.into_iter().map(|s| (s.id, s)).collect();
    let buildings: BTreeMap<BuildingId, BuildingCard> =
        tx.buildings()?.into_iter().map(|b| (b.id, b)).collect();
    let told: BTreeMap<UnitId, ToldFailures> = tx
        .told_failures(None)?
        .into_iter()
        .map(|t| (t.unit, t))
        .collect();
    let ids: Vec<UnitId> = cards.iter().map(|c| c.id).collect();
    let at = tx.at();
    let histories = tx.histories(&ids, at)?;
    let none = History::default();
    let today = tx.today();
    let ages = middles(&book, &cards, &buildings, today);
    let mut found = Vec::new();
    for card in &cards {
        let (Some(space), Some(building)) =
            (spaces.get(&card.space), buildings.get(&card.building))
        else {
            continue;
        };
        if book.kind(&card.kind).is_err() {
            continue;
        }
        let subject = Subject {
            card,
            options: options_for(&book, &card.kind, &site_of(card, space, building), None)?,
            told: told.get(&card.id),
            failures: &histories.get(&card.id).unwrap_or(&none).failures,
            fitted: &histories.get(&card.id).unwrap_or(&none).parts,
            quote: None,
            today,
            age: ages.get(&card.id).copied(),
        };
        found.extend(candidate(&book, &subject, space, levers)?);
    }
    Ok(found)
}

/// Kinds that give a home its heating when they stand in a flat.
const HEATS: [&str; 6] = ["CB", "GB", "EB", "HIU", "HP", "TS"];

fn candidate(
    book: &Book,
    subject: &Subject<'_>,
    space: &SpaceCard,
    levers: &Levers,
) -> Result<Option<Candidate>, Error> {
    let card = subject.card;
    let case = weighable(book, subject)?;
    let expected_12m = match &case.case.old.faults {
        costing::Yearly::Each(years) => years.first().copied().unwrap_or_default(),
        costing::Yearly::Same(one) => *one,
    };
    let checked = case
        .case
        .checked()
        .map_err(|e| Error::Internal(format!("{}: {e}", card.number)))?;
    let weighed = weigh(&checked, levers);
    let (Some(advantage), Some(best), Some(Some((_, option)))) = (
        weighed.advantage(),
        weighed.best_keep,
        weighed.start.first(),
    ) else {
        return Ok(None);
    };
    let faults_new = with_what_stays(&checked, *option);
    let options = options_of(&checked, levers, *option);
    let option = &checked.case().options[*option];
    Ok(Some(Candidate {
        unit: card.id,
        number: card.number.clone(),
        kind: card.kind.clone(),
        building: card.building,
        space: card.space,
        space_name: card.space_name.clone(),
        stair: space.stair.clone().unwrap_or_default(),
        heats_home: space.used_as == UsedAs::Flat && HEATS.contains(&card.kind.as_str()),
        option: option.code.clone(),
        capex: ExpectedPounds(option.capex * levers.capex).to_pence(),
        best_keep: best as u32,
        advantage: ExpectedPounds(advantage),
        keep: weighed.keep,
        expected_12m,
        faults_old: checked.faults_old().to_vec(),
        faults_new,
        options,
        age: case.age,
        own_forecast: subject.told.is_some(),
    }))
}

/// Failures by the age of an option, with those of parts that stay beside it: they happen in the same home.
fn with_what_stays(checked: &CheckedCase, o: usize) -> Vec<f64> {
    let staying = checked.faults_staying(o);
    checked.faults_new(o).iter().map(|m| m + staying).collect()
}

/// Every option of a case with its own course, the one at `first` before the others.
fn options_of(checked: &CheckedCase, levers: &Levers, first: usize) -> Vec<CandidateOption> {
    let courses = by_option(checked, levers);
    let mut order: Vec<usize> = (0..courses.len()).collect();
    order.sort_by_key(|o| *o != first);
    let of = |o: usize| {
        let option = checked.case().options.get(o)?;
        Some(CandidateOption {
            code: option.code.clone(),
            capex: ExpectedPounds(option.capex * levers.capex).to_pence(),
            keep: courses.get(o)?.clone(),
            faults_new: with_what_stays(checked, o),
        })
    };
    order.into_iter().filter_map(of).collect()
}
