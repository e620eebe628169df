//! What a row of a duty's record does to its deadline: the window rules of `inspection`, applied in order.
use chrono::NaiveDate;
use inspection::calendar::{add_days, add_months, date_words};
use inspection::duties::{Every, Gap, Round, v1, w1, w2_gap, w3, w6_gap, window_w1};
use store::duties::Completion;
use store::standing::DutyNow;
use terms::trade::DutyRule;

use crate::Error;

/// What a row leaves behind it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// "first", "kept", "reset_early", "late", "not_a_check", "done", "on_time", "early_open"; without a check
    /// "start", "aligned", "trigger".
    pub result: String,
    /// The day it counts as done.
    pub treated_as: Option<NaiveDate>,
    /// Days after the deadline, 0 if none.
    pub days_late: i32,
    /// The deadline it leaves.
    pub next_deadline: Option<NaiveDate>,
    /// Why, in a sentence.
    pub reason: String,
}

/// The days on which a duty is best met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// First day that keeps the rhythm; `None` when earlier work simply resets the date.
    pub first: Option<NaiveDate>,
    /// The deadline, or the nominal date of a round.
    pub deadline: NaiveDate,
    /// Last day that is not late: past the deadline only for a round with its tolerance.
    pub last: NaiveDate,
}

/// The window of a rule round a deadline.
pub fn window(rule: &DutyRule, deadline: NaiveDate) -> Window {
    match rule.window_rule.as_str() {
        // The tests of a care valve have no grace: their last day is their deadline.
        _ if is_care_valve(rule) => Window {
            first: None,
            deadline,
            last: deadline,
        },
        "W1" => Window {
            first: Some(window_w1(deadline).0),
            deadline,
            last: deadline,
        },
        "W3" => {
            let round = round_of(rule, deadline);
            Window {
                first: Some(round.earliest(0)),
                deadline,
                last: round.latest(0),
            }
        }
        _ => Window {
            first: None,
            deadline,
            last: deadline,
        },
    }
}

/// Duties with the last day that is not late in place of the date of their round: Today and the page of the duties go
/// by it, so no other page may call late what they do not.
pub(crate) fn by_last_day(rules: &[DutyRule], mut duties: Vec<DutyNow>) -> Vec<DutyNow> {
    for duty in &mut duties {
        let rule = rules.iter().find(|rule| rule.code == duty.rule);
        duty.deadline = duty
            .deadline
            .map(|by| rule.map_or(by, |rule| window(rule, by).last));
    }
    duties
}

/// The windows of the times a round falls due after a deadline, one after the other; `None` for what is no calendar round.
pub fn later_windows(rule: &DutyRule, deadline: NaiveDate) -> Option<impl Iterator<Item = Window>> {
    let is_round = rule.window_rule == "W3" && !is_care_valve(rule);
    let round = is_round.then(|| round_of(rule, deadline))?;
    Some((1u32..).map(move |n| Window {
        first: Some(round.earliest(n)),
        deadline: round.nominal(n),
        last: round.latest(n),
    }))
}

/// The in-service tests of a mixing valve in a care setting, whose dates follow from what the tests show.
pub fn is_care_valve(rule: &DutyRule) -> bool {
    rule.code == "V1"
}

/// The time between two dates of a rule: its days where it states any, else its months; at least one.
pub fn gap_of(rule: &DutyRule) -> Gap {
    let whole = |n: i32| u32::try_from(n).unwrap_or(1).max(1);
    rule.days
        .map_or_else(|| Gap::Months(whole(rule.months)), |n| Gap::Days(whole(n)))
}

fn round_of(rule: &DutyRule, anchor: NaiveDate) -> Round {
    let (every, unit) = match gap_of(rule) {
        Gap::Days(n) => (n, Every::Days),
        Gap::Months(n) => (n, Every::Months),
    };
    Round {
        anchor,
        every,
        unit,
    }
}

/// Applies the rows of one duty, oldest first, each to the deadline left by the one before.
///
/// # Errors
/// A window rule this program does not know.
pub fn replay(rule: &DutyRule, rows: &[Completion]) -> Result<Vec<Step>, Error> {
    replay_dated((rule, &[]), rows)
}

/// The rule in force on a day, today's without one. A row is judged by the rule of its own day, and the deadline it leaves
/// is that of the rule in force when it was next met: what stands open goes by the rule of today, and what was met before
/// is not judged anew. `versions` are the statements, the oldest day first.
fn rule_at<'a>(
    (today, versions): (&'a DutyRule, &'a [DutyRule]),
    on: Option<NaiveDate>,
) -> &'a DutyRule {
    let Some(day) = on else {
        return today;
    };
    let held = versions.iter().rev().find(|v| v.as_at <= day);
    held.or(versions.first()).unwrap_or(today)
}

/// The same for a rule that was stated anew in between.
///
/// # Errors
/// A window rule this program does not know.
pub fn replay_dated(
    rules: (&DutyRule, &[DutyRule]),
    rows: &[Completion],
) -> Result<Vec<Step>, Error> {
    let (mut deadline, mut anchor) = (None, None);
    let mut steps: Vec<Step> = Vec::with_capacity(rows.len());
    let mut moved: Vec<Option<f64>> = Vec::new();
    for (n, row) in rows.iter().enumerate() {
        let met_next = rows.iter().skip(n + 1).find_map(|later| later.done_on);
        let step = if let Some(done) = row.done_on {
            let rule = rule_at(rules, Some(done));
            let step = if is_care_valve(rule) && row.check_complete {
                let step = valve_tested(anchor, deadline, done, (&moved, row.measured_k));
                if step.result != "early_open" {
                    moved.push(row.measured_k);
                }
                step
            } else {
                let met_by =
                    |rule: &DutyRule| met(rule, (anchor, deadline), done, row.check_complete);
                let next = rule_at(rules, met_next);
                if next == rule {
                    met_by(rule)?
                } else {
                    onwards(met_by(rule)?, met_by(next)?, next)
                }
            };
            if anchor.is_none() && row.check_complete {
                anchor = Some(done);
            }
            step
        } else {
            anchor = row.next_deadline;
            // Whatever it was stated as (a start, the one move of a first check, a change that asks for a review).
            let result = match row.result.as_str() {
                known @ ("aligned" | "trigger") => known,
                _ => "start",
            };
            Step {
                result: result.to_owned(),
                treated_as: None,
                days_late: 0,
                next_deadline: row.next_deadline,
                reason: row.reason.clone(),
            }
        };
        deadline = step.next_deadline;
        steps.push(step);
    }
    Ok(steps)
}

/// A meeting judged by the rule of its day, whose next deadline goes by another: the one in force when it was next met.
fn onwards(judged: Step, by_the_next: Step, next: &DutyRule) -> Step {
    // What met nothing on its day meets nothing by a later rule.
    let Some(counts_as) = judged.treated_as else {
        return judged;
    };
    let same = (judged.result.as_str(), judged.days_late, judged.treated_as)
        == (
            by_the_next.result.as_str(),
            by_the_next.days_late,
            by_the_next.treated_as,
        );
    if same {
        return by_the_next;
    }
    // Too early by the later rule, yet met by the one of its day: the interval runs from what it counted as.
    let due = match by_the_next.treated_as {
        Some(_) => by_the_next.next_deadline,
        None => Some(first_after(next, counts_as)),
    };
    let stated = date_words(next.as_at);
    let onwards = due.map_or_else(
        || format!("By the rule as stated from {stated} it does not come again by itself."),
        |due| {
            format!(
                "By the rule as stated from {stated} the next is due by {}.",
                date_words(due)
            )
        },
    );
    Step {
        next_deadline: due,
        reason: format!("{} {onwards}", judged.reason),
        ..judged
    }
}

/// What a visit on `done` does to `deadline`. A round keeps its nominal dates from `anchor` on.
fn met(
    rule: &DutyRule,
    (anchor, deadline): (Option<NaiveDate>, Option<NaiveDate>),
    done: NaiveDate,
    complete: bool,
) -> Result<Step, Error> {
    if rule.window_rule == "W1" {
        let outcome = w1(deadline, done, complete);
        return Ok(Step {
            result: outcome.result.code().to_owned(),
            treated_as: outcome.treated_as,
            days_late: to_days(outcome.days_late),
            next_deadline: outcome.next_deadline,
            reason: outcome.sentence(),
        });
    }
    if !complete {
        return Ok(Step {
            result: "not_a_check".to_owned(),
            treated_as: None,
            days_late: 0,
            next_deadline: deadline,
            reason: format!(
                "The visit on {} did not complete the work, so nothing was met by it.",
                date_words(done)
            ),
        });
    }
    match rule.window_rule.as_str() {
        "W2" => {
            let outcome = w2_gap(deadline, done, gap_of(rule));
            Ok(Step {
                result: outcome.result.code().to_owned(),
                treated_as: Some(done),
                days_late: to_days(outcome.days_late),
                next_deadline: Some(outcome.next_deadline),
                reason: outcome.sentence(),
            })
        }
        "W3" => round_met(rule, anchor, deadline, done),
        "W4" | "W5" => Ok(Step {
            result: "done".to_owned(),
            treated_as: Some(done),
            days_late: late_by(deadline, done),
            next_deadline: None,
            reason: format!(
                "Done on {}; it comes again only when its event does.",
                date_words(done)
            ),
        }),
        "W6" => {
            let outcome = w6_gap(done, gap_of(rule), &[]);
            Ok(Step {
                result: "done".to_owned(),
                treated_as: Some(done),
                days_late: late_by(deadline, done),
                next_deadline: Some(outcome.due),
                reason: outcome.sentence(),
            })
        }
        other => Err(Error::Internal(format!("window rule {other} is unknown"))),
    }
}

/// Weeks after fitting by which the first test of a care valve is due: its start states that day.
const FIRST_TEST_WEEKS: i64 = 8;

/// A test of a mixing valve in a care setting: the next one's last day follows from what this one and the ones before
/// showed (`inspection::duties::v1`). A test whose change was not measured counts as one that moved.
fn valve_tested(
    anchor: Option<NaiveDate>,
    deadline: Option<NaiveDate>,
    done: NaiveDate,
    (before, moved): (&[Option<f64>], Option<f64>),
) -> Step {
    let fitted = anchor.map(|first| add_days(first, -7 * FIRST_TEST_WEEKS));
    let k = |moved: Option<f64>| Some(moved.unwrap_or(f64::INFINITY));
    let windows = fitted.map(|fitted| match before {
        [] => v1(fitted, None, None),
        [first] => v1(fitted, k(*first), k(moved)),
        [first, second, ..] => v1(fitted, k(*first), k(*second)),
    });
    let late = late_by(deadline, done);
    let words = date_words(done);
    let (opens, next, why) = match (&windows, before.len()) {
        (Some(w), 0) => (
            w.first.0,
            w.second.1,
            "the second test follows 12 to 15 weeks after fitting".to_owned(),
        ),
        (Some(w), 1) => {
            let third = w.third.unwrap_or(w.second);
            (w.second.0, third.1, lower(&w.sentence()))
        }
        (Some(w), 2) => {
            let third = w.third.unwrap_or(w.second);
            (
                third.0,
                add_months(done, 12),
                "from now on at least once a year".to_owned(),
            )
        }
        _ => (
            done,
            add_months(done, 12),
            "at least once a year".to_owned(),
        ),
    };
    if done < opens {
        return Step {
            result: "early_open".to_owned(),
            treated_as: None,
            days_late: 0,
            next_deadline: deadline,
            reason: format!(
                "Tested on {words}, before {}, when this test may first be made: it stays due.",
                date_words(opens)
            ),
        };
    }
    let (result, lateness) = if late > 0 {
        (
            "late",
            format!(
                ", {} late",
                inspection::calendar::day_count(i64::from(late))
            ),
        )
    } else {
        ("on_time", String::new())
    };
    Step {
        result: result.to_owned(),
        treated_as: Some(done),
        days_late: late,
        next_deadline: Some(next),
        reason: format!(
            "Tested on {words}{lateness}; the next is due by {}: {}.",
            date_words(next),
            why.trim_end_matches('.')
        ),
    }
}

fn lower(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_lowercase().chain(letters).collect())
}

fn round_met(
    rule: &DutyRule,
    anchor: Option<NaiveDate>,
    deadline: Option<NaiveDate>,
    done: NaiveDate,
) -> Result<Step, Error> {
    let Some(deadline) = deadline else {
        let next = first_after(rule, done);
        return Ok(Step {
            result: "first".to_owned(),
            treated_as: Some(done),
            days_late: 0,
            next_deadline: Some(next),
            reason: format!(
                "First on record, done on {}; its rounds start from that day and the next is {}.",
                date_words(done),
                date_words(next)
            ),
        });
    };
    let round = round_of(rule, anchor.unwrap_or(deadline));
    let mut open = 0;
    while round.nominal(open) < deadline && round.nominal(open + 1) > round.nominal(open) {
        open += 1;
    }
    let outcome = w3(&round, open, done).map_err(|e| Error::Internal(e.to_string()))?;
    let late = inspection::calendar::days_between(outcome.latest, done).max(0);
    Ok(Step {
        result: outcome.result.code().to_owned(),
        treated_as: (outcome.next_nominal != deadline).then_some(outcome.nominal),
        days_late: to_days(late),
        next_deadline: Some(outcome.next_nominal),
        reason: outcome.sentence(),
    })
}

fn late_by(deadline: Option<NaiveDate>, done: NaiveDate) -> i32 {
    deadline.map_or(0, |d| to_days(inspection::calendar::days_between(d, done)))
}

fn to_days(days: i64) -> i32 {
    i32::try_from(days.max(0)).unwrap_or(i32::MAX)
}

/// The day a round or interval counted from `from` first comes.
pub fn first_after(rule: &DutyRule, from: NaiveDate) -> NaiveDate {
    gap_of(rule).after(from)
}

/// The day one interval before `deadline`.
pub fn one_before(rule: &DutyRule, deadline: NaiveDate) -> NaiveDate {
    gap_of(rule).before(deadline)
}
