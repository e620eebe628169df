//! The track record: books whose year is over, met with what happened.
use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, Utc};
use dependability::judgement::{Case, Judgement, judge};
use store::Tx;
use store::books::{BookRow, ScoreRow};
use store::units::Which;
use terms::unit::UnitCard;
use terms::{Role, UnitId};

use super::book::{Book, Came, Line, Outcomes, outcomes, read};
use super::histories::Facts;
use super::kept::load;
use crate::{Error, Seat, World};

/// Books read, the newest first: five years of months.
const BOOKS: i64 = 60;
/// A unit's failure is a surprise from this chance down, its silence from the other up (judgement).
const SURPRISES: (f64, f64) = (0.1, 0.45);
/// The most of either kept on view.
const ON_VIEW: usize = 3;

/// A unit that did otherwise than was likely.
#[derive(Clone, Debug, PartialEq)]
pub struct Surprise {
    /// The unit as it stands now.
    pub card: UnitCard,
    /// The chance that was said.
    pub said: f64,
    /// How often it failed.
    pub happened: u32,
}

/// One line of a book for the list.
#[derive(Clone, Debug, PartialEq)]
pub struct TrackLine {
    /// The unit as it stands now; `None` when it is not on record any more.
    pub card: Option<UnitCard>,
    /// Its kind then.
    pub kind: String,
    /// Chance and failures expected over twelve months, as said.
    pub said: (f64, f64),
    /// Failures expected by the kind's average, by age alone, by the published figures alone.
    pub plainer: [f64; 3],
    /// Failures, and the share of the year it stood; `None`: its record cannot be.
    pub came: Option<(u32, f64)>,
}

/// One book met with what happened.
#[derive(Clone, Debug, PartialEq)]
pub struct MetBook {
    /// First day and last of its year.
    pub period: (NaiveDate, NaiveDate),
    /// When it was scored.
    pub scored_at: DateTime<Utc>,
    /// SHA-256 of what was said.
    pub digest: String,
    /// How right it was, in the buildings of the reader.
    pub judgement: Judgement,
    /// Failures of that year entered since it was scored: shown beside, never counted in.
    pub later: i64,
    /// Failed though little was said, most surprising first; then silent though much was said.
    pub surprises: Vec<Surprise>,
    /// Every line.
    pub lines: Vec<TrackLine>,
}

/// An older book in one line.
#[derive(Clone, Debug, PartialEq)]
pub struct PastBook {
    /// First day and last of its year.
    pub period: (NaiveDate, NaiveDate),
    /// Failures said.
    pub expected: f64,
    /// Failures that happened.
    pub happened: u64,
    /// Inside what luck does in 8 of 10.
    pub inside: bool,
}

/// What the track record can say.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TrackRecord {
    /// When the first book was written.
    pub first_on: Option<NaiveDate>,
    /// The newest book whose year is over.
    pub last: Option<MetBook>,
    /// All books together, when there are several; their years overlap, and everything in a building is taken as
    /// dependent over all of them.
    pub together: Option<Judgement>,
    /// The books before the newest, the newest first.
    pub before: Vec<PastBook>,
    /// The newest three books a year apart all said too much (−1) or too little (1), each by more than luck does in 8 of
    /// 10; else 0.
    pub leans: i8,
}

/// Meets the books whose year is over with what happened, as known when each was scored.
///
/// # Errors
/// Not the agent, a supervisor or a landlord; the store's own.
pub fn track_record(world: &World, seat: &Seat) -> Result<TrackRecord, Error> {
    seat.must_be(&[Role::Agent, Role::Supervisor, Role::Landlord])?;
    world.acting(seat, |tx| met(tx, seat))
}

/// How right the newest book was whose year is over, in the buildings of the reader.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SoFar {
    /// First day and last of its year.
    pub period: (NaiveDate, NaiveDate),
    /// Failures said.
    pub said: f64,
    /// Failures that happened.
    pub happened: u64,
}

/// The newest book met with what happened, as two numbers; `None` while no book's year is over.
pub(crate) fn said_so_far(tx: &mut Tx<'_>, seat: &Seat) -> Result<Option<SoFar>, Error> {
    let Some((row, score)) = tx.scored_books(1)?.pop() else {
        return Ok(None);
    };
    let opened = Opened {
        book: read(&row)?,
        outcomes: serde_json::from_str(&score.body).map_err(store::Error::from)?,
        row,
        score,
    };
    let cases = opened.cases(seat);
    Ok((!cases.is_empty()).then(|| SoFar {
        period: (opened.row.made_on, opened.row.until_on),
        said: cases.iter().map(|c| c.scored.ours.law.mean).sum(),
        happened: cases.iter().map(|c| c.scored.ours.observed).sum(),
    }))
}

struct Opened {
    row: BookRow,
    score: ScoreRow,
    book: Book,
    outcomes: Outcomes,
}

impl Opened {
    fn met<'a>(&'a self, seat: &'a Seat) -> impl Iterator<Item = (&'a Line, Option<Came>)> {
        let lines = self.book.lines.iter().zip(&self.outcomes.lines);
        lines
            .filter(move |(line, _)| seat.grant().reaches(line.building))
            .map(|(line, came)| (line, *came))
    }

    fn cases(&self, seat: &Seat) -> Vec<Case> {
        self.met(seat)
            .filter_map(|(line, came)| {
                Some(Case {
                    group: line.building.to_string(),
                    unit: line.unit.to_string(),
                    scored: line.scored(came?),
                })
            })
            .collect()
    }
}

fn met(tx: &mut Tx<'_>, seat: &Seat) -> Result<TrackRecord, Error> {
    let mut record = TrackRecord {
        first_on: tx.first_book_on()?,
        ..TrackRecord::default()
    };
    let mut books = Vec::new();
    for (row, score) in tx.scored_books(BOOKS)? {
        books.push(Opened {
            book: read(&row)?,
            outcomes: serde_json::from_str(&score.body).map_err(store::Error::from)?,
            row,
            score,
        });
    }
    let mut all = Vec::new();
    for opened in &books {
        let cases = opened.cases(seat);
        let Some(judgement) = judge(&cases) else {
            continue;
        };
        all.extend(cases);
        if record.last.is_none() {
            record.last = Some(newest(tx, seat, opened, judgement)?);
        } else {
            record.before.push(PastBook {
                period: (opened.row.made_on, opened.row.until_on),
                expected: judgement.expected,
                happened: judgement.happened,
                inside: judgement.inside(),
            });
        }
    }
    record.together = (!record.before.is_empty()).then(|| judge(&all)).flatten();
    record.leans = leans(&record);
    Ok(record)
}

/// Which way three books a year apart lean, if they do.
fn leans(record: &TrackRecord) -> i8 {
    let Some(last) = &record.last else {
        return 0;
    };
    let side = |inside: bool, expected: f64, happened: u64| {
        if inside {
            0
        } else if happened as f64 > expected {
            1
        } else {
            -1
        }
    };
    let judged = &last.judgement;
    let mut sides = vec![side(judged.inside(), judged.expected, judged.happened)];
    let mut since = last.period.0;
    for book in &record.before {
        if book.period.1 <= since {
            sides.push(side(book.inside, book.expected, book.happened));
            since = book.period.0;
        }
    }
    match sides.get(..3) {
        Some([1, 1, 1]) => 1,
        Some([-1, -1, -1]) => -1,
        _ => 0,
    }
}

fn newest(
    tx: &mut Tx<'_>,
    seat: &Seat,
    opened: &Opened,
    judgement: Judgement,
) -> Result<MetBook, Error> {
    let today = super::today(tx);
    let facts: BTreeMap<UnitId, Facts> = load(tx, Which::All)?
        .into_iter()
        .map(|f| (f.card.id, f))
        .collect();
    let now = Opened {
        outcomes: outcomes(&opened.book, &opened.row, &facts, today),
        row: opened.row.clone(),
        score: opened.score.clone(),
        book: opened.book.clone(),
    };
    let happened = |of: &Opened| -> i64 {
        let lines = of.met(seat).filter_map(|(_, came)| came);
        lines.map(|came| i64::from(came.happened)).sum()
    };
    Ok(MetBook {
        period: (opened.row.made_on, opened.row.until_on),
        scored_at: opened.score.scored_at,
        digest: opened.row.digest.clone(),
        judgement,
        later: happened(&now) - happened(opened),
        surprises: surprises(opened.met(seat), &facts),
        lines: opened
            .met(seat)
            .map(|(line, came)| TrackLine {
                card: facts.get(&line.unit).map(|f| f.card.clone()),
                kind: line.kind.clone(),
                said: (line.chance(), line.said.ours.0),
                plainer: [line.said.average.0, line.said.age.0, line.said.prior.0],
                came: came.map(|c| (c.happened, c.stood)),
            })
            .collect(),
    })
}

fn surprises<'a>(
    met: impl Iterator<Item = (&'a Line, Option<Came>)>,
    facts: &BTreeMap<UnitId, Facts>,
) -> Vec<Surprise> {
    let (mut failed, mut silent) = (Vec::new(), Vec::new());
    for (line, came) in met {
        let (Some(came), Some(facts)) = (came, facts.get(&line.unit)) else {
            continue;
        };
        let one = Surprise {
            card: facts.card.clone(),
            said: line.chance(),
            happened: came.happened,
        };
        if came.happened > 0 && one.said < SURPRISES.0 {
            failed.push(one);
        } else if came.happened == 0 && one.said > SURPRISES.1 && came.stood > 0.99 {
            silent.push(one);
        }
    }
    failed.sort_by(|a, b| a.said.total_cmp(&b.said));
    silent.sort_by(|a, b| b.said.total_cmp(&a.said));
    failed.truncate(ON_VIEW);
    silent.truncate(ON_VIEW);
    failed.extend(silent);
    failed
}
