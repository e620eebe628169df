//! What stands out: groups of units that fail together more than luck would have it. Says nothing when there are none.
use std::collections::BTreeMap;

use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::stands_out::{
    Found, LEVEL, LOOKS_A_YEAR, LastLook, MONTHS, SHUFFLES, StandOut, Tie, last_look,
};
use wording::sentences::{capital, counted, dates, glue, list, outlook, plural};
use wording::{Row, Shell, Verb, Why};

use crate::Failure;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

#[derive(Template)]
#[template(path = "outlook/stands-out.html")]
struct StandsOutPage {
    shell: Shell,
    facts: Vec<String>,
    finding: String,
    standing: String,
    outs: Vec<Row>,
    how: Vec<String>,
}

/// The page.
pub(super) async fn show(reader: Reader, state: web::Data<State>) -> Result<HttpResponse, Failure> {
    let seat = reader.seat.clone();
    let (look, kinds) = answer(&state, move |world| {
        let look = last_look(world, &seat)?;
        let kinds: BTreeMap<String, String> = usecases::register::kinds(world, &seat)?
            .into_iter()
            .map(|k| (k.code, k.plural))
            .collect();
        Ok((look, kinds))
    })
    .await?;
    let named = |code: &str| {
        kinds
            .get(code)
            .cloned()
            .unwrap_or_else(|| "units".to_owned())
    };
    let mut facts = Vec::new();
    if let Some(week) = look.week {
        facts.push(format!("looked at in the week of {}", dates::day(week)));
        facts.push(format!(
            "failures of {} to {}",
            dates::day(look.kept.since),
            dates::day(look.kept.until)
        ));
    }
    let shell = reader.shell(&state, "stands-out");
    page(&StandsOutPage {
        facts,
        finding: finding(&look),
        standing: glue(&standing(&look)),
        outs: rows(&look.stand_outs, &named),
        how: how(&look),
        shell,
    })
}

fn finding(look: &LastLook) -> String {
    match (look.week, look.stand_outs.as_slice()) {
        (None, _) => "Nothing was looked for yet".to_owned(),
        (Some(_), []) => "Nothing stands out".to_owned(),
        (Some(_), [_]) => {
            "One group of units fails together more than luck would have it".to_owned()
        }
        (Some(_), all) => format!(
            "{} fail together more than luck would have it",
            capital(&counted(
                all.len() as u64,
                "group of units",
                "groups of units"
            ))
        ),
    }
}

fn standing(look: &LastLook) -> String {
    if look.week.is_none() {
        return "The first look is made in the night after the first forecasts.".to_owned();
    }
    let groups = plural(look.kept.groups as u64, "group was", "groups were");
    let kinds = counted(look.kept.kinds as u64, "kind", "kinds");
    let seen = format!("{groups} looked at, of {kinds} of unit.");
    if look.stand_outs.is_empty() && look.kept.groups > 0 {
        format!("{seen} What is there is inside what luck does.")
    } else {
        seen
    }
}

fn how(look: &LastLook) -> Vec<String> {
    let level = outlook::luck(LEVEL, SHUFFLES);
    let mut said = vec![
        format!(
            "Buildings, units fitted in one month, families of units built alike, pipes with what hangs on them, and firms that put units in are the groups; one of fewer than three units, or with fewer than three units outside it, is not looked at. Failures of the last {MONTHS} months count, repeat visits merged, against what was to be expected of each unit at its age with its parts."
        ),
        format!(
            "Failures are then dealt out anew {} times among units of which about as many were expected, and it is counted how often any group of all looked at does as much by luck. A group is named when luck does it {level} or less.",
            terms::money::thousands(u64::from(SHUFFLES))
        ),
        format!(
            "So false alarms come {}, were every week’s look a fresh one; {} in the year up to this one.",
            outlook::false_alarms(LOOKS_A_YEAR * LEVEL),
            counted(look.looks as u64, "look was made", "looks were made"),
        ),
        "The shuffling is seeded by what was looked at: the same record gives the same answer, and nobody chooses it.".to_owned(),
    ];
    if look.week.is_some() && look.stand_outs.is_empty() && look.kept.groups > 0 {
        said.push(format!(
            "The group that came nearest does what it did by luck {}, all groups allowed for.",
            outlook::luck(look.kept.least, SHUFFLES)
        ));
    }
    said
}

/// One row a group; `named` gives the plural of a kind.
pub(crate) fn rows(stand_outs: &[StandOut], named: &dyn Fn(&str) -> String) -> Vec<Row> {
    stand_outs
        .iter()
        .enumerate()
        .map(|(place, one)| row(place, one, named))
        .collect()
}

fn row(place: usize, one: &StandOut, named: &dyn Fn(&str) -> String) -> Row {
    let found = &one.found;
    let failures = counted(u64::from(found.failures), "failure", "failures");
    let units = counted(found.failed_units as u64, "unit", "units");
    let sentence = format!(
        "{}, {}: {failures} in {units} of {}, where {} were to be expected. By luck {}.",
        capital(&named(&found.kind)),
        ties(found),
        found.units.len(),
        outlook::number(found.expected),
        outlook::luck(found.luck, SHUFFLES),
    );
    let mut row = Row::plain(format!("out-{place}"), glue(&sentence))
        .figure(
            outlook::factor(f64::from(found.failures) / found.expected.max(0.05)),
            "of what was expected",
        )
        .why(Why::this(vec![
            format!(
                "The chance allows for every group looked at; in this group alone luck would do it {}.",
                outlook::luck(found.luck_alone, SHUFFLES)
            ),
            format!(
                "It has stood out since the look of the week of {}.",
                dates::day(one.since_week)
            ),
            "A cause is not known; the first thing to look for is what these units share.".to_owned(),
        ]));
    for tie in &found.ties {
        if let Tie::Building(building) | Tie::Branch(building, _) = tie {
            row = row.verb(Verb::link(
                "See the building",
                format!("/buildings/{building}"),
            ));
            break;
        }
    }
    row
}

/// "in Alder House, fitted in March 2012".
fn ties(found: &Found) -> String {
    let words: Vec<String> = found
        .ties
        .iter()
        .enumerate()
        .map(|(place, tie)| {
            let name = found.names.get(place).map_or("", String::as_str);
            match tie {
                Tie::Building(_) => format!("in {name}"),
                Tie::Batch(month) => format!("fitted in {}", dates::month_year(*month)),
                Tie::Family(_) => format!("of the family “{name}”"),
                Tie::Branch(..) => format!("on {name}"),
                Tie::Installer(_) => format!("put in by {name}"),
            }
        })
        .collect();
    list(&words)
}
