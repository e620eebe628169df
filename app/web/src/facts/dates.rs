//! Facts about dates: duty rules, days after an event, times after a report, and whose rules are held.
use terms::Country;
use usecases::facts::{EventReason, Facts, RepairPeriod, Span, Targets};
use wording::Table;
use wording::sentences::{capital, dates, list, plural};

use super::{Group, group};
use crate::duties::rows::rule_words;

/// The duty rules of the estate.
pub(super) fn duties(facts: &Facts) -> Vec<Group> {
    let rows = facts
        .duties
        .iter()
        .map(|d| {
            vec![
                format!("{} {}", d.code, d.name),
                rule_words(d),
                d.basis.clone(),
                d.status.clone(),
                d.evidence.clone(),
                country(&d.country),
                dates::day(d.as_at),
            ]
        })
        .collect();
    let table = Table::new(
        &[
            "Duty",
            "How its date comes",
            "Basis",
            "How it is known",
            "What proves it",
            "Rules of",
            "As at",
        ],
        rows,
    );
    let mut found = group(
        "duties",
        "Duties",
        "Law, code, standard or practice: never one for the other",
        table,
    );
    found.words.push(
        "A new gas unit’s first check may line up once with the flat’s date, up to two months later (law text read). \
         Mixing valves of a care setting are tested 6 to 8 and 12 to 15 weeks after fitting, then by what was found \
         (published page)."
            .to_owned(),
    );
    vec![found]
}

fn country(code: &str) -> String {
    code.parse::<Country>()
        .map_or_else(|_| code.to_owned(), |c| c.words().to_owned())
}

/// Days after an event, the right to repair, response times, consultation.
pub(super) fn times(facts: &Facts) -> Vec<Group> {
    vec![
        events(facts),
        repair(facts),
        response(facts),
        consulting(facts),
    ]
}

fn events(facts: &Facts) -> Group {
    let as_at = dates::day(facts.book.as_at());
    let rows = facts
        .book
        .events()
        .iter()
        .map(|e| {
            vec![
                e.task.clone(),
                counting(e.counting, e.days),
                e.basis.clone(),
                e.status.clone(),
                as_at.clone(),
            ]
        })
        .collect();
    let table = Table::new(&["What", "When", "Basis", "How it is known", "As at"], rows);
    let note = "“Of” leaves its day out; “starting with” counts it";
    group("events", "After an event", note, table)
}

fn repair(facts: &Facts) -> Group {
    let as_at = dates::day(facts.book.as_at());
    let rows = facts
        .book
        .repair_rules()
        .iter()
        .map(|r| {
            vec![
                r.words.clone(),
                period(r.period),
                r.basis.clone(),
                r.status.clone(),
                as_at.clone(),
            ]
        })
        .collect();
    let table = Table::new(
        &[
            "Defect",
            "Working days",
            "Basis",
            "How it is known",
            "As at",
        ],
        rows,
    );
    group("repair", "Right to repair", "Council secure tenants", table)
}

fn response(facts: &Facts) -> Group {
    let as_at = dates::day(facts.book.as_at());
    let rows = facts
        .book
        .response_rules()
        .iter()
        .map(|r| {
            let said = match r.all {
                Some(all) => targets(&all),
                None => format!(
                    "In winter: {} In summer: {}",
                    targets(&r.targets(true)),
                    targets(&r.targets(false))
                ),
            };
            vec![
                r.words.clone(),
                said,
                r.basis.clone(),
                r.status.clone(),
                as_at.clone(),
            ]
        })
        .collect();
    let table = Table::new(
        &["Report", "Times", "Basis", "How it is known", "As at"],
        rows,
    );
    let mut found = group(
        "response",
        "After a report",
        "From the rule book; an estate does not change them",
        table,
    );
    found.words.push(
        "Winter is 1 November to 30 April. A clock of law is stopped by nothing; a landlord’s own time is stopped when the \
         resident asks for a later day and while the supplier’s network is off (common practice, no source)."
            .to_owned(),
    );
    found
}

/// From which cost on leaseholders are consulted; each row holds from its day until the next.
fn consulting(facts: &Facts) -> Group {
    let rows = facts
        .consult_above
        .iter()
        .map(|row| {
            vec![
                format!("Works over {} for any one leaseholder", row.above),
                row.basis.clone(),
                row.status.clone(),
                country(row.country.code()),
                dates::day(row.from_on),
            ]
        })
        .collect();
    let table = Table::new(
        &["What", "Basis", "How it is known", "Rules of", "From"],
        rows,
    );
    group(
        "consulting",
        "When leaseholders are consulted",
        "A further row when it changes; what was judged before stays",
        table,
    )
}

fn counting(reason: EventReason, days: i64) -> String {
    let days = plural(
        days.unsigned_abs() + u64::from(reason == EventReason::DaysStartingWith),
        "day",
        "days",
    );
    match reason {
        EventReason::DaysAfter => format!("within {days} of it"),
        EventReason::BeforeOrOn => "before it, or on its day".to_owned(),
        EventReason::OnTheDay => "on its day".to_owned(),
        EventReason::DaysStartingWith => {
            format!("within {days} starting with its day, or the report’s shorter time")
        }
    }
}

fn period(period: RepairPeriod) -> String {
    match period {
        RepairPeriod::Fixed { days } => days.to_string(),
        RepairPeriod::BySeason { winter, summer } => {
            format!("{winter} from 1 November to 30 April, else {summer}")
        }
    }
}

fn span(span: Span) -> String {
    match span {
        Span::Hours(0) | Span::Days(0) => "at once".to_owned(),
        Span::Hours(n) => plural(u64::from(n), "hour", "hours"),
        Span::WorkingDays(n) => plural(u64::from(n), "working day", "working days"),
        Span::Days(n) => plural(u64::from(n), "day", "days"),
    }
}

fn targets(t: &Targets) -> String {
    let said = [
        ("aim to be there within", t.attend_target),
        ("be there within", t.attend_by),
        ("sooner for somebody who needs it", t.attend_by_vulnerable),
        ("aim to finish within", t.finish_target),
        ("finish within", t.finish_by),
    ];
    let parts: Vec<String> = said
        .into_iter()
        .filter_map(|(what, when)| when.map(|w| format!("{what} {}", span(w))))
        .collect();
    if parts.is_empty() {
        "no time is held.".to_owned()
    } else {
        format!("{}.", parts.join(", "))
    }
}

/// Whose rules are held, and what a building elsewhere lacks.
pub(super) fn countries(facts: &Facts) -> Vec<String> {
    let held: Vec<&str> = facts.countries().into_iter().map(Country::words).collect();
    let mut said = vec![format!(
        "Rules are held for {}. The limits, readings and symptom tables are general; the law is {}’s alone.",
        list(&held),
        country(facts.book.country())
    )];
    for &land in Country::ALL {
        let there: Vec<&str> = facts
            .buildings
            .iter()
            .filter(|b| b.country == land)
            .map(|b| b.name.as_str())
            .collect();
        if land.code() == facts.book.country() {
            continue;
        }
        let lacking = facts.lacking(land);
        let by_law: Vec<String> = lacking
            .iter()
            .filter(|d| d.basis == "law")
            .map(|d| d.name.to_lowercase())
            .collect();
        let whose = if there.is_empty() {
            format!("For a building in {land}")
        } else {
            format!("For {} in {land}", list(&there))
        };
        said.push(format!(
            "{whose} no rule set is held: {} {} only England’s rules as yet, among them by law {}. Response times, the \
             right to repair and the days after an event are not given there; nothing is guessed.",
            capital(&plural(lacking.len() as u64, "duty", "duties")),
            if lacking.len() == 1 { "follows" } else { "follow" },
            list(&by_law)
        ));
    }
    said
}
