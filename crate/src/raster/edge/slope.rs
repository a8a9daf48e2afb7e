//! Gradients over a patch: where it is worth looking for an edge or a corner.
//!
//! # References
//! Derivatives of a Gaussian and thinning along the gradient: Canny, IEEE PAMI 8 (1986) 679. Where edges of two
//! directions meet (determinant over trace of the summed squares of gradients): Förstner & Gülch, ISPRS
//! Intercommission Workshop, Interlaken (1987) 281.

use super::patch::Patch;
use crate::order::sort_by;

/// Weights of a Gaussian of σ 1 px, and of its derivative, at −3 … 3.
const SMOOTH: [f32; 7] = [0.004433, 0.054006, 0.242036, 0.399050, 0.242036, 0.054006, 0.004433];
const STEEP: [f32; 7] = [-0.013298, -0.108011, -0.242036, 0.0, 0.242036, 0.108011, 0.013298];

/// Standard deviation of a gradient, either way, for noise of 1 a pixel: √Σ smooth² · √Σ steep².
pub(super) const NOISE_SHARE: f64 = 0.2;

/// A patch's gradients, grey levels a px.
pub(super) struct Slopes {
    width: usize,
    height: usize,
    x: Vec<f32>,
    y: Vec<f32>,
    size: Vec<f32>,
}

/// A place worth a look.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    /// Own px.
    pub at: [f64; 2],
    /// Unit step along what may be there (uphill is `along` turned by a quarter); no meaning for a corner.
    pub along: [f64; 2],
    /// Own px from what was touched.
    pub far: f64,
}

impl Slopes {
    /// Gradients after a blur of σ 1 px; nothing within 3 px of the patch's border.
    pub fn of(patch: &Patch) -> Slopes {
        let (width, height) = (patch.width, patch.height);
        let mut along = vec![0.0; width * height];
        let mut steep = vec![0.0; width * height];
        let rows = patch.values.chunks_exact(width);
        for (line, (a, s)) in rows.zip(along.chunks_exact_mut(width).zip(steep.chunks_exact_mut(width))) {
            for (x, seven) in line.windows(7).enumerate() {
                if let (Some(a), Some(s)) = (a.get_mut(x + 3), s.get_mut(x + 3)) {
                    (*a, *s) = (dot(seven, &SMOOTH), dot(seven, &STEEP));
                }
            }
        }
        let mut out = Slopes {
            width,
            height,
            x: vec![0.0; width * height],
            y: vec![0.0; width * height],
            size: Vec::new(),
        };
        for row in 3..height.saturating_sub(3) {
            let to = row * width..(row + 1) * width;
            for (k, (smooth, steepness)) in SMOOTH.iter().zip(&STEEP).enumerate() {
                let from = (row + k - 3) * width..(row + k - 2) * width;
                add(&mut out.x, &steep, &to, &from, *smooth);
                add(&mut out.y, &along, &to, &from, *steepness);
            }
        }
        out.size = out.x.iter().zip(&out.y).map(|(x, y)| (x * x + y * y).sqrt()).collect();
        out
    }

    /// The steepest gradient.
    pub fn most(&self) -> f64 {
        f64::from(self.size.iter().copied().fold(0.0, |m, s| if s > m { s } else { m }))
    }

    fn index(&self, x: usize, y: usize) -> usize {
        y * self.width + x
    }

    fn get(&self, list: &[f32], x: usize, y: usize) -> f32 {
        list.get(self.index(x, y)).copied().unwrap_or(0.0)
    }

    /// Crests of the gradient steeper than `least`, within `reach` of `at`, nearest first.
    pub fn crests(&self, at: [f64; 2], reach: f64, least: f64) -> Vec<Spot> {
        let mut out = Vec::new();
        self.within(at, reach, 4, |x, y, far| {
            let size = self.get(&self.size, x, y);
            if f64::from(size) < least {
                return;
            }
            let (gx, gy) = (self.get(&self.x, x, y), self.get(&self.y, x, y));
            let side = |s: f32| usize::from(s > 0.0);
            // The neighbour uphill, of eight.
            let (wide, high) = (gx.abs() > 0.4142 * gy.abs(), gy.abs() > 0.4142 * gx.abs());
            let step = |x: usize, on: bool, s: f32| if on { x + 2 * side(s) - 1 } else { x };
            let (ux, uy) = (step(x, wide, gx), step(y, high, gy));
            let (dx, dy) = (step(x, wide, -gx), step(y, high, -gy));
            if size > self.get(&self.size, ux, uy) && size >= self.get(&self.size, dx, dy) {
                let (gx, gy, size) = (f64::from(gx), f64::from(gy), f64::from(size));
                let along = [gy / size, -gx / size];
                out.push(Spot { at: [x as f64 + 0.5, y as f64 + 0.5], along, far });
            }
        });
        sort_by(&mut out, |a, b| a.far.total_cmp(&b.far));
        out
    }

    /// Places within `reach` of `at` where gradients of two directions meet, each the most so for 3 px around,
    /// nearest first; `least` as for crests.
    pub fn meetings(&self, at: [f64; 2], reach: f64, least: f64) -> Vec<Spot> {
        let keen = self.keenness();
        let mut out = Vec::new();
        // A corner of a sixth of the strongest one's contrast still counts.
        let floor = keen.iter().copied().fold((least * least * 0.06) as f32, |m, k| m.max(0.03 * k));
        self.within(at, reach, 5, |x, y, far| {
            let own = self.get(&keen, x, y);
            let rows = (y - 3..=y + 3).flat_map(|v| (x - 3..=x + 3).map(move |u| (u, v)));
            if own > floor && rows.filter(|p| *p != (x, y)).all(|(u, v)| self.get(&keen, u, v) < own) {
                out.push(Spot { at: [x as f64 + 0.5, y as f64 + 0.5], along: [1.0, 0.0], far });
            }
        });
        sort_by(&mut out, |a, b| a.far.total_cmp(&b.far));
        out
    }

    /// Determinant over trace of the squares of gradients, summed over 5 × 5 px.
    fn keenness(&self) -> Vec<f32> {
        let sums = |a: &[f32], b: &[f32]| self.five(a.iter().zip(b).map(|(a, b)| a * b).collect());
        let (xx, yy, xy) = (sums(&self.x, &self.x), sums(&self.y, &self.y), sums(&self.x, &self.y));
        let three = xx.iter().zip(&yy).zip(&xy);
        three.map(|((xx, yy), xy)| (xx * yy - xy * xy) / (xx + yy + 1e-6) / 25.0).collect()
    }

    /// Sums over 5 × 5 px.
    fn five(&self, list: Vec<f32>) -> Vec<f32> {
        let mut across = vec![0.0; list.len()];
        for (i, five) in list.windows(5).enumerate() {
            if let Some(to) = across.get_mut(i + 2) {
                *to = five.iter().sum();
            }
        }
        let mut out = vec![0.0; list.len()];
        for row in 2..self.height.saturating_sub(2) {
            let to = row * self.width..(row + 1) * self.width;
            for k in 0..5 {
                add(&mut out, &across, &to, &((row + k - 2) * self.width..(row + k - 1) * self.width), 1.0);
            }
        }
        out
    }

    /// Calls `each` with every pixel within `reach` of `at` but for `margin` px at the border, and its distance.
    fn within(&self, at: [f64; 2], reach: f64, margin: usize, mut each: impl FnMut(usize, usize, f64)) {
        for y in margin..self.height.saturating_sub(margin) {
            for x in margin..self.width.saturating_sub(margin) {
                let (dx, dy) = (x as f64 + 0.5 - at[0], y as f64 + 0.5 - at[1]);
                let square = dx * dx + dy * dy;
                if square <= reach * reach {
                    each(x, y, square.sqrt());
                }
            }
        }
    }
}

fn dot(seven: &[f32], by: &[f32; 7]) -> f32 {
    seven.iter().zip(by).map(|(a, b)| a * b).sum()
}

/// Adds `by` × one stretch of a list to a stretch of another.
fn add(to: &mut [f32], from: &[f32], there: &std::ops::Range<usize>, here: &std::ops::Range<usize>, by: f32) {
    if let (Some(to), Some(from)) = (to.get_mut(there.clone()), from.get(here.clone())) {
        for (a, b) in to.iter_mut().zip(from) {
            *a += b * by;
        }
    }
}
