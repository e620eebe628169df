//! Plans that break one rule each: the audits must say which.
use std::collections::BTreeSet;
use std::path::Path;

use planning::programme::optimal::audit as programme;
use planning::programme::optimal::model as programmes;
use planning::rounds::optimal::audit as rounds;
use planning::rounds::optimal::audit_moves::audit_moves;
use planning::rounds::optimal::model::{Disruption, Problem, Visit};
use serde::Deserialize;
use serde_json::Value;

use super::files::json;
use crate::reference::Report;
use crate::reference::economics::judge::Judge;

/// What `broken.json` looks for when a visit is none.
const NO_VISIT: &str = "is not {engineer, day, start, jobs}";

#[derive(Deserialize)]
struct Broken {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    name: String,
    instance: String,
    says: String,
    solution: Value,
}

/// Judges `broken.json`.
pub fn run(folder: &Path, report: &mut Report) -> Result<(), String> {
    let broken: Broken = json(&folder.join("broken.json"))?;
    for case in broken.cases {
        let plain = folder.join(format!("instances/{}.json", case.instance));
        let packed = folder.join(format!("instances/{}.json.gz", case.instance));
        let path = if plain.exists() { plain } else { packed };
        let instance: Value = json(&path)?;
        let told = |e: serde_json::Error| format!("broken / {}: {e}", case.name);
        let said: BTreeSet<String> = match instance["schema"].as_str() {
            Some("programme-1") => {
                let problem = serde_json::from_value(instance).map_err(told)?;
                match serde_json::from_value::<programmes::Plan>(case.solution["plan"].clone()) {
                    Ok(plan) => {
                        let breaches = programme::audit(&problem, &plan).1;
                        breaches.iter().map(|b| in_words(b).to_owned()).collect()
                    }
                    // What is not a list of [option, year] is refused when it is read.
                    Err(_) => BTreeSet::from(["entry must be".to_owned()]),
                }
            }
            Some("rounds-1") => {
                let problem: Problem = serde_json::from_value(instance).map_err(told)?;
                match visits(&case) {
                    Some(visits) => spoken(&rounds::audit(&problem, &visits).1),
                    None => BTreeSet::from([NO_VISIT.to_owned()]),
                }
            }
            Some("rounds-replan-1") => {
                let disruption: Disruption = serde_json::from_value(instance).map_err(told)?;
                match visits(&case) {
                    Some(visits) => spoken(&audit_moves(&disruption, &visits).1),
                    None => BTreeSet::from([NO_VISIT.to_owned()]),
                }
            }
            other => return Err(format!("{}: unknown schema {other:?}", path.display())),
        };
        let mut judge = Judge::default();
        let named = said
            .iter()
            .any(|s| s.contains(&case.says) || case.says.contains(s));
        if named {
            judge.same("reason named", true, true);
        } else {
            judge.fail("reason named", &case.says, format!("{said:?}"));
        }
        report.case("broken", &case.name, judge.judged, judge.misses);
    }
    Ok(())
}

/// `None` where the visits are refused when they are read: a minute that is not whole, say.
fn visits(case: &Case) -> Option<Vec<Visit>> {
    serde_json::from_value(case.solution["visits"].clone()).ok()
}

/// The words `broken.json` looks for, by breach.
fn in_words(breach: &programme::Breach) -> &'static str {
    use programme::Breach as B;
    match breach {
        B::Entries { .. } => "plan has",
        B::MustBeReplaced(_) => "must be replaced",
        B::NoSuchChoice(_) => "entry must be",
        B::NotOnOffer { .. } => "not on offer",
        B::AfterLatest { .. } => "after its latest",
        B::HoursOver { .. } => "over the cap",
        B::ConsultationTooEarly { .. } => "consultation cannot",
        B::UnderFloor { .. } => "under the floor",
        B::OverCap { .. } => "at most",
        B::TornApart(_) => "not all in the same year",
        B::OutAtOnce { .. } => "out at once",
    }
}

fn spoken(breaches: &[rounds::Breach]) -> BTreeSet<String> {
    breaches.iter().map(|b| spoken_rule(b.rule)).collect()
}

fn spoken_rule(rule: rounds::Rule) -> String {
    use rounds::Rule as R;
    let words = match rule {
        R::Attendances { visits, needs } => return format!("{visits} visits, needs {needs}"),
        R::EmptyVisit => NO_VISIT,
        R::Unknown => "unknown engineer, day or job",
        R::NamedTwice => "names a job twice",
        R::SpacesMixed => "different spaces",
        R::OutsideAreas => "outside the engineer's areas",
        R::OutsideWindow => "outside its window",
        R::HeatOff => "heat off inside the heating season",
        R::Weekday => "not one of its weekdays",
        R::Access => "not inside one of its access slots",
        R::Dark => "not in daylight",
        R::Promise => "promised for",
        R::Unqualified => "lacks a qualification",
        R::PairNotAlone => "a two-person job is a visit of its own",
        R::NotWorking => "not a working day",
        R::TooSoon => "before the engineer can be there",
        R::ShiftEnds => "shift ends",
        R::PairNotTogether => "two engineers must come on the same day at the same time",
        R::PairUnqualified => "neither engineer holds",
        R::Past => "cannot change",
        R::BeforeNow => "is placed before day",
    };
    words.to_owned()
}
