//! A unit's life on one line: failures, repairs, services, readings, part clocks, and the forecast as a wedge.
mod labels;
mod narrow;
mod table;
mod wide;

use chrono::{Datelike, Months, NaiveDate};
pub(crate) use labels::spread;
use terms::Pence;

use super::svg::{Area, sample};
use super::{Drawing, KeyItem};
use crate::sentences::dates;

/// A failure and how it ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Failure {
    /// The day it happened.
    pub on: NaiveDate,
    /// "no hot water"
    pub words: String,
    /// "diverter valve, £318"; may be empty.
    pub detail: String,
    /// The day it was put right, if it was.
    pub repaired_on: Option<NaiveDate>,
    /// What it cost, for choosing the dearest and for the table.
    pub cost: Option<Pence>,
}

/// A service or check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Visit {
    /// The day.
    pub on: NaiveDate,
    /// Whether readings were taken.
    pub readings: bool,
}

/// The clock of one part.
#[derive(Clone, Debug, PartialEq)]
pub struct PartClock {
    /// "Diverter valve"
    pub name: String,
    /// The day it was last replaced; `None` if it came with the unit.
    pub replaced_on: Option<NaiveDate>,
}

/// The forecast by one day: chance of at least one failure by then.
#[derive(Clone, Debug, PartialEq)]
pub struct Ahead {
    /// By this day.
    pub by: NaiveDate,
    /// Estimate, 0 to 1.
    pub chance: f64,
    /// Lower end of the 80 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Whether it is named in the drawing (next 1 April, 12 and 24 months).
    pub named: bool,
}

/// The life of one unit.
#[derive(Clone, Debug, PartialEq)]
pub struct HistoryLine {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing: "The boiler in flat 22, fitted to today, then the forecast".
    pub title: String,
    /// The finding in one sentence.
    pub finding: String,
    /// The present day, or the day the unit left.
    pub today: NaiveDate,
    /// Whether it left on that day.
    pub gone: bool,
    /// Earliest and latest day of fitting; either may be unknown.
    pub fitted: (Option<NaiveDate>, Option<NaiveDate>),
    /// The day the register opened: before it all is from paper.
    pub register_opened: Option<NaiveDate>,
    /// In any order.
    pub failures: Vec<Failure>,
    /// In any order.
    pub visits: Vec<Visit>,
    /// Drawn in this order.
    pub parts: Vec<PartClock>,
    /// In order of days, all after today; empty when nothing can be said.
    pub forecast: Vec<Ahead>,
}

impl HistoryLine {
    /// Both forms, key and table.
    pub fn draw(&self) -> Drawing {
        let clean = self.sorted();
        let scale = clean.times().words();
        Drawing {
            id: self.id.clone(),
            wide_svg: wide::draw(&clean),
            narrow_svg: narrow::draw(&clean),
            caption: if self.gone {
                "It is gone, so nothing is forecast of it.".into()
            } else if self.forecast.is_empty() {
                "There is no forecast for this unit yet.".into()
            } else {
                format!(
                    "The wedge after today is the chance of at least one failure by then: lines for the \
                     estimate, the pale edge for how unsure it is. {scale}"
                )
            },
            key: key(&self.id),
            table: table::of(&clean),
            has_links: false,
        }
    }

    /// The same with events in order and the forecast inside 0 to 1 and never falling.
    fn sorted(&self) -> Self {
        let mut clean = self.clone();
        clean.failures.sort_by_key(|failure| failure.on);
        clean.visits.sort_by_key(|visit| visit.on);
        clean
            .forecast
            .retain(|ahead| ahead.by > self.today && ahead.chance.is_finite());
        clean.forecast.sort_by_key(|ahead| ahead.by);
        for ahead in &mut clean.forecast {
            let chance = ahead.chance.clamp(0.0, 1.0);
            let low = if ahead.low.is_finite() {
                ahead.low
            } else {
                chance
            };
            let high = if ahead.high.is_finite() {
                ahead.high
            } else {
                chance
            };
            ahead.chance = chance;
            ahead.low = low.clamp(0.0, chance);
            ahead.high = high.clamp(chance, 1.0);
        }
        clean
    }

    /// First day drawn.
    fn start(&self) -> NaiveDate {
        let events = self
            .failures
            .iter()
            .map(|failure| failure.on)
            .chain(self.visits.iter().map(|visit| visit.on))
            .chain(self.parts.iter().filter_map(|part| part.replaced_on))
            .chain(self.register_opened);
        let first = events.chain(self.fitted.0).chain(self.fitted.1).min();
        let latest_start = self
            .today
            .checked_sub_months(Months::new(12))
            .unwrap_or(self.today);
        first.map_or(latest_start, |day| day.min(latest_start))
    }

    /// How days become units.
    fn times(&self) -> Times {
        let past = (self.today - self.start()).num_days().max(1) as f64;
        let ahead = self
            .forecast
            .last()
            .map_or(0.0, |last| (last.by - self.today).num_days().max(1) as f64);
        let factor = if ahead > 0.0 {
            (past / ahead).min(3.0)
        } else {
            0.0
        };
        Times {
            start: self.start(),
            today: self.today,
            past,
            ahead: ahead * factor,
            factor,
        }
    }

    /// The failures whose words are printed: all up to six, else the last four and the dearest.
    fn labelled(&self) -> Vec<&Failure> {
        let count = self.failures.len();
        if count <= 6 {
            return self.failures.iter().collect();
        }
        let (earlier, last) = self.failures.split_at(count - 4);
        let dearest = earlier.iter().max_by_key(|failure| failure.cost);
        dearest.into_iter().chain(last).collect()
    }

    /// What stands at the end of the past.
    fn end_words(&self) -> &'static str {
        if self.gone { "it left" } else { "today" }
    }

    /// The age of a part now, in words.
    fn part_age(&self, part: &PartClock) -> String {
        let age = |from| match dates::age_brief(from, self.today) {
            none if none == "0\u{a0}m" => "new".to_owned(),
            age => age,
        };
        match (part.replaced_on, self.fitted) {
            (Some(on), _) => age(on),
            (None, (Some(from), Some(to))) => {
                let (old, young) = (
                    dates::whole_years(from, self.today),
                    dates::whole_years(to, self.today),
                );
                if old == young {
                    age(from)
                } else {
                    format!("{young}\u{a0}to\u{a0}{old}\u{a0}y")
                }
            }
            (None, (Some(from), None)) => format!(
                "under\u{a0}{}\u{a0}y",
                dates::whole_years(from, self.today) + 1
            ),
            (None, (None, Some(to))) => {
                format!("over\u{a0}{}\u{a0}y", dates::whole_years(to, self.today))
            }
            (None, (None, None)) => "unknown".into(),
        }
    }
}

/// Days as a share of the line: linear up to today, wider after it.
#[derive(Clone, Copy, Debug)]
struct Times {
    start: NaiveDate,
    today: NaiveDate,
    past: f64,
    ahead: f64,
    factor: f64,
}

impl Times {
    /// 0 at the start, 1 at the end of the forecast.
    fn share(self, day: NaiveDate) -> f64 {
        let whole = self.past + self.ahead;
        if day <= self.today {
            (day - self.start).num_days() as f64 / whole
        } else {
            (self.past + (day - self.today).num_days() as f64 * self.factor) / whole
        }
    }

    fn words(self) -> String {
        if self.factor >= 3.0 {
            "From today on time is drawn three times as wide.".into()
        } else if (self.factor - 1.0).abs() < 0.02 {
            "Time after today is drawn as wide as the year before it.".into()
        } else {
            "Time after today is drawn on a scale of its own.".into()
        }
    }

    /// Years whose first of January is marked, at least `gap` units apart when the line is `length` long.
    fn years(self, length: f64, gap: f64) -> Vec<NaiveDate> {
        let per_year = 365.25 / (self.past + self.ahead) * length;
        let every = [1, 2, 5, 10, 20, 50]
            .into_iter()
            .find(|&n| f64::from(n) * per_year >= gap)
            .unwrap_or(50);
        (self.start.year()..=self.today.year())
            .filter(|year| year.rem_euclid(every) == 0)
            .filter_map(|year| NaiveDate::from_ymd_opt(year, 1, 1))
            .filter(|&day| day >= self.start && day <= self.today)
            .collect()
    }
}

fn key(id: &str) -> Vec<KeyItem> {
    let item = |name: &str, words: &str, draw: fn(&mut super::svg::Page)| KeyItem {
        svg: sample(&format!("{id}-{name}"), draw),
        words: words.into(),
    };
    vec![
        item("kf", "failure", |page| {
            page.path("ink", &triangle(16.0, 14.0), true);
        }),
        item("kr", "repaired, or part clock restarts", |page| {
            page.line("pen", (2.0, 10.0), (30.0, 10.0));
            page.circle("hole", (16.0, 10.0), 4.5);
        }),
        item("kv", "service; a dot if readings were taken", |page| {
            page.line("pen", (16.0, 1.0), (16.0, 10.0));
            page.circle("ink", (16.0, 15.0), 2.5);
        }),
        item("kd", "from paper only", |page| {
            page.line("pen dash", (1.0, 10.0), (31.0, 10.0));
        }),
        item("kb", "fitted some time in this box", |page| {
            page.rect("f2 edged", Area::new(4.0, 4.0, 24.0, 12.0));
        }),
    ]
}

/// A failure's mark, its tip at (`x`, `y`).
fn triangle(x: f64, y: f64) -> [(f64, f64); 3] {
    [(x - 5.5, y - 10.0), (x + 5.5, y - 10.0), (x, y)]
}
