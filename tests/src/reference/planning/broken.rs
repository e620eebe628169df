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
use super::scorer::{Scorer, refuses};
use crate::reference::Report;
use crate::reference::economics::judge::Judge;

/// The code of a visit that is refused when it is read.
const NO_VISIT: &str = "NoVisit";

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
        let scorer = match instance["schema"].as_str() {
            Some("programme-1") => Scorer::Programme,
            _ => Scorer::Rounds,
        };
        let told = |e: serde_json::Error| format!("broken / {}: {e}", case.name);
        let said: BTreeSet<String> = match instance["schema"].as_str() {
            Some("programme-1") => {
                let problem = serde_json::from_value(instance).map_err(told)?;
                match serde_json::from_value::<programmes::Plan>(case.solution["plan"].clone()) {
                    Ok(plan) => {
                        let breaches = programme::audit(&problem, &plan).1;
                        breaches.iter().map(kind).collect()
                    }
                    // What is not a list of [option, year] is refused when it is read.
                    Err(_) => BTreeSet::from(["NoSuchChoice".to_owned()]),
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
        let wanted = code(scorer, &case.says)
            .ok_or_else(|| format!("broken / {}: no code for “{}”", case.name, case.says))?;
        if said.contains(&wanted) {
            judge.same("reason named", true, true);
        } else {
            judge.fail("reason named", &wanted, format!("{said:?}"));
        }
        let told = (case.name.as_str(), &case.solution, case.says.as_str());
        refuses(scorer, folder, &path, told, &mut judge)?;
        report.case("broken", &case.name, judge.judged, judge.misses);
    }
    Ok(())
}

/// `None` where the visits are refused when they are read: a minute that is not whole, say.
fn visits(case: &Case) -> Option<Vec<Visit>> {
    serde_json::from_value(case.solution["visits"].clone()).ok()
}

/// The code of the breach that is meant by the words `broken.json` looks for; `None` for words not met yet.
fn code(scorer: Scorer, says: &str) -> Option<String> {
    use rounds::Rule as R;
    let rule = |rule: R| Some(format!("{rule:?}"));
    if scorer == Scorer::Programme {
        let name = match says {
            "plan has" => "Entries",
            "entry must be" => "NoSuchChoice",
            "must be replaced" => "MustBeReplaced",
            "after its latest" => "AfterLatest",
            "over the cap" => "HoursOver",
            "under the floor" => "UnderFloor",
            "at most" => "OverCap",
            "not all in the same year" => "TornApart",
            "out at once" => "OutAtOnce",
            "consultation cannot" => "ConsultationTooEarly",
            "not on offer" => "NotOnOffer",
            _ => return None,
        };
        return Some(name.to_owned());
    }
    match says {
        "before the engineer can be there" => rule(R::TooSoon),
        "shift ends" => rule(R::ShiftEnds),
        "2 visits, needs 1" => rule(R::Attendances {
            visits: 2,
            needs: 1,
        }),
        "needs 2" => rule(R::Attendances {
            visits: 1,
            needs: 2,
        }),
        "outside its window" => rule(R::OutsideWindow),
        "not a working day" => rule(R::NotWorking),
        "unknown engineer" | "unknown engineer, day or job" => rule(R::Unknown),
        "is not {engineer" => Some(NO_VISIT.to_owned()),
        "different spaces" => rule(R::SpacesMixed),
        "lacks a qualification" => rule(R::Unqualified),
        "access slots" => rule(R::Access),
        "not one of its weekdays" => rule(R::Weekday),
        "promised for" => rule(R::Promise),
        "same day at the same time" => rule(R::PairNotTogether),
        "neither engineer holds" => rule(R::PairUnqualified),
        "a two-person job is a visit of its own" => rule(R::PairNotAlone),
        "outside the engineer's areas" => rule(R::OutsideAreas),
        "heat off inside the heating season" => rule(R::HeatOff),
        "not in daylight" => rule(R::Dark),
        "names a job twice" => rule(R::NamedTwice),
        "cannot change" => rule(R::Past),
        "is placed before day" => rule(R::BeforeNow),
        _ => None,
    }
}

/// A breach's code: the name of its kind.
fn kind(breach: &programme::Breach) -> String {
    let all = format!("{breach:?}");
    let name = all.split(|c: char| !c.is_alphanumeric()).next();
    name.unwrap_or_default().to_owned()
}

fn spoken(breaches: &[rounds::Breach]) -> BTreeSet<String> {
    breaches.iter().map(|b| format!("{:?}", b.rule)).collect()
}
