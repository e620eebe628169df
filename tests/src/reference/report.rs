//! What the runner prints: one line a case, the failing leaves below it, one closing line.
use std::collections::BTreeMap;
use std::fmt;
use std::path::PathBuf;

use super::planning::scorer::SCORER;

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

/// Family, id, values judged, verdict, misses.
type Row = (String, String, usize, Verdict, Vec<Miss>);

/// The verdicts so far.
#[derive(Debug, Default)]
pub struct Report {
    /// Whether the cases of readings, dates and parts are put to the phone's scripts as well.
    pub on_the_phone: bool,
    /// Whether plans of the sizes made from a recipe are made too.
    pub sizes: bool,
    /// Cases of inspection met, and how many of them were not judged.
    pub inspection: Option<(usize, usize)>,
    /// Where plans of ours are kept for a look; without it, beside the cases if they have a place for them.
    pub plans: Option<PathBuf>,
    rows: Vec<Row>,
    remarks: BTreeMap<usize, String>,
}

impl Report {
    /// A report with nothing in it yet, told the same.
    #[must_use]
    pub fn blank(&self) -> Self {
        Self {
            on_the_phone: self.on_the_phone,
            sizes: self.sizes,
            plans: self.plans.clone(),
            ..Self::default()
        }
    }

    /// Puts another report's cases after this one's.
    pub fn take_over(&mut self, other: Self) {
        let begun = self.rows.len();
        let remarks = other.remarks.into_iter();
        self.remarks
            .extend(remarks.map(|(at, words)| (begun + at, words)));
        self.rows.extend(other.rows);
    }

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

    /// Says something of the last case, on its line.
    pub fn remark(&mut self, words: String) {
        if let Some(last) = self.rows.len().checked_sub(1) {
            self.remarks.insert(last, words);
        }
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
        for (at, (family, id, judged, verdict, misses)) in self.rows.iter().enumerate() {
            let remark = self
                .remarks
                .get(&at)
                .map_or(String::new(), |r| format!(", {r}"));
            match verdict {
                Verdict::Passed => {
                    writeln!(f, "passed   {family} / {id}: {judged} values{remark}")?;
                }
                Verdict::Skipped(why) => writeln!(f, "skipped  {family} / {id}: {why}")?,
                Verdict::Failed => {
                    writeln!(
                        f,
                        "FAILED   {family} / {id}: {} of {judged} values{remark}",
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
        let scored = |passed: bool| {
            let of = |row: &&Row| row.0 == SCORER && (row.3 == Verdict::Passed) == passed;
            self.rows.iter().filter(of).count()
        };
        if scored(true) + scored(false) > 0 {
            let (taken, refused) = (scored(true), scored(false));
            writeln!(f, "scorers: {taken} plans accepted, {refused} rejected")?;
        }
        let (passed, failed, skipped) = self.counts();
        if let Some((met, left)) = self.inspection {
            writeln!(f, "inspection: {met} cases, {left} skipped")?;
        }
        write!(f, "{passed} passed, {failed} failed, {skipped} skipped")
    }
}
