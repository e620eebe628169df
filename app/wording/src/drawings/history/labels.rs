//! Places words on levels above a line so that no words overlap and no stem runs through words.

/// Words that want to hang on a stem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Where the stem stands.
    pub stem: f64,
    /// How wide the words are.
    pub width: f64,
}

/// Words hung on a stem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hung {
    /// Where the stem stands.
    pub stem: f64,
    /// Left and right edge of the words.
    pub words: (f64, f64),
    /// 0 is lowest.
    pub level: usize,
}

/// Most levels used; past them words share the last.
const LEVELS: usize = 7;

/// Hangs every label, using as few levels as can be, between `edges`; `taken` is not free on the lowest level.
///
/// A search over sides and levels: at most five labels are ever asked for, so it stays small.
pub fn hang(wanted: &[Wanted], edges: (f64, f64), taken: (f64, f64)) -> Vec<Hung> {
    let mut placed = Vec::with_capacity(wanted.len());
    for levels in 1..=LEVELS {
        placed.clear();
        if search(wanted, levels, (edges, taken), &mut placed) {
            return placed;
        }
    }
    // Nothing fits without touching: a staircase, oldest lowest, words to the left of their stems.
    wanted
        .iter()
        .enumerate()
        .map(|(place, want)| Hung {
            stem: want.stem,
            words: (want.stem - 6.0 - want.width, want.stem - 6.0),
            level: place.min(LEVELS - 1),
        })
        .collect()
}

type Bounds = ((f64, f64), (f64, f64));

fn search(wanted: &[Wanted], levels: usize, bounds: Bounds, placed: &mut Vec<Hung>) -> bool {
    let Some(next) = wanted.get(placed.len()) else {
        return true;
    };
    for level in 0..levels {
        for words in [
            (next.stem + 6.0, next.stem + 6.0 + next.width),
            (next.stem - 6.0 - next.width, next.stem - 6.0),
        ] {
            let hung = Hung {
                stem: next.stem,
                words,
                level,
            };
            if !fits(hung, placed, bounds) {
                continue;
            }
            placed.push(hung);
            if search(wanted, levels, bounds, placed) {
                return true;
            }
            placed.pop();
        }
    }
    false
}

fn fits(hung: Hung, placed: &[Hung], (edges, taken): Bounds) -> bool {
    let overlap = |a: (f64, f64), b: (f64, f64)| a.0 < b.1 + 8.0 && b.0 < a.1 + 8.0;
    let covers = |span: (f64, f64), x: f64| x > span.0 - 4.0 && x < span.1 + 4.0;
    let inside = hung.words.0 >= edges.0 && hung.words.1 <= edges.1;
    let clear = placed.iter().all(|other| {
        let words_meet = other.level == hung.level && overlap(other.words, hung.words);
        let its_stem_crosses = other.level >= hung.level && covers(hung.words, other.stem);
        let my_stem_crosses = other.level <= hung.level && covers(other.words, hung.stem);
        !(words_meet || its_stem_crosses || my_stem_crosses)
    });
    let row_free = hung.level > 0 || !overlap(taken, hung.words);
    inside && clear && row_free && !covers(taken, hung.stem)
}

/// Pushes label heights apart: each at least `need` below the one before, the last at most at `limit`.
///
/// `wanted` must be in ascending order; the answer is in the same order.
pub fn spread(wanted: &[f64], need: f64, limit: f64) -> Vec<f64> {
    let mut out: Vec<f64> = Vec::with_capacity(wanted.len());
    for &y in wanted {
        let floor = out.last().map_or(f64::NEG_INFINITY, |last| last + need);
        out.push(y.max(floor));
    }
    let mut ceiling = limit;
    for y in out.iter_mut().rev() {
        *y = y.min(ceiling);
        ceiling = *y - need;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_words_touch_and_no_stem_runs_through_words() {
        let wanted: Vec<Wanted> = [
            (500.0, 150.0),
            (610.0, 130.0),
            (774.0, 170.0),
            (806.0, 240.0),
        ]
        .into_iter()
        .map(|(stem, width)| Wanted { stem, width })
        .collect();
        let hung = hang(&wanted, (0.0, 808.0), (370.0, 480.0));
        assert_eq!(hung.len(), 4);
        for (place, one) in hung.iter().enumerate() {
            let others: Vec<Hung> = hung
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != place)
                .map(|(_, hung)| *hung)
                .collect();
            assert!(
                fits(*one, &others, ((0.0, 808.0), (370.0, 480.0))),
                "{one:?} in {hung:?}"
            );
        }
        assert!(hung.iter().all(|one| one.level < 3));
    }

    #[test]
    fn what_cannot_fit_becomes_a_staircase() {
        let wanted = [Wanted {
            stem: 10.0,
            width: 500.0,
        }; 3];
        let levels: Vec<usize> = hang(&wanted, (0.0, 100.0), (0.0, 0.0))
            .iter()
            .map(|hung| hung.level)
            .collect();
        assert_eq!(levels, [0, 1, 2]);
    }

    #[test]
    fn heights_are_spread() {
        assert_eq!(spread(&[0.0, 1.0, 50.0], 10.0, 60.0), [0.0, 10.0, 50.0]);
        assert_eq!(spread(&[55.0, 56.0, 57.0], 10.0, 60.0), [40.0, 50.0, 60.0]);
        assert!(spread(&[], 10.0, 60.0).is_empty());
    }
}
