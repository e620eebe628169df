//! How many failures a unit has had on average by an age: a curve in steps with its band, broken where nobody was watched.
use super::axis::{Linear, ticks};
use super::svg::{Anchor, Form, Page};
use super::{Drawing, Table};

/// One step of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    /// Age, years.
    pub age: f64,
    /// Units watched at it.
    pub units: u32,
    /// Mean number of failures by it, counted from where the curve begins.
    pub mean: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Nobody was watched at some age since the point before.
    pub broken: bool,
}

/// The drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct MeanCurve {
    /// Unique on the page, a valid XML id.
    pub id: String,
    /// Names the drawing.
    pub title: String,
    /// The finding in one sentence.
    pub finding: String,
    /// Age at which the curve begins, years.
    pub from: f64,
    /// Its steps, by age.
    pub points: Vec<CurvePoint>,
}

/// Rows of the table at most.
const ROWS: usize = 24;

impl MeanCurve {
    /// Both forms and the table.
    pub fn draw(&self) -> Drawing {
        let row = |p: &CurvePoint| {
            vec![
                format!("{:.1}", p.age),
                p.units.to_string(),
                format!("{:.2}", p.mean),
                format!("{:.2} to {:.2}", p.low, p.high),
            ]
        };
        let step = self.points.len().div_ceil(ROWS).max(1);
        // Counted from the end, so that the last one is among them.
        let mut kept: Vec<&CurvePoint> = self.points.iter().rev().step_by(step).collect();
        kept.reverse();
        let heads = [
            "Age, years",
            "Units watched",
            "Failures a unit",
            "95 in 100",
        ];
        Drawing {
            id: self.id.clone(),
            wide_svg: self.form(Form::Wide),
            narrow_svg: self.form(Form::Narrow),
            caption: "Line: failures a unit on average, added up over its age from where at least five units were watched. Pale \
                      band: 95 in 100, units taken as unlike one another. Where nobody was watched the line is broken."
                .into(),
            table: Table::new(&heads, kept.into_iter().map(row).collect()).numbers(&[0, 1, 2, 3]),
            ..Drawing::default()
        }
    }

    /// The stretches between breaks; each begins at the level of the point before it.
    fn stretches(&self) -> Vec<(CurvePoint, &[CurvePoint])> {
        let mut start = CurvePoint {
            age: self.from,
            units: 0,
            mean: 0.0,
            low: 0.0,
            high: 0.0,
            broken: false,
        };
        let mut found = Vec::new();
        let mut rest = self.points.as_slice();
        while !rest.is_empty() {
            let breaks = rest.iter().skip(1).position(|p| p.broken);
            let (here, after) = rest.split_at(breaks.map_or(rest.len(), |at| at + 1));
            if let (Some(first), Some(last)) = (here.first(), here.last()) {
                if first.broken {
                    start.age = first.age;
                }
                found.push((start, here));
                start = *last;
            }
            rest = after;
        }
        found
    }

    fn form(&self, form: Form) -> String {
        let wide = form == Form::Wide;
        let (left, right, width) = if wide {
            (52.0, 900.0, 940.0)
        } else {
            (30.0, 296.0, 302.0)
        };
        let (top, bottom) = (20.0, if wide { 270.0 } else { 200.0 });
        let end = self
            .points
            .iter()
            .map(|p| p.age)
            .fold(self.from + 1.0, f64::max);
        let most = self.points.iter().map(|p| p.high).fold(0.5, f64::max);
        // A last step of few units can have a band without end: the curve itself must stay to be seen.
        let mean = self.points.iter().map(|p| p.mean).fold(0.25, f64::max);
        let most = most.min(3.0 * mean);
        let x = Linear::new((self.from, end), (left, right));
        let y = Linear::new((0.0, most), (bottom, top));
        let at = |age: f64, value: f64| (x.at(age), y.at(value.min(most)));
        let mut page = Page::new(&self.id, form);
        for value in ticks(0.0, most, 5) {
            page.line("hair", (left, y.at(value)), (right, y.at(value)));
            page.text(
                "s",
                Anchor::End,
                (left - 6.0, y.at(value) + 5.0),
                &mark(value),
            );
        }
        for (start, points) in self.stretches() {
            page.path("pale-band", &band(&start, points, &at), true);
            // Its edges too: a band without colour is still seen.
            page.path("fine", &steps(&start, points, |p| p.low, &at), false);
            page.path("fine", &steps(&start, points, |p| p.high, &at), false);
            page.path("pen", &steps(&start, points, |p| p.mean, &at), false);
        }
        page.line("pen", (left, bottom), (right, bottom));
        for value in ticks(self.from, end, if wide { 10 } else { 4 }) {
            page.text(
                "s",
                Anchor::Middle,
                (x.at(value), bottom + 18.0),
                &mark(value),
            );
        }
        page.text("s", Anchor::End, (right, bottom + 34.0), "years of age");
        page.finish(width, bottom + 44.0, &self.title, &self.finding, false)
    }
}

fn mark(value: f64) -> String {
    if value.fract().abs() < 1e-9 {
        format!("{value:.0}")
    } else {
        format!("{value:.1}")
    }
}

/// A line in steps: level up to each point's age, then up to its value.
fn steps(
    start: &CurvePoint,
    points: &[CurvePoint],
    of: impl Fn(&CurvePoint) -> f64,
    at: &impl Fn(f64, f64) -> (f64, f64),
) -> Vec<(f64, f64)> {
    let mut line = vec![at(start.age, of(start))];
    let mut level = of(start);
    for point in points {
        line.push(at(point.age, level));
        level = of(point);
        line.push(at(point.age, level));
    }
    line
}

fn band(
    start: &CurvePoint,
    points: &[CurvePoint],
    at: &impl Fn(f64, f64) -> (f64, f64),
) -> Vec<(f64, f64)> {
    let mut edge = steps(start, points, |p| p.high, at);
    let mut below = steps(start, points, |p| p.low, at);
    below.reverse();
    edge.extend(below);
    edge
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(age: f64, mean: f64, broken: bool) -> CurvePoint {
        CurvePoint {
            age,
            units: 9,
            mean,
            low: mean / 2.0,
            high: mean * 2.0,
            broken,
        }
    }

    fn curve(points: Vec<CurvePoint>) -> MeanCurve {
        MeanCurve {
            id: "mean".into(),
            title: "Failures by age".into(),
            finding: "By ten years a unit has failed twice.".into(),
            from: 1.0,
            points,
        }
    }

    #[test]
    fn it_breaks_where_nobody_was_watched_and_tells_the_last_step() {
        let drawn = curve(vec![point(2.0, 0.5, false), point(8.0, 1.5, true)]);
        let parts = drawn.stretches();
        assert_eq!(parts.len(), 2);
        // The second stretch begins at its own first age, at the level left behind.
        assert_eq!((parts[1].0.age, parts[1].0.mean), (8.0, 0.5));
        let drawn = drawn.draw();
        assert_eq!(drawn.wide_svg.matches("pale-band").count(), 2);
        assert_eq!(drawn.table.rows.last().unwrap()[2], "1.50");
        let many: Vec<CurvePoint> = (1..=200)
            .map(|k| point(1.0 + f64::from(k) * 0.1, f64::from(k) * 0.01, false))
            .collect();
        let drawn = curve(many).draw();
        assert!(drawn.table.rows.len() <= ROWS);
        assert_eq!(drawn.table.rows.last().unwrap()[0], "21.0");
        for svg in [&drawn.wide_svg, &drawn.narrow_svg] {
            assert!(!svg.contains("NaN") && svg.contains("years of age"));
        }
    }
}
