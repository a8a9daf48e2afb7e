//! A window of a picture's luminance, at one of several sizes of pixel: all that edges are looked for in.
//!
//! Places inside are in the patch's *own px* (pixel centres at .5); [`Patch::out`] takes them back to picture px.
//! A larger step averages whole squares of pixels, which takes halftone dots, grain and noise out before anything
//! is looked for.

use super::super::luma::Luma;
use crate::order::sort_by;
use crate::plane::{Picture, Point};

/// The longest side of a patch, own px: bounds time and memory whatever is asked.
const LONGEST: i64 = 480;

/// A rectangle of luminance values, 0 to 255.
#[derive(Clone, Debug)]
pub(super) struct Patch {
    /// Picture px of its left top corner.
    left: i64,
    top: i64,
    /// Picture px to one own px, each way.
    pub step: i64,
    pub width: usize,
    pub height: usize,
    pub values: Vec<f32>,
}

impl Patch {
    /// What of the picture lies within `radius` picture px of `at`, in squares of `step` px; nothing when that is
    /// less than seven squares each way.
    pub fn around(luma: &Luma, at: Point<Picture>, radius: f64, step: i64) -> Option<Patch> {
        Patch::between(luma, [at.x - radius, at.y - radius, at.x + radius, at.y + radius], step)
    }

    /// The same for what lies between left, top, right and bottom.
    pub fn between(luma: &Luma, [x0, y0, x1, y1]: [f64; 4], step: i64) -> Option<Patch> {
        let (wide, high) = (i64::from(luma.width()), i64::from(luma.height()));
        let range = |low: f64, high: f64, side: i64| {
            let from = floor(low).clamp(0, side) / step * step;
            let to = (floor(high) + 1).clamp(0, side);
            (from, ((to - from) / step).clamp(0, LONGEST))
        };
        let ((left, width), (top, height)) = (range(x0, x1, wide), range(y0, y1, high));
        if width < 7 || height < 7 {
            return None;
        }
        let (width, height) = (usize::try_from(width).ok()?, usize::try_from(height).ok()?);
        let mut patch = Patch { left, top, step, width, height, values: vec![0.0; width * height] };
        patch.fill(luma)?;
        Some(patch)
    }

    fn fill(&mut self, luma: &Luma) -> Option<()> {
        let (step, left) = (usize::try_from(self.step).ok()?, usize::try_from(self.left).ok()?);
        let row = luma.width() as usize;
        let first = usize::try_from(self.top).ok()? * row;
        let share = 1.0 / (step * step) as f32;
        for (y, line) in self.values.chunks_exact_mut(self.width).enumerate() {
            for part in 0..step {
                let from = first + (y * step + part) * row + left;
                let source = luma.values().get(from..from + self.width * step)?;
                for (value, square) in line.iter_mut().zip(source.chunks_exact(step)) {
                    *value += square.iter().map(|v| f32::from(*v)).sum::<f32>() * share;
                }
            }
        }
        Some(())
    }

    /// Own px to picture px.
    pub fn out(&self, p: [f64; 2]) -> Point<Picture> {
        let step = self.step as f64;
        Point::new(p[0] * step + self.left as f64, p[1] * step + self.top as f64)
    }

    /// Picture px to own px.
    pub fn own(&self, p: Point<Picture>) -> [f64; 2] {
        let step = self.step as f64;
        [(p.x - self.left as f64) / step, (p.y - self.top as f64) / step]
    }

    /// The value of a pixel, the nearest one's beyond the border.
    pub fn at(&self, x: i64, y: i64) -> f32 {
        let x = x.clamp(0, self.width as i64 - 1) as usize;
        let y = y.clamp(0, self.height as i64 - 1) as usize;
        self.values.get(y * self.width + x).copied().unwrap_or(0.0)
    }

    /// Between pixels, bilinear; nothing outside.
    pub fn sample(&self, p: [f64; 2]) -> Option<f64> {
        let (x, y) = (p[0] - 0.5, p[1] - 0.5);
        let inside = x >= -0.5 && y >= -0.5 && x <= self.width as f64 - 0.5 && y <= self.height as f64 - 0.5;
        if !inside {
            return None;
        }
        let (i, j) = (floor(x), floor(y));
        let (fx, fy) = ((x - i as f64) as f32, (y - j as f64) as f32);
        let (a, b) = (self.at(i, j), self.at(i + 1, j));
        let (c, d) = (self.at(i, j + 1), self.at(i + 1, j + 1));
        let (top, bottom) = (a + (b - a) * fx, c + (d - c) * fx);
        Some(f64::from(top + (bottom - top) * fy))
    }

    /// Standard deviation of the noise of a pixel, grey levels: from the median size of second differences both
    /// ways, which see neither tones, slopes nor (mostly) edges.
    ///
    /// # References
    /// Immerkær, Computer Vision and Image Understanding 64 (1996) 300, with the median in place of the mean.
    pub fn noise(&self) -> f64 {
        let mut sizes = Vec::with_capacity(self.width * self.height / 2);
        for rows in self.values.windows(3 * self.width).step_by(2 * self.width) {
            let (above, rest) = rows.split_at(self.width);
            let (own, below) = rest.split_at(self.width);
            for ((a, b), c) in above.windows(3).zip(own.windows(3)).zip(below.windows(3)) {
                let row = |r: &[f32]| r[0] - 2.0 * r[1] + r[2];
                sizes.push((row(a) - 2.0 * row(b) + row(c)).abs());
            }
        }
        f64::from(middle(&sizes)) / (6.0 * 0.6745)
    }
}

/// The median; 0 of none.
pub(super) fn middle(values: &[f32]) -> f32 {
    // By halving the range of values rather than sorting: linear, and compiled once.
    let (mut low, mut high) = (f32::MAX, f32::MIN);
    for v in values {
        (low, high) = (if *v < low { *v } else { low }, if *v > high { *v } else { high });
    }
    if !(low <= high) {
        return 0.0;
    }
    for _ in 0..16 {
        let half = 0.5 * (low + high);
        if values.iter().filter(|v| **v <= half).count() * 2 >= values.len() {
            high = half;
        } else {
            low = half;
        }
    }
    high
}

/// The median of a short list; 0 of none.
pub(super) fn median(values: &mut [f64]) -> f64 {
    sort_by(values, f64::total_cmp);
    let n = values.len();
    let (a, b) = (values.get(n.saturating_sub(1) / 2), values.get(n / 2));
    0.5 * (a.copied().unwrap_or(0.0) + b.copied().unwrap_or(0.0))
}

/// The whole number at or under `x`, kept far inside i64.
pub(super) fn floor(x: f64) -> i64 {
    x.clamp(-1e9, 1e9).floor() as i64
}
