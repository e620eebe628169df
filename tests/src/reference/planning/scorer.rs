//! The scorers that lie beside the cases: each plan of ours is put to the one of its kind, which shares nothing with
//! this house, not even the language. Where the cases come without them (our copies) nothing is scored.
use std::path::{Path, PathBuf};
use std::process::Command;

use serde::Deserialize;
use serde_json::Value;

use crate::reference::Report;
use crate::reference::economics::judge::Judge;

/// The scorers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scorer {
    /// Of programmes.
    Programme,
    /// Of rounds and of re-plans.
    Rounds,
}

/// What a scorer prints.
#[derive(Debug, Deserialize)]
pub struct Score {
    /// Whether every rule holds.
    pub feasible: bool,
    /// Its own reckoning.
    pub objective: Option<i64>,
    /// What is wrong, in words.
    pub problems: Vec<String>,
}

impl Scorer {
    fn script(self, folder: &Path) -> PathBuf {
        folder.join(match self {
            Self::Programme => "check_programme.py",
            Self::Rounds => "check_rounds.py",
        })
    }

    /// Whether it lies beside the cases.
    pub fn is_there(self, folder: &Path) -> bool {
        self.script(folder).is_file()
    }

    /// Puts a plan to it.
    ///
    /// # Errors
    /// A sentence when it cannot be run or does not answer.
    pub fn score(self, folder: &Path, instance: &Path, plan: &Path) -> Result<Score, String> {
        let script = self.script(folder);
        let ran = Command::new("python3")
            .arg(&script)
            .args([instance, plan])
            .output();
        let ran = ran.map_err(|e| format!("python3 {}: {e}", script.display()))?;
        let score: Score = serde_json::from_slice(&ran.stdout).map_err(|e| {
            let said = String::from_utf8_lossy(&ran.stderr);
            format!("{} on {}: {e}; {said}", script.display(), plan.display())
        })?;
        if ran.status.success() == score.feasible {
            Ok(score)
        } else {
            Err(format!(
                "{} ends with {} and says feasible: {}",
                script.display(),
                ran.status,
                score.feasible
            ))
        }
    }
}

/// A plan of ours, and what it is one of.
pub struct Ours<'a> {
    /// Name of the case.
    pub name: &'a str,
    /// File of the instance.
    pub instance: &'a Path,
    /// The plan in the scorers' form.
    pub plan: Value,
    /// Our reckoning of it.
    pub objective: i64,
}

/// Writes the plan down where one may look at it, and puts it to its scorer: one case a plan.
///
/// # Errors
/// A sentence naming what cannot be written or run.
pub fn keep_and_score(
    scorer: Scorer,
    folder: &Path,
    ours: &Ours<'_>,
    report: &mut Report,
) -> Result<(), String> {
    let there = scorer.is_there(folder);
    let beside = folder.join("plans");
    let plans = match &report.plans {
        Some(plans) => plans.clone(),
        None if beside.is_dir() => beside,
        None if there => std::env::temp_dir().join(format!("plans-{}", std::process::id())),
        None => return Ok(()),
    };
    let told = |e: std::io::Error| format!("{}: {e}", plans.display());
    std::fs::create_dir_all(&plans).map_err(told)?;
    let path = plans.join(format!("{}.json", ours.name));
    std::fs::write(&path, ours.plan.to_string()).map_err(told)?;
    if !there {
        return Ok(());
    }
    let mut judge = Judge::default();
    match scorer.score(folder, ours.instance, &path) {
        Ok(score) => {
            judge.same("problems", Vec::new(), score.problems);
            judge.same("feasible", true, score.feasible);
            judge.same("objective", Some(ours.objective), score.objective);
        }
        Err(sentence) => judge.fail("an answer", "a score", sentence),
    }
    report.case(SCORER, ours.name, judge.judged, judge.misses);
    Ok(())
}

/// The family of scored plans, counted before the closing line.
pub const SCORER: &str = "scorer";

/// What a broken plan must be told: the scorer refuses it in the words of the case.
pub fn refuses(
    scorer: Scorer,
    folder: &Path,
    instance: &Path,
    (name, plan, says): (&str, &Value, &str),
    judge: &mut Judge,
) -> Result<(), String> {
    if !scorer.is_there(folder) {
        return Ok(());
    }
    let place = format!("broken-{}-{}.json", std::process::id(), name.len());
    let path = std::env::temp_dir().join(place);
    std::fs::write(&path, plan.to_string()).map_err(|e| format!("{}: {e}", path.display()))?;
    let score = scorer.score(folder, instance, &path);
    // Left behind it would harm nothing but the next reader's patience.
    std::fs::remove_file(&path).unwrap_or_default();
    match score {
        Ok(score) => {
            judge.same("the scorer takes it", false, score.feasible);
            let named = score.problems.iter().any(|p| p.contains(says));
            judge.same("the scorer names it", true, named);
        }
        Err(sentence) => judge.fail("the scorer's answer", "a score", sentence),
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{Ours, Scorer, keep_and_score};
    use crate::reference::Report;

    /// A scorer that counts: it takes a plan of one entry at 7 pence and no other.
    const STAND_IN: &str = "import json, sys\n\
        n = len(json.load(open(sys.argv[2]))['plan'])\n\
        print(json.dumps({'feasible': n == 1, 'objective': 7, 'problems': [] if n == 1 else ['plan has']}))\n\
        sys.exit(0 if n == 1 else 1)\n";

    #[test]
    fn a_plan_the_scorer_refuses_or_prices_otherwise_fails() {
        let folder = std::env::temp_dir().join(format!("scorers-{}", std::process::id()));
        std::fs::create_dir_all(folder.join("plans")).unwrap();
        std::fs::write(folder.join("check_programme.py"), STAND_IN).unwrap();
        let mut report = Report::default();
        for (name, plan, objective) in [
            ("good", vec![0], 7),
            ("two entries", vec![0, 0], 7),
            ("another price", vec![0], 8),
        ] {
            let ours = Ours {
                name,
                instance: &folder.join("check_programme.py"),
                plan: serde_json::json!({ "plan": plan }),
                objective,
            };
            keep_and_score(Scorer::Programme, &folder, &ours, &mut report).unwrap();
        }
        let last = report.to_string();
        std::fs::remove_dir_all(&folder).unwrap();
        assert_eq!(report.counts(), (1, 2, 0), "{last}");
        assert!(
            last.contains("scorers: 1 plans accepted, 2 rejected\n"),
            "{last}"
        );
        assert!(last.ends_with("1 passed, 2 failed, 0 skipped"), "{last}");
    }
}
