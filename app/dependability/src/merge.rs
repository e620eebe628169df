//! Repeat visits: several reports of one failure become one (DESIGN §6, FORECAST §0 point 6).
//!
//! A report joins the failure that already has its link (the same job); else the failure of the same unit and component
//! (or function) whose latest report is at most `window_days` earlier, the most recent such; else it is a new failure.
//! Reports found at a service are set aside and neither start nor extend anything. The rule over-merges slightly, so
//! the number merged is always shown.
use std::collections::BTreeMap;

/// Days within which a repeat counts as the same failure, as the trade counts (UNITS §5; common practice, no source).
pub const REPEAT_DAYS: i64 = 30;

/// One report.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Report {
    /// Sorts reports of the same day.
    pub order: u64,
    /// The unit.
    pub unit: String,
    /// Component or function lost; reports of different ones are different failures.
    pub component: String,
    /// The job or other link that ties reports together; empty: none.
    pub link: String,
    /// Day, counted from any epoch.
    pub day: i64,
    /// Found at a planned service, not reported by a resident.
    pub found_at_service: bool,
}

/// One failure after merging.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Merged {
    /// The unit.
    pub unit: String,
    /// Component of its first report.
    pub component: String,
    /// Day of its first report.
    pub day: i64,
    /// Places of its reports in the list given, first report first.
    pub reports: Vec<usize>,
}

/// What merging answers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct MergedReports {
    /// Failures, sorted by unit, day, component.
    pub failures: Vec<Merged>,
    /// Reports set aside as found at a service.
    pub found_at_service: usize,
    /// Reports that joined an earlier one.
    pub merged_away: usize,
}

struct Open {
    failure: Merged,
    links: Vec<String>,
    latest: i64,
}

/// Merges reports into failures.
pub fn merge_repeat_visits(reports: &[Report], window_days: i64) -> MergedReports {
    let mut order: Vec<usize> = (0..reports.len())
        .filter(|&i| !reports[i].found_at_service)
        .collect();
    order.sort_by(|&a, &b| {
        let key = |i: usize| (reports[i].day, reports[i].order);
        key(a).cmp(&key(b))
    });
    let considered = order.len();
    let mut units: BTreeMap<&str, Vec<Open>> = BTreeMap::new();
    for place in order {
        let report = &reports[place];
        let open = units.entry(&report.unit).or_default();
        let joins = linked(open, report).or_else(|| recent(open, report, window_days));
        if let Some(i) = joins {
            open[i].failure.reports.push(place);
            open[i].latest = report.day;
            open[i].links.push(report.link.clone());
        } else {
            open.push(Open {
                failure: Merged {
                    unit: report.unit.clone(),
                    component: report.component.clone(),
                    day: report.day,
                    reports: vec![place],
                },
                links: vec![report.link.clone()],
                latest: report.day,
            });
        }
    }
    let mut failures: Vec<Merged> = units.into_values().flatten().map(|o| o.failure).collect();
    failures.sort_by(|a, b| (&a.unit, a.day, &a.component).cmp(&(&b.unit, b.day, &b.component)));
    MergedReports {
        found_at_service: reports.len() - considered,
        merged_away: considered - failures.len(),
        failures,
    }
}

fn linked(open: &[Open], report: &Report) -> Option<usize> {
    if report.link.is_empty() {
        return None;
    }
    open.iter().position(|o| o.links.contains(&report.link))
}

fn recent(open: &[Open], report: &Report, window_days: i64) -> Option<usize> {
    open.iter()
        .enumerate()
        .filter(|(_, o)| {
            o.failure.component == report.component
                && report.day.saturating_sub(o.latest) <= window_days
        })
        .max_by_key(|(i, o)| (o.latest, *i))
        .map(|(i, _)| i)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn report(order: u64, component: &str, link: &str, day: i64) -> Report {
        Report {
            order,
            unit: "flat 12 boiler".to_owned(),
            component: component.to_owned(),
            link: link.to_owned(),
            day,
            found_at_service: false,
        }
    }

    #[test]
    fn a_chain_of_visits_within_the_window_is_one_failure() {
        let merged = merge_repeat_visits(
            &[
                report(1, "no hot water", "", 0),
                report(2, "no hot water", "", 30),
                report(3, "no hot water", "", 61),
                report(4, "no heat", "", 62),
                report(5, "no hot water", "job 7", 200),
                report(6, "no heat", "job 7", 300),
            ],
            REPEAT_DAYS,
        );
        let starts: Vec<(i64, usize)> = merged
            .failures
            .iter()
            .map(|f| (f.day, f.reports.len()))
            .collect();
        assert_eq!(starts, [(0, 2), (61, 1), (62, 1), (200, 2)]);
        assert_eq!(merged.merged_away, 2);
    }

    #[test]
    fn what_a_service_found_neither_starts_nor_extends() {
        let mut found = report(2, "no hot water", "", 20);
        found.found_at_service = true;
        let reports = [
            report(1, "no hot water", "", 0),
            found,
            report(3, "no hot water", "", 45),
        ];
        let merged = merge_repeat_visits(&reports, REPEAT_DAYS);
        assert_eq!(
            (
                merged.failures.len(),
                merged.found_at_service,
                merged.merged_away
            ),
            (2, 1, 0)
        );
    }
}
