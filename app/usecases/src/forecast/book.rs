//! The book of forecasts: once a month all that the pages say is written down whole, beside what plainer ways say, with
//! its hash; when its year is over, what happened is written beside it, as known then. Neither is ever changed.
use std::collections::BTreeMap;

use chrono::{Datelike, Months, NaiveDate};
use dependability::baselines::{Baselines, Said};
use dependability::score::Scored;
use dependability::{CountLaw, Horizon, UnitHistory};
use serde::{Deserialize, Serialize};
use serde_json::json;
use sha2::{Digest, Sha256};
use store::Tx;
use store::books::BookRow;
use store::forecasts::{FitRow, ForecastRow};
use store::units::Which;
use terms::{BuildingId, Role, UnitId, hex};

use super::histories::Facts;
use super::kept::{KeptFit, in_service, load};
use super::season::axis;
use crate::{Error, Seat, World};

/// Changes whenever a line means something else.
const METHOD: u32 = 1;

/// What was said of one unit: mean and reciprocal size of the law of its failures in twelve months, each way.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Line {
    pub unit: UnitId,
    pub building: BuildingId,
    pub kind: String,
    pub said: Said<(f64, f64)>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Book {
    pub method: u32,
    pub lines: Vec<Line>,
}

/// What came of one line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Came {
    pub happened: u32,
    /// Share of the year the unit stood in service.
    pub stood: f64,
}

/// What came of a book: one answer a line, none where a unit's record cannot be.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Outcomes {
    pub lines: Vec<Option<Came>>,
}

impl Line {
    /// The line met with what came of it.
    pub fn scored(&self, came: Came) -> Said<Scored> {
        self.said.map(|(mean, inv_size)| Scored {
            law: CountLaw {
                mean: mean * came.stood,
                inv_size,
            },
            observed: u64::from(came.happened),
        })
    }

    /// The chance we gave it for the whole year.
    pub fn chance(&self) -> f64 {
        let (mean, inv_size) = self.said.ours;
        CountLaw { mean, inv_size }.at_least_one()
    }
}

/// What a run did.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptRecord {
    /// Forecasts written into this month's book, if it was written now.
    pub frozen: Option<usize>,
    /// Books whose year was over and that were scored.
    pub scored: usize,
}

/// Writes this month's book, if none was written yet, and scores every book whose year is over. Running it twice
/// changes nothing, so it needs no once-key.
///
/// # Errors
/// Not the agent, a supervisor or the program; the store's own.
pub fn keep_record(world: &World, seat: &Seat) -> Result<KeptRecord, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor])?;
    let asked = world.acting(seat, loaded)?;
    let mut kept = KeptRecord::default();
    // No transaction is open while the plainer ways are fitted.
    let book = asked.due.then(|| write(&asked)).transpose()?;
    world.acting(seat, |tx| {
        if let Some(book) = &book
            && !book.lines.is_empty()
        {
            let body = serde_json::to_string(book).map_err(store::Error::from)?;
            let until = year_on(asked.today);
            let digest = hash(&body);
            if tx
                .add_book(until, book.lines.len(), (&body, &digest))?
                .is_some()
            {
                kept.frozen = Some(book.lines.len());
                let said = json!({ "units": book.lines.len(), "digest": digest });
                tx.note("forecasts frozen", "book of forecasts", &said);
            }
        }
        for row in tx.books_to_score()? {
            let outcomes = outcomes(&read(&row)?, &row, &asked.facts, asked.today);
            let body = serde_json::to_string(&outcomes).map_err(store::Error::from)?;
            let digest = hash(&body);
            if tx.add_score(row.id, (&body, &digest))? {
                kept.scored += 1;
                let said = json!({ "made_on": row.made_on, "book": row.digest, "digest": digest });
                tx.note("forecasts scored", "book of forecasts", &said);
            }
        }
        Ok(())
    })?;
    Ok(kept)
}

struct Loaded {
    today: NaiveDate,
    /// This month has no book yet.
    due: bool,
    facts: BTreeMap<UnitId, Facts>,
    standing: BTreeMap<UnitId, ForecastRow>,
    fits: BTreeMap<String, FitRow>,
}

fn loaded(tx: &mut Tx<'_>) -> Result<Loaded, Error> {
    let today = super::today(tx);
    let month = |day: NaiveDate| (day.year(), day.month());
    let facts: BTreeMap<UnitId, Facts> = load(tx, Which::All)?
        .into_iter()
        .map(|f| (f.card.id, f))
        .collect();
    let ids: Vec<UnitId> = facts.keys().copied().collect();
    Ok(Loaded {
        today,
        due: tx
            .last_book_on()?
            .is_none_or(|last| month(last) != month(today)),
        standing: tx.forecasts_of(&ids)?,
        fits: tx.last_fits()?,
        facts,
    })
}

/// What the pages say today, and what plainer ways say of the same units.
fn write(asked: &Loaded) -> Result<Book, Error> {
    let mut by_kind: BTreeMap<&str, Vec<&Facts>> = BTreeMap::new();
    for facts in asked.facts.values() {
        by_kind.entry(&facts.card.kind).or_default().push(facts);
    }
    let year = Horizon::next(axis(asked.today), 1.0);
    let mut lines = Vec::new();
    for (kind, facts) in by_kind {
        let Some(row) = asked.fits.get(kind) else {
            continue;
        };
        let Some(fit) = KeptFit::read(row) else {
            continue;
        };
        let units: Vec<(&Facts, UnitHistory)> = facts
            .into_iter()
            .filter_map(|f| {
                let ready = f.ready(asked.today, &fit.prior.covariates).ok()?;
                Some((f, ready.history))
            })
            .collect();
        let known: Vec<UnitHistory> = units.iter().map(|(_, h)| h.clone()).collect();
        let refused = |e: dependability::InputError| Error::Internal(e.to_string());
        let plainer = Baselines::fit(&fit.prior, &known).map_err(refused)?;
        for (facts, history) in units.iter().filter(|(facts, _)| in_service(facts)) {
            let Some(told) = asked.standing.get(&facts.card.id) else {
                continue;
            };
            let ours = CountLaw::meeting(told.expected_12m, told.year.chance);
            let Ok(said) = plainer.beside(ours, history, &year) else {
                continue;
            };
            lines.push(Line {
                unit: facts.card.id,
                building: facts.card.building,
                kind: kind.to_owned(),
                said: said.map(|law| (law.mean, law.inv_size)),
            });
        }
    }
    Ok(Book {
        method: METHOD,
        lines,
    })
}

/// What happened to each line, on these facts.
pub(super) fn outcomes(
    book: &Book,
    row: &BookRow,
    facts: &BTreeMap<UnitId, Facts>,
    today: NaiveDate,
) -> Outcomes {
    let one = |line: &Line| {
        let facts = facts.get(&line.unit)?;
        let (from, until) = (row.made_on, row.until_on);
        let end = facts.card.fate_on.unwrap_or(until).clamp(from, until);
        let ready = facts.ready(today, &[]).ok()?;
        let inside = |day: &&NaiveDate| **day > from && **day <= end;
        Some(Came {
            happened: ready.basis.failures.iter().filter(inside).count() as u32,
            stood: (axis(end) - axis(from)) / (axis(until) - axis(from)),
        })
    };
    Outcomes {
        lines: book.lines.iter().map(one).collect(),
    }
}

/// Reads a book, which must be what was written.
pub(super) fn read(row: &BookRow) -> Result<Book, Error> {
    if hash(&row.body) != row.digest {
        let on = row.made_on;
        return Err(Error::Internal(format!(
            "the book of {on} is not what was written"
        )));
    }
    Ok(serde_json::from_str(&row.body).map_err(store::Error::from)?)
}

fn year_on(day: NaiveDate) -> NaiveDate {
    day.checked_add_months(Months::new(12)).unwrap_or(day)
}

fn hash(text: &str) -> String {
    hex(&Sha256::digest(text.as_bytes()))
}
