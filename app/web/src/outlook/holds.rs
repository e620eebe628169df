//! Whether a kind's fit holds for the record it was made from, in words.
use usecases::forecast::Goodness;
use wording::sentences::{counted, minus, outlook};
use wording::{Row, Table};

/// A record lies beyond luck from this chance down.
const BEYOND: f64 = 0.05;

/// One row for each way of looking.
pub(super) fn rows(found: &Goodness) -> Vec<Row> {
    let mut rows = Vec::new();
    let cells = [
        (
            "by-age",
            found.by_age,
            "By age, failures lie no further from the fit than luck takes them.",
            "By age, failures lie further from the fit than luck takes them: these units age otherwise.",
        ),
        (
            "by-year",
            found.by_year,
            "By calendar year, failures lie no further from the fit than luck takes them.",
            "By calendar year, failures lie further from the fit than luck takes them: some years were worse or better, or \
             written down otherwise, than it knows.",
        ),
        (
            "by-unit",
            Some(found.by_unit),
            "From unit to unit, failures are spread as the fit has it.",
            "From unit to unit, failures are spread otherwise than the fit has it: the range it gives for one unit may be too \
             narrow or too wide.",
        ),
    ];
    for (id, chance, held, broken) in cells {
        let Some(chance) = chance else { continue };
        let said = if chance <= BEYOND { broken } else { held };
        rows.push(Row::plain(id, said).figure(in_100(chance), "by luck as far off"));
    }
    rows.push(unlike(found));
    rows
}

/// Whether units differ from one another at all.
fn unlike(found: &Goodness) -> Row {
    let said = if found.unlike_by_luck <= BEYOND {
        "Units differ from one another beyond luck: a unit’s own record says something of its future."
    } else {
        "It cannot be told from this record that units differ from one another beyond luck: one that failed more often than \
         others may have had no more than bad luck."
    };
    Row::plain(
        "unlike",
        minus(&format!("{said} Score {:+.1}.", found.unlike)),
    )
    .figure(in_100(found.unlike_by_luck), "as much where all are alike")
}

/// "38 in 100", "1 in 100 or fewer".
fn in_100(chance: f64) -> String {
    let whole = (100.0 * chance).round();
    if whole < 2.0 {
        "1 in 100 or fewer".to_owned()
    } else {
        format!("{whole:.0} in 100")
    }
}

/// What was looked at and how, under the rows.
pub(super) fn how(found: &Goodness, draws: u32) -> String {
    format!(
        "Looked at: {} whose fitting is known to within two years, in the buildings you may read, with {}. Put beside {draws} \
         records drawn from the fit, the level taken anew for each.",
        counted(found.units as u64, "unit", "units"),
        counted(u64::from(found.failures), "failure", "failures")
    )
}

/// The calendar years.
pub(super) fn years(found: &Goodness) -> Option<Table> {
    let rows: Vec<Vec<String>> = found
        .years
        .iter()
        .map(|y| {
            let (ratio, range) = y.ratio90().map_or_else(
                || ("none".to_owned(), "not known".to_owned()),
                |(ratio, low, high)| (format!("{ratio:.2}"), format!("{low:.2} to {high:.2}")),
            );
            vec![
                y.year.to_string(),
                y.units.to_string(),
                outlook::number(y.unit_years),
                failures(y.failures),
                format!("{:.1}", y.expected),
                ratio,
                range,
            ]
        })
        .collect();
    let heads = [
        "Year",
        "Units",
        "Unit-years",
        "Failures",
        "Expected by the fit",
        "Of what was expected",
        "9 cases in 10",
    ];
    (!rows.is_empty()).then(|| Table {
        caption:
            "Failures of the units looked at in each calendar year, against those the fit expects in it; one of no known day is shared out."
                .to_owned(),
        ..Table::new(&heads, rows).numbers(&[1, 2, 3, 4, 5, 6])
    })
}

/// "17", "2.4": a share of a failure is said as one.
fn failures(count: f64) -> String {
    if (count - count.round()).abs() < 0.05 {
        format!("{count:.0}")
    } else {
        format!("{count:.1}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(chance: f64) -> Goodness {
        Goodness {
            units: 60,
            failures: 90,
            years: Vec::new(),
            by_age: None,
            by_year: Some(chance),
            by_unit: chance,
            unlike: 4.25,
            unlike_by_luck: chance,
        }
    }

    #[test]
    fn each_way_of_looking_says_whether_luck_does_it() {
        let said = |chance| -> String {
            let rows = rows(&found(chance));
            assert_eq!(rows.len(), 3, "what was not looked at is not said");
            rows.iter()
                .map(|r| r.sentence.clone())
                .collect::<Vec<_>>()
                .join(" ")
        };
        assert!(said(0.4).contains("no further from the fit"));
        assert!(said(0.4).contains("cannot be told from this record"));
        assert!(said(0.05).contains("worse or better"));
        assert!(
            said(0.05).contains("differ from one another beyond luck")
                && said(0.05).contains("+4.2")
        );
        assert_eq!(in_100(0.005), "1 in 100 or fewer");
        assert_eq!(in_100(0.38), "38 in 100");
    }
}
