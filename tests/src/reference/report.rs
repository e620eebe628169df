//! What the runner prints: one line a case, the failing leaves below it, one closing line.
use std::fmt;

/// How one case ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// At least one judged value is outside its tolerance, or missing.
    Failed,
    /// Every judged value lies within its tolerance.
    Passed,
    /// The family is not built yet; said by name.
    Skipped(String),
}

/// One judged value of a case that did not hold.
#[derive(Clone, Debug)]
pub struct Miss {
    /// Where in `expected`, keys joined by dots.
    pub path: String,
    /// The known answer, as printed.
    pub expected: String,
    /// The product's answer, as printed.
    pub got: String,
    /// The tolerance, as printed.
    pub tolerance: String,
}

/// The verdicts so far.
#[derive(Debug, Default)]
pub struct Report {
    /// Whether the cases of readings, dates and parts are put to the phone's scripts as well.
    pub on_the_phone: bool,
    /// Whether plans of the sizes made from a recipe are made too.
    pub sizes: bool,
    /// Cases of inspection met, and how many of them were not judged.
    pub inspection: Option<(usize, usize)>,
    rows: Vec<(String, String, usize, Verdict, Vec<Miss>)>,
}

impl Report {
    /// Records one case: its family, id, how many values were judged, and those that missed.
    pub fn case(&mut self, family: &str, id: &str, judged: usize, misses: Vec<Miss>) {
        // A case that judged nothing proves nothing.
        let verdict = if misses.is_empty() && judged > 0 {
            Verdict::Passed
        } else {
            Verdict::Failed
        };
        self.rows
            .push((family.to_owned(), id.to_owned(), judged, verdict, misses));
    }

    /// Records a case that was not judged, and why.
    pub fn skip(&mut self, family: &str, id: &str, why: &str) {
        let verdict = Verdict::Skipped(why.to_owned());
        self.rows
            .push((family.to_owned(), id.to_owned(), 0, verdict, Vec::new()));
    }

    /// How many cases were judged, well or not.
    pub fn judged(&self) -> usize {
        let (passed, failed, _) = self.counts();
        passed + failed
    }

    /// Whether everything held and no case of inspection was left out.
    pub fn holds(&self) -> bool {
        self.counts().1 == 0 && self.inspection.is_none_or(|(_, skipped)| skipped == 0)
    }

    /// Passed, failed, skipped.
    pub fn counts(&self) -> (usize, usize, usize) {
        let count =
            |wanted: fn(&Verdict) -> bool| self.rows.iter().filter(|r| wanted(&r.3)).count();
        (
            count(|v| *v == Verdict::Passed),
            count(|v| *v == Verdict::Failed),
            count(|v| matches!(v, Verdict::Skipped(_))),
        )
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (family, id, judged, verdict, misses) in &self.rows {
            match verdict {
                Verdict::Passed => writeln!(f, "passed   {family} / {id}: {judged} values")?,
                Verdict::Skipped(why) => writeln!(f, "skipped  {family} / {id}: {why}")?,
                Verdict::Failed => {
                    writeln!(
                        f,
                        "FAILED   {family} / {id}: {} of {judged} values",
                        misses.len()
                    )?;
                    for miss in misses.iter().take(12) {
                        writeln!(
                            f,
                            "         {}: expected {}, got {}, tolerance {}",
                            miss.path, miss.expected, miss.got, miss.tolerance
                        )?;
                    }
                }
            }
        }
        let (passed, failed, skipped) = self.counts();
        if let Some((met, left)) = self.inspection {
            writeln!(f, "inspection: {met} cases, {left} skipped")?;
        }
        write!(f, "{passed} passed, {failed} failed, {skipped} skipped")
    }
}
