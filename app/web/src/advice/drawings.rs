//! The drawings of an advice, each from the stored answer.
use chrono::{Datelike, NaiveDate};
use terms::{ExpectedPounds, Pence};
use usecases::advice::{CostPath, Listed, Param, PathYear, TornadoRow};
use wording::Drawing;
use wording::drawings::fork::{Band, Fork, ForkYear, outlay};
use wording::drawings::keep_years::{KeepYears, KeptFor};
use wording::drawings::tornado::{Doubt, Tornado};
use wording::drawings::two_limits::TwoLimits;

use super::{turning, words};

/// W[k] − W[0] in pence, so that the best k shows the stored advantage to the penny.
pub(crate) fn dearer(a: &Listed, years: u32) -> Option<Pence> {
    let advice = &a.answer.advice;
    let best = advice.best_keep?;
    let of = |k: u32| advice.keep.get(k as usize).copied().flatten();
    let here = of(years)?;
    match a.advantage {
        Some(advantage) => {
            let apart = ExpectedPounds(here - of(best)?).to_pence();
            advantage.checked_add(apart)
        }
        None => Some(ExpectedPounds(here - of(0)?).to_pence()),
    }
}

/// The longest it may be kept in the comparison.
pub(crate) fn horizon(a: &Listed) -> u32 {
    a.answer.advice.keep.len().saturating_sub(1) as u32
}

/// The path of the option that replacing means.
pub(crate) fn path_of<'a>(a: &'a Listed, code: &str) -> Option<&'a CostPath> {
    let paths = &a.answer.advice.fork.replace;
    paths.iter().find(|p| p.code.as_deref() == Some(code))
}

fn band(year: &PathYear) -> Band {
    Band {
        mid: year.expected,
        low: year.low,
        high: year.high,
    }
}

/// The two paths of cost so far; `None` when there is only one.
pub(crate) fn fork(a: &Listed, known_on: NaiveDate) -> Option<Drawing> {
    let (code, _, price) = a.instead()?;
    let replace = path_of(a, code)?;
    let keep = &a.answer.advice.fork.keep;
    let years: Vec<ForkYear> = keep
        .years
        .iter()
        .zip(&replace.years)
        .map(|(keep, swap)| ForkYear {
            year: known_on.year() + keep.year as i32,
            keep: band(keep),
            replace: band(swap),
        })
        .collect();
    let left = replace.years.last().and_then(|y| y.still_in).unwrap_or(0.0);
    let keep_words = match a.quote {
        Some(quote) => outlay("repair", quote),
        None => "keep, nothing now".to_owned(),
    };
    let fork = Fork {
        id: "fork".into(),
        title: "The fork: expected cost so far of keeping and of replacing".into(),
        finding: words::standing(a),
        keep_outlay_words: keep_words,
        replace_outlay_words: outlay("new unit fitted", price),
        years,
        left_in_new: ExpectedPounds(left.max(0.0)),
        best_year: a
            .answer
            .advice
            .best_keep
            .map(|k| known_on.year() + k as i32),
        repaired: a.quote.is_some(),
    };
    Some(fork.draw())
}

/// Dearer than replacing now, by years kept; `None` when nothing was compared.
pub(crate) fn keep_years(a: &Listed) -> Option<Drawing> {
    let bars: Vec<KeptFor> = (1..=horizon(a))
        .filter_map(|years| {
            let dearer = dearer(a, years)?;
            Some(KeptFor { years, dearer })
        })
        .collect();
    if bars.is_empty() {
        return None;
    }
    let drawn = KeepYears {
        id: "kept".into(),
        title: "How long, if it is kept".into(),
        finding: words::standing(a),
        bars,
        repaired: a.quote.is_some(),
    };
    Some(drawn.draw())
}

/// The quote on two rulers; `None` without a quote or a limit.
pub(crate) fn two_limits(a: &Listed) -> Option<Drawing> {
    let limits = TwoLimits {
        id: "limits".into(),
        quote: a.quote?,
        repair_limit: a.limit?,
        authority: a.answer.ladder.agent.unwrap_or_default(),
    };
    Some(limits.draw())
}

/// What would change the answer; `None` when nothing was compared.
pub(crate) fn doubts(a: &Listed, most: usize) -> Option<Drawing> {
    let doubts: Vec<Doubt> = a
        .answer
        .advice
        .tornado
        .iter()
        .filter(|row| row.swing.is_some_and(|swing| swing >= 1.0))
        .filter_map(doubt)
        .take(most)
        .collect();
    if doubts.is_empty() {
        return None;
    }
    let drawn = Tornado {
        id: "doubts".into(),
        title: "What would change the answer".into(),
        finding: turns_words(a),
        doubts,
        repaired: a.quote.is_some(),
    };
    Some(drawn.draw())
}

/// Which doubts could turn the advice, in a sentence.
pub(crate) fn turns_words(a: &Listed) -> String {
    let names: Vec<String> = a
        .answer
        .advice
        .turns
        .iter()
        .map(|turn| short_name(turn.param).to_owned())
        .collect();
    if names.is_empty() {
        "Nothing within its range changes the advice.".to_owned()
    } else {
        format!(
            "Within its range the advice would turn with {}.",
            wording::sentences::list(&names)
        )
    }
}

/// What a close answer hangs on: the nearest value at which it turns.
pub(super) fn hangs_on(a: &Listed) -> String {
    let advice = &a.answer.advice;
    let Some(turn) = advice.turns.first() else {
        return "Close: either is defensible. It hangs on luck with failures more than on any single figure.".to_owned();
    };
    let apart = turning::percent(turn.multiplier, ("more", "less"));
    let at = match turn.value {
        Some(value) if turn.param == Param::FaultsOld => {
            format!(", at {}", turning::often(a, value))
        }
        Some(value) => format!(", {}", turning_value(turn.param, value)),
        None => String::new(),
    };
    format!(
        "Close: either is defensible. It hangs on {}: {apart}{at}, and the other course is the cheaper one.",
        short_name(turn.param)
    )
}

fn doubt(row: &TornadoRow) -> Option<Doubt> {
    let turns = match (row.switch_multiplier, row.base) {
        (Some(by), Some(base)) => turning_value(row.param, base * by),
        (Some(by), None) => format!("at {}", turning::times(by, ("more", "less"))),
        (None, _) => String::new(),
    };
    Some(Doubt {
        name: name(row),
        one_end: ExpectedPounds(row.adv_low?).to_pence(),
        other_end: ExpectedPounds(row.adv_high?).to_pence(),
        turns,
    })
}

fn turning_value(param: Param, value: f64) -> String {
    match param {
        Param::Rate => format!("at {:.1} %", value * 100.0),
        Param::FaultsOld | Param::FaultsNew => format!("at {}", words::how_often(value)),
        Param::WriteOff => format!("at {:.1} of 100 failures", value * 100.0),
        _ => format!("at {}", ExpectedPounds(value)),
    }
}

pub(super) fn short_name(param: Param) -> &'static str {
    match param {
        Param::Rate => "the rate",
        Param::Quote => "the quote",
        Param::FaultsOld => "how often this unit fails",
        Param::FaultsNew => "how often a new one fails",
        Param::Capex => "the price of a new one",
        Param::Energy => "the price of energy",
        Param::ServiceOld => "the price of its service",
        Param::RepairPrice => "the price of repairs",
        Param::Disruption => "what disruption is worth",
        Param::EmergencyPremium => "the out-of-hours price",
        Param::WriteOff => "how many of its single failures are beyond repair",
    }
}

fn name(row: &TornadoRow) -> String {
    let words = match row.param {
        Param::Rate => {
            let base = row.base.unwrap_or_default() * 100.0;
            return format!("Rate, {:.2} % to {:.2} %", base * row.low, base * row.high);
        }
        Param::WriteOff => {
            let base = row.base.unwrap_or_default() * 100.0;
            let (low, high) = (base * row.low, base * row.high);
            return format!("Single failures beyond repair, {low:.1} to {high:.1} in 100");
        }
        Param::Quote => "This quote, 30 % less or more",
        Param::FaultsOld => "Failures of this unit, 40 % fewer to 60 % more",
        Param::FaultsNew => "Failures of a new one, 40 % fewer to 60 % more",
        Param::Capex => "New unit, 15 % cheaper to 25 % dearer",
        Param::Energy => "Energy, 25 % cheaper to 50 % dearer",
        Param::ServiceOld => "Its service, 20 % less or more",
        Param::RepairPrice => "Repair prices, 20 % less to 30 % more",
        Param::Disruption => "Disruption, none to twice as much",
        Param::EmergencyPremium => "Out of hours, half less or more",
    };
    words.to_owned()
}
