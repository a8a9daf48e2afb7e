//! Runs of dark and light along each row, joined into parts: light ones by their four neighbours, dark ones by their
//! eight, so that a line one pixel wide parts what is on its two sides.
//!
//! # References
//! Rosenfeld & Pfaltz, Journal of the ACM 13 (1966) 471: two passes with a table of what belongs together.

use super::bits::Bits;

/// More runs than this are a texture, not a drawing, and are refused: 100 MB.
const MOST_RUNS: usize = 6_000_000;

/// Pixels of a row that are all dark or all light.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    /// First column.
    pub(super) from: u32,
    /// Column after the last.
    pub(super) to: u32,
    /// Which part it belongs to.
    pub(super) part: u32,
}

/// All that hangs together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Part {
    /// Dark or light.
    pub(super) dark: bool,
    /// Whether it reaches the picture's own border.
    pub(super) at_border: bool,
    /// How many pixels.
    pub(super) area: u64,
    /// How many sides of pixels it shares with others: its border as the pixels go.
    pub(super) around: u64,
    /// Its box: first column and row, and those after the last.
    pub(super) bounds: [u32; 4],
}

impl Part {
    /// How wide and high its box is.
    pub(super) fn size(&self) -> [u32; 2] {
        let [left, top, right, bottom] = self.bounds;
        [right - left, bottom - top]
    }

    /// How thick it is in the mean, were it a band, px. A border in pixels' sides is 4/π too long in the mean.
    pub(super) fn thickness(&self) -> f64 {
        2.0 * self.area as f64 / (self.around as f64 * std::f64::consts::FRAC_PI_4).max(1.0)
    }
}

/// A picture of dark and light as runs and parts.
#[derive(Debug)]
pub(super) struct Runs {
    width: usize,
    rows: Vec<usize>,
    runs: Vec<Run>,
    parts: Vec<Part>,
}

impl Runs {
    /// Takes what is in as dark; nothing where there are too many runs.
    pub(super) fn of(dark: &Bits) -> Option<Runs> {
        let mut runs = Vec::new();
        let mut rows = Vec::with_capacity(dark.height() + 1);
        for y in 0..dark.height() {
            rows.push(runs.len());
            runs_of_row(dark.row(y), dark.width() as u32, &mut runs);
            if runs.len() > MOST_RUNS {
                return None;
            }
        }
        rows.push(runs.len());
        let mut all = Runs { width: dark.width(), rows, runs, parts: Vec::new() };
        let shared = all.join();
        all.number(&shared);
        Some(all)
    }

    /// The runs of a row, from the left; the first is light and may be empty, and they take turns.
    pub(super) fn row(&self, y: usize) -> &[Run] {
        match (self.rows.get(y), self.rows.get(y + 1)) {
            (Some(from), Some(to)) => self.runs.get(*from..*to).unwrap_or(&[]),
            _ => &[],
        }
    }

    /// All parts, by number.
    pub(super) fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// A part by its number.
    pub(super) fn part(&self, number: u32) -> Option<&Part> {
        self.parts.get(number as usize)
    }

    /// Rows.
    pub(super) fn height(&self) -> usize {
        self.rows.len().saturating_sub(1)
    }

    /// Columns.
    pub(super) fn width(&self) -> usize {
        self.width
    }

    /// The number of the part at a pixel; none beyond the border.
    pub(super) fn at(&self, x: i64, y: i64) -> Option<u32> {
        let (x, y) = (u32::try_from(x).ok()?, usize::try_from(y).ok()?);
        let row = self.row(y);
        let place = row.partition_point(|run| run.to <= x);
        row.get(place).filter(|run| run.from <= x).map(|run| run.part)
    }

    /// A picture of those parts that `wanted` chooses.
    pub(super) fn paint(&self, wanted: impl Fn(&Part) -> bool) -> Bits {
        let chosen: Vec<bool> = self.parts.iter().map(wanted).collect();
        let mut out = Bits::new(self.width, self.height());
        for y in 0..self.height() {
            for run in self.row(y) {
                if chosen.get(run.part as usize) == Some(&true) {
                    out.set(y, run.from as usize, run.to as usize);
                }
            }
        }
        out
    }

    /// A picture of one part within `margin` px of its box, with the place of its top left pixel in this picture.
    pub(super) fn cut(&self, number: u32, margin: i64) -> Option<(Bits, [i64; 2])> {
        let [left, top, right, bottom] = self.part(number)?.bounds.map(i64::from);
        let (x0, y0) = (left - margin, top - margin);
        let mut out = Bits::new((right - x0 + margin) as usize, (bottom - y0 + margin) as usize);
        for y in top..bottom {
            for run in self.row(y as usize).iter().filter(|run| run.part == number) {
                out.set(
                    (y - y0) as usize,
                    (i64::from(run.from) - x0) as usize,
                    (i64::from(run.to) - x0) as usize,
                );
            }
        }
        Some((out, [x0, y0]))
    }

    /// Gives each run the first run it hangs together with, and says how many pixels' sides each run shares with its own
    /// kind in the row below.
    fn join(&mut self) -> Vec<u32> {
        let mut shared = vec![0; self.runs.len()];
        for (i, run) in self.runs.iter_mut().enumerate() {
            run.part = i as u32;
        }
        for y in 1..self.height() {
            let (above, own) = (self.rows[y - 1], self.rows[y]);
            let (mut a, mut b) = (above, own);
            while a < own && b < self.rows[y + 1] {
                let (over, under) = (self.runs[a], self.runs[b]);
                let dark = (b - own) % 2 == 1;
                if dark == ((a - above) % 2 == 1) {
                    let from = over.from.max(under.from);
                    let to = over.to.min(under.to);
                    shared[a] += to.saturating_sub(from);
                    if from < to || (dark && from == to) {
                        self.unite(a as u32, b as u32);
                    }
                }
                // Eight neighbours: runs that only meet at a corner must be met too, so that the earlier end goes on.
                if over.to < under.to || (over.to == under.to && (a - above) % 2 == 0) {
                    a += 1
                } else {
                    b += 1
                }
            }
        }
        shared
    }

    fn root(&mut self, mut run: u32) -> u32 {
        while self.runs[run as usize].part != run {
            let up = self.runs[run as usize].part;
            self.runs[run as usize].part = self.runs[up as usize].part;
            run = up;
        }
        run
    }

    fn unite(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        let (first, later) = (a.min(b), a.max(b));
        self.runs[later as usize].part = first;
    }

    /// Numbers the parts in the order of their first runs and adds up what they are.
    fn number(&mut self, shared: &[u32]) {
        let mut numbers: Vec<u32> = vec![u32::MAX; self.runs.len()];
        let (width, height) = (self.width as u32, self.height());
        for y in 0..height {
            let (first, end) = (self.rows[y], self.rows[y + 1]);
            for (i, shared) in shared.iter().enumerate().take(end).skip(first) {
                let run = self.runs[i];
                // An empty first run would be a part of nothing; it keeps the number of nobody.
                let root = self.root(i as u32) as usize;
                if numbers[root] == u32::MAX {
                    numbers[root] = self.parts.len() as u32;
                    let bounds = [run.from, y as u32, run.to, y as u32 + 1];
                    let dark = (i - first) % 2 == 1;
                    self.parts.push(Part { dark, at_border: false, area: 0, around: 0, bounds });
                }
                let part = &mut self.parts[numbers[root] as usize];
                let long = u64::from(run.to - run.from);
                part.area += long;
                part.around += if long == 0 { 0 } else { 2 + 2 * (long - u64::from(*shared).min(long)) };
                part.at_border |= long > 0 && (run.from == 0 || run.to == width || y == 0 || y + 1 == height);
                let [left, top, right, _] = part.bounds;
                part.bounds = [left.min(run.from), top, right.max(run.to), y as u32 + 1];
            }
        }
        // From the last to the first: a run's root never stands after it, so no root is overwritten too early.
        for i in (0..self.runs.len()).rev() {
            let root = self.root(i as u32) as usize;
            self.runs[i].part = numbers[root] | MARKED;
        }
        for run in &mut self.runs {
            run.part &= !MARKED;
        }
    }
}

/// Set on runs that have their number already.
const MARKED: u32 = 1 << 31;

/// Appends the runs of one row, light first.
fn runs_of_row(row: &[u64], width: u32, runs: &mut Vec<Run>) {
    let mut from = 0;
    let mut carry = 0;
    for (i, &word) in row.iter().enumerate() {
        let mut changes = word ^ (word << 1 | carry);
        carry = word >> 63;
        while changes != 0 {
            let at = (i as u32 * 64 + changes.trailing_zeros()).min(width);
            runs.push(Run { from, to: at, part: 0 });
            from = at;
            changes &= changes - 1;
        }
    }
    if from < width {
        runs.push(Run { from, to: width, part: 0 });
    }
}
