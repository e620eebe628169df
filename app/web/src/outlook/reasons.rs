//! Why a unit's forecast is what it is: what was used, how long such units stay.
use usecases::forecast::{Basis, InstalledFrom, KindLife, UnitOutlook, WaysOut};
use wording::Row;
use wording::sentences::{capital, chances, counted, dates, outlook};

use super::rests;
use super::unit::plural_name;

pub(super) fn caution(view: &UnitOutlook) -> String {
    let gas = view.kind.as_ref().is_some_and(|k| k.gas);
    let general =
        "What may fail is for planning only; it is no diagnosis and no reason to open a case.";
    if gas {
        format!(
            "{general} Gas work only by an engineer on the official gas safety register, with the right category for this unit; local codes and the unit’s own manual come first."
        )
    } else {
        format!(
            "{general} Work only by those licensed for it; local codes and the unit’s own manual come first."
        )
    }
}

pub(super) fn reasons(view: &UnitOutlook) -> Vec<String> {
    let (Some(told), Some(fit)) = (&view.told, &view.fit) else {
        return Vec::new();
    };
    let basis = &told.kept.basis;
    let mut said = vec![rests::thin(fit, plural_name(view))];
    let fitted = dates::fitted_when(Some(basis.installed_from), Some(basis.installed_until));
    let by = match basis.installed_by {
        InstalledFrom::Stated => "as stated",
        InstalledFrom::Range => "the doubt is carried along",
        InstalledFrom::BuiltYear => {
            "taken from the year of the building; the doubt is carried along"
        }
        InstalledFrom::Assumed => "assumed from the kind’s usual life; the doubt is carried along",
    };
    said.push(format!(
        "Used: fitted {fitted}, {by}; failures on record {}.",
        watched(basis)
    ));
    let aside = [
        (
            basis.merged,
            "repeat visit counted with the failure before",
            "repeat visits counted with the failures before",
        ),
        (
            basis.found_at_service,
            "found at a service",
            "found at services",
        ),
        (
            basis.no_fault_found,
            "call without a fault",
            "calls without a fault",
        ),
        (
            basis.before_watch,
            "failure outside the time of its records",
            "failures outside the time of its records",
        ),
    ];
    let set_aside: Vec<String> = aside
        .into_iter()
        .filter(|(count, _, _)| *count > 0)
        .map(|(count, one, many)| counted(u64::from(count), one, many))
        .collect();
    if !set_aside.is_empty() {
        said.push(format!(
            "Set aside: {}.",
            wording::sentences::list(&set_aside)
        ));
    }
    said.push(if basis.renewed.is_empty() {
        "No part is on record as renewed: each is taken for the first one, which may make the chance a little low.".to_owned()
    } else {
        "Parts without a date on record are taken for the first ones.".to_owned()
    });
    said.push("Method: each part ages on its own clock; how this unit differs from others is learned from its own record, once; how its building differs, from all units there. The ranges hold 8 cases in 10, the doubt of the fit in them.".to_owned());
    said
}

/// "since 01/01/2020"; "from 01/01/2012 to 01/01/2016, and since 01/01/2020".
fn watched(basis: &Basis) -> String {
    let since = |from| format!("since {}", dates::day(from));
    match basis.watched.as_slice() {
        [] | [_] => since(basis.watched_from),
        [before @ .., last] => {
            let told: Vec<String> = before
                .iter()
                .map(|(from, until)| {
                    format!("from {} to {}", dates::day(*from), dates::day(*until))
                })
                .collect();
            format!("{}, and {}", told.join(", "), since(last.0))
        }
    }
}

/// Which way out comes first, the two competing.
fn ways_out(kind: &KindLife, out: &WaysOut) -> Row {
    Row::plain(
        "life-ways-out",
        format!(
            "{} taken out while working. Whichever comes first within three years: written off {}, taken out while working {}, still in service {}.{}",
            capital(&counted(
                kind.removed as u64,
                "unit of the kind was",
                "units of the kind were"
            )),
            chances::about(out.written_off),
            chances::about(out.removed),
            chances::about(out.in_service),
            out.median_years.map_or_else(String::new, |years| format!(
                " Half of such units are out, the one way or the other, {}.",
                within(years)
            ))
        ),
    )
}

/// "within about 6 years".
fn within(years: f64) -> String {
    let whole = years.round().clamp(0.0, 999.0) as u64;
    match whole {
        0 => "within half a year".to_owned(),
        some => format!("within about {}", counted(some, "year", "years")),
    }
}

/// Whether bad units go sooner, and whether the chances told are this unit's own or its kind's: a fit made before own
/// failures could be told, or one that broke off, answers for the kind alone.
fn sooner(bad_go_sooner: Option<bool>, own: bool) -> &'static str {
    match (bad_go_sooner, own) {
        (None, false) => {
            "Whether units that fail more are written off sooner cannot be told yet; it is reckoned as if not."
        }
        (None, true) => {
            "Whether units that fail more are written off sooner cannot be told yet; it is reckoned as if so, with this unit’s own failures in these chances."
        }
        (Some(false), false) => {
            "Units that fail more are not written off sooner than others, as far as can be told."
        }
        (Some(false), true) => {
            "Units that fail more are not written off sooner than others, as far as can be told; this unit’s own failures are in these chances all the same."
        }
        (Some(true), true) => {
            "Units that fail more are written off sooner, and this unit’s own failures are in these chances."
        }
        (Some(true), false) => {
            "Units that fail more are written off sooner, but by how much could not be reckoned: these chances are those of the kind, without this unit’s own failures."
        }
    }
}

pub(super) fn life(view: &UnitOutlook) -> Vec<Row> {
    let Some((kind, year, three)) = &view.life else {
        return Vec::new();
    };
    let rests = if kind.written_off == 0 {
        format!(
            "None of {} was written off while watched: this is the usual life of the kind, common practice, no source.",
            counted(kind.units as u64, "unit", "units")
        )
    } else {
        format!(
            "{} written off while watched. {}",
            capital(&counted(
                kind.written_off as u64,
                "unit of the kind was",
                "units of the kind were"
            )),
            outlook::rests(kind.data_weight)
        )
    };
    let sooner = sooner(kind.bad_go_sooner, kind.shared.is_some());
    let mut rows = vec![
        Row::plain(
            "life-year",
            format!(
                "{} {}",
                rests::over(year.chance, "Written off within twelve months"),
                rests::over(three.chance, "Within three years"),
            ),
        )
        .figure(chances::brief(year.chance.0), "within a year"),
        Row::plain(
            "life-median",
            format!(
                "Half of such units of its age are written off within {}. {rests} {sooner} Removal for other reasons is not counted as written off.",
                outlook::years(year.median_years)
            ),
        ),
    ];
    rows.extend(view.ways_out.as_ref().map(|out| ways_out(kind, out)));
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_failures_are_said_to_count_where_they_do_and_nowhere_else() {
        for bad_go_sooner in [None, Some(false), Some(true)] {
            let (own, kind) = (sooner(bad_go_sooner, true), sooner(bad_go_sooner, false));
            assert_ne!(own, kind);
            assert!(
                own.contains("own failures") && !own.contains("without"),
                "{own}"
            );
            assert!(!kind.contains("own failures are in"), "{kind}");
        }
        assert!(sooner(Some(true), false).contains("without this unit’s own failures"));
        let said = |b, own| sooner(b, own).contains("are written off sooner,");
        assert!(said(Some(true), true) && said(Some(true), false));
        assert!(!said(None, true) && !said(Some(false), false) && !said(Some(false), true));
    }
}
