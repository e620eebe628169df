//! An invoice beside the quote it answers, line by line. The differences add up: Σ = billed − quoted, without VAT.
use std::collections::BTreeSet;

use terms::Pence;

/// One line, without VAT.
#[derive(Clone, Debug, PartialEq)]
pub struct BillLine {
    /// "Labour, 2 h"
    pub what: String,
    /// Without VAT.
    pub net: Pence,
    /// VAT, per cent.
    pub vat_percent: f64,
}

/// Where two lines part, or one stands alone.
#[derive(Clone, Debug, PartialEq)]
pub enum Difference {
    /// The same line for another sum.
    Sum {
        /// As quoted.
        what: String,
        /// Quoted, without VAT.
        quoted: Pence,
        /// Billed, without VAT.
        billed: Pence,
    },
    /// Billed and not quoted.
    NotQuoted {
        /// As billed.
        what: String,
        /// Without VAT.
        billed: Pence,
    },
    /// Quoted and not billed.
    NotBilled {
        /// As quoted.
        what: String,
        /// Without VAT.
        quoted: Pence,
    },
    /// The same line under another rate of VAT.
    Vat {
        /// As quoted.
        what: String,
        /// Per cent, quoted.
        quoted: f64,
        /// Per cent, billed.
        billed: f64,
    },
}

impl Difference {
    /// Billed less quoted, without VAT; nought for a rate of VAT.
    pub fn net(&self) -> Pence {
        match self {
            Self::Sum { quoted, billed, .. } => Pence(billed.0 - quoted.0),
            Self::NotQuoted { billed, .. } => *billed,
            Self::NotBilled { quoted, .. } => Pence(-quoted.0),
            Self::Vat { .. } => Pence(0),
        }
    }
}

/// Words in small letters, without marks and figures, in order: "Labour, 2 h" and "labour 3h" are one line.
fn plain(what: &str) -> String {
    let words: Vec<String> = what
        .split(|c: char| !c.is_alphabetic())
        .filter(|word| word.chars().count() > 1)
        .map(str::to_lowercase)
        .collect();
    words.join(" ")
}

/// The differences in the order of the quote, what was not quoted last. Lines go together by their words; those left over
/// by their sum.
pub fn differences(quoted: &[BillLine], billed: &[BillLine]) -> Vec<Difference> {
    let mut left: BTreeSet<usize> = (0..billed.len()).collect();
    let mut pairs: Vec<Option<usize>> = vec![None; quoted.len()];
    let tests: [fn(&BillLine, &BillLine) -> bool; 2] = [
        |q, b| !plain(&q.what).is_empty() && plain(&q.what) == plain(&b.what),
        |q, b| q.net == b.net,
    ];
    for fits in tests {
        for (line, pair) in quoted.iter().zip(&mut pairs) {
            if pair.is_none() {
                *pair = left
                    .iter()
                    .copied()
                    .find(|&n| billed.get(n).is_some_and(|b| fits(line, b)));
                if let Some(n) = *pair {
                    left.remove(&n);
                }
            }
        }
    }
    let mut found = Vec::new();
    for (line, pair) in quoted.iter().zip(&pairs) {
        let what = line.what.clone();
        match pair.and_then(|n| billed.get(n)) {
            None => found.push(Difference::NotBilled {
                what,
                quoted: line.net,
            }),
            Some(bill) => {
                if bill.net != line.net {
                    found.push(Difference::Sum {
                        what: what.clone(),
                        quoted: line.net,
                        billed: bill.net,
                    });
                }
                if bill.vat_percent != line.vat_percent {
                    found.push(Difference::Vat {
                        what,
                        quoted: line.vat_percent,
                        billed: bill.vat_percent,
                    });
                }
            }
        }
    }
    found.extend(left.iter().filter_map(|&n| {
        let bill = billed.get(n)?;
        Some(Difference::NotQuoted {
            what: bill.what.clone(),
            billed: bill.net,
        })
    }));
    found
}
