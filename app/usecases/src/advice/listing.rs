//! Advices as rows of a list: each with its unit, its quote, what it answered and what was decided.
use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use store::Tx;
use store::advices::{Advice, Decision};
use store::quotes::Quote;
use store::units::Which;
use terms::unit::UnitCard;
use terms::{AccountId, AdviceId, FirmId, Pence, QuoteId, UnitId};

use super::book::Book;
use super::deciding::answer_of;
use super::making::Answer;
use super::reading::{DecidedAs, Listed, QuoteSeen};
use crate::{Error, Seat, World};

/// Rows as a page lists them, those the seat reaches.
pub(super) fn listed(
    world: &World,
    tx: &mut Tx<'_>,
    seat: &Seat,
    rows: Vec<Advice>,
) -> Result<Vec<Listed>, Error> {
    let which = match rows.as_slice() {
        [] => return Ok(Vec::new()),
        [one] => Which::Unit(one.unit),
        _ => Which::All,
    };
    let units: BTreeMap<UnitId, UnitCard> =
        tx.units(which)?.into_iter().map(|u| (u.id, u)).collect();
    let ids: Vec<AdviceId> = rows.iter().map(|r| r.id).collect();
    let decisions = tx.decisions(Some(&ids))?;
    let names = crate::door::names(
        world,
        &decisions.iter().map(|d| d.decided_by).collect::<Vec<_>>(),
    )?;
    let book = Book::load(tx)?;
    let quoted: Vec<QuoteId> = rows.iter().filter_map(|r| r.quote).collect();
    let quotes = tx.quotes(&quoted)?;
    let estate = seat.estate();
    let firms: BTreeMap<FirmId, String> = world
        .pool
        .at_door(|door| door.firms_of(estate))
        .map_err(Error::from)?
        .into_iter()
        .map(|f| (f.id, f.name))
        .collect();
    let mut isolated: BTreeMap<UnitId, DateTime<Utc>> = BTreeMap::new();
    for notice in tx.open_notices(None)?.iter().filter(|n| n.isolated) {
        isolated.entry(notice.unit).or_insert(notice.made_at);
    }
    let mut found = Vec::new();
    for row in rows {
        let Some(unit) = units.get(&row.unit) else {
            continue;
        };
        if !seat.grant().reaches(unit.building) {
            continue;
        }
        let answer = answer_of(&row)?;
        let decision = decisions
            .iter()
            .find(|d| d.advice == row.id)
            .map(|d| decided_as(d, &names, &answer));
        let quote = quotes.iter().find(|q| Some(q.id) == row.quote);
        found.push(Listed {
            id: row.id,
            unit: unit.clone(),
            kind_name: book.kind(&unit.kind)?.name.clone(),
            course: row.course,
            close_call: row.close_call,
            best_keep: row.best_keep,
            quote: row.quote_pence,
            limit: row.limit,
            advantage: row.advantage,
            quoted: quote.map(|q| quote_seen(q, &firms, &book, &unit.kind)),
            answer,
            made_at: row.made_at,
            decision,
            isolated_since: isolated.get(&row.unit).copied(),
        });
    }
    Ok(found)
}

/// What the unit would cost that replacing now means, as an advice answered; `None` where nothing was compared.
pub(crate) fn instead_price(row: &Advice) -> Result<Option<Pence>, Error> {
    let answer = answer_of(row)?;
    let with = answer.advice.replace_with.as_deref();
    Ok(answer
        .options
        .iter()
        .find(|o| Some(o.code.as_str()) == with)
        .and_then(|o| o.price))
}

fn decided_as(made: &Decision, names: &[(AccountId, String)], answer: &Answer) -> DecidedAs {
    let who = names.iter().find(|(id, _)| *id == made.decided_by);
    let option = made.option.as_ref().map(|code| {
        let seen = answer.options.iter().find(|o| &o.code == code);
        seen.map_or_else(|| code.clone(), |o| o.name.clone())
    });
    DecidedAs {
        choice: made.choice,
        option_name: option,
        reason: made.reason.clone(),
        how: made.how.clone(),
        who: who.map_or_else(|| "the program".to_owned(), |(_, name)| name.clone()),
        on_behalf_of: made.on_behalf_of.clone(),
        at: made.recorded_at,
    }
}

fn quote_seen(
    quote: &Quote,
    firms: &BTreeMap<FirmId, String>,
    book: &Book,
    kind: &str,
) -> QuoteSeen {
    let body = &quote.body;
    let part_name = body.part.as_ref().map(|code| {
        let share = book.shares(kind).iter().find(|s| &s.code == code);
        share.map_or_else(|| code.replace('_', " "), |s| s.name.clone())
    });
    QuoteSeen {
        firm: body.firm,
        firm_name: firms
            .get(&body.firm)
            .cloned()
            .unwrap_or_else(|| "a firm no longer here".to_owned()),
        part_name,
        lines: body
            .lines
            .iter()
            .map(|l| (l.what.clone(), l.net, l.vat_percent))
            .collect(),
        vat: body.vat,
        total: body.total,
        given_on: quote.given_on,
        valid_until: body.valid_until,
        words: body.words.clone(),
    }
}
