//! What the program goes by: every limit, rule, price and starting figure with its status, source and day. Reads only.
use inspection::RuleBook;
use terms::place::BuildingCard;
use terms::trade::{Authority, DutyRule, Kind, PartShare, Price, RealRate};
use terms::{Country, Role};

use crate::founding::{ConsultAbove, Formula, consult_above, formulas};
use crate::{Error, Seat, World};

pub use inspection::duties::EventReason;
pub use inspection::rulebook::{
    EventRule, Limit, RepairPeriod, RepairRule, ResponseRule, Set, Span, Table, Targets,
};

/// What the program goes by in one estate.
#[derive(Clone, Debug)]
pub struct Facts {
    /// The rule book in force: limits, readings sets, symptom tables, blocks, event days, response times.
    pub book: &'static RuleBook,
    /// The formulas and date rules in words.
    pub formulas: Vec<Formula>,
    /// The estate's duty rules, by code.
    pub duties: Vec<DutyRule>,
    /// From which cost to any one leaseholder on all are consulted, the oldest row first.
    pub consult_above: Vec<ConsultAbove>,
    /// Kinds of unit with the figures their forecasts start from.
    pub kinds: Vec<Kind>,
    /// Shares of each kind's faults by part.
    pub parts: Vec<PartShare>,
    /// Prices by kind, general ones and those agreed with a firm.
    pub prices: Vec<Price>,
    /// The yearly real rate in force.
    pub rate: RealRate,
    /// Who may agree what today.
    pub authorities: Vec<Authority>,
    /// The buildings in the seat's reach.
    pub buildings: Vec<BuildingCard>,
}

impl Facts {
    /// The countries whose rules are held.
    pub fn countries(&self) -> Vec<Country> {
        let held = |country: &Country| {
            self.book.country() == country.code()
                || self.duties.iter().any(|d| d.country == country.code())
        };
        Country::ALL.iter().copied().filter(held).collect()
    }

    /// The duty rules that do not hold for a country, because they are another's.
    pub fn lacking(&self, country: Country) -> Vec<&DutyRule> {
        let own = |rule: &&DutyRule| rule.country != country.code();
        self.duties.iter().filter(own).collect()
    }
}

/// What the program goes by.
pub fn facts(world: &World, seat: &Seat) -> Result<Facts, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::OutOfHours])?;
    let book = RuleBook::shipped().map_err(|e| Error::Internal(e.to_string()))?;
    world.acting(seat, |tx| {
        let mut kinds = tx.kinds()?;
        kinds.sort_by(|a, b| a.name.cmp(&b.name));
        let mut prices = Vec::new();
        for kind in &kinds {
            prices.extend(tx.prices_of(&kind.code)?);
        }
        Ok(Facts {
            book,
            formulas: formulas()?,
            duties: tx.duty_rules()?,
            consult_above: consult_above()?,
            parts: tx.part_shares()?,
            prices,
            rate: tx.rate_on(tx.today())?,
            authorities: tx.authorities(tx.today())?,
            buildings: tx
                .buildings()?
                .into_iter()
                .filter(|b| seat.grant().reaches(b.id))
                .collect(),
            kinds,
        })
    })
}
