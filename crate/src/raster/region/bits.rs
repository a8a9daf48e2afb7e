//! A picture of yes and no, a bit a pixel: growing, shrinking, and what is filled.

use super::runs::Runs;

/// A rectangle of pixels that are in or out. Rows are whole words; bits beyond the width are always out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Bits {
    width: usize,
    height: usize,
    words: usize,
    data: Vec<u64>,
}

impl Bits {
    /// All out.
    pub(super) fn new(width: usize, height: usize) -> Bits {
        let words = width.div_ceil(64);
        Bits { width, height, words, data: vec![0; words * height] }
    }

    /// Columns.
    pub(super) fn width(&self) -> usize {
        self.width
    }

    /// Rows.
    pub(super) fn height(&self) -> usize {
        self.height
    }

    /// One row's words; none beyond the border.
    pub(super) fn row(&self, y: usize) -> &[u64] {
        self.data.get(y * self.words..(y + 1) * self.words).unwrap_or(&[])
    }

    /// The same, to be written. Whoever writes keeps the bits beyond the width out.
    pub(super) fn row_mut(&mut self, y: usize) -> &mut [u64] {
        self.data.get_mut(y * self.words..(y + 1) * self.words).unwrap_or(&mut [])
    }

    /// Whether a pixel is in; all beyond the border are out.
    pub(super) fn get(&self, x: i64, y: i64) -> bool {
        let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else { return false };
        x < self.width && self.row(y).get(x / 64).is_some_and(|word| word >> (x % 64) & 1 == 1)
    }

    /// Sets the pixels `from..to` of a row.
    pub(super) fn set(&mut self, y: usize, from: usize, to: usize) {
        let to = to.min(self.width);
        if from >= to {
            return;
        }
        let (first, last) = (from / 64, (to - 1) / 64);
        for (i, word) in self.row_mut(y).iter_mut().enumerate().take(last + 1).skip(first) {
            let low = if i == first { u64::MAX << (from % 64) } else { u64::MAX };
            let high = if i == last { u64::MAX >> (63 - (to - 1) % 64) } else { u64::MAX };
            *word |= low & high;
        }
    }

    /// How many are in.
    pub(super) fn count(&self) -> u64 {
        self.data.iter().map(|word| u64::from(word.count_ones())).sum()
    }

    /// Those in here but not in `other`, which has the same size.
    pub(super) fn without(&self, other: &Bits) -> Bits {
        self.with(other, |a, b| a & !b)
    }

    /// Those in either.
    pub(super) fn or(&self, other: &Bits) -> Bits {
        self.with(other, |a, b| a | b)
    }

    /// Those in both.
    pub(super) fn and(&self, other: &Bits) -> Bits {
        self.with(other, |a, b| a & b)
    }

    fn with(&self, other: &Bits, join: impl Fn(u64, u64) -> u64) -> Bits {
        let data = self.data.iter().zip(&other.data).map(|(a, b)| join(*a, *b)).collect();
        Bits { data, ..*self }
    }

    /// All that are out.
    pub(super) fn not(&self) -> Bits {
        let mut out = Bits { data: self.data.iter().map(|word| !word).collect(), ..*self };
        out.trim();
        out
    }

    /// Takes out what lies beyond the width.
    fn trim(&mut self) {
        let over = self.words * 64 - self.width;
        if over > 0 {
            for row in self.data.chunks_exact_mut(self.words) {
                if let Some(last) = row.last_mut() {
                    *last &= u64::MAX >> over;
                }
            }
        }
    }

    /// Grown by `steps` px all round, nearly as a disc grows: by turns along the four and the eight neighbours.
    pub(super) fn grown(&self, steps: usize) -> Bits {
        let mut from = self.clone();
        for step in 0..steps {
            from = from.grown_once(step % 2 == 1);
        }
        from
    }

    /// Shrunk in the same way; what is beyond the border counts as in.
    pub(super) fn shrunk(&self, steps: usize) -> Bits {
        self.not().grown(steps).not()
    }

    fn grown_once(&self, all_eight: bool) -> Bits {
        let mut out = Bits::new(self.width, self.height);
        let wide: Vec<u64> = self.data.chunks_exact(self.words.max(1)).flat_map(widened).collect();
        let sides = if all_eight { &wide } else { &self.data };
        for y in 0..self.height {
            let at = y * self.words;
            let row = |from: &[u64], y: Option<usize>, i: usize| {
                y.and_then(|y| from.get(y * self.words + i)).copied().unwrap_or(0)
            };
            for (i, word) in out.data.iter_mut().skip(at).take(self.words).enumerate() {
                *word = row(&wide, Some(y), i) | row(sides, y.checked_sub(1), i) | row(sides, Some(y + 1), i);
            }
        }
        out.trim();
        out
    }

    /// With everything in that can't be reached from the border through what is out.
    pub(super) fn filled(&self) -> Option<Bits> {
        let runs = Runs::of(self)?;
        Some(runs.paint(|part| part.dark || !part.at_border))
    }

    /// A rectangle of it, which may reach beyond the border, where all is out.
    pub(super) fn cut(&self, left: i64, top: i64, width: usize, height: usize) -> Bits {
        let mut out = Bits::new(width, height);
        for y in 0..height {
            let Ok(from) = usize::try_from(top + y as i64) else { continue };
            let row = self.row(from);
            let word = |i: i64| usize::try_from(i).ok().and_then(|i| row.get(i)).copied().unwrap_or(0);
            for (i, to) in out.row_mut(y).iter_mut().enumerate() {
                let start = left + 64 * i as i64;
                let (at, shift) = (start.div_euclid(64), start.rem_euclid(64));
                *to = word(at) >> shift;
                if shift > 0 {
                    *to |= word(at + 1) << (64 - shift);
                }
            }
        }
        out.trim();
        out
    }
}

/// A row, each pixel spread to its left and right.
fn widened(row: &[u64]) -> impl Iterator<Item = u64> {
    (0..row.len()).map(|i| {
        let word = |i: Option<usize>| i.and_then(|i| row.get(i)).copied().unwrap_or(0);
        let own = word(Some(i));
        own | own << 1 | own >> 1 | word(i.checked_sub(1)) >> 63 | word(Some(i + 1)) << 63
    })
}
