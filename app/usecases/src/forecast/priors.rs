//! A kind's prior from the trade's dated data, and what is asked of each kind.
use std::collections::BTreeMap;

use dependability::recording;
use dependability::{CovariatePrior, KindPrior, Normal, PartClock, PartPrior};
use terms::HeatingSystem;
use terms::trade::{Kind, PartShare};
use terms::unit::UnitCard;

use super::alike::{self, Alike};
use super::histories::Facts;

/// Covariate: hard water with no scale reducer known to be fitted.
pub const HARD_WATER: &str = "hard_water";
/// Covariate: known to run without a filter.
pub const NO_FILTER: &str = "no_filter";
/// Covariate: more than 13 months since the last service on record.
pub const SERVICE_LAPSED: &str = "service_lapsed";
/// Covariate: the heating circuit is known to be open to the air, fed from a tank.
pub const OPEN_SYSTEM: &str = "open_system";
/// Covariate: how often the number of people in the home is twice two; a quarter means four times as few.
pub const PEOPLE: &str = "people";
/// Covariate: of this family; the family's word follows.
pub const FAMILY: &str = "family:";
/// Failures during lapses below which nothing is said of what goes along with them (FORECAST §7).
pub const LEAST_IN_LAPSE: u32 = 10;
/// Water harder than this, mg/l as calcium carbonate, counts as hard (trade notes, adjusters; common practice, no source).
pub const HARD_MG_L: f64 = 200.0;
/// Units of a family from which it is asked about (judgement): of fewer there is nothing to learn.
pub const LEAST_OF_FAMILY: usize = 5;
/// Families asked about at most, those with most units (judgement): a fit has 3 to 15 parameters (FORECAST §2).
pub const MOST_FAMILIES: usize = 6;

/// Effects of the covariates on the log rate: centred at none, hazard ratios within 0.37 to 2.7 (FORECAST §3, judgement).
const EFFECT: Normal = Normal { mean: 0.0, sd: 0.5 };

/// The prior of a kind: its rate at ten years, its parts' shares, and what is asked of these units of it.
pub(crate) fn prior_of(kind: &Kind, shares: &[PartShare], units: &[Facts]) -> KindPrior {
    let parts = shares
        .iter()
        .filter(|share| share.kind == kind.code)
        .map(|share| PartPrior {
            code: share.code.clone(),
            share: share.share,
            shape: share.shape,
            clock: match share.clock.as_str() {
                "part" => PartClock::Part,
                "event" => PartClock::Event,
                _ => PartClock::Unit,
            },
        })
        .collect();
    KindPrior {
        covariates: covariates(units),
        ..KindPrior::around(kind.rate_10y, kind.rate_sd_log, parts)
    }
}

fn effect(code: &str) -> CovariatePrior {
    CovariatePrior {
        code: code.to_owned(),
        effect: EFFECT,
    }
}

/// What is asked of a kind: always its water, its filter, the record itself and lapses of service; what else its units are
/// alike in where something is stated of one of them. A fit keeps what it was asked, and histories are made to its own
/// list, so that one stored before answers as it did.
pub(crate) fn covariates(units: &[Facts]) -> Vec<CovariatePrior> {
    let mut all = vec![
        effect(HARD_WATER),
        effect(NO_FILTER),
        recording::covariate(),
        effect(SERVICE_LAPSED),
    ];
    let stated = |says: fn(&Alike) -> bool| units.iter().any(|facts| says(&facts.alike));
    if stated(|alike| !alike.system.is_empty()) {
        all.push(effect(OPEN_SYSTEM));
    }
    if stated(|alike| !alike.people.is_empty()) {
        all.push(effect(PEOPLE));
    }
    all.extend(
        families(units)
            .into_iter()
            .map(|name| effect(&code_of(&name))),
    );
    all
}

/// The families asked about, the largest first: of enough units, and not all units there are, whose level it would be.
fn families(units: &[Facts]) -> Vec<String> {
    let mut sizes: BTreeMap<String, usize> = BTreeMap::new();
    for name in units.iter().filter_map(|f| alike::now(&f.alike.family)) {
        *sizes.entry(name).or_insert(0) += 1;
    }
    let mut found: Vec<(String, usize)> = sizes
        .into_iter()
        .filter(|(_, size)| (LEAST_OF_FAMILY..units.len()).contains(size))
        .collect();
    found.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    found.truncate(MOST_FAMILIES);
    found.into_iter().map(|(name, _)| name).collect()
}

fn code_of(family: &str) -> String {
    format!("{FAMILY}{family}")
}

/// Places of the families among a kind's covariates.
pub(crate) fn family_places(asked: &[CovariatePrior]) -> Vec<usize> {
    (0..asked.len())
        .filter(|&place| asked[place].code.starts_with(FAMILY))
        .collect()
}

/// Where a covariate stands among those asked about.
pub(super) fn place_of(asked: &[CovariatePrior], code: &str) -> Option<usize> {
    asked.iter().position(|c| c.code == code)
}

/// Whether this program knows what a covariate asks.
pub(super) fn is_known(code: &str) -> bool {
    let plain = [HARD_WATER, NO_FILTER, SERVICE_LAPSED, OPEN_SYSTEM, PEOPLE];
    plain.contains(&code) || code == recording::YEAR || code.starts_with(FAMILY)
}

/// What an open heating circuit counts.
pub(super) fn open(system: HeatingSystem) -> f64 {
    f64::from(u8::from(system == HeatingSystem::Open))
}

/// What so many people count: 1 for each doubling of two, of whom nobody speaks; an empty home counts as one person's.
pub(super) fn beyond_two(people: f64) -> f64 {
    (people.clamp(1.0, 32.0) / 2.0).log2()
}

/// What a unit is like now, by covariate; what it says nothing of is nought.
#[derive(Clone, Debug, Default)]
pub(crate) struct MakeUp(BTreeMap<String, f64>);

impl MakeUp {
    /// That of a unit, by its card and what is stated beside it.
    pub fn of(card: &UnitCard, alike: &Alike) -> Self {
        let hard = card.hardness_mg_l.is_some_and(|h| h > HARD_MG_L);
        let flag = |yes: bool| f64::from(u8::from(yes));
        let mut all = BTreeMap::from([
            (
                HARD_WATER.to_owned(),
                flag(hard && card.reducer_fitted != Some(true)),
            ),
            (
                NO_FILTER.to_owned(),
                flag(card.filter_fitted == Some(false)),
            ),
        ]);
        all.extend(alike::now(&alike.system).map(|s| (OPEN_SYSTEM.to_owned(), open(s))));
        all.extend(alike::now(&alike.people).map(|n| (PEOPLE.to_owned(), beyond_two(n))));
        all.extend(alike::now(&alike.family).map(|name| (code_of(&name), 1.0)));
        Self(all)
    }

    /// That of a new unit in its place: the water, the heating circuit and the people stay; a new one is fitted with a filter
    /// (common practice, no source), and of its family nothing is known.
    pub fn of_new(card: &UnitCard, alike: &Alike) -> Self {
        let card = UnitCard {
            filter_fitted: Some(true),
            ..card.clone()
        };
        let alike = Alike {
            family: Vec::new(),
            ..alike.clone()
        };
        Self::of(&card, &alike)
    }

    /// The covariates in the order asked; those of time are nought.
    pub fn in_order(&self, asked: &[CovariatePrior]) -> Vec<f64> {
        asked
            .iter()
            .map(|c| self.0.get(&c.code).copied().unwrap_or(0.0))
            .collect()
    }
}
