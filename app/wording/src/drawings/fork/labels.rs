//! Where the words of a fork stand: on a side that is free of both paths and of one another.
use super::super::svg::{Anchor, Area, text_width};
use super::{Fork, Plot};

/// Size of the small words in the style sheet.
const SIZE: f64 = 13.5;
/// How far words reach over their base line, and under it.
const REACH: (f64, f64) = (12.0, 4.0);
/// From one line of words to the next.
const ROW: f64 = 17.0;
/// Between words and the path they belong to.
const GAP: f64 = 7.0;

/// One line of words and the point it hangs from.
pub(super) struct Label {
    pub words: String,
    pub anchor: Anchor,
    pub at: (f64, f64),
}

type Path = Vec<(f64, f64)>;
type Place = (Anchor, (f64, f64));

/// What words must not lie on.
struct Ground<'a> {
    paths: &'a [Path; 2],
    edges: (f64, f64, f64, f64),
    taken: Vec<Area>,
}

/// What is paid at once on both paths, then the words at the ring of the best year.
pub(super) fn labels(fork: &Fork, plot: &Plot) -> Vec<Label> {
    let paths = [
        fork.line(plot, |year| year.keep.mid),
        fork.line(plot, |year| year.replace.mid),
    ];
    if paths[0].is_empty() {
        return Vec::new();
    }
    let mut ground = Ground {
        paths: &paths,
        edges: plot.edges,
        taken: Vec::new(),
    };
    let [keep, swap] = &paths;
    let mut said = Vec::new();
    for (path, words, over) in [
        (swap, fork.replace_outlay_words.as_str(), true),
        (keep, fork.keep_outlay_words.as_str(), false),
    ] {
        let places = beside(path, (plot.edges.0 + 12.0, words), over);
        said.extend(ground.placed(&[words], &places));
    }
    if let Some(ring) = fork.best(plot) {
        let first = if fork.repaired {
            "if repaired, best"
        } else {
            "if kept, best"
        };
        let places = round(ring, plot.edges.1);
        said.extend(ground.placed(&[first, "replaced here"], &places));
    }
    said
}

/// Over and under a path at its start, ever farther off; the wanted side first.
fn beside(path: &[(f64, f64)], (x, words): (f64, &str), over: bool) -> Vec<Place> {
    let (high, low) = heights(path, (x, x + text_width(words, SIZE)));
    (0..4)
        .flat_map(|step| {
            let off = 20.0 * f64::from(step);
            let above = (Anchor::Start, (x, high - GAP - off));
            let below = (Anchor::Start, (x, low + GAP + REACH.0 + off));
            if over { [above, below] } else { [below, above] }
        })
        .collect()
}

/// Round a ring: at the right edge the words stand before it, for after it stand the ends of the paths.
fn round((x, y): (f64, f64), right: f64) -> Vec<Place> {
    let (under, over) = (y + 24.0, y - GAP - REACH.1 - ROW);
    let (before, after) = ((Anchor::End, x - 10.0), (Anchor::Start, x + 10.0));
    let order = if x + 130.0 > right {
        [
            (before, over),
            (before, under),
            (after, under),
            (after, over),
        ]
    } else {
        [
            (after, under),
            (before, over),
            (after, over),
            (before, under),
        ]
    };
    // Low on the page a path that rises leaves room farther on, beside the ring.
    let farther = [60.0, 90.0, 120.0].map(|off| ((Anchor::Start, x + off), y - 8.0));
    order
        .into_iter()
        .chain(farther)
        .map(|((anchor, x), y)| (anchor, (x, y)))
        .collect()
}

/// Where a straight stretch stands at `x`.
fn at(a: (f64, f64), b: (f64, f64), x: f64) -> f64 {
    if b.0 - a.0 < 1e-9 {
        return a.1;
    }
    a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
}

/// The uppermost and the lowest point of a path between two abscissae; of nothing, the path's own start.
fn heights(path: &[(f64, f64)], (from, to): (f64, f64)) -> (f64, f64) {
    let start = path.first().map_or(0.0, |point| point.1);
    let mut found: Option<(f64, f64)> = None;
    for pair in path.windows(2) {
        let &[a, b] = pair else { continue };
        let (left, right) = (a.0.max(from), b.0.min(to));
        if left > right {
            continue;
        }
        let ends = (at(a, b, left), at(a, b, right));
        let (high, low) = found.unwrap_or((f64::INFINITY, f64::NEG_INFINITY));
        found = Some((high.min(ends.0).min(ends.1), low.max(ends.0).max(ends.1)));
    }
    found.unwrap_or((start, start))
}

/// Whether a path runs through an area: between its left and right edge it goes without a gap from its lowest point to its
/// highest, so these decide.
fn runs_through(path: &[(f64, f64)], area: Area) -> bool {
    let reached = path.first().is_some_and(|p| p.0 <= area.right())
        && path.last().is_some_and(|p| p.0 >= area.x);
    let (high, low) = heights(path, (area.x, area.right()));
    reached && high <= area.bottom() && low >= area.y
}

fn overlap(a: Area, b: Area) -> bool {
    a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom()
}

impl Ground<'_> {
    fn is_free(&self, area: Area) -> bool {
        let (left, right, top, bottom) = self.edges;
        let inside = area.x > left
            && area.right() < right + 10.0
            && area.y > top - 10.0
            && area.bottom() < bottom;
        inside
            && !self.paths.iter().any(|path| runs_through(path, area))
            && !self.taken.iter().any(|other| overlap(area, *other))
    }

    /// The words at the first free of the places; where none is, at the first.
    fn placed(&mut self, lines: &[&str], places: &[Place]) -> Vec<Label> {
        let width = lines
            .iter()
            .map(|words| text_width(words, SIZE))
            .fold(0.0, f64::max);
        let more = ROW * lines.len().saturating_sub(1) as f64;
        let area = |(anchor, (x, y)): Place| {
            let left = if anchor == Anchor::End { x - width } else { x };
            Area::new(left, y - REACH.0, width, REACH.0 + REACH.1 + more)
        };
        let mut all = places.iter().copied();
        let free = all.find(|place| self.is_free(area(*place)));
        let Some((anchor, (x, y))) = free.or_else(|| places.first().copied()) else {
            return Vec::new();
        };
        self.taken.push(area((anchor, (x, y))));
        lines
            .iter()
            .enumerate()
            .map(|(row, words)| Label {
                words: (*words).to_owned(),
                anchor,
                at: (x, y + ROW * row as f64),
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_runs_through_what_lies_on_it() {
        // Up to the right: from (0, 100) to (100, 0); half way at (50, 50).
        let path = [(0.0, 100.0), (100.0, 0.0)];
        assert_eq!(heights(&path, (25.0, 50.0)), (50.0, 75.0));
        assert!(runs_through(&path, Area::new(40.0, 40.0, 20.0, 20.0)));
        assert!(!runs_through(&path, Area::new(0.0, 0.0, 40.0, 40.0)));
        assert!(!runs_through(&path, Area::new(60.0, 60.0, 40.0, 40.0)));
        assert!(!runs_through(&path, Area::new(120.0, 0.0, 40.0, 100.0)));
    }

    #[test]
    fn words_stand_on_the_side_that_is_free() {
        let rising = vec![(0.0, 100.0), (200.0, 40.0)];
        let level = vec![(0.0, 70.0), (200.0, 70.0)];
        let paths = [rising, level];
        let mut ground = Ground {
            paths: &paths,
            edges: (0.0, 300.0, 0.0, 200.0),
            taken: Vec::new(),
        };
        // Over the level path nothing is in the way; over the rising one, at 75, the level one is.
        let places = beside(&paths[1], (12.0, "a new one"), true);
        let said = ground.placed(&["a new one"], &places);
        assert_eq!(said[0].at, (12.0, 70.0 - GAP));
        let places = beside(&paths[0], (12.0, "a repair"), true);
        let said = ground.placed(&["a repair"], &places);
        assert!(said[0].at.1 > 100.0, "{:?}", said[0].at);
    }
}
