//! What moves a unit's chance away from its kind's: each as a factor with its name, and between what it may be.
use usecases::forecast::{
    Driver, FAMILY, HARD_WATER, LEAST_IN_LAPSE, NO_FILTER, OPEN_SYSTEM, PEOPLE, SERVICE_LAPSED,
    ThinData, UnitOutlook,
};
use wording::Row;
use wording::sentences::{counted, outlook};

use super::unit::NEAR;

/// What moves the chance of the year away from its kind's.
pub(super) fn drivers(view: &UnitOutlook) -> Vec<Row> {
    let year = view
        .told
        .as_ref()
        .and_then(|t| t.kept.forecast.horizons.first());
    let all = year.map_or(&[][..], |h| h.drivers.as_slice());
    let thin = view.told.as_ref().map(|t| t.kept.forecast.thin);
    let little = matches!(thin, Some(ThinData::PublishedOnly | ThinData::Few));
    let mut rows = Vec::new();
    for (place, driver) in all.iter().enumerate() {
        let (sentence, factor) = match driver {
            Driver::OwnHistory(f) => ("Its own record, luck allowed for".to_owned(), *f),
            // FORECAST §11: below fifteen failures nothing is said of ageing.
            Driver::Age(_) if little => continue,
            Driver::Age(f) => (
                "Its age, against the mean age of its kind here".to_owned(),
                *f,
            ),
            Driver::RenewedParts(f) => ("Parts put in new".to_owned(), *f),
            Driver::Covariate(code, f) => {
                if (1.0 / NEAR..NEAR).contains(f) {
                    continue;
                }
                let said = said_of(view, code, (*f, little));
                rows.push(
                    Row::plain(format!("driver-{place}"), said)
                        .figure(outlook::factor(*f), "against its kind"),
                );
                continue;
            }
            Driver::Season(f) => ("The time of year".to_owned(), *f),
            Driver::Building(f) => (
                format!(
                    "What the units of {} share: water, who put them in, how they are run",
                    view.unit.building_name
                ),
                *f,
            ),
        };
        if (1.0 / NEAR..NEAR).contains(&factor) {
            continue;
        }
        let direction = if factor > 1.0 { "raises" } else { "lowers" };
        rows.push(
            Row::plain(
                format!("driver-{place}"),
                format!("{sentence}: {direction} it."),
            )
            .figure(outlook::factor(factor), "against its kind"),
        );
    }
    if rows.is_empty() && view.told.is_some() {
        rows.push(Row::plain(
            "driver-none",
            "Nothing on record sets it apart from others of its kind.",
        ));
    }
    rows
}

/// What goes along with a covariate: which way, and between what, by the fit's 90 % interval. Where that holds both ways and
/// the kind has too few failures, nothing is said to be seen (FORECAST §7, §11).
fn said_of(view: &UnitOutlook, code: &str, (factor, few): (f64, bool)) -> String {
    let name = covariate(code);
    let way = if factor > 1.0 { "raises" } else { "lowers" };
    let mut known = view.fit.iter().flat_map(|fit| &fit.effects90);
    let in_lapse = view.fit.as_ref().map_or(0, |fit| fit.in_lapse);
    if code == SERVICE_LAPSED && in_lapse < LEAST_IN_LAPSE {
        return format!(
            "{name}: {} during such times, too few failures to say what goes along with them; what is assumed beforehand is carried.",
            counted(u64::from(in_lapse), "failure came", "failures came")
        );
    }
    let Some((_, effect)) = known.find(|(own, _)| own == code) else {
        return format!("{name}: {way} it; between what is not known.");
    };
    let ends = if code == PEOPLE {
        of_so_many(*effect, factor)
    } else {
        (effect.1, effect.2)
    };
    outlook::goes_along(&name, way, ends, few)
}

/// The interval of what so many people do, from that of a doubling: the factor says how many doublings they are.
fn of_so_many((mid, low, high): (f64, f64, f64), factor: f64) -> (f64, f64) {
    let doublings = factor.ln() / mid.ln();
    if !doublings.is_finite() {
        return (low, high);
    }
    let (a, b) = (low.powf(doublings), high.powf(doublings));
    (a.min(b), a.max(b))
}

fn covariate(code: &str) -> String {
    if let Some(family) = code.strip_prefix(FAMILY) {
        return format!(
            "It is of the family “{family}”, units built alike; what goes along with that is no proof of a cause"
        );
    }
    match code {
        OPEN_SYSTEM => "Its heating circuit is open, fed from a tank; what goes along with that is no proof of a cause",
        PEOPLE => "How many people live there, against two, who are taken where nobody says; what goes along with that is no proof of a cause",
        HARD_WATER => "Hard water and no scale reducer known; goes along with more failures, which is no proof of a cause",
        NO_FILTER => "No filter on the system; goes along with more failures, which is no proof of a cause",
        SERVICE_LAPSED => "More than 13 months since its last service on record; goes along with more failures, which is no proof of a cause: homes that nobody gets into have both",
        other => other,
    }
    .to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four people are one doubling of two, one is half of one: e^(γ x) with x = 1 and −1.
    #[test]
    fn the_interval_of_a_home_is_that_of_its_doublings() {
        let near = |a: (f64, f64), b: (f64, f64)| {
            assert!(
                (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9,
                "{a:?}"
            );
        };
        let doubling = (1.2, 0.9, 1.6);
        near(of_so_many(doubling, 1.2), (0.9, 1.6));
        near(of_so_many(doubling, 1.44), (0.81, 2.56));
        near(of_so_many(doubling, 1.0 / 1.2), (1.0 / 1.6, 1.0 / 0.9));
        near(of_so_many((1.0, 0.9, 1.1), 1.0), (0.9, 1.1));
    }
}
