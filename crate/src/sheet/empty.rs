//! Sheets of a whole on which nothing lies: they aren't made.

use super::draw::{Drawing, Item};
use super::plan::reach;
use super::preview::lines;
use super::write::Writing;
use crate::fault::{Area, spoil};
use crate::plane::{Finished, Point, contains};

/// In more sheets than this nothing is looked for: they would be refused anyway.
const MANY: usize = 8_000;

/// Which cells of a net of sheets are made, row by row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Made {
    columns: usize,
    cells: Vec<bool>,
}

/// A row or a column of sheets, and the longest run of it that is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Run {
    /// Which row, or which column.
    pub line: usize,
    /// Its first sheet along that.
    pub first: usize,
    /// And its last.
    pub last: usize,
}

impl Made {
    /// Those of the cells, given by what each shows (left, top, right, bottom, mm as the whole lies), on which something of the
    /// drawing lies, joined to one another. All of them where it isn't said what belongs to it ([`Drawing::area`]), or there are too many.
    pub fn of(
        drawing: &Drawing,
        turned: bool,
        columns: usize,
        windows: &[[f64; 4]],
        said: &Writing<'_>,
    ) -> Made {
        let all = drawing.area.is_empty() || windows.len() > MANY;
        let mut made = Made { columns, cells: vec![all; windows.len()] };
        if all {
            return made;
        }
        let inset = (spoil(Area::Sheet, 2.0) - 1.0) * 90.0;
        let lie = |p: &Point<Finished>| if turned { [drawing.size[1] - p.y, p.x] } else { [p.x, p.y] };
        let mut take = |line: Vec<[f64; 2]>, round: f64| {
            let round = round - inset;
            for pair in line.windows(2) {
                for (cell, [l, t, r, b]) in made.cells.iter_mut().zip(windows) {
                    *cell = *cell || crosses(pair[0], pair[1], [l - round, t - round, r + round, b + round]);
                }
            }
        };
        for ring in &drawing.area {
            take(ring.iter().chain(ring.first()).map(lie).collect(), drawing.round);
        }
        for item in &drawing.items {
            match item {
                Item::Path { path, .. } => {
                    lines(path).iter().for_each(|l| take(l.iter().map(lie).collect(), 0.0))
                }
                // A line of writing is as good as the cross of its box.
                Item::Text { .. } => {
                    let [[l, r], [t, b]] = [0, 1].map(|axis| reach(item, drawing, turned, axis, said));
                    take(vec![[l, t], [r, b], [r, t], [l, b]], 0.0);
                }
                Item::Picture { .. } => {}
            }
        }
        // What is inside holds the rest together.
        let rings: Vec<Vec<_>> =
            drawing.area.iter().map(|r| r.iter().map(|p| Point::from(lie(p))).collect()).collect();
        for (cell, [l, t, r, b]) in made.cells.iter_mut().zip(windows) {
            let middle: Point<Finished> = Point::new(f64::midpoint(*l, *r), f64::midpoint(*t, *b));
            *cell = *cell || rings.iter().filter(|ring| contains(ring, middle)).count() % 2 == 1;
        }
        made.join();
        made
    }

    /// Whether that sheet is made.
    pub fn has(&self, row: usize, column: usize) -> bool {
        column < self.columns && self.cells.get(row * self.columns + column).is_some_and(|c| *c)
    }

    /// How many are.
    pub fn count(&self) -> usize {
        self.cells.iter().filter(|c| **c).count()
    }

    /// Row and column of those that aren't.
    pub fn left_out(&self) -> Vec<[usize; 2]> {
        let out = self.cells.iter().enumerate().filter(|(_, c)| !**c);
        out.map(|(i, _)| [i / self.columns, i % self.columns]).collect()
    }

    /// The longest run of sheets along a row (`axis` 0) or a column, two at the least; of equals that nearest to the middle. `long` says
    /// how much each counts.
    pub fn run(&self, axis: usize, long: impl Fn(usize) -> f64) -> Option<Run> {
        let sides = [self.columns, self.cells.len() / self.columns.max(1)];
        let (along, aside) = (sides[axis], sides[1 - axis]);
        let mut best: Option<(f64, Run)> = None;
        // From the middle outwards.
        let middle = aside / 2;
        for k in 0..2 * aside {
            let line = if k % 2 == 0 { middle.checked_add(k / 2) } else { middle.checked_sub(k.div_ceil(2)) };
            let Some(line) = line.filter(|l| *l < aside) else { continue };
            let has = |i: usize| if axis == 0 { self.has(line, i) } else { self.has(i, line) };
            let mut first = 0;
            for last in 0..along {
                if !has(last) {
                    first = last + 1;
                    continue;
                }
                let worth: f64 = (first..=last).map(&long).sum();
                if last > first && best.is_none_or(|(b, _)| worth > b + 1e-6) {
                    best = Some((worth, Run { line, first, last }));
                }
            }
        }
        best.map(|(_, run)| run)
    }

    /// Adds sheets until all hang together: writing may stand apart from the outline.
    fn join(&mut self) {
        let place = |i: usize| [i / self.columns, i % self.columns];
        let far = |a: usize, b: usize| {
            let ([a, b], [c, d]) = (place(a), place(b));
            a.abs_diff(c) + b.abs_diff(d)
        };
        let mut rest: Vec<usize> = (0..self.cells.len()).filter(|i| self.cells[*i]).collect();
        let mut joined: Vec<usize> = rest.pop().into_iter().collect();
        let mut k = 0;
        loop {
            while let Some(&a) = joined.get(k) {
                rest.retain(|b| {
                    let apart = far(a, *b) > 1;
                    if !apart {
                        joined.push(*b);
                    }
                    apart
                });
                k += 1;
            }
            let mut best = (usize::MAX, 0, 0);
            for a in &joined {
                for b in &rest {
                    best = best.min((far(*a, *b), *a, *b));
                }
            }
            if rest.is_empty() {
                return;
            }
            let ([row, column], [to_row, to_column]) = (place(best.1), place(best.2));
            for way in row.min(to_row)..=row.max(to_row) {
                self.cells[way * self.columns + column] = true;
            }
            for way in column.min(to_column)..=column.max(to_column) {
                self.cells[to_row * self.columns + way] = true;
            }
            rest.retain(|b| *b != best.2);
            joined.push(best.2);
        }
    }
}

/// Whether the line from `p` to `q` meets a box.
///
/// # References
/// Liang & Barsky, ACM Transactions on Graphics 3 (1984) 1.
fn crosses(p: [f64; 2], q: [f64; 2], [l, t, r, b]: [f64; 4]) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (axis, [low, high]) in [[l, r], [t, b]].into_iter().enumerate() {
        let step = q[axis] - p[axis];
        let ends = [low, high].map(|side| (side - p[axis]) / step);
        if step != 0.0 {
            (from, to) = (from.max(ends[0].min(ends[1])), to.min(ends[0].max(ends[1])));
        } else if p[axis] < low || p[axis] > high {
            return false;
        }
    }
    from <= to
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn made(rows: &[&str]) -> Made {
        let cells = rows.iter().flat_map(|r| r.chars().map(|c| c == '#')).collect();
        Made { columns: rows[0].len(), cells }
    }

    #[test]
    fn runs_are_the_longest_and_nearest_to_the_middle() {
        for (rows, axis, expected) in [
            (&["##", "##", "##"][..], 0, Some((1, 0, 1))),
            (&["##", "##", "##"], 1, Some((1, 0, 2))),
            (&["###.", ".##.", "#.##"], 0, Some((0, 0, 2))),
            (&["#.", ".#"], 0, None),
            (&["#..", "##.", "#.."], 1, Some((0, 0, 2))),
        ] {
            let run = made(rows).run(axis, |_| 1.0).map(|r| (r.line, r.first, r.last));
            assert_eq!(run, expected, "{rows:?}");
        }
    }

    #[test]
    fn islands_are_joined_by_the_shortest_way() {
        for (rows, expected) in [
            (&["#.#"][..], &["###"][..]),
            (&["#..", "...", "..#"], &["###", "..#", "..#"]),
            (&["##.", "##."], &["##.", "##."]),
            (&["..."], &["..."]),
        ] {
            let mut one = made(rows);
            one.join();
            assert_eq!(one, made(expected), "{rows:?}");
        }
    }

    proptest! {
        /// Against many places along the line.
        #[test]
        fn a_line_meets_a_box_where_a_place_of_it_lies_inside(p in prop::array::uniform2(-9.0..9.0_f64), q in prop::array::uniform2(-9.0..9.0_f64)) {
            let within = |k: i32| {
                let at = |axis: usize| p[axis] + (q[axis] - p[axis]) * f64::from(k) / 4000.0;
                let (x, y) = (at(0), at(1));
                (-2.0..=3.0).contains(&x) && (-1.0..=4.0).contains(&y)
            };
            let seen = (0..=4000).any(within);
            let told = crosses(p, q, [-2.0, -1.0, 3.0, 4.0]);
            // Between two places a corner may just be cut off.
            prop_assert!(told || !seen);
            prop_assert!(!told || seen || crosses(p, q, [-2.01, -1.01, 3.01, 4.01]) && !crosses(p, q, [-1.99, -0.99, 2.99, 3.99]));
        }
    }
}
