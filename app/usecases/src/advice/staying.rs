//! Failures in parts that stay in the home when the unit is replaced: a new one would not stop them.
//!
//! Parts of a kind that belong to one thing (the network's supply, the room's controls) are a group g. With P_p the hazard of
//! part p at the ages of this unit's clocks, as its forecast by part has it, a told failure lies in g with chance
//! v_g = Σ_(p in g) P_p/Σ P_p by its kind. Of the n failures of its own whose part is on record n_g lay in g: with a Dirichlet
//! prior as firm as W failures, the same that holds a kind's shares to the trade's ([`SHARES_WEIGHT`]), the unit's own share is
//! π_g = (n_g + W v_g)/(n + W). In year i each group's hazard at its clocks' ages then counts π_g/v_g times, every other part's
//! (1 − Σ π)/(1 − Σ v) times, the never-renewed remainder as it is; q_(g,i) is g's share of their sum. No failure on record
//! leaves the kind's shares.
use std::collections::{BTreeMap, BTreeSet};

use dependability::KindPrior;
use dependability::prior::{PARTS_SHARE, SHARES_WEIGHT};
use terms::unit::FailureRecord;

use super::book::{Book, Measure};
use super::case::{Lines, Subject};
use super::outlook::{Clocks, by_part, remainder};
use crate::forecast::failures_among;
use crate::founding::StaysWith;

/// What of a unit's failures stays, and beside which option.
pub(crate) struct Staying {
    groups: Vec<Group>,
    /// Failures on record with a part of the kind named.
    told: usize,
    status: String,
}

/// Parts that belong to one thing.
struct Group {
    what: String,
    parts: BTreeSet<String>,
    with: BTreeSet<String>,
    /// n_g.
    met: usize,
    /// v_g.
    of_kind: f64,
    /// q_(g,i), i = 1, 2, …
    by_year: Vec<f64>,
}

impl Group {
    fn stays_with(&self, option: &str) -> bool {
        self.with.contains(option)
    }
}

/// The part of each failure on record that names one of the kind's.
fn parts_met<'a>(failures: &'a [FailureRecord], prior: &KindPrior) -> Vec<&'a str> {
    let known = |code: &&str| prior.parts.iter().any(|part| part.code == *code);
    failures_among(failures)
        .iter()
        .filter_map(|(_, visits)| visits.iter().rev().find_map(|v| v.part.as_deref()))
        .filter(known)
        .collect()
}

/// The groups of a kind without any unit's figures.
fn groups_of(rows: &[StaysWith], kind: &str) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for row in rows.iter().filter(|row| row.kind == kind) {
        let with = row.with.iter().cloned();
        if let Some(group) = groups.iter_mut().find(|g| g.what == row.what) {
            group.parts.insert(row.part.clone());
            group.with.extend(with);
        } else {
            groups.push(Group {
                what: row.what.clone(),
                parts: BTreeSet::from([row.part.clone()]),
                with: with.collect(),
                met: 0,
                of_kind: 0.0,
                by_year: Vec::new(),
            });
        }
    }
    groups
}

/// Σ of what belongs to a group, over the kind's parts in order.
fn sum_of(group: &Group, prior: &KindPrior, by_part: &[f64]) -> f64 {
    let parts = prior.parts.iter().zip(by_part);
    parts
        .filter(|(part, _)| group.parts.contains(&part.code))
        .map(|(_, hazard)| hazard)
        .sum()
}

impl Staying {
    /// Of the unit that stands there: `clocks` as they run now, `after` once a quoted part is new.
    pub fn of_unit(
        book: &Book,
        subject: &Subject<'_>,
        prior: &KindPrior,
        (clocks, after, horizon): (&Clocks, &Clocks, u32),
    ) -> Self {
        let mut groups = groups_of(&book.stays, &subject.card.kind);
        groups.retain(|g| prior.parts.iter().any(|p| g.parts.contains(&p.code)));
        let mut rows = book.stays.iter();
        let row = rows.find(|row| row.kind == subject.card.kind);
        let status = row.map_or("", |row| row.status.as_str());
        let met = parts_met(subject.failures, prior);
        let now = by_part(prior, clocks, 0.5);
        let whole: f64 = now.iter().sum();
        for group in &mut groups {
            group.met = met
                .iter()
                .filter(|code| group.parts.contains(**code))
                .count();
            group.of_kind = sum_of(group, prior, &now) / whole;
        }
        groups.retain(|g| g.of_kind > 0.0);
        let times = times_of(&groups, met.len());
        for i in 0..horizon {
            let ahead = f64::from(i) + 0.5;
            let parts = by_part(prior, after, ahead);
            let own: Vec<f64> = groups.iter().map(|g| sum_of(g, prior, &parts)).collect();
            let others = parts.iter().sum::<f64>() - own.iter().sum::<f64>();
            let counted: Vec<f64> = own.iter().zip(&times.0).map(|(a, by)| a * by).collect();
            let told = counted.iter().sum::<f64>() + others * times.1;
            let all = PARTS_SHARE * told + remainder(prior, after, ahead);
            for (group, counted) in groups.iter_mut().zip(counted) {
                group.by_year.push(PARTS_SHARE * counted / all);
            }
        }
        Self {
            groups,
            told: met.len(),
            status: status.to_owned(),
        }
    }

    fn beside<'a>(&'a self, option: &'a str) -> impl Iterator<Item = &'a Group> {
        self.groups.iter().filter(move |g| g.stays_with(option))
    }

    /// Share of each year's failures in parts that stay beside every one of these options; empty where none does.
    pub fn beside_all(&self, options: &[&str]) -> Vec<f64> {
        let groups: Vec<&Group> = self.alike(options).collect();
        let years = groups.first().map_or(0, |g| g.by_year.len());
        (0..years)
            .map(|i| groups.iter().map(|g| g.by_year[i]).sum())
            .collect()
    }

    fn alike<'a>(&'a self, options: &'a [&'a str]) -> impl Iterator<Item = &'a Group> {
        self.groups
            .iter()
            .filter(|g| !options.is_empty() && options.iter().all(|o| g.stays_with(o)))
    }

    /// Share of the failures of all years, `faults` a year, in parts that stay beside this option but not beside every one.
    pub fn beside_only(&self, option: &str, options: &[&str], faults: &[f64]) -> f64 {
        let alike: BTreeSet<&str> = self.alike(options).map(|g| g.what.as_str()).collect();
        let only = self
            .beside(option)
            .filter(|g| !alike.contains(g.what.as_str()));
        let met: f64 = only
            .map(|g| {
                g.by_year
                    .iter()
                    .zip(faults)
                    .map(|(q, m)| q * m)
                    .sum::<f64>()
            })
            .sum();
        let all: f64 = faults.iter().sum();
        if all > 0.0 { met / all } else { 0.0 }
    }

    /// Whether a part stays beside an option.
    pub fn leaves(&self, part: Option<&str>, option: &str) -> bool {
        part.is_some_and(|part| self.beside(option).any(|g| g.parts.contains(part)))
    }

    /// Codes of the parts that stay beside an option.
    pub fn parts_beside(&self, option: &str) -> BTreeSet<String> {
        self.beside(option).flat_map(|g| g.parts.clone()).collect()
    }

    /// Failures expected in the first of `faults` in parts that stay beside an option, written down with its source.
    pub(super) fn said(&self, option: &str, faults: &[f64], known: &str, lines: &mut Lines) -> f64 {
        let groups: Vec<&Group> = self.beside(option).collect();
        if groups.is_empty() {
            return 0.0;
        }
        let share: f64 = groups.iter().filter_map(|g| g.by_year.first()).sum();
        let first = share * faults.first().copied().unwrap_or(0.0);
        let names: Vec<&str> = groups.iter().map(|g| g.what.as_str()).collect();
        let of_kind = groups.iter().map(|g| g.of_kind).sum::<f64>() * 100.0;
        let met: usize = groups.iter().map(|g| g.met).sum();
        let own = match self.told {
            0 => format!("{of_kind:.0} in 100 of its kind’s failures lie there"),
            n => format!(
                "{met} of the {n} failure{} on its whole record whose part is known, beside {of_kind:.0} in 100 of its kind’s",
                if n == 1 { "" } else { "s" }
            ),
        };
        let source = format!(
            "{} stay{}: {own}; counted on both sides",
            names.join(" and "),
            if names.len() == 1 { "s" } else { "" }
        );
        let status = format!("what stays: {}; the kind’s shares: {known}", self.status);
        lines.about(
            "failures_staying",
            option,
            (first, Measure::FailuresAYear),
            (&source, &status),
        );
        first
    }
}

/// π_g/v_g of every group, and the same of every other part.
fn times_of(groups: &[Group], told: usize) -> (Vec<f64>, f64) {
    let whole = told as f64 + SHARES_WEIGHT;
    let own = |g: &Group| (g.met as f64 + SHARES_WEIGHT * g.of_kind) / whole;
    let kind: f64 = groups.iter().map(|g| g.of_kind).sum();
    let rest = 1.0 - groups.iter().map(own).sum::<f64>();
    let other = if kind < 1.0 { rest / (1.0 - kind) } else { 0.0 };
    (groups.iter().map(|g| own(g) / g.of_kind).collect(), other)
}

/// The share of a new unit's failures at an age (years) that its own kind has in things the home has already, for they stay:
/// `what` names them.
pub(super) fn met_already(
    rows: &[StaysWith],
    (kind, prior): (&str, &KindPrior),
    what: &BTreeSet<&str>,
    age: f64,
) -> f64 {
    let mut groups = groups_of(rows, kind);
    groups.retain(|g| what.contains(g.what.as_str()));
    if groups.is_empty() || prior.parts.is_empty() {
        return 0.0;
    }
    let new = Clocks {
        unit: 0.0,
        parts: BTreeMap::new(),
    };
    let parts = by_part(prior, &new, age);
    let own: f64 = groups.iter().map(|g| sum_of(g, prior, &parts)).sum();
    PARTS_SHARE * own / (PARTS_SHARE * parts.iter().sum::<f64>() + remainder(prior, &new, age))
}

impl Staying {
    /// What stays beside an option, by name.
    pub fn names_beside<'a>(&'a self, option: &'a str) -> BTreeSet<&'a str> {
        self.beside(option).map(|g| g.what.as_str()).collect()
    }
}

#[cfg(test)]
mod tests {
    use dependability::{PartClock, PartPrior};

    use super::*;

    fn group(met: usize, of_kind: f64) -> Group {
        Group {
            what: "the network’s supply".to_owned(),
            parts: BTreeSet::from(["network".to_owned()]),
            with: BTreeSet::from(["HIU".to_owned()]),
            met,
            of_kind,
            by_year: Vec::new(),
        }
    }

    /// Three of six where the kind has 0.22: (3 + 20 × 0.22)/26 = 0.284615, 1.293706 times; the others 0.715385/0.78 = 0.917160
    /// times (arithmetic). None on record: once each.
    #[test]
    fn a_share_by_hand() {
        let (own, other) = times_of(&[group(3, 0.22)], 6);
        assert!((own[0] - 1.293_706).abs() < 1e-6, "{own:?}");
        assert!((other - 0.917_160).abs() < 1e-6, "{other}");
        let (own, other) = times_of(&[group(0, 0.22)], 0);
        assert!((own[0] - 1.0).abs() < 1e-12 && (other - 1.0).abs() < 1e-12);
        // A group that is all there is.
        assert_eq!(times_of(&[group(2, 1.0)], 2).1, 0.0);
    }

    /// Two parts alike, one of which stays; a tenth of the failures is the remainder's at ten years of age: 0.9 × 0.5.
    #[test]
    fn of_a_new_unit_what_the_home_has_already_is_left_out() {
        let part = |code: &str| PartPrior {
            code: code.to_owned(),
            share: 0.5,
            shape: 1.0,
            clock: PartClock::Event,
        };
        let prior = KindPrior::around(0.2, 0.7, vec![part("network"), part("pump")]);
        let rows = crate::founding::stays(chrono::NaiveDate::default()).unwrap();
        let share = |what: &[&str], kind| {
            met_already(&rows, (kind, &prior), &what.iter().copied().collect(), 10.0)
        };
        assert!((share(&["the network’s supply"], "HIU") - 0.45).abs() < 1e-12);
        assert_eq!(share(&["the network’s supply"], "CB"), 0.0);
        assert_eq!(share(&[], "HIU"), 0.0);
    }
}
