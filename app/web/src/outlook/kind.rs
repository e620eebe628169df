//! How units of one kind fail: their record by age, whether failures come faster, and the fit all forecasts of them rest on.
use actix_web::{HttpResponse, web};
use askama::Template;
use usecases::forecast::{
    AgeBand, GOODNESS_DRAWS, KindRecord, LEAST_FOR_TREND, Trend, kind_record,
};
use wording::drawings::mean_curve::{CurvePoint, MeanCurve};
use wording::sentences::{capital, counted, dates, glue, minus, outlook};
use wording::{Drawing, Row, Shell, Table};

use super::{holds, rests};
use crate::Failure;
use crate::page::page;
use crate::seats::Reader;
use crate::state::{State, answer};

/// A trend is called one from this chance down: luck does as much in one case of twenty.
const TREND: f64 = 0.05;
/// Ratios from which a band shows that the fit's ageing is not theirs (FORECAST §8).
const OFF: (f64, f64) = (0.7, 1.3);

#[derive(Template)]
#[template(path = "outlook/kind.html")]
struct KindPage {
    shell: Shell,
    title: String,
    facts: Vec<String>,
    finding: String,
    standing: String,
    curve: Option<Drawing>,
    no_curve: String,
    trend: String,
    ages: Option<Table>,
    ages_said: String,
    holds: Vec<Row>,
    holds_how: String,
    years: Option<Table>,
    rests: Vec<Row>,
    no_fit: &'static str,
}

/// The page.
pub(super) async fn show(
    reader: Reader,
    state: web::Data<State>,
    path: web::Path<String>,
) -> Result<HttpResponse, Failure> {
    let code = path.into_inner();
    let seat = reader.seat.clone();
    let view = answer(&state, move |world| kind_record(world, &seat, &code)).await?;
    let finding = finding(&view);
    page(&KindPage {
        shell: reader.shell(&state, "buildings"),
        title: format!("How {} fail", view.kind.plural),
        facts: vec![
            capital(&view.kind.plural),
            format!("as known on {}", dates::day(view.today)),
        ],
        standing: glue(&standing(&view)),
        curve: drawn(&view, &finding),
        no_curve: "No curve is drawn: five of them with a known day of fitting were never watched at one age.".to_owned(),
        trend: glue(&trend(view.trend.as_ref())),
        ages: ages(&view.bands),
        ages_said: glue(&ages_said(&view.bands)),
        holds: view.holds.as_ref().map_or_else(Vec::new, holds::rows),
        holds_how: view
            .holds
            .as_ref()
            .map_or_else(String::new, |found| glue(&holds::how(found, GOODNESS_DRAWS))),
        years: view.holds.as_ref().and_then(holds::years),
        rests: view.fit.as_ref().map_or_else(Vec::new, |fit| {
            rests::rows(fit, (&view.kind.code, &view.kind.plural))
        }),
        no_fit: "It was not fitted yet; that is done in the night after a unit is entered.",
        finding: glue(&finding),
    })
}

fn finding(view: &KindRecord) -> String {
    let last = view.curve.as_ref().and_then(|(from, points)| {
        let last = points.last()?;
        Some((*from, *last))
    });
    match last {
        Some((from, last)) => format!(
            "Between {:.0} and {:.0} years of age, {} failed {} times each on average",
            from,
            last.age,
            view.kind.plural,
            outlook::number(last.mean)
        ),
        None => format!("How {} fail by age is not known yet", view.kind.plural),
    }
}

fn standing(view: &KindRecord) -> String {
    let mut said = vec![format!(
        "{} of {}, with {} while watched.",
        capital(&counted(view.dated as u64, "unit", "units")),
        view.kind.plural,
        counted(view.failures as u64, "failure", "failures")
    )];
    if view.dated < view.units {
        said.push(format!(
            "{} left out here, as the day of fitting is not known to within two years.",
            capital(&counted(
                (view.units - view.dated) as u64,
                "unit is",
                "units are"
            ))
        ));
    }
    said.join(" ")
}

fn drawn(view: &KindRecord, finding: &str) -> Option<Drawing> {
    let (from, points) = view.curve.as_ref()?;
    let points: Vec<CurvePoint> = points
        .iter()
        .map(|p| {
            let (low, high) = p.ci95();
            CurvePoint {
                age: p.age,
                units: p.at_risk,
                mean: p.mean,
                low,
                high,
                broken: p.broken,
            }
        })
        .collect();
    (!points.is_empty()).then(|| {
        MeanCurve {
            id: "by-age".to_owned(),
            title: format!("Failures of {} by age", view.kind.plural),
            finding: finding.to_owned(),
            from: *from,
            points,
        }
        .draw()
    })
}

/// The trend in words, with its figures.
fn trend(found: Option<&Trend>) -> String {
    let Some(trend) = found else {
        return format!(
            "Whether failures come faster as they grow older cannot be told: it takes {LEAST_FOR_TREND} units with failures."
        );
    };
    let said = if trend.p > TREND {
        "No trend beyond luck: failures come neither faster nor slower as units grow older, as far as can be told without a model."
    } else if trend.z > 0.0 {
        "Failures come faster as units grow older."
    } else {
        "Failures come slower as units grow older."
    };
    minus(&format!(
        "{said} Generalised Laplace test, units taken as unlike one another: {:+.2}, by luck alone as far from nought {} times in 100; {} with failures. A record kept better from year to year looks the same, and this test does not part the two.",
        trend.z,
        percent(trend.p),
        counted(trend.units as u64, "unit", "units")
    ))
}

/// "3", "0.4", "fewer than 0.1".
fn percent(p: f64) -> String {
    let value = 100.0 * p;
    if value >= 0.95 {
        format!("{value:.0}")
    } else if value >= 0.05 {
        format!("{value:.1}")
    } else {
        "fewer than 0.1".to_owned()
    }
}

fn band_words(band: &AgeBand) -> String {
    match band.until {
        Some(until) => format!("{:.0} to {until:.0} years", band.from),
        None => format!("over {:.0} years", band.from),
    }
}

fn ages(bands: &[AgeBand]) -> Option<Table> {
    let rows: Vec<Vec<String>> = bands
        .iter()
        .filter(|b| b.unit_years > 0.0)
        .map(|b| {
            let (ratio, range) = b.ratio90().map_or_else(
                || ("none".to_owned(), "not known".to_owned()),
                |(ratio, low, high)| (format!("{ratio:.2}"), format!("{low:.2} to {high:.2}")),
            );
            vec![
                band_words(b),
                b.units.to_string(),
                outlook::number(b.unit_years),
                b.failures.to_string(),
                format!("{:.1}", b.expected),
                ratio,
                range,
            ]
        })
        .collect();
    let heads = [
        "Age",
        "Units",
        "Unit-years",
        "Failures",
        "Expected by the fit",
        "Of what was expected",
        "9 cases in 10",
    ];
    (!rows.is_empty()).then(|| Table {
        caption: "Failures that happened, against those the fit expects at that age, each building with its own factor. The same record made the fit.".to_owned(),
        ..Table::new(&heads, rows).numbers(&[1, 2, 3, 4, 5, 6])
    })
}

/// Whether the fit's ageing is theirs: a band far below what was expected before one far above, neither by luck.
fn ages_said(bands: &[AgeBand]) -> String {
    let surely = |b: &AgeBand, above: bool| {
        b.ratio90().is_some_and(|(ratio, low, high)| {
            if above {
                ratio > OFF.1 && low > 1.0
            } else {
                ratio < OFF.0 && high < 1.0
            }
        })
    };
    let (below, above): (Vec<&AgeBand>, Vec<&AgeBand>) = (
        bands.iter().filter(|b| surely(b, false)).collect(),
        bands.iter().filter(|b| surely(b, true)).collect(),
    );
    if below.is_empty() && above.is_empty() {
        return "No band of age lies further from what the fit expects than luck takes it."
            .to_owned();
    }
    let named = |all: &[&AgeBand]| -> String {
        let words: Vec<String> = all.iter().map(|b| band_words(b)).collect();
        wording::sentences::list(&words)
    };
    let mut said = Vec::new();
    if !below.is_empty() {
        said.push(format!(
            "Fewer failures than the fit expects at {}.",
            named(&below)
        ));
    }
    if !above.is_empty() {
        said.push(format!(
            "More failures than the fit expects at {}.",
            named(&above)
        ));
    }
    said.push("These units age otherwise than the fit has it: read forecasts at those ages with that in mind.".to_owned());
    said.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(from: f64, failures: u32, expected: f64) -> AgeBand {
        AgeBand {
            from,
            until: Some(from + 5.0),
            units: 100,
            unit_years: 400.0,
            failures,
            expected,
            theta: 0.5,
        }
    }

    /// 50 seen of 80: 0.63, at most 0.63 · e^(1.645 √((1 + 0.5 · 0.8)/50)) = 0.82; 90 of 60: 1.5, at least 1.5 · e^(−0.2) = 1.2.
    #[test]
    fn a_band_is_named_only_beyond_luck() {
        assert!(ages_said(&[band(1.0, 19, 20.0)]).contains("No band"));
        assert!(ages_said(&[band(1.0, 2, 4.0)]).contains("No band"), "few");
        let said = ages_said(&[band(1.0, 50, 80.0), band(6.0, 90, 60.0)]);
        assert!(said.contains("Fewer failures than the fit expects at 1 to 6 years."));
        assert!(said.contains("More failures than the fit expects at 6 to 11 years."));
    }

    #[test]
    fn a_trend_is_said_in_words() {
        let said = |z, p| trend(Some(&Trend { z, p, units: 12 }));
        assert!(said(2.8, 0.005).starts_with("Failures come faster"));
        assert!(said(-2.8, 0.005).starts_with("Failures come slower"));
        // The loaders of FORECAST §0 point 9: robust p = 0.062.
        assert!(said(1.87, 0.062).starts_with("No trend beyond luck"));
        assert!(said(1.87, 0.062).contains("6 times in 100"));
        assert!(trend(None).contains("10 units with failures"));
    }
}
